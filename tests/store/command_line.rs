//! The command line, as it is built.
use std::{
    io::Write,
    path::Path,
    process::{Command, Output, Stdio},
};

fn run(folder: &Path, arguments: &[&str], typed: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_chillwright"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program");
    child
        .stdin
        .take()
        .expect("its input")
        .write_all(typed.as_bytes())
        .expect("typed");
    child.wait_with_output().expect("an end")
}

fn says(output: &Output) -> (String, String) {
    (
        String::from_utf8_lossy(&output.stdout).into_owned(),
        String::from_utf8_lossy(&output.stderr).into_owned(),
    )
}

const SCENARIO: &str = include_str!("../checks/records/scenario.json");

#[test]
fn a_record_is_assessed_from_standard_input() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = run(folder.path(), &["assess", "-"], SCENARIO);
    assert_eq!(output.status.code(), Some(0));
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(
        answer["gate"],
        serde_json::json!({ "repaired": false, "blocks": 1, "awaiting_concession": 4 })
    );
    assert_eq!(
        std::fs::read_dir(folder.path()).expect("read").count(),
        0,
        "nothing is written"
    );
    let us = run(folder.path(), &["assess", "-", "--units", "us"], SCENARIO);
    assert!(says(&us).0.contains("97 °F") || says(&us).0.contains("98 °F"));
}

#[test]
fn a_record_is_explained_as_plain_text() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = run(folder.path(), &["assess", "-", "--explain"], SCENARIO);
    let (out, err) = says(&output);
    assert_eq!((output.status.code(), err.as_str()), (Some(0), ""));
    for told in [
        "Rules 2",
        "smallest leak that it rules out: 309 kg a year",
        "source: IAPWS-IF97; IAPWS R14-08",
        "seal-not-inspected (blocks): j4",
        "What would change it:",
    ] {
        assert!(out.contains(told), "{told}\n{out}");
    }
    assert_eq!(
        run(folder.path(), &["assess", "-", "--explain"], "{")
            .status
            .code(),
        Some(2)
    );
}

/// The list of rules is the registry: each rule once with its reason, source and limits, as text and as JSON.
#[test]
fn the_rules_are_listed() {
    let folder = tempfile::tempdir().expect("a folder");
    let (text, json) = (
        run(folder.path(), &["rules"], ""),
        run(folder.path(), &["rules", "--json", "--units", "us"], ""),
    );
    assert_eq!((text.status.code(), json.status.code()), (Some(0), Some(0)));
    let list: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let rules = list["rules"].as_array().expect("rules");
    assert_eq!(rules.len(), chillwright_calc::checks::rules::ALL.len());
    for rule in rules {
        let code = rule["code"].as_str().expect("a code");
        assert!(says(&text).0.contains(&format!("\n{code} (")), "{code}");
        for key in [
            "reason",
            "certainty",
            "what_would_change_it",
            "source",
            "section",
            "task",
            "due",
        ] {
            assert!(
                rule[key]
                    .as_str()
                    .is_some_and(|s| s.len() > 2 && !s.contains('{')),
                "{code} {key}"
            );
        }
    }
    let short = rules
        .iter()
        .find(|r| r["code"] == "hold-too-short")
        .expect("the rule");
    assert!(
        short["limits"].as_array().is_some_and(|l| l
            .iter()
            .any(|l| l["key"] == "hold_minimum" && l["default"] == "PT15M")),
        "{short}"
    );
}

