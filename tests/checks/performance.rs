//! What a performance reading points to. The pairs are those of makers' diagnosis tables; the guide by ambient is US Army TM 5-3805-291-23-1, table 1.
use chillwright_calc::{
    UnitSystem,
    checks::{
        assess_case,
        performance::{
            LOW_SIDE_R134A, Pointer, points_to,
            vent::{self, Basis, Bounds, Cooling},
            water_in_the_air,
        },
        sheet::{self, proof},
        with_case,
    },
    parse,
    record::answer::{Weight, WorkStep},
    units::{AbsolutePressure, Fraction},
};
use serde_json::{Value, json};

fn ask<T>(
    system: Value,
    reading: Value,
    ask: impl FnOnce(&chillwright_calc::checks::case::Case<'_>) -> T,
) -> T {
    let record = json!({ "version": 1, "site": { "barometer": "101.325 kPa abs" }, "system": system, "performance": [reading] });
    with_case(
        &parse(&record.to_string()).expect("a record"),
        UnitSystem::Us,
        ask,
    )
}

fn pointers(system: Value, reading: Value) -> Vec<Pointer> {
    ask(system, reading, |case| {
        points_to(case, &case.record.performance[0])
    })
}

fn r134a() -> Value {
    json!({ "refrigerant": "R-134a", "metering": "expansion-valve" })
}

fn pair(ambient: &str, low: &str, high: &str) -> String {
    let found = pointers(
        r134a(),
        json!({ "ambient": ambient, "low_side": low, "high_side": high }),
    );
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].source.contains("guide only"), "{found:?}");
    found[0].says()
}

/// Each row of the guide with its own middle, on both sides, points to no fault; the high sides are the middle of the manual's.
#[test]
fn the_guides_own_rows_point_to_no_fault() {
    for ((f, from, to), high) in LOW_SIDE_R134A
        .into_iter()
        .zip([155.0, 175.0, 205.0, 230.0, 255.0])
    {
        let says = pair(
            &format!("{f} degF"),
            &format!("{} psig", (from + to) / 2.0),
            &format!("{high} psig"),
        );
        assert!(
            says.contains("points to no fault") && says.contains("weight is the only measure"),
            "{f}: {says}"
        );
        assert!(
            says.contains(&format!("(usual {from} to {to} psig)")),
            "{f}: {says}"
        );
    }
}

#[test]
fn a_pair_points_where_makers_tables_have_it() {
    for (low, high, points) in [
        (
            "45 psig",
            "330 psig",
            "too little air through the condenser. It could also be too much refrigerant or air in the circuit.",
        ),
        (
            "6 psig",
            "110 psig",
            "too little refrigerant. It could also be an expansion valve that opens too little or a restriction after the condenser.",
        ),
        ("50 psig", "110 psig", "a compressor that does not pump"),
        ("6 psig", "330 psig", "a blockage"),
        (
            "2 inHg vacuum",
            "200 psig",
            "a blockage before the evaporator",
        ),
        ("45 psig", "200 psig", "no single fault"),
        ("20 psig", "330 psig", "look at the condenser all the same"),
    ] {
        let says = pair("90 degF", low, high);
        assert!(says.contains(points), "{low}, {high}: {says}");
    }
}

/// One side alone points to nothing; what the finding on condensing says is another matter.
#[test]
fn only_a_pair_points_to_a_fault() {
    for (low, high, fault) in [
        ("20 psig", "200 psig", false),
        ("45 psig", "200 psig", false),
        ("20 psig", "110 psig", false),
        ("20 psig", "330 psig", false),
        ("45 psig", "330 psig", true),
    ] {
        let found = pointers(
            r134a(),
            json!({ "ambient": "90 degF", "low_side": low, "high_side": high }),
        );
        assert_eq!(found[0].fault, fault, "{found:?}");
    }
}

