//! The house that is measured: an order with a hold of 60 readings.
use axum::{
    body::Body,
    http::{Method, Request, header},
};
use chillwright::{
    shop::{Instant, OrderId},
    store::{Store, evidence, evidence::Kind, orders, record},
    web::{App, router},
    work::codes::Codes,
};
use http_body_util::BodyExt;
use std::sync::{
    LazyLock,
    atomic::{AtomicI64, Ordering},
};
use tower::ServiceExt;

/// All that is measured.
pub struct House {
    pub runtime: tokio::runtime::Runtime,
    pub store: Store,
    pub router: axum::Router,
    pub cookie: String,
    pub order: OrderId,
    pub hold: chillwright::shop::EvidenceId,
    pub record: chillwright_calc::JobRecord,
    pub by: chillwright::shop::Actor,
    pub folder: tempfile::TempDir,
}

pub static CLOCK: AtomicI64 = AtomicI64::new(1_778_580_000_000);
pub static HOUSE: LazyLock<House> = LazyLock::new(build);

fn build() -> House {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let built = runtime.block_on(async {
        let store = Store::open(&file).await.expect("a store");
        let app = App::new(store.clone(), Codes::cheap(), folder.path().join("files"), Some("ABCDE-23456".into()), || Instant(CLOCK.load(Ordering::Relaxed)));
        let router = router::router(app.clone());
        let fields = [
            ("code", "ABCDE-23456"),
            ("owner", "Perrin Hask"),
            ("pin", "480213"),
            ("roles", "desk"),
            ("roles", "technician"),
            ("device", "desk"),
            ("name", "Hask & Marlow"),
            ("elevation", "120"),
            ("elevation_unit", "m"),
            ("zone", "UTC"),
            ("units", "si"),
            ("currency", "EUR"),
            ("tax", "10"),
            ("prices", "net"),
            ("next_order", "412"),
            ("next_invoice", "187"),
            ("mark", "G-1"),
            ("instrument", "dial-gauge"),
            ("resolution", "0.5"),
            ("unit", "inHg"),
        ];
        let (cookie, _) = post(&router, "", "/start", &fields).await;
        let intake = [
            ("plate", "KD 41 TVL"),
            ("description", "Tarn Vela"),
            ("name", "Odile Brandt"),
            ("complaint", "warm"),
            ("refrigerant", "R-134a"),
            ("charge", "600"),
            ("charge_unit", "g"),
            ("metering", "expansion-valve"),
        ];
        post(&router, &cookie, "/intake", &intake).await;
        let joints = [("joints", "new:drier inlet"), ("joints", "new:drier outlet"), ("at", "2026-05-12T07:00")];
        post(&router, &cookie, "/orders/412/bench/joints", &joints).await;
        post(&router, &cookie, "/orders/412/bench/hold", &[("kind", "vacuum"), ("gauge", "G-1"), ("at", "2026-05-12T08:00")]).await;
        for i in 0..60 {
            let at = format!("2026-05-12T08:{i:02}");
            post(&router, &cookie, "/orders/412/holds/h1/readings", &[("reading", "28"), ("metal", "22"), ("at", &at)]).await;
        }
        let mut conn = store.read().await.expect("a connection");
        let order = orders::by_number(&mut conn, 412).await.expect("read").expect("order").id;
        let pieces = evidence::of_order(&mut conn, order).await.expect("pieces");
        assert_eq!(pieces.iter().filter(|p| p.kind() == Kind::Reading).count(), 60);
        let hold = pieces.iter().find(|p| p.kind() == Kind::Hold).expect("a hold").id;
        let record = record::order_record(&mut conn, order).await.expect("a record");
        let person = chillwright::store::people::all(&mut conn).await.expect("people").remove(0);
        let by = chillwright::shop::Actor { person: person.id, name: person.name, roles: person.roles, device: None };
        drop(conn);
        (store, router, cookie, order, hold, record, by)
    });
    let (store, router, cookie, order, hold, record, by) = built;
    House { runtime, store, router, cookie, order, hold, record, by, folder }
}

async fn post(router: &axum::Router, cookie: &str, path: &str, fields: &[(&str, &str)]) -> (String, u16) {
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    let request = Request::builder()
        .method(Method::POST)
        .uri(path)
        .header(header::COOKIE, cookie)
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    let response = router.clone().oneshot(request.body(Body::from(body)).expect("a request")).await.expect("an answer");
    assert_eq!(response.status(), 303, "{path} {fields:?}");
    let cookies: Vec<&str> = response.headers().get_all(header::SET_COOKIE).iter().filter_map(|v| v.to_str().ok()?.split(';').next()).collect();
    (cookies.join("; "), response.status().as_u16())
}

pub async fn page(router: &axum::Router, cookie: &str) -> Vec<u8> {
    let request = Request::builder().uri("/orders/412").header(header::COOKIE, cookie).body(Body::empty()).expect("a request");
    let response = router.clone().oneshot(request).await.expect("an answer");
    assert_eq!(response.status(), 200);
    response.into_body().collect().await.expect("a body").to_bytes().to_vec()
}