#[test]
fn a_record_that_cannot_be_read_is_refused_in_one_line_with_its_path() {
    let folder = tempfile::tempdir().expect("a folder");
    for (record, path, why) in [
        ("{", "record", ""),
        (r#"{"version":1}"#, "system", ""),
        (
            r#"{"version":2,"system":{"refrigerant":"R-134a"}}"#,
            "version",
            "only version 1",
        ),
        (
            r#"{"version":1,"system":{"refrigerant":"R-134a"},"colour":"red"}"#,
            "colour",
            "",
        ),
        (
            r#"{"version":1,"system":{"refrigerant":"R-134a"},"standing":[{"pressure":"28 inHg"}]}"#,
            "standing[0].pressure",
            "28 inHg: vacuum, gauge or abs?",
        ),
        (
            r#"{"version":1,"system":{"refrigerant":"R-134a"},"recovery":[{"before":"-1 kg"}]}"#,
            "recovery[0].before",
            "below zero",
        ),
        (
            r#"{"version":1,"system":{"refrigerant":"R-134a"},"standing":[{"ambient":"-300 degC"}]}"#,
            "standing[0].ambient",
            "absolute zero",
        ),
        (
            r#"{"version":1,"system":{"refrigerant":"R-134a"},"holds":[{"readings":[{"pressure":"NaN kPa abs"}]}]}"#,
            "holds[0].readings[0].pressure",
            "number",
        ),
        (
            r#"{"version":1,"system":{"refrigerant":"R-11"}}"#,
            "system.refrigerant",
            "R-134a",
        ),
    ] {
        let output = run(folder.path(), &["assess", "-"], record);
        let (out, err) = says(&output);
        assert_eq!(output.status.code(), Some(2), "{record}: {err}");
        assert!(
            out.is_empty()
                && err.trim_end().lines().count() == 1
                && err.contains(path)
                && err.contains(why),
            "{record}: {err}"
        );
    }
    assert_eq!(
        run(folder.path(), &["assess", "not-there.json"], "")
            .status
            .code(),
        Some(2)
    );
}

#[test]
fn the_schema_knows_record_and_answer() {
    let folder = tempfile::tempdir().expect("a folder");
    let schema: serde_json::Value =
        serde_json::from_slice(&run(folder.path(), &["schema"], "").stdout).expect("JSON");
    assert!(
        schema["record"]["properties"]["holds"].is_object()
            && schema["answer"]["properties"]["figures"].is_object()
    );
}

#[tokio::test]
async fn a_shop_is_copied_put_back_and_verified() {
    use chillwright::{
        shop::Instant,
        store::{Store, shop::Shop},
        work::{
            codes::Codes,
            start::{FirstStart, first_start},
        },
    };
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(&folder.path().join("chillwright.db"))
        .await
        .expect("a store");
    let shop = Shop {
        name: "Hask & Marlow".into(),
        address: String::new(),
        telephone: String::new(),
        tax_number: String::new(),
        elevation: "120 m".into(),
        zone: "UTC".into(),
        currency: "EUR".into(),
        units: "si".into(),
        prices_with_tax: false,
        tax_rate: 1000,
        warranty: String::new(),
        server_address: String::new(),
        tag_width: 62,
        tag_height: 29,
        cylinder_width: 100,
        cylinder_height: 50,
        next_order: 1,
        next_invoice: 1,
        version: 1,
    };
    let start = FirstStart {
        deed: chillwright::shop::DeedId::fresh(),
        owner: "Perrin Hask".into(),
        code_hash: Codes::cheap().hash("480213").expect("a code"),
        roles: Default::default(),
        shop,
        device: "desk".into(),
    };
    first_start(&store, start, None, Instant(1_778_572_800_000))
        .await
        .expect("begun");

    // While the shop is open.
    let copied = run(folder.path(), &["backup", "copies"], "");
    let (out, err) = says(&copied);
    assert!(
        copied.status.success() && out.contains("1 audit entry"),
        "{out}{err}"
    );
    let copy = out.split(':').next().expect("a folder").to_owned();
    store.close().await;

    assert!(
        says(&run(folder.path(), &["audit"], ""))
            .0
            .starts_with("1 audit entry")
    );
    let refused = run(folder.path(), &["restore", &copy], "");
    assert!(
        !refused.status.success()
            && says(&refused).1.trim()
                == "chillwright restore: chillwright.db already exists; move it first"
    );
    let restored = run(folder.path(), &["restore", &copy, "--file", "again.db"], "");
    assert!(restored.status.success(), "{}", says(&restored).1);
    assert!(
        says(&run(folder.path(), &["person", "--file", "again.db"], ""))
            .0
            .contains("Perrin Hask: owner")
    );
    let weak = run(
        folder.path(),
        &["person", "Perrin Hask", "--file", "again.db"],
        "111111\n",
    );
    assert!(!weak.status.success());
    let reset = run(
        folder.path(),
        &["person", "Perrin Hask", "--file", "again.db"],
        "730951\n",
    );
    assert!(reset.status.success(), "{}", says(&reset).1);
    assert!(
        says(&run(folder.path(), &["audit", "--file", "again.db"], ""))
            .0
            .starts_with("2 audit entries")
    );
    // Looking at a file changes nothing of it, not even what another version of the program would bring up.
    let older = Store::open(&folder.path().join("again.db"))
        .await
        .expect("a store");
    sqlx::raw_sql("DELETE FROM _sqlx_migrations")
        .execute(&mut *older.writer().await.expect("the writer"))
        .await
        .expect("forgotten");
    older.close().await;
    let before = std::fs::read(folder.path().join("again.db")).expect("the file");
    assert!(
        says(&run(folder.path(), &["audit", "--file", "again.db"], ""))
            .0
            .starts_with("2 audit entries")
    );
    let copied = run(
        folder.path(),
        &["backup", "older", "--file", "again.db"],
        "",
    );
    assert!(copied.status.success(), "{}", says(&copied).1);
    assert!(
        before == std::fs::read(folder.path().join("again.db")).expect("the file"),
        "looking wrote to the file"
    );
    let missing = run(folder.path(), &["audit", "--file", "nowhere.db"], "");
    assert!(!missing.status.success() && !folder.path().join("nowhere.db").exists());
}
