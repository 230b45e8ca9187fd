//! Two holds compared: a leak told from gas that leaves rubber, and a failed hold cleared only by one that could have shown it.
use super::support::{answer, weight};
use chillwright_calc::record::answer::{Shape, Verdict, Weight};
use serde_json::{Value, json};

/// A vacuum hold on a gauge of 1 micron that begins at an hour and rises from 300 micron within 20 minutes.
fn deep(id: &str, hour: u32, end: u32) -> Value {
    json!({ "id": id, "kind": "vacuum", "ended_at": format!("2026-05-12T{hour:02}:30:00Z"), "gauge": { "resolution": "1 micron" }, "readings": [
        { "at": format!("2026-05-12T{hour:02}:00:00Z"), "pressure": "300 micron", "temperature": "22 degC" },
        { "at": format!("2026-05-12T{hour:02}:20:00Z"), "pressure": format!("{end} micron"), "temperature": "22 degC" }] })
}

fn evacuation(from: &str, to: &str) -> Value {
    json!({ "started_at": format!("2026-05-12T{from}:00Z"), "ended_at": format!("2026-05-12T{to}:00Z"), "readings": [] })
}

fn record(evacuations: Value, holds: Value) -> Value {
    json!({ "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": "R-134a", "charge": "600 g", "internal_volume": "2.5 L" },
            "evacuations": evacuations, "holds": holds })
}

/// Verdicts of holds a (rises by 400 micron) and b (by so much), evacuated between from 11:00 to 11:40, with something else on record.
fn second(end: u32, more: &[(&str, Value)]) -> Verdict {
    let mut record = record(
        json!([evacuation("11:00", "11:40")]),
        json!([deep("a", 10, 700), deep("b", 12, end)]),
    );
    for (key, value) in more {
        record[*key] = value.clone();
    }
    let holds = answer(&record).figures.holds;
    assert_eq!(holds[0].verdict, Verdict::Inconclusive);
    holds[1].verdict
}

#[test]
fn the_shares_of_the_first_rise_decide() {
    assert_eq!(second(620, &[]), Verdict::Leak, "0.8 of the first");
    assert_eq!(second(619, &[]), Verdict::Inconclusive);
    assert_eq!(second(501, &[]), Verdict::Inconclusive);
    assert_eq!(second(500, &[]), Verdict::Held, "0.5 of the first");
    assert_eq!(second(900, &[]), Verdict::Leak, "more than the first");
    assert_eq!(
        second(
            900,
            &[("limits", json!({ "outgassing_leak_share": "200 %" }))]
        ),
        Verdict::Inconclusive,
        "the shop's own share"
    );
}

#[test]
fn they_compare_only_after_half_an_hour_of_evacuation() {
    let between = |list: Value| second(690, &[("evacuations", list)]);
    assert_eq!(between(json!([])), Verdict::Inconclusive);
    assert_eq!(
        between(json!([evacuation("11:00", "11:29")])),
        Verdict::Inconclusive
    );
    assert_eq!(
        between(json!([evacuation("11:00", "11:30")])),
        Verdict::Leak
    );
    assert_eq!(
        between(json!([
            evacuation("10:40", "10:55"),
            evacuation("11:00", "11:15")
        ])),
        Verdict::Leak,
        "twice a quarter of an hour"
    );
    assert_eq!(
        between(json!([evacuation("11:45", "12:40")])),
        Verdict::Inconclusive,
        "a quarter of an hour of it lies between"
    );
    assert_eq!(
        between(json!([evacuation("09:00", "09:50")])),
        Verdict::Inconclusive,
        "before the first"
    );
}

#[test]
fn nothing_may_have_come_between() {
    let joint = |at: &str| json!([{ "id": "j1", "place": "drier inlet", "opened": [at] }]);
    assert_eq!(
        second(690, &[("joints", joint("2026-05-12T10:50:00Z"))]),
        Verdict::Inconclusive
    );
    assert_eq!(
        second(690, &[("joints", joint("2026-05-12T09:50:00Z"))]),
        Verdict::Leak,
        "opened before both"
    );
    let gas = |at: &str| json!([{ "gas": "nitrogen", "at": at }]);
    assert_eq!(
        second(690, &[("gas_let_in", gas("2026-05-12T10:50:00Z"))]),
        Verdict::Inconclusive
    );
    assert_eq!(
        second(690, &[("gas_let_in", gas("2026-05-12T13:50:00Z"))]),
        Verdict::Leak,
        "let in after both"
    );
}

