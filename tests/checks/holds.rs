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
    assert!(
        (found / wanted - 1.0).abs() < 1e-3,
        "{found} is not {wanted}"
    );
}

/// Three worked cases (2.5 L, 600 g R-134a, 0 m, 22 degC).
#[test]
fn what_three_holds_could_have_shown() {
    let dial = hold(
        "vacuum",
        "0.5 inHg",
        &[
            ("00:00", "28 inHg vacuum", WARM),
            ("20:00", "28 inHg vacuum", WARM),
        ],
    );
    assert_eq!(
        (dial.verdict, dial.shape),
        (Verdict::Held, Some(Shape::Flat))
    );
    near(dial.smallest_leak_shown_kg_per_year, 306.4);
    near(dial.hours_to_empty_at_smallest, 17.166);
    let electronic = hold(
        "vacuum",
        "10 micron",
        &[("00:00", "400 micron", WARM), ("20:00", "400 micron", WARM)],
    );
    assert_eq!(
        format!(
            "{:.3}",
            electronic
                .smallest_leak_shown_kg_per_year
                .expect("a figure")
        ),
        "0.269"
    );
    let nitrogen = hold(
        "pressure",
        "1 psi",
        &[("00:00", "150 psig", WARM), ("59:59", "150 psig", WARM)],
    );
    assert_eq!(nitrogen.verdict, Verdict::Held);
    near(
        nitrogen.smallest_leak_shown_kg_per_year,
        4.93 * 3600.0 / 3599.0,
    );
}

#[test]
fn each_verdict() {
    let short = hold(
        "vacuum",
        "0.5 inHg",
        &[
            ("00:00", "28 inHg vacuum", WARM),
            ("10:00", "28 inHg vacuum", WARM),
        ],
    );
    assert_eq!(short.verdict, Verdict::TooShort);
    let leak = hold(
        "vacuum",
        "0.5 inHg",
        &[
            ("00:00", "28 inHg vacuum", WARM),
            ("05:00", "26 inHg vacuum", WARM),
        ],
    );
    assert_eq!(
        leak.verdict,
        Verdict::Leak,
        "a rise is called however short"
    );
    let deep = hold(
        "vacuum",
        "1 micron",
        &[("00:00", "300 micron", WARM), ("20:00", "600 micron", WARM)],
    );
    assert_eq!((deep.verdict, deep.shape), (Verdict::Inconclusive, None));
    let water = hold(
        "vacuum",
        "10 micron",
        &[
            ("00:00", "19840 micron", WARM),
            ("20:00", "19840 micron", WARM),
        ],
    );
    assert_eq!(
        water.verdict,
        Verdict::Moisture,
        "water at 22 degC holds 2645 Pa, 19840 micron"
    );
    let pumped = hold(
        "vacuum",
        "10 micron",
        &[
            ("00:00", "2000 micron", WARM),
            ("20:00", "500 micron", WARM),
        ],
    );
    assert_eq!(pumped.verdict, Verdict::NotReadable);
    assert!(pumped.why.expect("why").contains("still being pumped"));
    let no_vacuum = hold(
        "vacuum",
        "0.5 inHg",
        &[
            ("00:00", "15 inHg vacuum", WARM),
            ("20:00", "15 inHg vacuum", WARM),
        ],
    );
    assert_eq!(no_vacuum.verdict, Verdict::NotReadable);
    let single = hold("vacuum", "0.5 inHg", &[("00:00", "28 inHg vacuum", WARM)]);
    assert_eq!(single.verdict, Verdict::NotReadable);
    let impossible = hold(
        "vacuum",
        "0.5 inHg",
        &[
            ("00:00", "31 inHg vacuum", WARM),
            ("20:00", "31 inHg vacuum", WARM),
        ],
    );
    assert_eq!(impossible.verdict, Verdict::NotReadable);
}