/// Below 15 degC no pair is judged, R-744 has no condensing temperature, and nothing is said of what is not recorded.
#[test]
fn what_cannot_be_read_is_not() {
    assert_eq!(
        pointers(
            r134a(),
            json!({ "ambient": "50 degF", "low_side": "20 psig", "high_side": "150 psig" })
        ),
        []
    );
    assert_eq!(
        pointers(
            json!({ "refrigerant": "R-744" }),
            json!({ "ambient": "90 degF", "low_side": "500 psig", "high_side": "1500 psig" })
        ),
        []
    );
    assert_eq!(
        pointers(
            json!({ "refrigerant": "other" }),
            json!({ "ambient": "90 degF", "low_side": "20 psig", "high_side": "200 psig" })
        ),
        []
    );
    assert_eq!(
        pointers(
            r134a(),
            json!({ "ambient": "90 degF", "low_side": "20 psig" })
        ),
        []
    );
}

/// The same temperatures of another refrigerant say the same: the guide is carried over by what boils and condenses where.
#[test]
fn another_refrigerant_is_read_by_its_own_pressures() {
    use chillwright_calc::{physics::refrigerant::Fluid, units::Temperature};
    let at = |fluid: Fluid, celsius: f64| {
        format!(
            "{} kPa abs",
            fluid
                .saturation_pressure(Temperature::from_celsius(celsius))
                .expect("a pressure")
                .pa()
                / 1e3
        )
    };
    for (boils, condenses) in [(-4.0, 55.0), (12.0, 80.0), (-20.0, 35.0)] {
        let cause = |name: &str, fluid: Fluid| {
            let reading = json!({ "ambient": "32 degC", "low_side": at(fluid, boils), "high_side": at(fluid, condenses) });
            let found = pointers(json!({ "refrigerant": name }), reading).remove(0);
            (found.points, found.fault)
        };
        assert_eq!(
            cause("R-1234yf", Fluid::R1234yf),
            cause("R-134a", Fluid::R134a),
            "{boils} {condenses}"
        );
    }
}

/// A probe on the wrong side of boiling is told as that, and decides nothing.
#[test]
fn a_line_that_cannot_be_is_told() {
    for (suction, liquid) in [("10 degF", "120 degF"), ("36 degF", "140 degF")] {
        let reading = json!({ "ambient": "90 degF", "low_side": "20 psig", "high_side": "200 psig", "suction_line": suction, "liquid_line": liquid });
        let found = pointers(r134a(), reading);
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(
            found[1].read.starts_with("Superheat")
                && found[1].points.contains("That cannot be")
                && found[1].fault,
            "{found:?}"
        );
        assert!(!found[0].fault, "{found:?}");
    }
}

/// Pressures are told in the unit of the gauge, temperatures in the reader's system; a reader who has switched has both in the other.
#[test]
fn a_reading_is_told_in_the_gauges_unit() {
    let reading = json!({ "ambient": "32 degC", "low_side": "0.4 bar gauge", "high_side": "7.6 bar gauge", "suction_line": "4 degC", "liquid_line": "34 degC" });
    let says = |units, shop: &str| {
        let record = json!({ "version": 1, "site": { "barometer": "101.325 kPa abs" }, "system": r134a(), "shop_units": shop, "performance": [reading] });
        with_case(
            &parse(&record.to_string()).expect("a record"),
            units,
            |case| points_to(case, &case.record.performance[0])[0].says(),
        )
    };
    let own = says(UnitSystem::Si, "si");
    assert!(
        own.starts_with(
            "At 32 °C outside the low side read 0.4 bar gauge (usual 1 to 2.7 bar gauge)"
        ),
        "{own}"
    );
    assert!(
        own.contains("7.6 bar gauge")
            && own.contains("; superheat 23 K")
            && !own.contains("psi")
            && !own.contains("°F"),
        "{own}"
    );
    let switched = says(UnitSystem::Us, "si");
    assert!(
        switched.starts_with("At 90 °F outside the low side read 5.8 psig")
            && !switched.contains("bar")
            && !switched.contains("°C"),
        "{switched}"
    );
}

