//! A circuit's volume by letting nitrogen expand into it.
use super::table::{Largest, near, number, rows};
use chillwright_calc::{
    physics::expansion::{Expansion, NoVolume},
    units::{AbsolutePressure, Resolution, Volume},
};

fn expansion(vessel_l: f64, before: f64, empty: f64, after: f64, resolution: f64) -> Expansion {
    Expansion {
        vessel: Volume::new(vessel_l * 1e-3),
        vessel_before: AbsolutePressure::new(before),
        circuit_before: AbsolutePressure::new(empty),
        after: AbsolutePressure::new(after),
        resolution: Resolution::new(resolution),
    }
}

/// By CoolProp, where nitrogen is a real gas: its departure from Boyle's law moves the volume by less than 0.5 %.
#[test]
fn volumes_agree_with_coolprops_nitrogen() {
    let mut volume = Largest::new("volume by expansion", 5e-3);
    for row in rows(include_str!("tables/expansion.csv")) {
        let [vessel, circuit, before, empty, after] =
            row.iter().map(|c| number(c)).collect::<Vec<_>>()[..]
        else {
            panic!("{row:?}")
        };
        volume.see(
            expansion(vessel, before, empty, after, 0.0)
                .volume()
                .expect("a volume")
                .volume
                .m3()
                * 1e3,
            circuit,
            &row.join(" "),
        );
    }
    volume.end();
}

/// Boyle's law by hand: 1 L at 600 kPa into 2 L at 90 kPa stands at 260 kPa; half of a psi either way at each reading is 1.92 to 2.09 L.
#[test]
fn the_span_is_that_of_the_corners() {
    let found = expansion(1.0, 6e5, 0.9e5, 2.6e5, 6894.757)
        .volume()
        .expect("a volume");
    near(found.volume.m3(), 2e-3, 1e-12);
    let corner = |sign: f64| (340e3 + sign * 6894.757) / (170e3 - sign * 6894.757) * 1e-3;
    near(found.low.m3(), corner(-1.0), 1e-12);
    near(found.high.m3(), corner(1.0), 1e-12);
    // The surrounding air's pressure falls out.
    let shifted = expansion(1.0, 6.1e5, 1.0e5, 2.7e5, 6894.757)
        .volume()
        .expect("a volume");
    near(shifted.volume.m3(), found.volume.m3(), 1e-12);
}

#[test]
fn readings_that_cannot_be_give_no_volume() {
    let no = |e: Expansion| e.volume().expect_err("no volume");
    assert_eq!(no(expansion(0.0, 6e5, 1e5, 2e5, 0.0)), NoVolume::Vessel);
    assert_eq!(
        no(expansion(1.0, 6e5, 1e5, 6e5, 0.0)),
        NoVolume::NotBelowVessel
    );
    assert_eq!(
        no(expansion(1.0, 6e5, 1e5, 1e5, 0.0)),
        NoVolume::NotAboveCircuit
    );
    assert_eq!(
        no(expansion(1.0, 6e5, -1.0, 1e5, 0.0)),
        NoVolume::BelowVacuum
    );
    assert_eq!(
        no(expansion(1.0, 6e5, 1e5, f64::NAN, 0.0)),
        NoVolume::BelowVacuum
    );
    assert_eq!(no(expansion(1.0, 6e5, 1e5, 1.05e5, 5e3)), NoVolume::TooNear);
}