/// Water is seen by the last reading's temperature alone, where the pressure stands still; a pressure that moved past water's own has to follow
/// the metal, and of that one temperature tells nothing. Vapour pressure at 22 degC: 2645 Pa, 19840 micron (2.6453 kPa, CRC Handbook, from memory).
#[test]
fn water_is_seen_by_the_last_temperature() {
    let held = |pressures: &[&str], warm: &[usize]| {
        let minutes: Vec<String> = (0..pressures.len())
            .map(|i| format!("{:02}:00", 20 * i / (pressures.len() - 1)))
            .collect();
        let list: Vec<_> = pressures
            .iter()
            .enumerate()
            .map(|(i, p)| {
                (
                    minutes[i].as_str(),
                    *p,
                    warm.contains(&i).then_some("22 degC"),
                )
            })
            .collect();
        hold("vacuum", "10 micron", &list)
    };
    let still = ["19840 micron"; 7];
    for n in [2, 3, 4, 5, 7] {
        let last_only = held(&still[..n], &[n - 1]);
        assert_eq!(
            (last_only.verdict, last_only.shape),
            (Verdict::Moisture, Some(Shape::Flat)),
            "{n}"
        );
        assert_eq!(
            held(&still[..n], &[0]).verdict,
            Verdict::Held,
            "{n}: without the last temperature there is no pressure to compare with"
        );
    }
    assert_eq!(
        held(&["21500 micron", "21500 micron"], &[1]).verdict,
        Verdict::Held,
        "8 % above"
    );
    assert_eq!(
        held(&["17000 micron", "19840 micron"], &[1]).verdict,
        Verdict::Leak,
        "on its way past"
    );
    assert_eq!(
        held(
            &[
                "15000 micron",
                "16200 micron",
                "17400 micron",
                "18600 micron",
                "19840 micron"
            ],
            &[4]
        )
        .verdict,
        Verdict::Leak
    );
}

/// A fall beyond the bound: a pump that still runs, or a wrong temperature. 15 micron are 2.0 Pa; the bound is one graduation of 10 micron and
/// what 1 K makes, 1.5 Pa.
#[test]
fn a_fall_beyond_the_bound_cannot_be_read() {
    let fall = |pressures: &[&str]| {
        let at = if pressures.len() == 2 {
            ["00:00", "20:00", "", ""]
        } else {
            ["00:00", "08:00", "16:00", "24:00"]
        };
        let list: Vec<_> = pressures
            .iter()
            .zip(at)
            .map(|(p, at)| (at, *p, WARM))
            .collect();
        hold("vacuum", "10 micron", &list)
    };
    let two = fall(&["400 micron", "385 micron"]);
    assert_eq!(two.verdict, Verdict::NotReadable, "{two:?}");
    assert!(
        two.change_pa.expect("a change") < -two.bound_pa.expect("a bound")
            && two.why.expect("why").contains("still being pumped")
    );
    assert_eq!(
        fall(&["400 micron", "390 micron", "390 micron", "385 micron"]).verdict,
        Verdict::NotReadable
    );
    assert_eq!(
        fall(&["400 micron", "390 micron"]).verdict,
        Verdict::Inconclusive,
        "a graduation lies within the bound, and in two readings tells nothing"
    );
    assert_eq!(
        fall(&["400 micron", "390 micron", "400 micron", "390 micron"]).verdict,
        Verdict::Held,
        "of four it is noise"
    );
}

/// A dial that is read twice and moved by one graduation may hide a rise of nearly two: it is not called held; nor is a leak claimed.
/// Read ten times it tells.
#[test]
fn one_graduation_in_two_readings_proves_nothing() {
    let dial = |readings: &[&str]| {
        let minutes = 20.0 / (readings.len() - 1) as f64;
        let at: Vec<String> = (0..readings.len())
            .map(|i| {
                format!(
                    "{:02}:{:02}",
                    (minutes * i as f64) as u32,
                    (minutes * i as f64 * 60.0) as u32 % 60
                )
            })
            .collect();
        let list: Vec<(&str, String)> = at
            .iter()
            .zip(readings)
            .map(|(at, r)| (at.as_str(), format!("{r} inHg vacuum")))
            .collect();
        hold(
            "vacuum",
            "0.5 inHg",
            &list
                .iter()
                .map(|(at, r)| (*at, r.as_str(), WARM))
                .collect::<Vec<_>>(),
        )
    };
    let twice = dial(&["28", "27.5"]);
    assert_eq!(
        (twice.verdict, twice.shape),
        (Verdict::Inconclusive, Some(Shape::Flat))
    );
    assert!(twice.why.expect("why").contains("too few or too coarse"));
    assert!(twice.leak_high_kg_per_year.expect("a figure") > 0.0);
    assert_eq!(
        dial(&[
            "28", "28", "28", "27.5", "28", "28", "28", "28", "28", "28", "27.5"
        ])
        .verdict,
        Verdict::Held,
        "a needle that was misread twice"
    );
    assert_eq!(
        dial(&[
            "28", "28", "27.5", "27.5", "27.5", "27.5", "27", "27", "27", "26.5", "26.5"
        ])
        .verdict,
        Verdict::Leak
    );
}

