//! What a performance reading points to. The pairs are those of makers' diagnosis tables; the guide by ambient is US Army TM 5-3805-291-23-1, table 1.
use chillwright_calc::{
    UnitSystem,
    checks::{
        pressures::{LOW_SIDE_R134A, Pointer, points_to, water_in_the_air},
        with_case,
    },
    parse,
};
use serde_json::{Value, json};

fn ask<T>(system: Value, reading: Value, ask: impl FnOnce(&chillwright_calc::checks::case::Case<'_>) -> T) -> T {
    let record = json!({ "version": 1, "site": { "barometer": "101.325 kPa abs" }, "system": system, "performance": [reading] });
    with_case(&parse(&record.to_string()).expect("a record"), UnitSystem::Us, ask)
}

fn pointers(system: Value, reading: Value) -> Vec<Pointer> {
    ask(system, reading, |case| points_to(case, &case.record.performance[0]))
}

fn r134a() -> Value {
    json!({ "refrigerant": "R-134a", "metering": "expansion-valve" })
}

fn pair(ambient: &str, low: &str, high: &str) -> String {
    let found = pointers(r134a(), json!({ "ambient": ambient, "low_side": low, "high_side": high }));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].source.contains("guide only"), "{found:?}");
    found[0].says()
}

/// Each row of the guide with its own middle, on both sides, points to no fault; the printed high sides are the manual's.
#[test]
fn the_guides_own_rows_point_to_no_fault() {
    for ((f, from, to), high) in LOW_SIDE_R134A.into_iter().zip([155.0, 175.0, 205.0, 230.0, 255.0]) {
        let says = pair(&format!("{f} degF"), &format!("{} psig", (from + to) / 2.0), &format!("{high} psig"));
        assert!(says.contains("points to no fault") && says.contains("weight is the only measure"), "{f}: {says}");
        assert!(says.contains(&format!("{from} to {to} psig on the low side")), "{f}: {says}");
    }
}

#[test]
fn pairs_point_where_makers_tables_have_them() {
    for (low, high, points) in [
        ("45 psig", "330 psig", "too much refrigerant, too little air through the condenser, or air"),
        ("6 psig", "110 psig", "too little refrigerant, or to a restriction after the condenser"),
        ("50 psig", "110 psig", "to the compressor"),
        ("6 psig", "330 psig", "a blockage between the two"),
        ("2 inHg vacuum", "200 psig", "ice at the expansion device, which means moisture"),
        ("45 psig", "200 psig", "by itself that points to nothing"),
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
        let found = pointers(r134a(), json!({ "ambient": "90 degF", "low_side": low, "high_side": high }));
        assert_eq!(found[0].fault, fault, "{found:?}");
    }
}

/// The guide has no row below 70 degF, R-744 has no condensing temperature, and nothing is said of what is not recorded.
#[test]
fn what_cannot_be_read_is_not() {
    assert_eq!(pointers(r134a(), json!({ "ambient": "60 degF", "low_side": "20 psig", "high_side": "150 psig" })), []);
    assert_eq!(pointers(json!({ "refrigerant": "R-744" }), json!({ "ambient": "90 degF", "low_side": "500 psig", "high_side": "1500 psig" })), []);
    assert_eq!(pointers(json!({ "refrigerant": "other" }), json!({ "ambient": "90 degF", "low_side": "20 psig", "high_side": "200 psig" })), []);
    assert_eq!(pointers(r134a(), json!({ "ambient": "90 degF", "low_side": "20 psig" })), []);
}

/// The same temperatures of another refrigerant say the same: the guide is carried over by what boils and condenses where.
#[test]
fn another_refrigerant_is_read_by_its_own_pressures() {
    use chillwright_calc::{physics::refrigerant::Fluid, units::Temperature};
    let at = |fluid: Fluid, celsius: f64| format!("{} kPa abs", fluid.saturation_pressure(Temperature::from_celsius(celsius)).expect("a pressure").pa() / 1e3);
    for (boils, condenses) in [(-4.0, 55.0), (12.0, 80.0), (-20.0, 35.0)] {
        let cause = |name: &str, fluid: Fluid| {
            let reading = json!({ "ambient": "32 degC", "low_side": at(fluid, boils), "high_side": at(fluid, condenses) });
            let found = pointers(json!({ "refrigerant": name }), reading).remove(0);
            (found.points, found.fault)
        };
        assert_eq!(cause("R-1234yf", Fluid::R1234yf), cause("R-134a", Fluid::R134a), "{boils} {condenses}");
    }
}

/// 20 psig boils at 22.7 degF, 200 psig condenses at 131 degF (R-134a).
fn lines(metering: &str, suction: &str, liquid: &str) -> String {
    let reading = json!({ "ambient": "90 degF", "low_side": "20 psig", "high_side": "200 psig", "suction_line": suction, "liquid_line": liquid });
    let found = pointers(json!({ "refrigerant": "R-134a", "metering": metering }), reading);
    assert_eq!(found.len(), 2, "{found:?}");
    found[1].says()
}

#[test]
fn superheat_and_subcooling_point_together() {
    let valve = "expansion-valve";
    for (metering, suction, liquid, points) in [
        (valve, "65 degF", "130 degF", "too little refrigerant: weigh it"),
        (valve, "65 degF", "100 degF", "a restriction after the condenser"),
        (valve, "23 degF", "100 degF", "too much refrigerant: weigh it"),
        (valve, "23 degF", "130 degF", "an expansion valve that opens too far"),
        (valve, "36 degF", "120 degF", "points to no fault"),
        // An orifice tube does not follow the superheat; little of it is how it works.
        ("orifice-tube", "23 degF", "120 degF", "points to no fault"),
        ("orifice-tube", "45 degF", "120 degF", "an evaporator that gets too little"),
        (valve, "10 degF", "120 degF", "That cannot be"),
        (valve, "36 degF", "140 degF", "That cannot be"),
    ] {
        let says = lines(metering, suction, liquid);
        assert!(says.contains(points), "{metering}, {suction}, {liquid}: {says}");
        assert!(says.starts_with("Superheat") && says.contains("subcooling"), "{says}");
    }
}

/// By psychrolib (tests/reference): 25 degC, 50 % at sea level has its dew point at 13.86 and its wet bulb at 17.89 degC.
#[test]
fn the_air_outside_is_told_with_its_water() {
    let reading = |recirculation: bool| json!({ "ambient": "25 degC", "humidity": "50 %", "vent": "7 degC", "recirculation": recirculation });
    let says = |reading: Value| ask(r134a(), reading, |case| water_in_the_air(case, &case.record.performance[0]));
    let fresh = says(reading(false)).expect("a sentence");
    assert!(fresh.contains("dew point at 57.0 °F") && fresh.contains("wet bulb at 64.2 °F"), "{fresh}");
    // 9.9 g/kg outside less the 6.2 g/kg of saturated air at 7 degC (psychrolib).
    assert!(fresh.contains("At least 3.7 g of water"), "{fresh}");
    assert!(!says(reading(true)).expect("a sentence").contains("run off"));
    assert_eq!(says(json!({ "ambient": "25 degC" })), None);
    assert_eq!(says(json!({ "ambient": "25 degC", "humidity": "0 %" })), None);
}