fn bounds(ambient: &str, humidity: &str) -> Option<Bounds> {
    ask(
        r134a(),
        json!({ "ambient": ambient, "humidity": humidity, "vent": "10 degC" }),
        |case| vent::bounds(case, &case.record.performance[0]),
    )
}

/// A maker's 2000 manual (performance table, no humidity): 42, 45, 50, 54, 59 degF at 70, 80, 90, 100, 110 degF outside. At any humidity of a summer's day
/// such a vent is never called warm, and from 40 % on it is right.
#[test]
fn another_makers_vents_are_not_warm() {
    for (ambient, vent) in [
        ("70 degF", 42.0),
        ("80 degF", 45.0),
        ("90 degF", 50.0),
        ("100 degF", 54.0),
        ("110 degF", 59.0),
    ] {
        for humidity in ["20 %", "30 %", "40 %", "50 %", "60 %"] {
            let b = bounds(ambient, humidity).unwrap_or_else(|| panic!("{ambient} {humidity}"));
            let vent = (vent + 459.67) / 1.8;
            let most = if humidity < "40 %" {
                b.warm_k
            } else {
                b.right_k
            };
            assert!(vent <= most, "{ambient} {humidity}: {b:?} {vent}");
        }
    }
}

/// The table's own rows, carried over to themselves, hold their own vent: within the heat that 5 % of humidity either way are.
#[test]
fn the_tables_rows_are_within_their_own_bounds() {
    let table = chillwright_calc::checks::limits::default_vent_rows();
    for row in &table {
        let humidity = 0.5 * (row.humidity_from.si().one() + row.humidity_to.si().one());
        let b = vent::by_heat(
            &table,
            row.ambient.si(),
            Fraction::new(humidity),
            AbsolutePressure::new(101_325.0),
        )
        .expect("bounds");
        assert!(
            (b.right_k - 0.3..=b.warm_k + 0.3).contains(&row.vent.si().k()),
            "{}: {b:?}",
            row.line()
        );
        assert!(b.warm_k - b.right_k < 4.0, "{}: {b:?}", row.line());
    }
}

/// By psychrolib: the row of 25 degC, 60 %, 10.9 degC takes 24.04 kJ/kg out of the air, and no row more; that of 30 degC, 65 %, 20.5 degC takes least, 15.57.
/// Taken out of air of 35 degC and 40 % that leaves it at 16.87 to 19.92 degC, out of 38 degC and 15 %, which stays dry, at 14.37 to 22.70.
#[test]
fn heat_is_carried_over_as_psychrolib_has_it() {
    for (ambient, humidity, right, warm) in [
        ("35 degC", "40 %", 16.87, 19.92),
        ("38 degC", "15 %", 14.37, 22.70),
        ("38 degC", "70 %", 28.26, 29.95),
    ] {
        let b = bounds(ambient, humidity).expect("bounds");
        assert_eq!(b.basis, Basis::Heat);
        assert!(
            (b.right_k - 273.15 - right).abs() < 0.05 && (b.warm_k - 273.15 - warm).abs() < 0.05,
            "{} {}",
            b.right_k - 273.15,
            b.warm_k - 273.15
        );
    }
}

fn cooling(reading: Value) -> Cooling {
    ask(r134a(), reading, |case| {
        vent::judged(case, &case.record.performance[0])
    })
}