/// Water's pressure goes with the metal's temperature as no gas's does: it is not a leak that it rises with the warmth, nor a pump still running that
/// it falls with the cold. Vapour pressures: CRC Handbook, 2.3388 kPa at 20 degC, 3.169 at 25, 4.2455 at 30 (that at 25 from memory).
#[test]
fn water_follows_the_metal() {
    let readings = |list: &[(&str, &str, &str)]| {
        let list: Vec<(&str, &str, Option<&str>)> =
            list.iter().map(|(at, p, t)| (*at, *p, Some(*t))).collect();
        hold("vacuum", "0.1 mbar", &list)
    };
    let (cold, middle, warm) = ("23.4 mbar abs", "31.7 mbar abs", "42.4 mbar abs");
    assert_eq!(
        readings(&[
            ("00:00", cold, "20 degC"),
            ("10:00", middle, "25 degC"),
            ("20:00", warm, "30 degC")
        ])
        .verdict,
        Verdict::Moisture
    );
    assert_eq!(
        readings(&[
            ("00:00", warm, "30 degC"),
            ("10:00", middle, "25 degC"),
            ("20:00", cold, "20 degC")
        ])
        .verdict,
        Verdict::Moisture
    );
    // The same rise and fall on metal that keeps its temperature.
    assert_eq!(
        readings(&[
            ("00:00", cold, "22 degC"),
            ("10:00", middle, "22 degC"),
            ("20:00", warm, "22 degC")
        ])
        .verdict,
        Verdict::Leak
    );
    assert_eq!(
        readings(&[
            ("00:00", warm, "22 degC"),
            ("10:00", middle, "22 degC"),
            ("20:00", cold, "22 degC")
        ])
        .verdict,
        Verdict::NotReadable
    );
}

/// Thirty readings near a perfect vacuum on a dial: one that was read a graduation too low does not void the hold, a gauge that is wrong does.
#[test]
fn one_reading_too_low_is_noise() {
    let dial = |low: &[usize]| {
        let at: Vec<String> = (0..10).map(|i| format!("{:02}:00", 2 * i)).collect();
        let list: Vec<(&str, &str, Option<&str>)> = at
            .iter()
            .enumerate()
            .map(|(i, at)| {
                (
                    at.as_str(),
                    if low.contains(&i) {
                        "30.7 inHg vacuum"
                    } else {
                        "29.8 inHg vacuum"
                    },
                    WARM,
                )
            })
            .collect();
        hold("vacuum", "0.5 inHg", &list)
    };
    // At 0 m and without a barometer a reading is in doubt by 2.35 kPa, 0.69 inHg; 30.7 lies 0.78 beyond the air's 29.92.
    assert_eq!(dial(&[4]).verdict, Verdict::Held);
    assert_eq!(
        dial(&[0, 1, 2, 3, 4, 5, 6, 7, 8, 9]).verdict,
        Verdict::NotReadable
    );
    let two = |low: &str| {
        hold(
            "vacuum",
            "0.5 inHg",
            &[("00:00", "29.8 inHg vacuum", WARM), ("20:00", low, WARM)],
        )
        .verdict
    };
    assert_eq!(
        (two("30.3 inHg vacuum"), two("30.7 inHg vacuum")),
        (Verdict::Held, Verdict::NotReadable),
        "of two, one is half"
    );
}

/// International Fuel Gas Code, appendix A.6.5, example 5: 20 psig at 70 degF cooling to 40 degF reads 18 psig. Sixteen times the
/// pressure difference that a pressure hold begins with, so scaled: the law is the same, p T1/T2.
#[test]
fn a_pressure_that_cools_is_no_leak() {
    let cooled = hold(
        "pressure",
        "1 psi",
        &[
            ("00:00", "150 psig", Some("70 degF")),
            ("40:00", "140.7 psig", Some("40 degF")),
        ],
    );
    assert_eq!(cooled.verdict, Verdict::Held, "{:?}", cooled);
    let leak = hold(
        "pressure",
        "1 psi",
        &[
            ("00:00", "150 psig", Some("70 degF")),
            ("40:00", "130 psig", Some("40 degF")),
        ],
    );
    assert_eq!(
        (leak.verdict, leak.shape),
        (Verdict::Leak, Some(Shape::Linear))
    );
    let weak = hold(
        "pressure",
        "1 psi",
        &[("00:00", "10 psig", WARM), ("40:00", "10 psig", WARM)],
    );
    assert_eq!(weak.verdict, Verdict::NotReadable);
    let short = hold(
        "pressure",
        "1 psi",
        &[("00:00", "150 psig", WARM), ("20:00", "150 psig", WARM)],
    );
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
    assert_eq!(
        (hold.verdict, hold.would_be),
        (Verdict::Running, Some(Verdict::Held))
    );
}
