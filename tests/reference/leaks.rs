//! One hole, two gases; and what a throughput weighs in a year.
use super::table::{ATM, INHG, Largest, near, number, rows, within};
use chillwright_calc::{
    physics::{
        gas::Gas,
        leak::{Forms, Side, YEAR_S, convert, mass_flow},
        refrigerant::Fluid,
    },
    units::{AbsolutePressure, Temperature},
};

const R134A: Gas = Gas::Refrigerant(Fluid::R134a);

fn side(gas: Gas, high: f64, low: f64) -> Side {
    Side {
        gas,
        high: AbsolutePressure::new(high),
        low: AbsolutePressure::new(low),
    }
}

fn converted(throughput: f64, test: Side, service: Side) -> Forms {
    convert(throughput, test, service).expect("a conversion")
}

/// R-134a, saturated at 20 degC, out to the air.
fn service_at_20() -> Side {
    side(
        R134A,
        Fluid::R134a
            .saturation_pressure(Temperature::from_celsius(20.0))
            .expect("a pressure")
            .pa(),
        ATM,
    )
}

/// The worked cases of the three forms: air into full vacuum against R-134a, saturated at 20 degC, out to 1 atm: x 48.1, 2.78, 2.47.
#[test]
fn one_hole_two_gases() {
    let forms = converted(1.0, side(Gas::Air, ATM, 0.0), service_at_20());
    near(forms.laminar, 48.1, 2e-3);
    near(forms.choked, 2.78, 3e-3);
    near(forms.molecular, 2.47, 3e-3);
}

/// Leak-test instrument appendix (viscous form): 0.001 atm cm3/s at 10 to 1 atm is 0.0040 at 20 to 1 atm.
#[test]
fn twice_the_pressure_four_times_the_leak() {
    let air = |atm: f64| side(Gas::Air, atm * ATM, ATM);
    near(converted(0.001, air(10.0), air(20.0)).laminar, 0.0040, 0.01);
}

/// Leak-test instrument table: helium to nitrogen or air in molecular flow, 0.374 printed for both. Physics stands: the ideal ratios are 0.378 and
/// 0.372, and the printed value lies between them. Helium 4.002602 g/mol (IUPAC).
#[test]
fn helium_goes_through_faster() {
    let to = |gas: Gas| (4.002_602e-3 / gas.properties().molar_mass).sqrt();
    within(to(Gas::Nitrogen), 0.378, 5e-4);
    within(to(Gas::Air), 0.372, 5e-4);
    assert!(to(Gas::Air) < 0.374 && 0.374 < to(Gas::Nitrogen));
    let (air, nitrogen) = (side(Gas::Air, 5e5, ATM), side(Gas::Nitrogen, 5e5, ATM));
    near(
        converted(1.0, air, nitrogen).molecular,
        to(Gas::Nitrogen) / to(Gas::Air),
        1e-12,
    );
}

/// Pfeiffer Vacuum, Vacuum Technology Know How, 7.1: 10 g of R-134a in 10 years is 7.1e-7 Pa m3/s, there at 0 degC; ours are at 25 degC.
#[test]
fn ten_grams_in_ten_years() {
    near(
        mass_flow(7.1e-7 * 298.15 / 273.15, R134A).kg_per_year(),
        1e-3,
        0.01,
    );
}

/// Ideal gas: 1 g a year of R-134a at 20 degC is 7.570e-6 mbar L/s.
#[test]
fn a_gram_a_year() {
    near(
        mass_flow(7.570e-6 * 0.1 * 298.15 / 293.15, R134A).kg_per_year(),
        1e-3,
        1e-4,
    );
}

/// US Army TM 5-3805-296-23-4 allows 2 inHg in 5 min: in 3 L that is 0.677 mbar L/s of air, and as R-134a at 20 degC, laminar, from full vacuum,
/// 11.8 kg a day. Physics stands over what practice allows: such a circuit is empty within the hour.
#[test]
fn what_practice_allows() {
    let throughput = 3e-3 * 2.0 * INHG / 300.0;
    within(throughput * 10.0, 0.677, 5e-4);
    let laminar = converted(throughput, side(Gas::Air, ATM, 0.0), service_at_20()).laminar;
    let kg_per_day = mass_flow(laminar * 298.15 / 293.15, R134A).kg_per_year() * 86_400.0 / YEAR_S;
    within(kg_per_day, 11.8, 0.05);
}