/// The latest earlier one that is itself inconclusive counts: not one that was cleared, superseded or is still running.
#[test]
fn the_latest_that_is_inconclusive_is_compared_with() {
    let third = |first: u32, then: u32, end: u32| {
        let evacuations = json!([evacuation("11:00", "11:40"), evacuation("13:00", "13:40")]);
        answer(&record(
            evacuations,
            json!([
                deep("a", 10, first),
                deep("b", 12, then),
                deep("c", 14, end)
            ]),
        ))
        .figures
        .holds
    };
    // b, 0.6 of a, stays inconclusive; c is 0.45 of a and 0.75 of b.
    assert_eq!(
        third(700, 540, 480)
            .iter()
            .map(|h| h.verdict)
            .collect::<Vec<_>>(),
        [Verdict::Inconclusive; 3]
    );
    // b is held against a; c, as large as b, is compared with a.
    assert_eq!(third(700, 480, 480)[2].verdict, Verdict::Held);
    let mut running = record(
        json!([evacuation("11:00", "11:40")]),
        json!([deep("a", 10, 700), deep("b", 12, 690)]),
    );
    running["holds"][0]
        .as_object_mut()
        .expect("a hold")
        .remove("ended_at");
    assert_eq!(
        answer(&running).figures.holds[1].verdict,
        Verdict::Inconclusive
    );
    let mut superseded = record(
        json!([evacuation("11:00", "11:40")]),
        json!([deep("a", 10, 700), deep("b", 12, 690)]),
    );
    superseded["holds"][0]["superseded"] = json!(true);
    assert_eq!(
        answer(&superseded).figures.holds[0].verdict,
        Verdict::Inconclusive
    );
}

/// A dial that moved by a graduation between two readings: neither stillness nor a slope that another hold could be compared with.
#[test]
fn one_graduation_is_no_slope() {
    let dial = |hour: u32| {
        json!({ "kind": "vacuum", "ended_at": format!("2026-05-12T{hour:02}:30:00Z"), "gauge": { "resolution": "0.5 inHg" }, "readings": [
            { "at": format!("2026-05-12T{hour:02}:00:00Z"), "pressure": "28 inHg vacuum", "temperature": "22 degC" },
            { "at": format!("2026-05-12T{hour:02}:20:00Z"), "pressure": "27.5 inHg vacuum", "temperature": "22 degC" }] })
    };
    let record = record(
        json!([evacuation("11:00", "11:40")]),
        json!([dial(10), dial(12)]),
    );
    let holds = answer(&record).figures.holds;
    assert!(
        holds.iter().all(|h| h.verdict == Verdict::Inconclusive
            && h.shape == Some(Shape::Flat)
            && h.why.is_some()),
        "{holds:?}"
    );
}

/// A failed hold, then another: what remains of `hold-failed`.
fn failed_then(refrigerant: &str, failed: Value, later: Value) -> Option<Weight> {
    let mut record = record(json!([]), json!([failed, later]));
    record["system"]["refrigerant"] = json!(refrigerant);
    weight(&record, "hold-failed")
}

fn hold(hour: u32, kind: &str, resolution: &str, first: &str, last: &str) -> Value {
    json!({ "kind": kind, "ended_at": format!("2026-05-12T{hour:02}:55:00Z"), "gauge": { "resolution": resolution }, "readings": [
        { "at": format!("2026-05-12T{hour:02}:00:00Z"), "pressure": first, "temperature": "22 degC" },
        { "at": format!("2026-05-12T{hour:02}:50:00Z"), "pressure": last, "temperature": "22 degC" }] })
}

/// A blind hold never clears a seeing one: a dial that stands still says nothing of a leak that nitrogen or an electronic gauge showed.
#[test]
fn a_blind_hold_never_clears_a_seeing_one() {
    let nitrogen = |hour, last| hold(hour, "pressure", "1 psi", "150 psig", last);
    let dial = |hour, last| hold(hour, "vacuum", "0.5 inHg", "28 inHg vacuum", last);
    let electronic = |hour, last| hold(hour, "vacuum", "10 micron", "2000 micron", last);
    let blocks = Some(Weight::Blocks);
    assert_eq!(
        failed_then(
            "R-134a",
            nitrogen(10, "140 psig"),
            dial(12, "28 inHg vacuum")
        ),
        blocks
    );
    assert_eq!(
        failed_then(
            "R-134a",
            electronic(10, "3000 micron"),
            dial(12, "28 inHg vacuum")
        ),
        blocks
    );
    assert_eq!(
        failed_then("R-134a", nitrogen(10, "140 psig"), nitrogen(12, "150 psig")),
        None
    );
    assert_eq!(
        failed_then(
            "R-134a",
            dial(10, "24 inHg vacuum"),
            dial(12, "28 inHg vacuum")
        ),
        None
    );
    assert_eq!(
        failed_then(
            "R-134a",
            dial(10, "24 inHg vacuum"),
            nitrogen(12, "150 psig")
        ),
        None
    );
    assert_eq!(
        failed_then(
            "R-134a",
            dial(10, "24 inHg vacuum"),
            electronic(12, "2000 micron")
        ),
        None
    );
    // What came before clears nothing, nor does a hold that failed itself.
    assert_eq!(
        failed_then("R-134a", nitrogen(10, "140 psig"), nitrogen(8, "150 psig")),
        blocks
    );
    assert_eq!(
        failed_then(
            "R-134a",
            dial(10, "24 inHg vacuum"),
            electronic(12, "3000 micron")
        ),
        blocks
    );
    // Of a refrigerant without properties there is no rate: the same kind, and fine enough.
    assert_eq!(
        failed_then("other", nitrogen(10, "140 psig"), nitrogen(12, "150 psig")),
        None
    );
    assert_eq!(
        failed_then(
            "other",
            nitrogen(10, "140 psig"),
            hold(12, "pressure", "20 psi", "150 psig", "150 psig")
        ),
        blocks
    );
    assert_eq!(
        failed_then(
            "other",
            dial(10, "24 inHg vacuum"),
            nitrogen(12, "150 psig")
        ),
        blocks,
        "another kind"
    );
}
