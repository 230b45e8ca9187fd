//! Figures of regulations and makers that the rules' limits and the reading of pressures rest on.
use super::table::{ATM, PSI, fahrenheit, within};
use chillwright_calc::{
    checks::limits::{LimitSettings, Limits},
    physics::refrigerant::Fluid,
    units::AbsolutePressure,
};

fn limits() -> Limits {
    Limits::of(&LimitSettings::default())
}

/// 40 CFR 82 subpart B: charge within 15 g of the maker's figure, recovered mass shown within 30 g (appendix C), at least 98 % of one gas.
#[test]
fn the_regulations_service_figures() {
    let limits = limits();
    within(limits.charge_tolerance.kg(), 0.015, 1e-12);
    within(limits.loss_margin.kg(), 0.030, 1e-12);
    within(limits.purity.one(), 0.98, 1e-12);
}

/// Directive 2006/40/EC: 40 g a year, 60 with two evaporators. SAE J2791-2019: detectors show 4, 7 and 14 g a year, the coarsest of which is asked for.
#[test]
fn the_directives_leaks() {
    let limits = limits();
    within(limits.leak_limit.kg_per_year(), 0.040, 1e-12);
    within(
        limits.leak_limit_two_evaporators.kg_per_year(),
        0.060,
        1e-12,
    );
    within(
        limits.check_sensitivity.kg_per_year(),
        [0.004, 0.007, 0.014].into_iter().fold(0.0, f64::max),
        1e-12,
    );
}

/// SAE J2099: at most 150 ppm of air in recycled HFC-134a (from memory); 40 CFR 82 subpart B, appendix A: 330 ppm in recycled CFC-12. The limit that
/// a circuit is told by is no stricter than either, for its air is not what the cylinder brought.
#[test]
fn the_yardsticks_of_air() {
    within(limits().air_left.one() * 1e6, 500.0, 1e-9);
    assert!(limits().air_left.one() * 1e6 >= 330.0);
}

/// Makers' tables: what the air at the vent has on a day of 20, 25 or 30 degC, humidity 50 to 60 and 60 to 70 %. The warm end is the limit.
#[test]
fn the_makers_vents() {
    let printed = [
        (20.0, 0.5, 8.0),
        (25.0, 0.5, 10.9),
        (30.0, 0.5, 17.5),
        (20.0, 0.6, 9.1),
        (25.0, 0.6, 13.4),
        (30.0, 0.6, 20.5),
    ];
    let table = limits().vent_table;
    assert_eq!(table.len(), printed.len());
    for (ambient, humidity, vent) in printed {
        let row = table.iter().find(|r| {
            (r.ambient.si().celsius() - ambient).abs() < 1e-9
                && (r.humidity_from.si().one() - humidity).abs() < 1e-9
        });
        within(row.expect("a row").vent.si().celsius(), vent, 1e-9);
    }
}

/// US Army TM 5-3805-291-23-1, table 1, the high side of R-134a by ambient (a guide only), and makers' 170 to 280 psi at 90 degF: each lies within
/// the 13 to 39 K above ambient that makers' tables make, which the findings on condensing rest on.
#[test]
fn printed_high_sides_condense_13_to_39_k_above_ambient() {
    let above = |f: f64, psig: f64| {
        Fluid::R134a
            .saturation_temperature(AbsolutePressure::new(ATM + psig * PSI))
            .expect("a temperature")
            .k()
            - fahrenheit(f)
    };
    for (f, least, most) in [
        (70.0, 120.0, 190.0),
        (80.0, 140.0, 210.0),
        (90.0, 170.0, 240.0),
        (100.0, 190.0, 270.0),
        (110.0, 210.0, 300.0),
        (90.0, 170.0, 280.0),
    ] {
        for psig in [least, most] {
            let k = above(f, psig);
            assert!((13.0..=39.0).contains(&k), "{f} degF, {psig} psig: {k} K");
        }
    }
    assert!(
        (above(90.0, 280.0) - 35.0).abs() < 2.0,
        "{}",
        above(90.0, 280.0)
    );
    within(limits().condensing_concession.k(), 39.0, 1e-12);
}

/// The same table, the low side: 10 to 30 psi. Its lower end evaporates at -14 degC, where an evaporator freezes over, and makers stop the compressor near
/// 0 to 3 degC. Physics stands: the table is a guide to how pressures lie together, and what freezes is called `freeze-risk` whatever it prints.
#[test]
fn printed_low_sides_reach_below_freezing() {
    let boils = |psig: f64| {
        Fluid::R134a
            .saturation_temperature(AbsolutePressure::new(ATM + psig * PSI))
            .expect("a temperature")
            .celsius()
    };
    within(boils(10.0), -14.1, 0.1);
    within(boils(30.0), 1.6, 0.2);
    assert!(boils(10.0) < limits().freeze.celsius());
}
