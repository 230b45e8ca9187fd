//! Published values.
use chillwright_calc::{
    physics::{
        atmosphere::standard_pressure,
        gas::Gas,
        leak::{Side, convert, mass_flow},
        refrigerant::Fluid,
        water,
    },
    units::{AbsolutePressure, Length, Temperature},
};

fn near(found: f64, wanted: f64, relative: f64) {
    assert!((found / wanted - 1.0).abs() <= relative, "{found} is not within {relative} of {wanted}");
}

/// IAPWS R7-97(2012), table 35.
#[test]
fn water_boils_by_table_35() {
    for (k, mpa) in [(300.0, 0.353_658_941e-2), (500.0, 0.263_889_776e1), (600.0, 0.123_443_146e2)] {
        near(water::saturation_pressure(Temperature::new(k)).expect("a pressure").pa(), mpa * 1e6, 1e-8);
    }
}

/// IAPWS R7-97(2012), table 36.
#[test]
fn water_boils_by_table_36() {
    for (mpa, k) in [(0.1, 372.755_919), (1.0, 453.035_632), (10.0, 584.149_488)] {
        near(water::saturation_temperature(AbsolutePressure::new(mpa * 1e6)).expect("a temperature").k(), k, 1e-8);
    }
}

/// IAPWS R14-08(2011), table 3; and the triple point from both sides.
#[test]
fn ice_sublimes_by_table_3() {
    near(water::saturation_pressure(Temperature::new(230.0)).expect("a pressure").pa(), 8.947_35, 1e-6);
    near(water::saturation_pressure(Temperature::new(273.16)).expect("a pressure").pa(), 611.657, 1e-6);
    near(water::saturation_temperature(AbsolutePressure::new(8.947_35)).expect("a temperature").k(), 230.0, 1e-7);
    assert!(water::sublimes(AbsolutePressure::new(611.0)) && !water::sublimes(AbsolutePressure::new(612.0)));
}

/// ASHRAE standard-atmosphere table, within 0.02 %; 11 000 m by the US Standard Atmosphere 1976. The printed 4000 ft row, 12.682, is 0.08 %
/// off the formula of ISO 2533, which the other rows follow: physics stands.
#[test]
fn the_air_grows_thinner() {
    for (ft, psia) in [(1000.0, 14.175), (2000.0, 13.664), (5000.0, 12.230), (8000.0, 10.914), (10_000.0, 10.108)] {
        near(standard_pressure(Length::new(ft * 0.3048)).expect("a pressure").pa(), psia * 6894.757, 2e-4);
    }
    near(standard_pressure(Length::new(11_000.0)).expect("a pressure").pa(), 22_632.0, 1e-4);
    assert_eq!(standard_pressure(Length::new(12_000.0)), None);
}

/// R-134a at 70 / 100 / 140 degF: printed service tables, whole psi, within 0.7 psi; normal boiling point Tillner-Roth and Baehr (1994).
#[test]
fn r134a_boils_as_printed() {
    for (f, psig) in [(70.0, 71.0), (100.0, 124.0), (140.0, 229.0)] {
        let p = Fluid::R134a.saturation_pressure(Temperature::new((f + 459.67) / 1.8)).expect("a pressure").pa();
        assert!(((p - 101_325.0) / 6894.757 - psig).abs() < 0.7, "{f} degF: {p} Pa");
    }
    let t = Fluid::R134a.saturation_temperature(AbsolutePressure::new(101_325.0)).expect("a temperature");
    assert!((t.celsius() + 26.07).abs() < 0.01, "{}", t.celsius());
    assert_eq!(Fluid::R134a.saturation_pressure(Temperature::from_celsius(101.1)), None);
    assert_eq!(Fluid::R134a.saturation_pressure(Temperature::new(169.0)), None);
}

/// The worked cases of the three forms: air into full vacuum against R-134a, saturated at 20 degC, out to 1 atm: x 48.1, 2.78, 2.47.
#[test]
fn one_hole_two_gases() {
    let high = Fluid::R134a.saturation_pressure(Temperature::from_celsius(20.0)).expect("a pressure");
    let atm = AbsolutePressure::new(101_325.0);
    let test = Side { gas: Gas::Air, high: atm, low: AbsolutePressure::new(0.0) };
    let forms = convert(1.0, test, Side { gas: Gas::Refrigerant(Fluid::R134a), high, low: atm }).expect("a conversion");
    near(forms.laminar, 48.1, 2e-3);
    near(forms.choked, 2.78, 3e-3);
    near(forms.molecular, 2.47, 3e-3);
}

/// Leak-test instrument appendix (viscous form): 0.001 atm cm3/s at 10 to 1 atm is 0.0040 at 20 to 1 atm.
#[test]
fn twice_the_pressure_four_times_the_leak() {
    let side = |atm: f64| Side { gas: Gas::Air, high: AbsolutePressure::new(atm * 101_325.0), low: AbsolutePressure::new(101_325.0) };
    near(convert(0.001, side(10.0), side(20.0)).expect("a conversion").laminar, 0.0040, 0.01);
}

/// Ideal gas: 1 g a year of R-134a at 20 degC is 7.570e-6 mbar L/s; here at 25 degC, so 298.15/293.15 as much.
#[test]
fn a_gram_a_year() {
    let throughput = 7.570e-6 * 0.1 * 298.15 / 293.15;
    near(mass_flow(throughput, Gas::Refrigerant(Fluid::R134a)).kg_per_year(), 1e-3, 1e-3);
}

/// Worked in the contract of the calculation: a dial of 0.5 inHg that stands still for 20 minutes at 28 inHg, 2.5 L, 22 degC, 0 m: 306.4 kg a year.
#[test]
fn what_a_still_needle_shows() {
    let (inhg, site) = (3386.389, 101_325.0);
    let p = site - 28.0 * inhg;
    let bound = 0.5 * inhg + p / 295.15;
    let test = Side { gas: Gas::Air, high: AbsolutePressure::new(site), low: AbsolutePressure::new(p) };
    let service = Side::in_service(Fluid::R134a, AbsolutePressure::new(site)).expect("a service side");
    let forms = convert(2.5e-3 * bound / 1200.0, test, service).expect("a conversion");
    let rate = mass_flow(forms.greatest(), Gas::Refrigerant(Fluid::R134a)).kg_per_year();
    near(rate, 306.4, 2e-4);
    near(0.6 / rate * 365.25 * 24.0, 17.2, 5e-3);
}
