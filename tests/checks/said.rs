//! What is said of a figure that is not as sure as it looks: at the limit of the gauge, of R-744, on what was assumed.
use super::support::{answer, with};
use chillwright_calc::{
    UnitSystem, assess,
    checks::{
        evacuation::Evacuated,
        explain,
        outlook::{Test, shows, smallest_told},
        sheet, talk, with_case,
    },
    parse,
    record::answer::Assumed,
    units::{AbsolutePressure, LeakRate, Seconds, show},
};
use serde_json::{Value, json};

/// An evacuation read on a dial of 0.5 inHg in air of 100.0 kPa, which is 29.53 inHg, and what is said of it.
fn evacuated(reading: &str, metal: &str) -> (Value, Option<bool>, talk::Answer) {
    let record = json!({ "version": 1, "site": { "barometer": "100.0 kPa abs" }, "system": { "refrigerant": "R-134a" },
        "evacuations": [{ "id": "e1", "started_at": "2026-05-12T09:00:00Z", "ended_at": "2026-05-12T09:42:00Z", "coldest_metal": metal,
            "gauge": { "resolution": "0.5 inHg" }, "readings": [{ "at": "2026-05-12T09:42:00Z", "pressure": reading }] }] });
    let parsed = parse(&record.to_string()).expect("a record");
    let (dries, said) = with_case(&parsed, UnitSystem::Si, |case| {
        let e: &Evacuated = &case.evacuations[0];
        (e.figures.dries, talk::evacuation(case, e))
    });
    (record, dries, said)
}

/// A reading between nothing and its uncertainty below it (0.95 kPa here, so 1 kPa) counts as 0 and is told as the limit of the gauge. Water at 22 degC
/// has 2.645 kPa, at 3 degC 0.758 (CRC Handbook, from memory): with the gauge's 0.95 kPa the first boils off, of the second that cannot be told.
#[test]
fn a_reading_at_the_limit_of_the_gauge() {
    for reading in [
        "29.4 inHg vacuum",
        "29.8 inHg vacuum",
        "100.0 kPa vacuum",
        "0 Pa abs",
    ] {
        let (record, dries, said) = evacuated(reading, "22 degC");
        let at_limit = reading != "29.4 inHg vacuum";
        assert_eq!(dries, Some(true), "{reading}");
        assert_eq!(said.says, "Deep enough to dry.", "{reading}");
        assert_eq!(
            said.why
                .starts_with("The reading is at the limit of the gauge: even "),
            at_limit,
            "{reading}: {}",
            said.why
        );
        assert!(said.why.contains("the metal is 22 °C"), "{}", said.why);
        let parsed = parse(&record.to_string()).expect("a record");
        let (told, lines) = with_case(&parsed, UnitSystem::Us, |case| {
            (explain::text(case), sheet::lines(case, &[]))
        });
        assert_eq!(
            told.contains("lowest pressure: the limit of the gauge"),
            at_limit,
            "{told}"
        );
        let line = lines
            .into_iter()
            .find(|l| l.section == "evacuation")
            .expect("a line");
        assert_eq!(
            line.says.contains("to the limit of the gauge."),
            at_limit,
            "{}",
            line.says
        );
    }
    let (_, dries, said) = evacuated("29.8 inHg vacuum", "3 degC");
    assert_eq!((dries, said.says.as_str()), (None, "Cannot tell."));
    assert!(
        said.why
            .starts_with("The reading is at the limit of the gauge, and its error may be larger"),
        "{}",
        said.why
    );
    let (record, dries, said) = evacuated("30 inHg vacuum", "22 degC");
    assert_eq!(
        (dries, said.says.as_str()),
        (None, "Cannot tell."),
        "1.6 kPa below nothing"
    );
    assert!(
        answer(&record)
            .findings
            .iter()
            .any(|f| f.code == "gauge-impossible")
    );
}

/// A hold of a refrigerant: all sentences that tell a rate that was converted.
fn rates(refrigerant: &str) -> Vec<String> {
    let deep = |id: &str, last: &str, hour: u32| {
        json!({ "id": id, "kind": "vacuum", "ended_at": format!("2026-05-12T{hour}:40:00Z"), "gauge": { "resolution": "0.5 inHg" }, "readings": [
            { "at": format!("2026-05-12T{hour}:00:00Z"), "pressure": "28 inHg vacuum", "temperature": "22 degC" },
            { "at": format!("2026-05-12T{hour}:20:00Z"), "pressure": last, "temperature": "22 degC" }] })
    };
    let record = json!({ "version": 1, "site": { "elevation": "0 m" }, "system": { "refrigerant": refrigerant, "charge": "600 g", "internal_volume": "2.5 L" },
        "holds": [deep("failed", "24 inHg vacuum", 10), deep("held", "28 inHg vacuum", 12)],
        "charging": [{ "refrigerant": refrigerant, "at": "2026-05-12T13:00:00Z", "before": "9 kg", "after": "8.4 kg", "left_in_hose": "0 g" }] });
    let parsed = parse(&record.to_string()).expect("a record");
    let answer = assess(&parsed, UnitSystem::Si);
    with_case(&parsed, UnitSystem::Si, |case| {
        let (failed, held) = (&case.holds[0], &case.holds[1]);
        let smallest = answer.figures.holds[1]
            .smallest_leak_shown_kg_per_year
            .expect("a rate");
        let number = show::leak_rate(LeakRate::new(smallest), UnitSystem::Si);
        let step = |h, name: &str| {
            let text = explain::text(case);
            let of = text
                .split(&format!("Hold {h}, "))
                .nth(1)
                .expect("a section");
            of.lines()
                .skip_while(|l| !l.trim().starts_with(name))
                .take(2)
                .collect::<Vec<_>>()
                .join(" ")
        };
        let sensitive = answer
            .findings
            .iter()
            .find(|f| f.code == "hold-not-sensitive")
            .expect("a finding")
            .says
            .clone();
        let proof = sheet::proof(case, &answer).hold.expect("a sentence");
        let all = vec![
            talk::hold(case, held).why,
            sensitive,
            proof,
            talk::hold_rows(case, held)[0].in_a_year.clone(),
            talk::hold_beyond(case, held).expect("a sentence"),
            step("held", "smallest leak"),
            step("failed", "leak:"),
        ];
        for said in all[..4].iter().chain(&all[5..6]) {
            assert!(
                said.contains(number.trim_end_matches(" a year")),
                "{number}: {said}"
            );
        }
        assert!(failed.figures.leak_low_kg_per_year.is_some());
        // What a detector is set to was not converted.
        let check = Test::Check(LeakRate::new(0.014));
        assert_eq!(
            smallest_told(case, &check, shows(case, &check).expect("a figure")),
            "14 g a year"
        );
        let vacuum = Test::Vacuum(
            case.record.holds[1].gauge.clone().expect("a gauge"),
            AbsolutePressure::new(6506.0),
            Seconds::new(1200.0),
        );
        all.into_iter()
            .chain([smallest_told(
                case,
                &vacuum,
                shows(case, &vacuum).expect("a figure"),
            )])
            .collect()
    })
}

