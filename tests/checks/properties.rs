//! Properties that must hold of every answer, over generated records.
use super::support::{answer, scenario};
use chillwright_calc::{
    Assessment,
    record::answer::{HoldFigures, Weight},
};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A quantity in SI or in the units of the other system; `reference` follows a pressure's unit.
fn pressure(pa: f64, us: bool, reference: &str) -> String {
    if us {
        format!("{:.12} psi {reference}", pa / 6894.757)
    } else {
        format!("{:.12} kPa {reference}", pa / 1e3)
    }
}

fn temperature(k: f64, us: bool) -> String {
    if us {
        format!("{:.12} degF", (k - 273.15) * 1.8 + 32.0)
    } else {
        format!("{:.12} degC", k - 273.15)
    }
}

fn mass(kg: f64, us: bool) -> String {
    if us {
        format!("{:.12} oz", kg * 1e3 / 28.349_523_125)
    } else {
        format!("{:.12} g", kg * 1e3)
    }
}

fn volume(ml: f64, us: bool) -> String {
    if us {
        format!("{:.12} floz", ml / 29.573_529_562_5)
    } else {
        format!("{ml:.12} mL")
    }
}

/// What a whole job is made of, in SI.
#[derive(Debug, Clone)]
struct Job {
    charge: f64,
    net: f64,
    standing: f64,
    ambient: f64,
    oil: f64,
    vacuum: f64,
    hold: Vec<(f64, f64)>,
    low_side: f64,
    high_side: f64,
    vent: f64,
    resolution: f64,
}

fn job() -> impl Strategy<Value = Job> {
    let masses = (
        0.3..1.2_f64,
        0.2..1.3_f64,
        1e4..6e5_f64,
        280.0..310.0_f64,
        5.0..60.0_f64,
    );
    let pressures = (
        50.0..9000.0_f64,
        prop::collection::vec((50.0..9000.0_f64, 285.0..305.0_f64), 2..9),
        1e5..3e5_f64,
        8e5..2.2e6_f64,
    );
    (masses, pressures, 274.0..295.0_f64, 1.0..2000.0_f64).prop_map(
        |(
            (charge, net, standing, ambient, oil),
            (vacuum, hold, low_side, high_side),
            vent,
            resolution,
        )| Job {
            charge,
            net,
            standing,
            ambient,
            oil,
            vacuum,
            hold,
            low_side,
            high_side,
            vent,
            resolution,
        },
    )
}

impl Job {
    fn record(&self, us: bool) -> Value {
        let mut record = scenario();
        record["system"]["charge"] = json!(mass(self.charge, us));
        record["system"]["internal_volume"] = json!(volume(2500.0, us));
        record["standing"][0]["pressure"] = json!(pressure(self.standing, us, "gauge"));
        record["standing"][0]["ambient"] = json!(temperature(self.ambient, us));
        record["parts"][0]["oil_added"] = json!(volume(self.oil, us));
        record["evacuations"][0]["readings"][0]["pressure"] =
            json!(pressure(self.vacuum, us, "abs"));
        record["holds"][0]["gauge"]["resolution"] = json!(pressure(self.resolution, us, "").trim());
        record["holds"][0]["readings"] = self.readings(us);
        record["charging"][0]["before"] = json!(mass(9.0, us));
        record["charging"][0]["after"] = json!(mass(9.0 - self.net, us));
        let performance = &mut record["performance"][0];
        performance["low_side"] = json!(pressure(self.low_side, us, "gauge"));
        performance["high_side"] = json!(pressure(self.high_side, us, "gauge"));
        performance["vent"] = json!(temperature(self.vent, us));
        record
    }

    fn readings(&self, us: bool) -> Value {
        let reading = |(i, (pa, k)): (usize, &(f64, f64))| json!({ "at": format!("2026-05-12T09:{:02}:00Z", 43 + 2 * i), "pressure": pressure(*pa, us, "abs"), "temperature": temperature(*k, us) });
        Value::Array(self.hold.iter().enumerate().map(reading).collect())
    }
}

/// The same but for rounding: numbers to a millionth, sentences left out.
fn same(a: &Value, b: &Value, at: &str) {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().expect("a number"), y.as_f64().expect("a number"));
            assert!(
                (x - y).abs() <= 1e-6 * x.abs().max(y.abs()) + 1e-6,
                "{at}: {x} and {y}"
            );
        }
        (Value::Array(x), Value::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{at}");
            x.iter().zip(y).for_each(|(x, y)| same(x, y, at));
        }
        (Value::Object(x), Value::Object(y)) => {
            assert!(x.keys().eq(y.keys()), "{at}");
            x.iter()
                .filter(|(k, _)| !matches!(k.as_str(), "says" | "do_next"))
                .for_each(|(k, v)| same(v, &y[k], &format!("{at}.{k}")));
        }
        _ => assert_eq!(a, b, "{at}"),
    }
}

