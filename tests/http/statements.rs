//! How many statements a page asks of the database: counted from what the database library tells, in a process of its own.
#[path = "../kit/mod.rs"]
mod kit;

use kit::Shop;
use std::sync::atomic::{AtomicUsize, Ordering};
use tracing_subscriber::layer::{Context, Layer, SubscriberExt};

static STATEMENTS: AtomicUsize = AtomicUsize::new(0);

struct Count;

impl<S: tracing::Subscriber> Layer<S> for Count {
    fn on_event(&self, event: &tracing::Event<'_>, _: Context<'_, S>) {
        if event.metadata().target().starts_with("sqlx::query") {
            STATEMENTS.fetch_add(1, Ordering::SeqCst);
        }
    }
}

async fn asked(shop: &mut Shop, path: &str) -> usize {
    let before = STATEMENTS.load(Ordering::SeqCst);
    let answer = shop.browser.get(path).await;
    assert!(answer.status.is_success(), "{path}: {}", answer.status);
    STATEMENTS.load(Ordering::SeqCst) - before
}

#[tokio::test]
async fn pages_ask_few_statements() {
    tracing::subscriber::set_global_default(tracing_subscriber::registry().with(Count))
        .expect("the first subscriber of this process");
    let mut shop = Shop::begun().await;
    shop.minutes_pass(120);
    for (plate, number) in [("KD 41 TVL", 412), ("MR 07 OST", 413), ("PL 93 QUE", 414)] {
        let intake = [
            ("plate", plate),
            ("description", "Tarn Vela"),
            ("name", "Odile Brandt"),
            ("complaint", "warm"),
            ("refrigerant", "R-134a"),
            ("charge", "600"),
            ("charge_unit", "g"),
            ("metering", "expansion-valve"),
        ];
        assert_eq!(
            shop.browser.post("/intake", &intake).await.location,
            format!("/orders/{number}")
        );
        let joints = [
            ("joints", "new:drier inlet"),
            ("joints", "new:drier outlet"),
            ("at", "2026-05-12T07:00"),
        ];
        assert!(
            shop.browser
                .post(&format!("/orders/{number}/bench/joints"), &joints)
                .await
                .status
                .is_redirection()
        );
        shop.browser
            .post(
                &format!("/orders/{number}/bench/hold"),
                &[
                    ("kind", "vacuum"),
                    ("gauge", "G-1"),
                    ("at", "2026-05-12T08:00"),
                ],
            )
            .await;
        for i in 0..60 {
            let at = format!("2026-05-12T08:{i:02}");
            let fields = [("reading", "28"), ("metal", "22"), ("at", at.as_str())];
            assert!(
                shop.browser
                    .post(&format!("/orders/{number}/holds/h1/readings"), &fields)
                    .await
                    .status
                    .is_redirection()
            );
        }
    }
    let order = asked(&mut shop, "/orders/412").await;
    assert!(
        (6..=13).contains(&order),
        "the order page, with 60 readings: {order} statements"
    );
    // Lists ask as many for three cars as for one.
    for (page, most) in [("/", 12), ("/review", 12), ("/orders", 6)] {
        let n = asked(&mut shop, page).await;
        assert!((3..=most).contains(&n), "{page}: {n} statements");
    }
    println!("order page {order} statements");
}
