//! Quantities as they are typed. The conversions are those of NIST SP 811, appendix B.8.
use chillwright_calc::units::{
    Dimension, LeakRate, Length, Mass, Pressure, PressureDifference, Quantity, Seconds,
    Temperature, Torque, Volume,
};

fn read<D: Dimension>(text: &str) -> Quantity<D> {
    text.parse().unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn refused<D: Dimension>(text: &str) -> String {
    match text.parse::<Quantity<D>>() {
        Ok(q) => panic!("{text} was read as {q}"),
        Err(e) => e.to_string(),
    }
}

fn near(found: f64, wanted: f64) {
    assert!(
        (found / wanted - 1.0).abs() < 1e-9,
        "{found} is not {wanted}"
    );
}

#[test]
fn conversions_are_those_of_nist() {
    near(read::<PressureDifference>("1 inHg").si().pa(), 3386.389);
    near(read::<PressureDifference>("1 psi").si().pa(), 6894.757);
    near(
        read::<PressureDifference>("1 Torr").si().pa(),
        101_325.0 / 760.0,
    );
    near(
        read::<PressureDifference>("1000 micron").si().pa(),
        101_325.0 / 760.0,
    );
    near(read::<PressureDifference>("1 mbar").si().pa(), 100.0);
    // 1 inHg = 25 400 micron, to the difference of the conventional inch and the Torr.
    let ratio = read::<PressureDifference>("1 inHg").si().pa()
        / read::<PressureDifference>("25400 micron").si().pa();
    assert!((ratio - 1.0).abs() < 1e-6, "{ratio}");
    near(read::<Mass>("1 lb").si().kg(), 0.453_592_37);
    near(read::<Mass>("16 oz").si().kg(), 0.453_592_37);
    near(read::<Volume>("1 floz").si().m3(), 29.573_529_562_5e-6);
    near(read::<Length>("1000 ft").si().m(), 304.8);
    near(read::<Temperature>("212 degF").si().k(), 373.15);
    near(
        read::<Temperature>("-40 degF").si().k(),
        read::<Temperature>("-40 degC").si().k(),
    );
    near(
        read::<LeakRate>("1 oz/yr").si().kg_per_year(),
        0.028_349_523_125,
    );
    near(read::<Torque>("1 lbf ft").si().n_m(), 1.355_817_948);
    near(read::<Seconds>("PT1H30M").si().s(), 5400.0);
    near(read::<Mass>("1,5 kg").si().kg(), 1.5);
}

#[test]
fn a_pressure_says_from_where_it_counts() {
    assert!(matches!(
        read::<Pressure>("28 inHg vacuum").si(),
        Pressure::Vacuum(_)
    ));
    assert!(matches!(
        read::<Pressure>("70 psig").si(),
        Pressure::Gauge(_)
    ));
    assert!(matches!(
        read::<Pressure>("400 micron").si(),
        Pressure::Absolute(_)
    ));
    assert!(matches!(
        read::<Pressure>("14.5 psia").si(),
        Pressure::Absolute(_)
    ));
    assert_eq!(
        refused::<Pressure>("28 inHg"),
        "28 inHg: vacuum, gauge or abs?"
    );
    assert!(refused::<Pressure>("28 inches vacuum").contains("no unit"));
}

#[test]
fn what_cannot_be_read_says_what_to_write() {
    assert!(refused::<Mass>("1,200 g").contains("write 1.2 or 1200"));
    assert!(refused::<Mass>("-1 g").contains("below zero"));
    assert!(refused::<Temperature>("-300 degC").contains("below absolute zero"));
    for bad in ["inf kg", "NaN kg", "1e999 kg", "600", "600g", "kg", ""] {
        refused::<Mass>(bad);
    }
    assert_eq!(read::<Mass>("600 g").to_string(), "600 g", "as typed");
}

/// A hold of 14 min 58 s must not be told to have taken the 15 min that it lacks.
#[test]
fn what_falls_short_is_not_rounded_up() {
    use chillwright_calc::units::show;
    let (short, enough) = (Seconds::new(898.0), Seconds::new(900.0));
    assert_eq!(
        (show::duration(short), show::duration_so_far(short)),
        ("15 min".into(), "14 min".to_owned())
    );
    assert_eq!(show::duration_so_far(enough), "15 min");
    assert_eq!(
        (
            show::duration_so_far(Seconds::new(45.0)),
            show::duration_so_far(Seconds::new(6000.0))
        ),
        ("45 s".into(), "1.7 hours".to_owned())
    );
}