fn first_hold(record: &Value) -> HoldFigures {
    answer(record).figures.holds.remove(0)
}

fn all_finite(value: &Value) -> bool {
    match value {
        Value::Number(n) => n.as_f64().is_some_and(f64::is_finite),
        Value::Array(list) => list.iter().all(all_finite),
        Value::Object(map) => map.values().all(all_finite),
        _ => true,
    }
}

fn blocks(answer: &Assessment) -> Vec<(String, String)> {
    answer
        .findings
        .iter()
        .filter(|f| f.weight == Weight::Blocks)
        .map(|f| (f.code.clone(), f.about.clone()))
        .collect()
}

/// One of each kind of evidence, all superseded, each of which would change the answer if it counted.
const GONE: [(&str, &str); 9] = [
    (
        "holds",
        r#"{ "kind": "vacuum", "ended_at": "2026-05-12T12:00:00Z", "readings": [{ "at": "2026-05-12T11:00:00Z", "pressure": "28 inHg vacuum" }, { "at": "2026-05-12T11:30:00Z", "pressure": "10 inHg vacuum" }] }"#,
    ),
    (
        "evacuations",
        r#"{ "started_at": "2026-05-12T12:00:00Z", "ended_at": "2026-05-12T12:40:00Z", "readings": [] }"#,
    ),
    (
        "charging",
        r#"{ "refrigerant": "R-12", "at": "2026-05-12T12:50:00Z", "before": "9 kg", "after": "8 kg" }"#,
    ),
    (
        "recovery",
        r#"{ "refrigerant": "R-12", "before": "9 kg", "after": "9.5 kg", "at": "2026-05-12T12:30:00Z" }"#,
    ),
    (
        "joints",
        r#"{ "place": "compressor", "opened": ["2026-05-12T12:20:00Z"] }"#,
    ),
    ("leaks", r#"{ "place": "hose" }"#),
    (
        "leak_checks",
        r#"{ "method": "electronic", "at": "2026-05-12T12:55:00Z", "places": ["j1"], "found": ["j1"] }"#,
    ),
    (
        "parts",
        r#"{ "role": "compressor", "source": "salvaged", "fitted_at": "2026-05-12T12:10:00Z" }"#,
    ),
    (
        "gas_let_in",
        r#"{ "gas": "nitrogen", "at": "2026-05-12T12:00:00Z" }"#,
    ),
];

fn append(record: &mut Value, section: &str, piece: Value) {
    match record.get_mut(section).and_then(Value::as_array_mut) {
        Some(list) => list.push(piece),
        None => record[section] = json!([piece]),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    /// Units either way give the same answer to rounding; what comes out is finite or null.
    #[test]
    fn units_change_nothing(job in job()) {
        let (si, us) = (answer(&job.record(false)), answer(&job.record(true)));
        let (si, us) = (serde_json::to_value(si).expect("JSON"), serde_json::to_value(us).expect("JSON"));
        same(&si, &us, "");
        prop_assert!(all_finite(&si));
    }

    /// The order in which readings at distinct times are entered does not matter.
    #[test]
    fn order_of_entry_changes_nothing((job, order) in job().prop_flat_map(|job| {
        let order: Vec<usize> = (0..job.hold.len()).collect();
        (Just(job), Just(order).prop_shuffle())
    })) {
        let in_order = job.record(false);
        let mut shuffled = in_order.clone();
        shuffled["holds"][0]["readings"] = order.iter().map(|i| in_order["holds"][0]["readings"][*i].clone()).collect();
        prop_assert_eq!(answer(&in_order), answer(&shuffled));
    }

    /// More leak never gives a smaller leak figure, and more of it is never what the hold rules out less of.
    #[test]
    fn more_leaks_more(begin in 100.0..6000.0_f64, rise in 0.0..2e4_f64, more in 1.0..2e4_f64, resolution in 1.0..2000.0_f64, readings in 2..12_usize) {
        let of = |rise: f64| {
            let mut record = scenario();
            let at = |i: usize| { let s = 3600 * i / (readings - 1); format!("2026-05-12T10:{:02}:{:02}Z", s / 60 % 60, s % 60).replace("T10:00:00Z", if i > 0 { "T11:00:00Z" } else { "T10:00:00Z" }) };
            let reading = |i: usize| json!({ "at": at(i), "pressure": format!("{} Pa abs", begin + rise * i as f64 / (readings - 1) as f64), "temperature": "22 degC" });
            record["holds"][0]["readings"] = (0..readings).map(reading).collect();
            record["holds"][0]["gauge"]["resolution"] = json!(format!("{resolution} Pa"));
            first_hold(&record)
        };
        let (less, more) = (of(rise), of(rise + more));
        let no_less = |a: Option<f64>, b: Option<f64>| a.zip(b).is_none_or(|(a, b)| b >= a * (1.0 - 1e-9));
        prop_assert!(no_less(less.leak_low_kg_per_year, more.leak_low_kg_per_year), "{:?} {:?}", less, more);
        prop_assert!(no_less(less.leak_high_kg_per_year, more.leak_high_kg_per_year), "{:?} {:?}", less, more);
        prop_assert!(no_less(less.smallest_leak_shown_kg_per_year, more.smallest_leak_shown_kg_per_year), "{:?} {:?}", less, more);
        prop_assert!(less.leak_high_kg_per_year.is_none() || more.leak_high_kg_per_year.is_some(), "{:?} {:?}", less, more);
    }

    /// For fewer than five readings a finer gauge never shows a larger smallest leak.
    #[test]
    fn finer_never_shows_less(job in job(), finer in 0.01..1.0_f64, n in 2..5_usize) {
        let mut coarse = job;
        coarse.hold.truncate(n);
        let fine = Job { resolution: coarse.resolution * finer, ..coarse.clone() };
        let (coarse, fine) = (first_hold(&coarse.record(false)), first_hold(&fine.record(false)));
        if let (Some(coarse), Some(fine)) = (coarse.smallest_leak_shown_kg_per_year, fine.smallest_leak_shown_kg_per_year) {
            prop_assert!(fine <= coarse * (1.0 + 1e-12), "{} and {}", fine, coarse);
        }
    }

    /// Superseded evidence changes nothing, wherever in its list it stands.
    #[test]
    fn superseded_evidence_changes_nothing(job in job(), kind in 0..GONE.len()) {
        let before = job.record(false);
        let (section, piece) = GONE[kind];
        let mut piece: Value = serde_json::from_str(piece).expect("JSON");
        let mut counted = before.clone();
        append(&mut counted, section, piece.clone());
        prop_assert!(answer(&counted) != answer(&before), "{} would change it", section);
        piece["superseded"] = json!(true);
        let mut after = before.clone();
        append(&mut after, section, piece);
        prop_assert_eq!(answer(&after), answer(&before));
    }

    /// A passed electronic check never adds what blocks, whatever else is missing, nor does a passed pressure hold before the evacuation; with one exception,
    /// which cannot be otherwise: it may take away the last thing that kept the circuit from being charged, and what had waited behind that,
    /// `charge-missing`, is told. Nobody is told to charge a circuit that is not known to be tight (so not both before), and a circuit that was opened and not
    /// charged blocks (so not neither after). It is one for one: never more block than before, and never anything else new.
    #[test]
    fn a_good_test_never_blocks(job in job(), missing in prop::sample::subsequence(
        vec!["standing", "identification", "leaks", "fixings", "holds", "charging", "performance", "ports", "recovery"], 0..5)) {
        let mut record = job.record(false);
        for section in missing {
            record.as_object_mut().expect("a record").remove(section);
        }
        let before = blocks(&answer(&record));
        let mut checked = record.clone();
        append(&mut checked, "leak_checks", json!({ "method": "electronic", "at": "2026-05-12T13:00:00Z", "sensitivity": "4 g/yr", "proved_on": "reference leak", "places": ["j1", "j2", "j3", "j4"], "found": [] }));
        let mut held = record;
        append(&mut held, "holds", json!({ "id": "n2", "kind": "pressure", "gas": "nitrogen", "ended_at": "2026-05-12T08:59:00Z", "gauge": { "resolution": "1 psi" }, "readings": [
            { "at": "2026-05-12T08:26:00Z", "pressure": "150 psig", "temperature": "22 degC" }, { "at": "2026-05-12T08:58:00Z", "pressure": "150 psig", "temperature": "22 degC" }] }));
        let added = |record: &Value| blocks(&answer(record)).into_iter().filter(|b| !before.contains(b)).collect::<Vec<_>>();
        // What keeps it from being charged: no hold, one that failed, a leak that is not repaired. With the last of them gone the charge is what is left.
        let keeps = |blocks: &[(String, String)]| blocks.iter().any(|b| ["hold-missing", "hold-failed", "leak-found"].contains(&b.0.as_str()));
        let charge_missing = vec![("charge-missing".to_owned(), "charging".to_owned())];
        for (record, test) in [(&checked, "a check"), (&held, "a hold")] {
            let after = blocks(&answer(record));
            let waited = keeps(&before) && !keeps(&after);
            let fair = added(record).is_empty() || waited && added(record) == charge_missing;
            prop_assert!(after.len() <= before.len() && fair, "by {}: {:?} after {:?}", test, after, before);
        }
    }
}