/// At 25 degC R-744 is nearly critical: what was converted is the least that it may be, and each sentence says so; of R-134a none does.
/// (tests/reference/leaks.rs holds the third to CoolProp.)
#[test]
fn of_r_744_every_converted_rate_is_the_least() {
    for said in rates("R-744") {
        assert!(said.contains("at least "), "{said}");
    }
    assert!(
        rates("R-744")[0].contains("up to a third more"),
        "{}",
        rates("R-744")[0]
    );
    for said in rates("R-134a") {
        assert!(
            !said.contains("at least") && !said.contains("a third"),
            "{said}"
        );
    }
    let failed = with(&[
        ("/system/refrigerant", json!("R-744")),
        ("/holds/0/readings/1/pressure", json!("26 inHg vacuum")),
    ]);
    let says = answer(&failed)
        .findings
        .into_iter()
        .find(|f| f.code == "hold-failed")
        .expect("a finding")
        .says;
    assert!(says.contains(" (at least "), "{says}");
}

fn assumed(changes: &[(&str, Value)]) -> Vec<(String, String)> {
    answer(&with(changes))
        .figures
        .assumed
        .into_iter()
        .map(|Assumed { key, value, .. }| (key, value))
        .collect()
}

fn pair(key: &str, value: &str) -> (String, String) {
    (key.to_owned(), value.to_owned())
}

/// A temperature that is not recorded is listed where a figure rests on it: the first of a hold under its bound, the last vacuum's under the air left.
#[test]
fn an_assumed_temperature_is_listed_where_it_was_used() {
    assert_eq!(assumed(&[]), []);
    let (first, last, metal) = (
        "/holds/0/readings/0/temperature",
        "/holds/0/readings/1/temperature",
        "/evacuations/0/coldest_metal",
    );
    let none = Value::Null;
    assert_eq!(
        assumed(&[(first, none.clone())]),
        [pair("holds.h1.readings[0].temperature", "22 degC")]
    );
    // The coldest metal stands in for the last one, until that is missing too.
    assert_eq!(assumed(&[(last, none.clone())]), []);
    assert_eq!(
        assumed(&[(last, none.clone()), (metal, none.clone())]),
        [pair("holds.h1.readings[1].temperature", "22 degC")]
    );
    let both = [
        pair("holds.h1.readings[0].temperature", "22 degC"),
        pair("holds.h1.readings[1].temperature", "22 degC"),
    ];
    assert_eq!(
        assumed(&[
            (first, none.clone()),
            (last, none.clone()),
            (metal, none.clone())
        ]),
        both
    );
    assert_eq!(
        assumed(&[("/holds", json!([])), (metal, none.clone())]),
        [pair("evacuations.e1.coldest_metal", "22 degC")]
    );
    // Another limit is another value, as the shop typed it; and it moves the figure.
    let warmer = |t: &str| {
        let record = with(&[
            ("/limits", json!({ "assumed_temperature": t })),
            (last, none.clone()),
            (metal, none.clone()),
        ]);
        let figures = answer(&record).figures;
        (
            figures.assumed[0].value.clone(),
            figures.charge.air_left_kg.expect("air"),
        )
    };
    let ((a, cold), (b, warm)) = (warmer("0 degC"), warmer("86 degF"));
    assert_eq!((a.as_str(), b.as_str()), ("0 degC", "86 degF"));
    assert!(
        (cold / warm - 303.15 / 273.15).abs() < 1e-9,
        "{cold} {warm}"
    );
}

/// Nitrogen is listed where the gas of a pressure hold is not recorded; a vacuum hold lets in air, which is no assumption.
#[test]
fn an_assumed_gas_is_listed() {
    let nitrogen = |gas: Option<&str>| {
        let mut hold = json!({ "id": "n1", "kind": "pressure", "ended_at": "2026-05-12T08:59:00Z", "gauge": { "resolution": "1 psi" }, "readings": [
            { "at": "2026-05-12T08:26:00Z", "pressure": "150 psig", "temperature": "22 degC" }, { "at": "2026-05-12T08:58:00Z", "pressure": "150 psig", "temperature": "22 degC" }] });
        if let Some(gas) = gas {
            hold["gas"] = json!(gas);
        }
        assumed(&[("/holds/-", hold)])
    };
    assert_eq!(nitrogen(None), [pair("holds.n1.gas", "nitrogen")]);
    assert_eq!(nitrogen(Some("nitrogen")), []);
}