/// Both bounds, and between them nothing; hardly cooled air on a warm day is warm without the humidity too, but not in air so damp that no more can be had.
#[test]
fn a_vent_is_right_or_warm_or_between() {
    let at = |ambient: &str, humidity: &str, vent: &str| {
        cooling(json!({ "ambient": ambient, "humidity": humidity, "vent": vent }))
    };
    assert_eq!(at("35 degC", "40 %", "16.8 degC"), Cooling::Right);
    assert_eq!(at("35 degC", "40 %", "18.5 degC"), Cooling::Between);
    assert_eq!(at("35 degC", "40 %", "20.1 degC"), Cooling::Warm);
    assert_eq!(at("25 degC", "55 %", "10.9 degC"), Cooling::Right);
    assert_eq!(at("25 degC", "55 %", "11.0 degC"), Cooling::Warm);
    assert_eq!(at("50 degC", "20 %", "20 degC"), Cooling::NotJudged);
    assert_eq!(at("50 degC", "20 %", "44 degC"), Cooling::Warm);
    assert_eq!(
        cooling(json!({ "ambient": "30 degC", "vent": "24 degC" })),
        Cooling::Warm
    );
    assert_eq!(
        cooling(json!({ "ambient": "30 degC", "vent": "14 degC" })),
        Cooling::NotJudged
    );
    // 25 degC at 94 %: there is as much heat in it as in the table's 30 degC at 65 %, and its systems leave such air at 18 degC and more.
    assert_eq!(at("25 degC", "94 %", "18.4 degC"), Cooling::Right);
}

/// In the table one limit; beyond it two; below 15 and above 45 degC none, and none without the humidity. Damper air may come out warmer.
#[test]
fn the_vent_is_judged_in_all_weather_that_has_a_basis() {
    let inside = bounds("25 degC", "55 %").expect("bounds");
    assert!(
        inside.basis == Basis::Table
            && (inside.right_k - 284.05).abs() < 1e-6
            && inside.warm_k == inside.right_k,
        "{inside:?}"
    );
    for (ambient, humidity) in [
        ("25 degC", "30 %"),
        ("25 degC", "80 %"),
        ("16 degC", "60 %"),
        ("33 degC", "55 %"),
        ("45 degC", "15 %"),
    ] {
        let b = bounds(ambient, humidity).unwrap_or_else(|| panic!("{ambient} {humidity}"));
        assert!(
            b.basis == Basis::Heat && b.right_k <= b.warm_k && b.right_k >= 281.15 - 1e-9,
            "{ambient} {humidity}: {b:?}"
        );
    }
    assert_eq!(bounds("14.9 degC", "60 %"), None);
    assert_eq!(bounds("45.1 degC", "20 %"), None);
    assert_eq!(
        ask(
            r134a(),
            json!({ "ambient": "25 degC", "vent": "10 degC" }),
            |case| vent::bounds(case, &case.record.performance[0])
        ),
        None
    );
    for ambient in ["20 degC", "28 degC", "36 degC", "44 degC"] {
        let warm = |humidity: &str| bounds(ambient, humidity).expect("bounds").warm_k;
        // In dry air to a kelvin: the table's mildest rows, whose evaporators were held back from freezing, are carried over to it.
        assert!(
            warm("20 %") <= warm("45 %") + 1.0 && warm("45 %") < warm("90 %"),
            "{ambient}"
        );
    }
}

/// By psychrolib (tests/reference): 25 degC, 50 % at sea level has its dew point at 13.86 and its wet bulb at 17.89 degC.
#[test]
fn the_air_outside_is_told_with_its_water() {
    let reading = |recirculation: bool| json!({ "ambient": "25 degC", "humidity": "50 %", "vent": "7 degC", "recirculation": recirculation });
    let says = |reading: Value| {
        ask(r134a(), reading, |case| {
            water_in_the_air(case, &case.record.performance[0])
        })
    };
    let fresh = says(reading(false)).expect("a sentence");
    assert!(
        fresh.contains("dew point at 57.0 °F") && fresh.contains("wet bulb at 64.2 °F"),
        "{fresh}"
    );
    // 9.9 g/kg outside less the 6.2 g/kg of saturated air at 7 degC (psychrolib).
    assert!(fresh.contains("At least 3.7 g of water"), "{fresh}");
    assert!(!says(reading(true)).expect("a sentence").contains("run off"));
    assert_eq!(says(json!({ "ambient": "25 degC" })), None);
    assert_eq!(
        says(json!({ "ambient": "25 degC", "humidity": "0 %" })),
        None
    );
}

