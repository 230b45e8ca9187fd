//! Holds: the worked cases, and each verdict.
use super::support::answer;
use chillwright_calc::record::answer::{HoldFigures, Shape, Verdict};
use serde_json::{Value, json};

fn hold(kind: &str, resolution: &str, readings: &[(&str, &str, Option<&str>)]) -> HoldFigures {
    let readings: Vec<Value> = readings
        .iter()
        .map(|(at, pressure, t)| match t {
            Some(t) => json!({ "at": format!("2026-05-12T10:{at}Z"), "pressure": pressure, "temperature": t }),
            None => json!({ "at": format!("2026-05-12T10:{at}Z"), "pressure": pressure }),
        })
        .collect();
    answer(&json!({
        "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": "R-134a", "charge": "600 g", "internal_volume": "2.5 L" },
        "holds": [{ "kind": kind, "ended_at": "2026-05-12T12:00:00Z", "gauge": { "resolution": resolution }, "readings": readings }]
    }))
    .figures
    .holds
    .remove(0)
}

const WARM: Option<&str> = Some("22 degC");

fn near(found: Option<f64>, wanted: f64) {
    let found = found.expect("a figure");
    assert!((found / wanted - 1.0).abs() < 1e-3, "{found} is not {wanted}");
}

/// The three worked cases of the contract of the calculation (2.5 L, 600 g R-134a, 0 m, 22 degC).
#[test]
fn what_three_holds_could_have_shown() {
    let dial = hold("vacuum", "0.5 inHg", &[("00:00", "28 inHg vacuum", WARM), ("20:00", "28 inHg vacuum", WARM)]);
    assert_eq!((dial.verdict, dial.shape), (Verdict::Held, Some(Shape::Flat)));
    near(dial.smallest_leak_shown_kg_per_year, 306.4);
    near(dial.hours_to_empty_at_smallest, 17.166);
    let electronic = hold("vacuum", "10 micron", &[("00:00", "400 micron", WARM), ("20:00", "400 micron", WARM)]);
    assert_eq!(format!("{:.3}", electronic.smallest_leak_shown_kg_per_year.expect("a figure")), "0.269");
    let nitrogen = hold("pressure", "1 psi", &[("00:00", "150 psig", WARM), ("59:59", "150 psig", WARM)]);
    assert_eq!(nitrogen.verdict, Verdict::Held);
    near(nitrogen.smallest_leak_shown_kg_per_year, 4.93 * 3600.0 / 3599.0);
}

#[test]
fn each_verdict() {
    let short = hold("vacuum", "0.5 inHg", &[("00:00", "28 inHg vacuum", WARM), ("10:00", "28 inHg vacuum", WARM)]);
    assert_eq!(short.verdict, Verdict::TooShort);
    let leak = hold("vacuum", "0.5 inHg", &[("00:00", "28 inHg vacuum", WARM), ("05:00", "26 inHg vacuum", WARM)]);
    assert_eq!(leak.verdict, Verdict::Leak, "a rise is called however short");
    let deep = hold("vacuum", "1 micron", &[("00:00", "300 micron", WARM), ("20:00", "600 micron", WARM)]);
    assert_eq!((deep.verdict, deep.shape), (Verdict::Inconclusive, None));
    let water = hold("vacuum", "10 micron", &[("00:00", "19840 micron", WARM), ("20:00", "19840 micron", WARM)]);
    assert_eq!(water.verdict, Verdict::Moisture, "water at 22 degC holds 2645 Pa, 19840 micron");
    let pumped = hold("vacuum", "10 micron", &[("00:00", "2000 micron", WARM), ("20:00", "500 micron", WARM)]);
    assert_eq!(pumped.verdict, Verdict::NotReadable);
    assert!(pumped.why.expect("why").contains("still being pumped"));
    let no_vacuum = hold("vacuum", "0.5 inHg", &[("00:00", "15 inHg vacuum", WARM), ("20:00", "15 inHg vacuum", WARM)]);
    assert_eq!(no_vacuum.verdict, Verdict::NotReadable);
    let single = hold("vacuum", "0.5 inHg", &[("00:00", "28 inHg vacuum", WARM)]);
    assert_eq!(single.verdict, Verdict::NotReadable);
    let impossible = hold("vacuum", "0.5 inHg", &[("00:00", "31 inHg vacuum", WARM), ("20:00", "31 inHg vacuum", WARM)]);
    assert_eq!(impossible.verdict, Verdict::NotReadable);
}

