//! What was typed, through the real program: `chillwright assess` says of an order's own record what was stored of it.
use super::{
    job::{self, in_the_way, kept},
    kit::Shop,
    units::{decide, waits_for_the_owner},
};
use chillwright::store::{assessment, handovers, orders};
use serde_json::Value;

/// What the program itself says of a record.
pub fn by_command_line(record: &str) -> Value {
    use std::{
        io::Write,
        process::{Command, Stdio},
    };
    let mut child = Command::new(env!("CARGO_BIN_EXE_chillwright"))
        .args(["assess", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    child
        .stdin
        .take()
        .expect("its input")
        .write_all(record.as_bytes())
        .expect("typed");
    let output = child.wait_with_output().expect("an end");
    assert_eq!(output.status.code(), Some(0));
    serde_json::from_slice(&output.stdout).expect("JSON")
}

/// The stored answer of order 412 (the frozen one, where it was handed over) is what the program says of its record.
pub async fn says_the_same(shop: &mut Shop) -> Value {
    let stored = {
        let mut conn = shop.app.store.read().await.expect("a connection");
        let order = orders::by_number(&mut conn, 412)
            .await
            .expect("read")
            .expect("an order");
        let frozen = handovers::last_answer(&mut conn, order.id)
            .await
            .expect("read")
            .filter(|_| !order.is_open());
        match frozen {
            Some(text) => text,
            None => assessment::answer_text(&mut conn, order.id)
                .await
                .expect("read")
                .expect("an assessment"),
        }
    };
    let said = by_command_line(&shop.browser.get("/orders/412/record.json").await.body);
    assert_eq!(
        said,
        serde_json::from_str::<Value>(&stored).expect("JSON"),
        "program and store"
    );
    said
}

/// Branch a: the seal was seen in time, 40 g are added, it is measured again and checked electronically, the owner accepts the rest; handed over as repaired.
#[tokio::test]
async fn branch_a() {
    let mut shop = waits_for_the_owner().await;
    shop.minutes_pass(120);
    job::charge(&mut shop, "11:00", "9.280", "9.230").await;
    job::measure(&mut shop, "11:20").await;
    let places = [
        ("places", "j1"),
        ("places", "j2"),
        ("places", "j3"),
        ("places", "j4"),
    ];
    let check = [
        ("method", "electronic"),
        ("sensitivity", "4"),
        ("proved", "reference leak"),
    ]
    .into_iter()
    .chain(places)
    .collect::<Vec<_>>();
    kept(&mut shop, "checks", "11:30", &check).await;
    assert_eq!(
        in_the_way(&mut shop).await,
        ["evacuation-does-not-dry", "improvised-fixing"]
    );
    for code in ["evacuation-does-not-dry", "improvised-fixing"] {
        decide(&mut shop, code, "accept", "It will do.").await;
    }
    let out = [
        ("way", "repaired"),
        ("sentence", "Your car cools again."),
        ("look_again_on", "2026-11-12"),
    ];
    assert_eq!(
        shop.browser
            .post("/orders/412/handover", &out)
            .await
            .location,
        "/orders/412/report"
    );
    let said = says_the_same(&mut shop).await;
    let waited: Vec<&str> = said["findings"]
        .as_array()
        .into_iter()
        .flatten()
        .filter(|f| f["weight"] == "concession")
        .filter_map(|f| f["code"].as_str())
        .collect();
    assert_eq!(
        waited,
        ["improvised-fixing", "evacuation-does-not-dry"],
        "frozen with the handover"
    );
}

/// One limit changed: Today and the command line say it too.
#[tokio::test]
async fn a_changed_limit_is_said_by_today_and_by_the_program() {
    let mut shop = waits_for_the_owner().await;
    for code in [
        "evacuation-does-not-dry",
        "charge-mismatch",
        "improvised-fixing",
    ] {
        decide(&mut shop, code, "accept", "It will do.").await;
    }
    for (limit, says) in [
        ("", "The limit is 40 g a year"),
        ("50 g/yr", "The limit is 50 g a year"),
    ] {
        let fields: Vec<(&str, &str)> = chillwright_calc::checks::limits::ALL
            .iter()
            .map(|l| (l.key, if l.key == "leak_limit" { limit } else { "" }))
            .collect();
        assert!(
            shop.browser
                .post("/shop/limits", &fields)
                .await
                .status
                .is_redirection()
        );
        let today = shop.browser.get("/").await.body;
        assert!(today.contains(says), "{says}: {today}");
        assert!(
            says_the_same(&mut shop).await.to_string().contains(says),
            "{says}"
        );
    }
}
