//! What one hold can say, and what it cannot: records through the assessment.
use super::support::answer;
use chillwright_calc::{
    UnitSystem,
    checks::{hold::Doubt, with_case},
    parse,
    record::answer::{HoldFigures, Shape, Verdict},
};
use serde_json::{Value, json};

const METAL: f64 = 22.0;

/// A reading: minutes, pressure, metal's temperature in degC.
type Row<'a> = (f64, &'a str, Option<f64>);

fn at(minutes: f64) -> String {
    let s = (minutes * 60.0).round() as u64;
    format!(
        "2026-05-{:02}T{:02}:{:02}:{:02}Z",
        12 + (8 + s / 3600) / 24,
        (8 + s / 3600) % 24,
        s / 60 % 60,
        s % 60
    )
}

fn record(kind: &str, resolution: &str, rows: &[Row<'_>]) -> Value {
    let reading = |(minutes, pressure, metal): &Row<'_>| match metal {
        Some(metal) => {
            json!({ "at": at(*minutes), "pressure": pressure, "temperature": format!("{metal} degC") })
        }
        None => json!({ "at": at(*minutes), "pressure": pressure }),
    };
    json!({
        "version": 1, "site": { "barometer": "101.325 kPa abs" }, "system": { "refrigerant": "R-134a", "charge": "600 g", "internal_volume": "2.5 L" },
        "holds": [{ "kind": kind, "ended_at": "2026-05-14T12:00:00Z", "gauge": { "resolution": resolution }, "readings": rows.iter().map(reading).collect::<Vec<_>>() }]
    })
}

