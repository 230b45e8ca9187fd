//! What hoses hold, and what a circuit without liquid still holds.
use super::table::{Largest, number, rows, within};
use chillwright_calc::{
    JobRecord, UnitSystem,
    checks::{
        hose,
        left::{Left, left},
        limits::{LimitSettings, Limits},
        with_case,
    },
    parse,
    physics::{atmosphere, refrigerant::Fluid},
    record::{Hose, HoseState, Refrigerant},
    units::{AbsolutePressure, Length, Temperature},
};

fn limits() -> Limits {
    Limits::of(&LimitSettings::default())
}

/// By CoolProp: length, bore and the density of what fills it.
#[test]
fn hoses_agree_with_coolprop() {
    let (mut liquid, mut vapour) = (
        Largest::new("a hose full of liquid", 1e-6),
        Largest::new("a hose full of vapour", 1e-6),
    );
    for row in rows(include_str!("tables/amounts.csv"))
        .into_iter()
        .filter(|row| row[0] == "hose")
    {
        let fluid = Fluid::from_name(row[1]).expect("a refrigerant");
        let hose = Hose {
            length: format!("{} m", row[3]).parse().ok(),
            bore: format!("{} mm", row[4]).parse().ok(),
            state: None,
        };
        let volume = hose::volume_of(&hose).expect("a volume");
        let held = |state| {
            hose::held(
                fluid,
                volume,
                state,
                Temperature::from_celsius(number(row[2])),
                &limits(),
            )
            .expect("a mass")
        };
        liquid.see(
            held(Some(HoseState::Liquid)).kg,
            number(row[5]),
            &row.join(" "),
        );
        vapour.see(
            held(Some(HoseState::Vapour)).kg,
            number(row[6]),
            &row.join(" "),
        );
        // Nobody saw which: from the vapour to the liquid, a tenth of each beyond.
        let either = held(None);
        assert!(
            either.low < number(row[6]) && either.high > number(row[5]) && either.low > 0.0,
            "{either:?}"
        );
    }
    liquid.end();
    vapour.end();
}

/// A common hose full of liquid at 25 degC holds 39 to 69 g of R-134a, 36 to 62 g of R-1234yf (published, to the gram).
#[test]
fn common_hoses_hold_what_is_published() {
    for (refrigerant, least, most) in [
        (Refrigerant::R134a, 39.0, 69.0),
        (Refrigerant::R1234yf, 36.0, 62.0),
    ] {
        let (narrow, wide) = hose::full(refrigerant, &limits());
        within(narrow * 1e3, least, 0.5);
        within(wide * 1e3, most, 0.5);
    }
    // R-12 is the densest of the five: what is not known holds no more.
    assert_eq!(
        hose::full(Refrigerant::Other, &limits()),
        hose::full(Refrigerant::R12, &limits())
    );
}

fn record(refrigerant: &str, litres: &str) -> JobRecord {
    parse(&format!(r#"{{ "version": 1, "site": {{ "elevation": "0 m" }}, "system": {{ "refrigerant": "{refrigerant}", "internal_volume": "{litres} L" }} }}"#))
        .expect("a record")
}

/// By CoolProp: the density of vapour at a pressure, times the volume. At the air's own pressure and below it may as well be air.
#[test]
fn what_is_left_agrees_with_coolprop() {
    let mut mass = Largest::new("left without liquid", 1e-4);
    let mut air = 0;
    for row in rows(include_str!("tables/amounts.csv"))
        .into_iter()
        .filter(|row| row[0] == "left")
    {
        let (celsius, pa, kg) = (number(row[2]), number(row[3]), number(row[5]));
        with_case(&record(row[1], row[4]), UnitSystem::Si, |case| {
            let Some(Left::Vapour(low, high)) = left(
                case,
                AbsolutePressure::new(pa),
                Temperature::from_celsius(celsius),
            ) else {
                panic!("{row:?}")
            };
            mass.see(high, kg, &row.join(" "));
            if pa > 101_325.0 {
                mass.see(low, kg, &row.join(" "));
            } else {
                assert_eq!(low, 0.0, "{row:?}");
                air += 1;
            }
        });
    }
    mass.end();
    assert!(air > 10);
}

/// ISO 2533: what an unknown place may have, from 430 m below the sea to 5100 m above it, is what the limits say, to their last digit.
#[test]
fn the_range_of_inhabited_elevations() {
    let at = |m: f64| {
        atmosphere::standard_pressure(Length::new(m))
            .expect("a pressure")
            .pa()
    };
    within(
        at(0.0) - at(5100.0),
        limits().assumed_site_uncertainty.pa(),
        50.0,
    );
    within(at(-430.0) - at(0.0), limits().assumed_site_above.pa(), 50.0);
    // ISO 2533 at 5000 m, 54 020 Pa (from memory).
    within(at(5000.0), 54_020.0, 30.0);
}