/// What the report says of the cooling: proved or not, and the sentence.
fn cooled(changes: &[(&str, Value)]) -> (bool, String) {
    let record = parse(&super::support::with(changes).to_string()).expect("a record");
    with_case(&record, UnitSystem::Si, |case| {
        let proof = proof(case, &assess_case(case));
        let about = |all: &[String]| all.iter().find(|s| s.contains("cool")).cloned();
        about(&proof.proves).map_or_else(
            || (false, about(&proof.does_not).expect("a sentence")),
            |says| (true, says),
        )
    })
}

/// "It cooled as it should" only where the vent was judged, by a reading whose conditions are on record; else what is missing.
#[test]
fn that_it_cools_is_said_only_where_it_was_shown() {
    let closed = ("/performance/0/doors_open", json!(false));
    let and = |key: &'static str, value: Value| cooled(&[closed.clone(), (key, value)]);
    assert_eq!(
        cooled(std::slice::from_ref(&closed)),
        (
            true,
            "It cooled as it should on the day when it was measured.".into()
        )
    );
    let not = |why: &str| (false, format!("That it cools as it should: {why}."));
    assert_eq!(cooled(&[]), not("doors open or closed was not recorded"));
    assert_eq!(
        and("/performance/0/engine", Value::Null),
        not("the engine’s speed was not recorded")
    );
    assert_eq!(
        cooled(&[("/performance/0/blower", Value::Null)]),
        not("the blower’s step and doors open or closed were not recorded")
    );
    assert_eq!(
        and("/performance/0/recirculation", Value::Null),
        not("recirculation on or off was not recorded")
    );
    assert_eq!(
        and("/performance/0/vent", json!("16 degC")),
        not("the air at the vent was warm")
    );
    assert_eq!(
        and("/performance/0/vent", Value::Null),
        not("the air at the vent was not measured")
    );
    assert_eq!(
        and("/performance/0/humidity", Value::Null),
        not("without temperature and humidity outside the vent cannot be judged")
    );
    assert_eq!(
        and("/performance/0/ambient", json!("12 degC")),
        not("in such weather the vent cannot be judged")
    );
    let between = [
        closed.clone(),
        ("/performance/0/ambient", json!("35 degC")),
        ("/performance/0/humidity", json!("40 %")),
        ("/performance/0/vent", json!("18.5 degC")),
    ];
    assert_eq!(
        cooled(&between),
        not("in such weather it cannot be told whether the vent was cold enough")
    );
    let fault = [
        closed.clone(),
        ("/performance/0/low_side", json!("48 psig")),
        ("/performance/0/high_side", json!("100 psig")),
    ];
    assert_eq!(
        cooled(&fault),
        not("the air was cold, but the pressures point to a fault")
    );
    assert_eq!(
        cooled(&[closed.clone(), ("/performance", json!([]))]).1,
        "That it cools as it should."
    );
    // No engine turns an electric compressor.
    let electric = [
        closed,
        ("/performance/0/engine", Value::Null),
        ("/system/compressor_drive", json!("electric")),
    ];
    assert!(cooled(&electric).0);
}

/// The report's and the sheet's limit is that of the weather of the reading itself, not of another one.
#[test]
fn a_limit_goes_with_its_own_reading() {
    let later = json!({ "id": "pf2", "at": "2026-05-12T15:00:00Z", "ambient": "30 degC", "humidity": "65 %", "low_side": "38 psig", "high_side": "215 psig", "vent": "19 degC" });
    let mut record = super::support::with(&[("/performance/-", later)]);
    // Entered the other way round.
    record["performance"]
        .as_array_mut()
        .expect("a list")
        .reverse();
    let line = with_case(
        &parse(&record.to_string()).expect("a record"),
        UnitSystem::Si,
        |case| {
            sheet::lines(case, &[])
                .into_iter()
                .find(|l| l.section == "performance")
                .expect("a line")
                .says
        },
    );
    assert!(
        line.starts_with("30 °C outside, 65 % humidity") && line.contains("up to 20.5 °C is right"),
        "{line}"
    );
}