fn hold(kind: &str, resolution: &str, rows: &[Row<'_>]) -> HoldFigures {
    answer(&record(kind, resolution, rows))
        .figures
        .holds
        .remove(0)
}

/// Readings in even steps, on metal of 22 degC.
fn steady(kind: &str, resolution: &str, minutes: f64, pressures: &[&str]) -> HoldFigures {
    let step = minutes / (pressures.len() - 1) as f64;
    let rows: Vec<Row<'_>> = pressures
        .iter()
        .enumerate()
        .map(|(i, p)| (step * i as f64, *p, Some(METAL)))
        .collect();
    hold(kind, resolution, &rows)
}

fn doubt(record: &Value) -> Option<Doubt> {
    with_case(
        &parse(&record.to_string()).expect("a record"),
        UnitSystem::Si,
        |case| case.holds[0].doubt,
    )
}

fn why(hold: &HoldFigures) -> &str {
    hold.why.as_deref().unwrap_or("")
}

/// Two readings one graduation apart, of a vacuum or of nitrogen: neither stillness nor a leak; and which time or which gauge would tell.
#[test]
fn one_graduation_in_two_readings_tells_nothing() {
    for (kind, resolution, minutes, first, last, graduation) in [
        (
            "vacuum",
            "0.5 inHg",
            20.0,
            "28 inHg vacuum",
            "27.5 inHg vacuum",
            1693.2,
        ),
        ("pressure", "1 psi", 40.0, "150 psig", "149 psig", 6894.757),
        (
            "pressure",
            "0.1 bar",
            40.0,
            "10 bar gauge",
            "9.9 bar gauge",
            1e4,
        ),
    ] {
        let found = steady(kind, resolution, minutes, &[first, last]);
        assert_eq!(
            found.verdict,
            Verdict::Inconclusive,
            "{kind} {resolution}: {found:?}"
        );
        assert!(why(&found).contains("too few or too coarse"), "{found:?}");
        let after = found.tells_after_s.expect("a time");
        // Three graduations and the temperature's kelvin, at the rate that was seen.
        let kelvin = found.bound_pa.expect("a bound") - graduation;
        let wanted =
            minutes * 60.0 * (3.0 * graduation + kelvin) / found.change_pa.expect("a change");
        assert!(
            after >= wanted - 1.0 && after < wanted + 301.0 && after <= 10_800.0,
            "{after} {wanted}"
        );
        assert!(
            found.tells_at_resolution_pa.is_none_or(|r| r < graduation),
            "{found:?}"
        );
    }
    // So slow that nobody would wait: no time, but a finer gauge.
    let slow = steady(
        "vacuum",
        "0.5 inHg",
        90.0,
        &["28 inHg vacuum", "27.5 inHg vacuum"],
    );
    assert_eq!(
        (slow.verdict, slow.tells_after_s),
        (Verdict::Inconclusive, None)
    );
    assert!(
        slow.tells_at_resolution_pa
            .is_some_and(|r| r > 500.0 && r < 600.0),
        "{slow:?}"
    );
    // Held as long as was said, at the same rate: a leak.
    let after = steady(
        "vacuum",
        "0.5 inHg",
        65.0,
        &["28 inHg vacuum", "26.5 inHg vacuum"],
    );
    assert_eq!(after.verdict, Verdict::Leak);
    // Two graduations cannot be misreading.
    assert_eq!(
        steady(
            "vacuum",
            "0.5 inHg",
            20.0,
            &["28 inHg vacuum", "27 inHg vacuum"]
        )
        .verdict,
        Verdict::Leak
    );
}

/// A fall and rise is no stillness, whatever the ends say.
#[test]
fn a_fall_and_rise_is_not_held() {
    for (resolution, pressures) in [
        ("10 micron", ["3000 micron", "500 micron", "2300 micron"]),
        ("10 micron", ["2300 micron", "500 micron", "2300 micron"]),
        (
            "0.5 inHg",
            ["25 inHg vacuum", "29.5 inHg vacuum", "26.5 inHg vacuum"],
        ),
        (
            "0.5 inHg",
            ["26.5 inHg vacuum", "29.5 inHg vacuum", "26.5 inHg vacuum"],
        ),
    ] {
        let found = steady("vacuum", resolution, 20.0, &pressures);
        assert_eq!(
            found.verdict,
            Verdict::NotReadable,
            "{pressures:?}: {found:?}"
        );
        assert!(
            why(&found).contains("first reading was taken while it was still being pumped"),
            "{found:?}"
        );
    }
    // In the middle: no first reading explains it.
    let middle = steady(
        "vacuum",
        "10 micron",
        24.0,
        &[
            "500 micron",
            "510 micron",
            "1500 micron",
            "900 micron",
            "500 micron",
            "500 micron",
            "510 micron",
        ],
    );
    assert_eq!(middle.verdict, Verdict::NotReadable, "{middle:?}");
    assert!(why(&middle).contains("fell and rose again"), "{middle:?}");
}

/// With four others and more the first reading is named and left out, and they are judged by themselves: a leak, or stillness.
#[test]
fn an_early_first_reading_is_left_out() {
    let leak = [
        "3000 micron",
        "500 micron",
        "860 micron",
        "1220 micron",
        "1580 micron",
        "1940 micron",
        "2300 micron",
    ];
    let found = steady("vacuum", "10 micron", 24.0, &leak);
    assert_eq!(
        (found.verdict, found.duration_s),
        (Verdict::Leak, Some(1200.0)),
        "{found:?}"
    );
    assert_eq!(found.left_out, [at(0.0)]);
    assert!(
        why(&found).contains(
            "the first reading was taken before the pressure had settled and is left out"
        ),
        "{found:?}"
    );
    let dial = [
        "25 inHg vacuum",
        "29.5 inHg vacuum",
        "29 inHg vacuum",
        "28 inHg vacuum",
        "27.5 inHg vacuum",
        "26.5 inHg vacuum",
    ];
    assert_eq!(
        steady("vacuum", "0.5 inHg", 25.0, &dial).verdict,
        Verdict::Leak
    );
    let still = [
        "3000 micron",
        "500 micron",
        "500 micron",
        "510 micron",
        "500 micron",
        "500 micron",
    ];
    let found = steady("vacuum", "10 micron", 25.0, &still);
    assert_eq!(
        (found.verdict, found.left_out.len(), found.duration_s),
        (Verdict::Held, 1, Some(1200.0)),
        "{found:?}"
    );
    // Named by its id where it has one.
    let mut named = record(
        "vacuum",
        "10 micron",
        &still
            .iter()
            .enumerate()
            .map(|(i, p)| (5.0 * i as f64, *p, Some(METAL)))
            .collect::<Vec<_>>(),
    );
    named["holds"][0]["readings"][0]["id"] = json!("r1");
    assert_eq!(answer(&named).figures.holds[0].left_out, ["r1"]);
    // Three others are too few.
    assert_eq!(
        steady("vacuum", "10 micron", 20.0, &still[..4]).verdict,
        Verdict::NotReadable
    );
    // Nitrogen that was warm from filling.
    let nitrogen = [
        "156 psig", "150 psig", "150 psig", "150 psig", "150 psig", "150 psig",
    ];
    let found = steady("pressure", "1 psi", 60.0, &nitrogen);
    assert_eq!(
        (found.verdict, found.left_out.len()),
        (Verdict::Held, 1),
        "{found:?}"
    );
    assert_eq!(
        steady(
            "pressure",
            "1 psi",
            60.0,
            &[
                "156 psig", "155 psig", "154 psig", "153 psig", "151 psig", "150 psig"
            ]
        )
        .verdict,
        Verdict::Leak
    );
    assert_eq!(
        steady(
            "pressure",
            "1 psi",
            60.0,
            &["150 psig", "150 psig", "156 psig", "150 psig", "150 psig"]
        )
        .verdict,
        Verdict::NotReadable
    );
}

/// A slow fall of 380 Pa: a pump still running, with an early reading that stood out and without.
#[test]
fn a_slow_fall_is_not_held() {
    let fall: Vec<String> = (0..12)
        .map(|i| format!("{:.0} mbar abs", 60.0 - 3.8 * f64::from(i) / 11.0))
        .collect();
    let mut early = fall.clone();
    early[1] = "66 mbar abs".into();
    for (list, resolution) in [(&fall, "1 mbar"), (&early, "1 mbar")] {
        let list: Vec<&str> = list.iter().map(String::as_str).collect();
        let found = steady("vacuum", resolution, 20.0, &list);
        assert_eq!(found.verdict, Verdict::NotReadable, "{found:?}");
    }
    let coarse: Vec<String> = (0..12)
        .map(|i| {
            format!(
                "{:.1} inHg vacuum",
                ((28.0 + 380.0 / 3386.389 * 1.8 * f64::from(i) / 11.0) * 10.0).round() / 10.0
            )
        })
        .collect();
    let found = steady(
        "vacuum",
        "0.1 inHg",
        20.0,
        &coarse.iter().map(String::as_str).collect::<Vec<_>>(),
    );
    assert_ne!(found.verdict, Verdict::Held, "{found:?}");
}

/// Readings of a second gauge, one graduation of it 10 micron, that are not said to be another's: no circuit goes up and down so.
#[test]
fn a_mixture_of_two_gauges_is_not_held() {
    let mixed = [
        "400 micron",
        "900 micron",
        "410 micron",
        "400 micron",
        "890 micron",
        "400 micron",
        "900 micron",
        "400 micron",
    ];
    let found = steady("vacuum", "10 micron", 21.0, &mixed);
    assert_eq!(found.verdict, Verdict::NotReadable);
    assert!(why(&found).contains("two were mixed"), "{found:?}");
}

/// A hold on an electronic gauge and a dial: `dial` gives the dial's readings (minutes, inHg), `fine` the other's (minutes, micron).
fn two_gauges(dial: &[(f64, f64)], fine: &[(f64, f64)]) -> Value {
    let fine = fine.iter().map(|(m, p)| json!({ "at": at(*m), "pressure": format!("{p} micron"), "temperature": "22 degC" }));
    let dial = dial.iter().map(
        |(m, p)| json!({ "at": at(*m), "pressure": format!("{p} inHg vacuum"), "temperature": "22 degC", "gauge": { "id": "G-2", "resolution": "0.5 inHg" } }),
    );
    let mut whole = record("vacuum", "10 micron", &[]);
    whole["holds"][0]["gauge"]["id"] = json!("V-1");
    whole["holds"][0]["readings"] = fine.chain(dial).collect();
    whole
}

/// Two gauges on record: the finer one's own readings decide where they suffice; a disagreement is told with both figures.
#[test]
fn readings_on_two_gauges() {
    let fine = [(0.0, 400.0), (10.0, 400.0), (20.0, 400.0)];
    let judged = |record: &Value| {
        with_case(
            &parse(&record.to_string()).expect("a record"),
            UnitSystem::Si,
            |case| {
                (
                    case.holds[0].says,
                    case.holds[0].resolution_pa,
                    case.holds[0].gauges_disagree.clone(),
                    case.holds[0].figures.clone(),
                )
            },
        )
    };
    // At sea level a perfect vacuum reads 29.92 inHg; 400 micron are 0.016 inHg.
    let (says, resolution, disagree, _) = judged(&two_gauges(&[(1.0, 30.0), (19.0, 30.0)], &fine));
    assert_eq!((says, disagree), (Verdict::Held, None));
    assert!((resolution - 1.333).abs() < 0.01, "{resolution}");
    let (says, _, disagree, figures) = judged(&two_gauges(&[(1.0, 28.0), (19.0, 28.0)], &fine));
    let disagree = disagree.expect("they disagree");
    assert_eq!((says, figures.duration_s), (Verdict::Held, Some(1200.0)));
    assert_eq!(
        (disagree.fine.as_deref(), disagree.coarse.as_deref()),
        (Some("V-1"), Some("G-2"))
    );
    // 28 inHg vacuum at 101.325 kPa: 6506 Pa; 0.5 inHg, 10 micron and the barometer's 0.1 kPa.
    assert!(
        (disagree.coarse_pa - 6506.1).abs() < 1.0 && (disagree.fine_pa - 53.33).abs() < 0.1,
        "{disagree:?}"
    );
    assert!(
        (disagree.allowed_pa - (1693.2 + 1.3 + 100.0)).abs() < 1.0
            && (disagree.by_pa - 6452.8).abs() < 1.0,
        "{disagree:?}"
    );
    // The finer one was read once: nothing can be told.
    let (says, _, disagree, figures) = judged(&two_gauges(
        &[(0.0, 28.0), (10.0, 28.0), (20.0, 28.0)],
        &fine[..1],
    ));
    assert_eq!((says, disagree.is_some()), (Verdict::NotReadable, true));
    assert!(why(&figures).contains("two gauges disagree"), "{figures:?}");
    // It agrees: the dial's own readings decide.
    let (says, resolution, disagree, _) = judged(&two_gauges(
        &[(0.0, 30.0), (10.0, 30.0), (20.0, 30.0)],
        &fine[..1],
    ));
    assert_eq!((says, disagree), (Verdict::Held, None));
    assert!((resolution - 1693.2).abs() < 0.1, "{resolution}");
    // Begun on one, ended on the other, never compared.
    let (says, _, disagree, figures) = judged(&two_gauges(&[(0.0, 29.5)], &[(20.0, 400.0)]));
    assert_eq!((says, disagree), (Verdict::NotReadable, None));
    assert!(
        why(&figures).contains("two gauges that were not compared"),
        "{figures:?}"
    );
}

/// p = a + b t + c (1 - exp(-t/tau)): gas of 600 micron that comes to rest within minutes, and a leak of 30 micron a minute beneath it or none.
#[test]
fn a_leak_beneath_gas_is_told_from_it() {
    let course = |leak: f64| -> Vec<String> {
        (0..13)
            .map(|i| 2.5 * f64::from(i))
            .map(|m| {
                format!(
                    "{:.0} micron",
                    ((2000.0 + leak * m + 600.0 * (1.0 - f64::exp(-m / 4.0))) / 5.0).round() * 5.0
                )
            })
            .collect()
    };
    let of = |leak: f64| {
        let list = course(leak);
        steady(
            "vacuum",
            "5 micron",
            30.0,
            &list.iter().map(String::as_str).collect::<Vec<_>>(),
        )
    };
    let leak = of(30.0);
    assert_eq!(leak.verdict, Verdict::Leak, "{leak:?}");
    // 30 micron a minute are 0.0667 Pa/s; the straight line through all makes more of it.
    let (low, high) = leak
        .leak_slope_low_pa_per_s
        .zip(leak.leak_slope_high_pa_per_s)
        .expect("bounds");
    let truth = 30.0 * 0.133_322 / 60.0;
    assert!(
        low < truth
            && truth < high
            && high < leak.slope_pa_per_s.expect("a slope")
            && low > 0.8 * truth,
        "{low} {truth} {high}"
    );
    assert!(leak.leak_low_kg_per_year < leak.leak_high_kg_per_year);
    let gas = of(0.0);
    assert_eq!(
        (gas.verdict, gas.shape),
        (Verdict::Inconclusive, Some(Shape::Levelling)),
        "{gas:?}"
    );
    assert!(gas.leak_slope_low_pa_per_s == Some(0.0), "{gas:?}");
}

/// Levelling is water only at water's pressure for the metal: 2645 Pa, 19840 micron at 22 degC (2.6453 kPa, CRC Handbook, from memory).
#[test]
fn only_at_water_s_pressure_is_it_water() {
    let levels = |rest: f64, metal: Option<f64>| {
        let list: Vec<String> = (0..11)
            .map(|i| 2.0 * f64::from(i))
            .map(|m| {
                format!(
                    "{:.0} micron",
                    (rest - (rest - 1000.0) * f64::exp(-m / 4.0)) / 10.0
                )
            })
            .collect();
        let list: Vec<String> = list
            .iter()
            .map(|p| p.replace(" micron", "0 micron"))
            .collect();
        let rows: Vec<Row<'_>> = list
            .iter()
            .enumerate()
            .map(|(i, p)| (2.0 * i as f64, p.as_str(), metal))
            .collect();
        record("vacuum", "10 micron", &rows)
    };
    let said = |record: &Value| (answer(record).figures.holds.remove(0), doubt(record));
    let (water, _) = said(&levels(19_840.0, Some(22.0)));
    assert_eq!(
        (water.verdict, water.shape),
        (Verdict::Moisture, Some(Shape::Levelling)),
        "{water:?}"
    );
    for rest in [6_000.0, 14_000.0, 30_000.0] {
        let (gas, open) = said(&levels(rest, Some(22.0)));
        assert_eq!(
            (gas.verdict, gas.shape, open),
            (
                Verdict::Inconclusive,
                Some(Shape::Levelling),
                Some(Doubt::Levelling)
            ),
            "{rest}: {gas:?}"
        );
        assert!(
            why(&gas).contains("gas out of oil or desiccant, or water in oil"),
            "{gas:?}"
        );
    }
    // The same pressure on colder metal is more than water has there: 10 degC, 1.2281 kPa, 9211 micron (CRC Handbook).
    assert_eq!(
        said(&levels(19_840.0, Some(10.0))).0.verdict,
        Verdict::Inconclusive
    );
    let (unknown, open) = said(&levels(19_840.0, None));
    assert_eq!(
        (unknown.verdict, open),
        (Verdict::Inconclusive, Some(Doubt::Levelling)),
        "{unknown:?}"
    );
    assert!(
        why(&unknown).contains("without a finer gauge and the last temperature"),
        "{unknown:?}"
    );
}

/// Nitrogen overnight without temperatures: the workshop cools, and nobody can tell. With both it can be read, but a change of 18 K is not known to 1 K.
#[test]
fn nitrogen_overnight() {
    let night = |first: Option<f64>, last: Option<f64>, end: &str| {
        record(
            "pressure",
            "1 psi",
            &[(0.0, "150 psig", first), (840.0, end, last)],
        )
    };
    let said = |record: &Value| answer(record).figures.holds.remove(0);
    for end in ["150 psig", "149 psig", "145 psig"] {
        let blind = night(None, None, end);
        assert_eq!(
            (said(&blind).verdict, doubt(&blind)),
            (Verdict::Inconclusive, Some(Doubt::Temperature)),
            "{end}"
        );
        assert!(why(&said(&blind)).contains("the temperature may have changed"));
    }
    assert_eq!(
        said(&night(Some(22.0), None, "150 psig")).verdict,
        Verdict::Inconclusive,
        "one of the two is not enough"
    );
    assert_eq!(
        said(&night(None, None, "60 psig")).verdict,
        Verdict::Leak,
        "no night makes that of it"
    );
    assert_eq!(
        said(&night(Some(22.0), Some(22.0), "150 psig")).verdict,
        Verdict::Held
    );
    // 164.7 psi absolute from 24 to 6 degC: 154.7, 140.0 psig. 20 % of 18 K and 1 K are 4.6 K, 17.6 kPa.
    let cooled = said(&night(Some(24.0), Some(6.0), "140 psig"));
    let same = said(&night(Some(22.0), Some(22.0), "150 psig"));
    assert_eq!(cooled.verdict, Verdict::Held, "{cooled:?}");
    let kelvin = |figures: &HoldFigures, t1: f64| {
        (figures.bound_pa.expect("a bound") - 6894.757) / (1_135_538.55 / (t1 + 273.15))
    };
    assert!(
        (kelvin(&same, 22.0) - 1.0).abs() < 1e-6 && (kelvin(&cooled, 24.0) - 4.6).abs() < 1e-6,
        "{}",
        kelvin(&cooled, 24.0)
    );
    // Two psi under that are within the doubt, but not 1 K's; six are a leak.
    assert_ne!(
        said(&night(Some(24.0), Some(6.0), "138 psig")).verdict,
        Verdict::Leak
    );
    assert_eq!(
        said(&night(Some(24.0), Some(6.0), "130 psig")).verdict,
        Verdict::Leak
    );
    // An hour without temperatures is judged, by three kelvins.
    let hour = said(&record(
        "pressure",
        "1 psi",
        &[(0.0, "150 psig", None), (60.0, "150 psig", None)],
    ));
    assert_eq!(hour.verdict, Verdict::Held);
    assert!((kelvin(&hour, 22.0) - 3.0).abs() < 1e-6);
    // A deep vacuum is not hidden by a night's change: it makes little of what drives a leak.
    assert_eq!(
        said(&record(
            "vacuum",
            "10 micron",
            &[(0.0, "400 micron", None), (840.0, "400 micron", None)]
        ))
        .verdict,
        Verdict::Held
    );
}
