//! Barometers: the site's, an entry's own, a reading's own; which of them is believed, and which air a finding prints.
use super::support::answer;
use chillwright_calc::{Assessment, record::answer::Finding};
use serde_json::{Value, json};

/// What ISO 2533 has at 1500 m (84 556 Pa, from memory).
const AT_1500_M: f64 = 84_556.0;

fn hold(more: Value, reading: Value) -> Value {
    let mut first = json!({ "at": "2026-05-12T10:00:00Z", "pressure": "24 inHg vacuum", "temperature": "22 degC" });
    first
        .as_object_mut()
        .expect("an object")
        .extend(reading.as_object().expect("an object").clone());
    let mut hold = json!({ "id": "h1", "kind": "vacuum", "ended_at": "2026-05-12T10:40:00Z", "gauge": { "resolution": "0.5 inHg" },
        "readings": [first, { "at": "2026-05-12T10:30:00Z", "pressure": "24 inHg vacuum", "temperature": "22 degC" }] });
    hold.as_object_mut()
        .expect("an object")
        .extend(more.as_object().expect("an object").clone());
    hold
}

fn at_1500_m(barometer: Option<&str>, hold: Value) -> Assessment {
    let mut record = json!({ "version": 1, "site": { "elevation": "1500 m" }, "system": { "refrigerant": "R-134a", "internal_volume": "2.5 L" }, "holds": [hold] });
    if let Some(barometer) = barometer {
        record["site"]["barometer"] = json!(barometer);
    }
    answer(&record)
}

fn doubtful(answer: &Assessment) -> Vec<&str> {
    answer
        .findings
        .iter()
        .filter(|f| f.code == "barometer-doubtful")
        .map(|f| f.about.as_str())
        .collect()
}

fn value(finding: &Finding, key: &str) -> f64 {
    finding.values[key].as_f64().expect("a number")
}

/// An entry's own barometer that was reduced to sea level is not used, the elevation is: not the site's barometer of another day.
#[test]
fn an_entrys_own_doubtful_barometer_falls_back_to_the_elevation() {
    let site = Some("83.0 kPa abs");
    let good = at_1500_m(site, hold(json!({}), json!({})));
    let doubted = at_1500_m(
        site,
        hold(json!({ "barometer": "101.3 kPa abs" }), json!({})),
    );
    assert_eq!(doubtful(&good), [""; 0]);
    assert_eq!(doubtful(&doubted), ["h1"]);
    // The bound is a graduation and what 1 K makes of the first pressure: it tells which air the reading was taken against.
    let first =
        |a: &Assessment| (a.figures.holds[0].bound_pa.expect("a bound") - 0.5 * 3386.389) * 295.15;
    let reading = 24.0 * 3386.389;
    assert!(
        (first(&good) - (83_000.0 - reading)).abs() < 1.0,
        "{}",
        first(&good)
    );
    assert!(
        (first(&doubted) - (AT_1500_M - reading)).abs() < 5.0,
        "{}",
        first(&doubted)
    );
    let said = doubted
        .findings
        .iter()
        .find(|f| f.code == "barometer-doubtful")
        .expect("a finding");
    assert!(
        (value(said, "standard_pa") - AT_1500_M).abs() < 5.0
            && value(said, "barometer_pa") == 101_300.0,
        "{said:?}"
    );
}

/// So does a reading's own; the entry that it is in is named once.
#[test]
fn a_readings_own_barometer_is_doubted_too() {
    let own = || json!({ "barometer": "101.3 kPa abs" });
    assert_eq!(doubtful(&at_1500_m(None, hold(json!({}), own()))), ["h1"]);
    assert_eq!(doubtful(&at_1500_m(None, hold(own(), own()))), ["h1"]);
    let both = at_1500_m(Some("101.3 kPa abs"), hold(json!({}), own()));
    assert_eq!(doubtful(&both), ["site", "h1"]);
    let evacuation = answer(
        &json!({ "version": 1, "site": { "elevation": "1500 m" }, "system": { "refrigerant": "R-134a" },
        "evacuations": [{ "id": "e1", "readings": [{ "at": "2026-05-12T10:00:00Z", "pressure": "24 inHg vacuum", "barometer": "101.3 kPa abs" }] }] }),
    );
    assert_eq!(doubtful(&evacuation), ["e1"]);
}

/// A reading that cannot be is told with the air that it was taken against: the entry's or its own, not the site's.
#[test]
fn an_impossible_reading_prints_its_own_air() {
    let impossible = |piece: Value| {
        let mut record = json!({ "version": 1, "site": { "barometer": "101.3 kPa abs" }, "system": { "refrigerant": "R-134a" } });
        record
            .as_object_mut()
            .expect("an object")
            .extend(piece.as_object().expect("an object").clone());
        let found = answer(&record)
            .findings
            .into_iter()
            .find(|f| f.code == "gauge-impossible")
            .expect("a finding");
        assert!(
            found.says.contains(&format!(
                "(air pressure {:.1} psia",
                value(&found, "barometer_pa") / 6894.757
            )),
            "{}",
            found.says
        );
        (
            value(&found, "barometer_pa"),
            value(&found, "reading_pa").round(),
        )
    };
    // 29 inHg are 98.2 kPa: below nothing in air of 95.0 and of 96.0 kPa, not in the site's.
    let deep = |more: Value| {
        let mut reading = json!({ "at": "2026-05-12T10:00:00Z", "pressure": "29 inHg vacuum" });
        reading
            .as_object_mut()
            .expect("an object")
            .extend(more.as_object().expect("an object").clone());
        reading
    };
    let (entry, own) = (
        json!("95.0 kPa abs"),
        json!({ "barometer": "96.0 kPa abs" }),
    );
    let below = |air: f64| (air, (air - 29.0 * 3386.389).round());
    for (section, kind) in [("holds", json!("vacuum")), ("evacuations", Value::Null)] {
        let piece = |reading: Value| {
            let mut piece = json!({ "gauge": { "resolution": "0.5 inHg" }, "barometer": entry, "readings": [reading] });
            if !kind.is_null() {
                piece["kind"] = kind.clone();
            }
            json!({ section: [piece] })
        };
        assert_eq!(impossible(piece(deep(json!({})))), below(95e3), "{section}");
        assert_eq!(
            impossible(piece(deep(own.clone()))),
            below(96e3),
            "{section}"
        );
    }
    let recovered = json!([{ "before": "9 kg", "after": "9 kg", "at": "2026-05-12T08:00:00Z" }]);
    assert_eq!(
        impossible(
            json!({ "recovery": recovered, "standing": [{ "pressure": "29 inHg vacuum", "barometer": entry }] })
        ),
        below(95e3)
    );
    assert_eq!(
        impossible(
            json!({ "recovery": recovered, "performance": [{ "low_side": "29 inHg vacuum", "barometer": entry }] })
        ),
        below(95e3)
    );
}