/// Each kind of limit by refrigerant: at it nothing, above it a finding that blocks, in the gauge's unit.
#[test]
fn no_high_side_stands_above_its_limit() {
    for (gas, at, above, told) in [
        (
            "R-134a",
            "410 psig",
            "411 psig",
            "411 psig, above the 410 psig",
        ),
        (
            "R-1234yf",
            "2826 kPa gauge",
            "2840 kPa gauge",
            "2840 kPa gauge, above the 2827 kPa gauge",
        ),
        ("R-152a", "410 psig", "430 psig", "430 psig"),
        ("R-12", "380 psig", "381 psig", "above the 380 psig"),
        (
            "R-744",
            "13.9 MPa gauge",
            "14.2 MPa gauge",
            "14.2 MPa gauge, above the 14 MPa gauge",
        ),
    ] {
        let found = |high: &str| {
            let record = super::support::with(&[
                ("/system/refrigerant", json!(gas)),
                ("/performance/0/high_side", json!(high)),
            ]);
            super::support::answer(&record)
                .findings
                .into_iter()
                .find(|f| f.code == "high-side-limit")
        };
        assert!(found(at).is_none(), "{gas} {at}");
        let finding = found(above).unwrap_or_else(|| panic!("{gas} {above}"));
        assert!(
            finding.weight == Weight::Blocks
                && finding.says.contains(told)
                && finding.do_next.starts_with("Switch the AC off"),
            "{gas}: {finding:?}"
        );
    }
}

/// What a pattern asks for fits what is inside: nothing is opened before the refrigerant is out, and a charge that is known to be short is not looked for as a leak.
#[test]
fn a_pattern_writes_its_own_next_step() {
    let find = |changes: &[(&str, Value)]| {
        let found = super::support::answer(&super::support::with(changes)).findings;
        found
            .into_iter()
            .find(|f| f.code == "cooling-fault" || f.code == "vent-warm")
            .unwrap_or_else(|| panic!("{changes:?}"))
    };
    let pair = |low: &str, high: &str, vent: &str| {
        vec![
            ("/performance/0/low_side", json!(low)),
            ("/performance/0/high_side", json!(high)),
            ("/performance/0/vent", json!(vent)),
        ]
    };
    let pump = find(&pair("48 psig", "100 psig", "22 degC"));
    assert_eq!(pump.values["pattern"], "compressor-weak");
    assert!(
        pump.do_next
            .starts_with("Look whether the compressor turns"),
        "{}",
        pump.do_next
    );
    assert_eq!(
        pump.steps[..3],
        [WorkStep::Measure, WorkStep::Recover, WorkStep::OpenRepair]
    );
    // 45 g short by the scale.
    let short = find(&pair("6 psig", "95 psig", "22 degC"));
    assert_eq!(
        (short.values["pattern"].as_str(), short.steps[0]),
        (Some("charge-low"), WorkStep::Charge)
    );
    assert!(
        short
            .do_next
            .starts_with("Charge the 45 g that are missing by weight"),
        "{}",
        short.do_next
    );
    // Not weighed.
    let unknown = [
        pair("6 psig", "95 psig", "22 degC"),
        vec![("/charging/0/before", Value::Null)],
    ]
    .concat();
    let unknown = find(&unknown);
    assert_eq!(unknown.steps[..2], [WorkStep::Check, WorkStep::Recover]);
    assert!(
        unknown.says.contains("points to too little refrigerant")
            && unknown.do_next.contains("a detector that sees R-134a"),
        "{unknown:?}"
    );
    let fans = find(
        &[
            pair("42 psig", "310 psig", "22 degC"),
            vec![("/charging/0/after", json!("9.235 kg"))],
        ]
        .concat(),
    );
    assert_eq!(fans.values["pattern"], "condenser-airflow");
    assert!(
        !fans.says.contains("could also be too much refrigerant"),
        "{}",
        fans.says
    );
}