/// International Fuel Gas Code, appendix A.6.5, example 5: 20 psig at 70 degF cooling to 40 degF reads 18 psig. Sixteen times the
/// pressure difference that a pressure hold begins with, so scaled: the law is the same, p T1/T2.
#[test]
fn a_pressure_that_cools_is_no_leak() {
    let cooled = hold("pressure", "1 psi", &[("00:00", "150 psig", Some("70 degF")), ("40:00", "140.7 psig", Some("40 degF"))]);
    assert_eq!(cooled.verdict, Verdict::Held, "{:?}", cooled);
    let leak = hold("pressure", "1 psi", &[("00:00", "150 psig", Some("70 degF")), ("40:00", "130 psig", Some("40 degF"))]);
    assert_eq!((leak.verdict, leak.shape), (Verdict::Leak, Some(Shape::Linear)));
    let weak = hold("pressure", "1 psi", &[("00:00", "10 psig", WARM), ("40:00", "10 psig", WARM)]);
    assert_eq!(weak.verdict, Verdict::NotReadable);
    let short = hold("pressure", "1 psi", &[("00:00", "150 psig", WARM), ("20:00", "150 psig", WARM)]);
    assert_eq!(short.verdict, Verdict::TooShort);
}

/// Two holds compared, with half an hour of evacuation between: gas out of rubber grows less, a leak does not.
#[test]
fn the_second_hold_tells_a_leak_from_rubber() {
    let second = |end: &str| {
        let record = json!({
            "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": "R-134a", "charge": "600 g", "internal_volume": "2.5 L" },
            "evacuations": [{ "started_at": "2026-05-12T11:00:00Z", "ended_at": "2026-05-12T11:40:00Z", "readings": [] }],
            "holds": [
                { "id": "a", "kind": "vacuum", "ended_at": "2026-05-12T10:30:00Z", "gauge": { "resolution": "1 micron" }, "readings": [
                    { "at": "2026-05-12T10:00:00Z", "pressure": "300 micron", "temperature": "22 degC" }, { "at": "2026-05-12T10:20:00Z", "pressure": "700 micron", "temperature": "22 degC" }] },
                { "id": "b", "kind": "vacuum", "ended_at": "2026-05-12T12:30:00Z", "gauge": { "resolution": "1 micron" }, "readings": [
                    { "at": "2026-05-12T12:00:00Z", "pressure": "300 micron", "temperature": "22 degC" }, { "at": "2026-05-12T12:20:00Z", "pressure": end, "temperature": "22 degC" }] }]
        });
        let holds = answer(&record).figures.holds;
        assert_eq!(holds[0].verdict, Verdict::Inconclusive);
        holds[1].verdict
    };
    assert_eq!(second("690 micron"), Verdict::Leak);
    assert_eq!(second("480 micron"), Verdict::Held);
    assert_eq!(second("560 micron"), Verdict::Inconclusive);
}

#[test]
fn a_hold_that_was_not_ended_is_running() {
    let record = json!({
        "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": "R-134a" },
        "holds": [{ "kind": "vacuum", "gauge": { "resolution": "0.5 inHg" }, "readings": [
            { "at": "2026-05-12T10:00:00Z", "pressure": "28 inHg vacuum", "temperature": "22 degC" }, { "at": "2026-05-12T10:20:00Z", "pressure": "28 inHg vacuum", "temperature": "22 degC" }] }]
    });
    let hold = &answer(&record).figures.holds[0];
    assert_eq!((hold.verdict, hold.would_be), (Verdict::Running, Some(Verdict::Held)));
}