/// Worked before this code was written: a dial of 0.5 inHg that stands still for 20 minutes at 28 inHg, 2.5 L, 22 degC, 0 m: 306.4 kg a year.
#[test]
fn what_a_still_needle_shows() {
    let p = ATM - 28.0 * INHG;
    let bound = 0.5 * INHG + p / 295.15;
    let service =
        Side::in_service(Fluid::R134a, AbsolutePressure::new(ATM)).expect("a service side");
    let rate = mass_flow(
        converted(2.5e-3 * bound / 1200.0, side(Gas::Air, ATM, p), service).greatest(),
        R134A,
    )
    .kg_per_year();
    near(rate, 306.4, 2e-4);
    near(0.6 / rate * 365.25 * 24.0, 17.2, 5e-3);
}

/// CRC Handbook: air at 300 K, 18.5 uPa s; Huber and Assael (2016), Int. J. Refrig. 71, 39: R-1234yf as a dilute gas at 300 K, 11.579 uPa s. Ours are
/// at 298.15 K; a gas's viscosity rises by about 0.5 % over those two degrees.
#[test]
fn viscosities_are_the_published_ones() {
    near(Gas::Air.properties().viscosity, 18.5e-6, 8e-3);
    let ours = Gas::Refrigerant(Fluid::R1234yf).properties().viscosity;
    near(ours, 11.579e-6, 8e-3);
    assert!(ours < 11.579e-6 && Gas::Air.properties().viscosity < 18.5e-6);
}

/// By CoolProp, but for the viscosity of R-1234yf: there CoolProp is 7.6 % above Huber and Assael (2016), whom the test above holds us to.
#[test]
fn gases_agree_with_coolprop() {
    let (mut viscosity, mut mass, mut ratio) = (
        Largest::new("viscosity", 1e-4),
        Largest::new("molar mass", 1e-5),
        Largest::new("heat capacity ratio", 1e-4),
    );
    let gases = [Gas::Air, Gas::Nitrogen]
        .into_iter()
        .chain(Fluid::ALL.map(Gas::Refrigerant));
    let table = rows(include_str!("tables/gases.csv"));
    for gas in gases {
        let row = table
            .iter()
            .find(|row| row[0] == gas.name())
            .expect("a row");
        let ours = gas.properties();
        if gas == Gas::Refrigerant(Fluid::R1234yf) {
            within(number(row[1]) / (ours.viscosity * 1e6) - 1.0, 0.076, 2e-3);
        } else {
            viscosity.see(ours.viscosity * 1e6, number(row[1]), row[0]);
        }
        mass.see(ours.molar_mass * 1e3, number(row[2]), row[0]);
        ratio.see(ours.heat_capacity_ratio, number(row[3]), row[0]);
    }
    for largest in [viscosity, mass, ratio] {
        largest.end();
    }
}

/// By scipy, each form from first principles.
#[test]
fn forms_agree_with_scipy() {
    let mut all =
        ["laminar", "choked", "molecular", "mass in a year"].map(|what| Largest::new(what, 1e-6));
    let gas = |name: &str| match name {
        "air" => Gas::Air,
        "nitrogen" => Gas::Nitrogen,
        other => Gas::Refrigerant(Fluid::from_name(other).expect("a fluid")),
    };
    let table = rows(include_str!("tables/leaks.csv"));
    assert!(table.len() >= 60, "{}", table.len());
    for (i, row) in table.iter().enumerate() {
        let (first, second) = (
            side(gas(row[0]), number(row[1]), number(row[2])),
            side(gas(row[3]), number(row[4]), number(row[5])),
        );
        let forms = converted(1.0, first, second);
        let year = mass_flow(1.0, second.gas).kg_per_year();
        for (largest, (ours, theirs)) in all.iter_mut().zip(
            [forms.laminar, forms.choked, forms.molecular, year]
                .into_iter()
                .zip(&row[6..]),
        ) {
            largest.see(ours, number(theirs), &format!("row {i}"));
        }
    }
    for largest in all {
        largest.end();
    }
}

/// By CoolProp and scipy (tables/real_vapour.csv): R-744 at 25 degC carries up to a third more than the ideal gas that is reckoned with, laminar and
/// choked, so that its figures are told as the least that they may be; the others carry less than an eighth more.
#[test]
fn real_vapour_carries_more() {
    for row in rows(include_str!("tables/real_vapour.csv")) {
        let (laminar, choked) = (number(row[1]), number(row[2]));
        match row[0] {
            "R-744" => assert!(
                [laminar, choked]
                    .iter()
                    .all(|r| (1.25..=4.0 / 3.0).contains(r)),
                "{row:?}"
            ),
            _ => assert!(
                [laminar, choked].iter().all(|r| (1.0..1.125).contains(r)),
                "{row:?}"
            ),
        }
    }
}
