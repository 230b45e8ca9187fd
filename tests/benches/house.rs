//! How fast the house is: ratios within one run, never a timed test. `cargo bench --bench house`.
//!
//! The order is one with a hold of 60 readings. `order_page` is the page through the whole router; `same_bytes` is a handler that runs the
//! same statements and answers with the same bytes, so that the ratio of the two says what rendering and assessing cost.
#[path = "../kit/mod.rs"]
mod kit;
#[expect(dead_code, reason = "this bench needs only a part of it")]
mod support;

use chillwright::{
    shop::{DeedId, Instant},
    store::{Store, assessment, audit, evidence, lines, money, orders, record, sessions, shop},
    work::{
        codes,
        evidence::{BENCH, Change, Entry, NewPiece, keep},
    },
};
use chillwright_calc::record::Reading;
use divan::Bencher;
use std::sync::{LazyLock, atomic::Ordering};
use support::{CLOCK, HOUSE, page};

fn main() {
    LazyLock::force(&SAME);
    divan::main();
}

static SAME: LazyLock<axum::Router> = LazyLock::new(|| {
    let house = &*HOUSE;
    let page = house.runtime.block_on(page(&house.router, &house.cookie));
    same_bytes(house.store.clone(), house.cookie.clone(), page)
});

/// The same statements as the order page, and the same bytes.
fn same_bytes(store: Store, cookie: String, bytes: Vec<u8>) -> axum::Router {
    // Cookies come in any order.
    let token = |name: &str| {
        cookie
            .split("; ")
            .filter_map(|c| c.split_once('='))
            .find(|c| c.0 == name)
            .map(|c| c.1.to_owned())
            .expect("a cookie")
    };
    let tokens = [token("cw_device"), token("cw_session")];
    axum::Router::new().route(
        "/orders/412",
        axum::routing::get(move || {
            let (store, tokens, bytes) = (store.clone(), tokens.clone(), bytes.clone());
            async move {
                let mut conn = store.read().await.expect("a connection");
                let device = chillwright::store::people::device_by_token(
                    &mut conn,
                    &codes::hashed(&tokens[0]),
                )
                .await
                .expect("read")
                .expect("a device");
                sessions::actor(&mut conn, &codes::hashed(&tokens[1]), device.id)
                    .await
                    .expect("read");
                shop::get(&mut conn).await.expect("read");
                let order = orders::by_number(&mut conn, 412)
                    .await
                    .expect("read")
                    .expect("an order");
                audit::last_of(&mut conn, order.id).await.expect("read");
                evidence::of_order(&mut conn, order.id).await.expect("read");
                shop::limits(&mut conn).await.expect("read");
                assessment::findings(&mut conn, order.id)
                    .await
                    .expect("read");
                assessment::concessions(&mut conn, order.id)
                    .await
                    .expect("read");
                orders::notes(&mut conn, order.id).await.expect("read");
                lines::of_order(&mut conn, order.id).await.expect("read");
                money::authorisations(&mut conn, order.id)
                    .await
                    .expect("read");
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
    bencher.bench(|| house.runtime.block_on(page(&SAME, &house.cookie)));
}

/// `assess` of the order with 60 readings.
#[divan::bench(sample_count = 200)]
fn assess_60_readings(bencher: Bencher) {
    let record = &HOUSE.record;
    bencher.bench(|| {
        chillwright_calc::assess(divan::black_box(record), chillwright_calc::UnitSystem::Si)
    });
}

/// The record of the largest order of the invented shop.
static LARGEST: LazyLock<chillwright_calc::JobRecord> = LazyLock::new(|| {
    let folder = tempfile::tempdir().expect("a folder");
    let house = &*HOUSE;
    house.runtime.block_on(async {
        let store = Store::open(&folder.path().join("demo.db"))
            .await
            .expect("a store");
        let now = Instant(CLOCK.load(Ordering::Relaxed));
        chillwright::demo::make(
            &store,
            &codes::Codes::cheap(),
            &folder.path().join("files"),
            now,
        )
        .await
        .expect("an invented shop");
        let mut conn = store.read().await.expect("a connection");
        let mut largest = String::new();
        for order in orders::newest(&mut conn).await.expect("orders") {
            let record = record::order_record(&mut conn, order.id)
                .await
                .expect("a record");
            let text = serde_json::to_string(&record).expect("JSON");
            largest = if text.len() > largest.len() {
                text
            } else {
                largest
            };
        }
        chillwright_calc::parse(&largest).expect("a record")
    })
});

/// `assess` of the largest order of the invented shop.
#[divan::bench(sample_count = 200)]
fn assess_largest_invented_order(bencher: Bencher) {
    let record = &*LARGEST;
    bencher.bench(|| {
        chillwright_calc::assess(divan::black_box(record), chillwright_calc::UnitSystem::Si)
    });
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
        let (pressure, temperature) = ("28 inHg vacuum".parse().ok(), "22 degC".parse().ok());
        let reading = Reading {
            at: Some(at.into()),
            pressure,
            temperature,
            ..Reading::default()
        };
        let new = NewPiece::new(reading, Some(at)).under(house.hold);
        let entry = Entry {
            deed: DeedId::fresh(),
            kind: "reading-taken",
            order: house.order,
            form: String::new(),
            roles: BENCH,
            tablet: None,
        };
        house
            .runtime
            .block_on(keep(
                &house.store,
                &house.by,
                entry,
                vec![Change::Add(new)],
                at,
            ))
            .expect("kept");
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
