//! The house that is measured: an order with a hold of 60 readings.
use super::kit::{FIRST_START, START_CODE};
use axum::{
    body::Body,
    http::{Request, header},
};
use chillwright::{
    demo::{
        car::{LABEL, but},
        form_client::{FormClient, page_of},
    },
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
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("shop.db");
    let built = runtime.block_on(async {
        let store = Store::open(&file).await.expect("a store");
        let app = App::new(
            store.clone(),
            Codes::cheap(),
            folder.path().join("files"),
            Some(START_CODE.into()),
            || Instant(CLOCK.load(Ordering::Relaxed)),
        );
        let mut client = FormClient::new(router::router(app));
        typed(&mut client, "/start", &FIRST_START).await;
        let customer = [
            ("plate", "KD 41 TVL"),
            ("description", "Tarn Vela"),
            ("name", "Odile Brandt"),
            ("complaint", "warm"),
        ];
        typed(&mut client, "/intake", &but(LABEL, &customer)).await;
        let joints = [
            ("joints", "new:drier inlet"),
            ("joints", "new:drier outlet"),
            ("at", "2026-05-12T07:00"),
        ];
        typed(&mut client, "/orders/412/bench/joints", &joints).await;
        typed(
            &mut client,
            "/orders/412/bench/hold",
            &[
                ("kind", "vacuum"),
                ("gauge", "G-1"),
                ("at", "2026-05-12T08:00"),
            ],
        )
        .await;
        for i in 0..60 {
            let at = format!("2026-05-12T08:{i:02}");
            typed(
                &mut client,
                "/orders/412/holds/h1/readings",
                &[("reading", "28"), ("metal", "22"), ("at", &at)],
            )
            .await;
        }
        let router = client.router();
        let cookie = client
            .cookies
            .iter()
            .map(|(k, v)| format!("{k}={v}"))
            .collect::<Vec<_>>()
            .join("; ");
        let mut conn = store.read().await.expect("a connection");
        let order = orders::by_number(&mut conn, 412)
            .await
            .expect("read")
            .expect("order")
            .id;
        let pieces = evidence::of_order(&mut conn, order).await.expect("pieces");
        assert_eq!(
            pieces.iter().filter(|p| p.kind() == Kind::Reading).count(),
            60
        );
        let hold = pieces
            .iter()
            .find(|p| p.kind() == Kind::Hold)
            .expect("a hold")
            .id;
        let record = record::order_record(&mut conn, order)
            .await
            .expect("a record");
        let person = chillwright::store::people::all(&mut conn)
            .await
            .expect("people")
            .remove(0);
        let by = chillwright::shop::Actor {
            person: person.id,
            name: person.name,
            roles: person.roles,
            device: None,
        };
        drop(conn);
        (store, router, cookie, order, hold, record, by)
    });
    let (store, router, cookie, order, hold, record, by) = built;
    House {
        runtime,
        store,
        router,
        cookie,
        order,
        hold,
        record,
        by,
        folder,
    }
}

/// Fills in a form where it stands.
async fn typed(client: &mut FormClient, action: &str, fields: &[(&str, &str)]) {
    let answer = client
        .fill(&page_of(action), action, fields)
        .await
        .expect("a form");
    assert!(answer.status.is_redirection(), "{action}: {}", answer.body);
}

pub async fn page(router: &axum::Router, cookie: &str) -> Vec<u8> {
    let request = Request::builder()
        .uri("/orders/412")
        .header(header::COOKIE, cookie)
        .body(Body::empty())
        .expect("a request");
    let response = router.clone().oneshot(request).await.expect("an answer");
    assert_eq!(response.status(), 200);
    response
        .into_body()
        .collect()
        .await
        .expect("a body")
        .to_bytes()
        .to_vec()
}
