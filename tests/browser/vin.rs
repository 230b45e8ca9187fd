//! A VIN is judged while one types it, and never refused.
use super::{
    begin::begin,
    support::{Browser, House},
};

const INTAKE: &str = "form[action='/intake'][method=post]";

/// Types a VIN, and gives what stands beside the field once it says this.
async fn told(b: &Browser, vin: &str, says: &str) -> String {
    b.fill(INTAKE, "vin", vin).await;
    let mut hint = String::new();
    for _ in 0..200 {
        hint = b.one("#f-vin-hint").await.text().await.expect("text");
        if hint.starts_with(says) {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    hint
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_vin_is_judged_while_it_is_typed() {
    let house = House::open("2026-05-12T08:00:00Z").await;
    let b = Browser::open(&house, 820, 1180).await;
    begin(&b).await;
    b.go("/intake").await;
    for (vin, says) in [
        ("1G4AH59H45G118331", "The check digit does not match."),
        (
            "1G4AH59H45G118341",
            "17 characters, at the base of the windscreen or on a label.",
        ),
        ("1G4AH59H45G1183", "A VIN has 17 characters."),
        ("1O4AH59H45G118341", "A VIN has no I, O or Q"),
    ] {
        let hint = told(&b, vin, says).await;
        assert!(hint.starts_with(says), "{vin}: {hint}");
    }
    b.picture("vin").await;
    b.close().await;
}
