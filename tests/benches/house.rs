//! How fast the house is: ratios within one run, never a timed test. `cargo bench --bench house`.
//!
//! The order is one with a hold of 60 readings. `order_page` is the page through the whole router; `same_bytes` is a handler that runs the
//! same statements and answers with the same bytes, so that the ratio of the two says what rendering and assessing cost.
use axum::{
    body::Body,
    http::{Method, Request, header},
};
use chillwright::{
    shop::{DeedId, Instant, OrderId},
    store::{Store, assessment, evidence, evidence::Kind, lines, money, orders, record, sessions, shop},
    web::{App, router},
    work::{
        codes::{self, Codes},
        evidence::{BENCH, Change, Entry, NewPiece, keep},
    },
};
use divan::Bencher;
use http_body_util::BodyExt;
use std::sync::{
    LazyLock,
    atomic::{AtomicI64, Ordering},
};
use tower::ServiceExt;

fn main() {
    LazyLock::force(&HOUSE);
    divan::main();
}

struct House {
    runtime: tokio::runtime::Runtime,
    store: Store,
    router: axum::Router,
    same: axum::Router,
    cookie: String,
    order: OrderId,
    hold: chillwright::shop::EvidenceId,
    record: chillwright_calc::JobRecord,
    by: chillwright::shop::Actor,
    _folder: tempfile::TempDir,
}

static CLOCK: AtomicI64 = AtomicI64::new(1_778_580_000_000);
static HOUSE: LazyLock<House> = LazyLock::new(build);

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
        assert_eq!(pieces.iter().filter(|p| p.kind == Kind::Reading).count(), 60);
        let hold = pieces.iter().find(|p| p.kind == Kind::Hold).expect("a hold").id;
        let record = record::order_record(&mut conn, order).await.expect("a record");
        let person = chillwright::store::people::all(&mut conn).await.expect("people").remove(0);
        let by = chillwright::shop::Actor { person: person.id, name: person.name, roles: person.roles, device: None };
        drop(conn);
        let page = page(&router, &cookie).await;
        let same = same_bytes(store.clone(), cookie.clone(), page);
        (store, router, same, cookie, order, hold, record, by)
    });
    let (store, router, same, cookie, order, hold, record, by) = built;
    House { runtime, store, router, same, cookie, order, hold, record, by, _folder: folder }
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

async fn page(router: &axum::Router, cookie: &str) -> Vec<u8> {
    let request = Request::builder().uri("/orders/412").header(header::COOKIE, cookie).body(Body::empty()).expect("a request");
    let response = router.clone().oneshot(request).await.expect("an answer");
    assert_eq!(response.status(), 200);
    response.into_body().collect().await.expect("a body").to_bytes().to_vec()
}

/// The same statements as the order page, and the same bytes.
fn same_bytes(store: Store, cookie: String, bytes: Vec<u8>) -> axum::Router {
    let tokens: Vec<String> = cookie.split("; ").filter_map(|c| c.split_once('=').map(|c| c.1.to_owned())).collect();
    axum::Router::new().route(
        "/orders/412",
        axum::routing::get(move || {
            let (store, tokens, bytes) = (store.clone(), tokens.clone(), bytes.clone());
            async move {
                let mut conn = store.read().await.expect("a connection");
                let device = chillwright::store::people::device_by_token(&mut conn, &codes::hashed(&tokens[0])).await.expect("read").expect("a device");
                sessions::actor(&mut conn, &codes::hashed(&tokens[1]), device.id).await.expect("read");
                shop::get(&mut conn).await.expect("read");
                let order = orders::by_number(&mut conn, 412).await.expect("read").expect("an order");
                evidence::of_order(&mut conn, order.id).await.expect("read");
                shop::limits(&mut conn).await.expect("read");
                assessment::get(&mut conn, order.id).await.expect("read");
                assessment::findings(&mut conn, order.id).await.expect("read");
                assessment::concessions(&mut conn, order.id).await.expect("read");
                orders::notes(&mut conn, order.id).await.expect("read");
                lines::of_order(&mut conn, order.id).await.expect("read");
                money::authorisations(&mut conn, order.id).await.expect("read");
                bytes
            }
        }),
    )
}

#[divan::bench(sample_count = 100)]
fn order_page(bencher: Bencher) {
    let house = &*HOUSE;
    bencher.bench(|| house.runtime.block_on(page(&house.router, &house.cookie)));
}

#[divan::bench(sample_count = 100)]
fn same_bytes_same_statements(bencher: Bencher) {
    let house = &*HOUSE;
    bencher.bench(|| house.runtime.block_on(page(&house.same, &house.cookie)));
}

/// `assess` of the order with 60 readings.
#[divan::bench(sample_count = 200)]
fn assess_60_readings(bencher: Bencher) {
    let record = &HOUSE.record;
    bencher.bench(|| chillwright_calc::assess(divan::black_box(record), chillwright_calc::UnitSystem::Si));
}

/// One saturation call.
#[divan::bench]
fn saturation(bencher: Bencher) {
    use chillwright_calc::{physics::refrigerant::Fluid, units::Temperature};
    bencher.bench(|| Fluid::R134a.saturation_pressure(divan::black_box(Temperature::new(298.15))));
}

/// The deed "take a reading", synced. Each adds a reading, so the order grows a little while it runs.
#[divan::bench(sample_count = 100, sample_size = 1)]
fn take_a_reading(bencher: Bencher) {
    let house = &*HOUSE;
    bencher.bench(|| {
        let at = Instant(CLOCK.fetch_add(1000, Ordering::Relaxed));
        let body = serde_json::json!({ "at": at.rfc3339(), "pressure": "28 inHg vacuum", "temperature": "22 degC" });
        let new = NewPiece::new(Kind::Reading, body, Some(at)).under(house.hold);
        let entry = Entry { deed: DeedId::fresh(), kind: "reading-taken", order: house.order, form: String::new(), roles: BENCH };
        house.runtime.block_on(keep(&house.store, &house.by, entry, vec![Change::Add(new)], at)).expect("kept");
    });
}

/// Its sync alone: a transaction of one row, committed.
#[divan::bench(sample_count = 100, sample_size = 1)]
fn commit_of_one_row(bencher: Bencher) {
    let house = &*HOUSE;
    bencher.bench(|| {
        house.runtime.block_on(async {
            let mut tx = house.store.write().await.expect("a transaction");
            shop::take_tag_number(&mut tx).await.expect("written");
            tx.commit().await.expect("kept");
        });
    });
}
