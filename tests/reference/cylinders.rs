//! How much may be in a cylinder, and whether there is air above the liquid.
use super::table::{ATM, Largest, PSI, fahrenheit, near, number, rows, within};
use chillwright_calc::{
    physics::{
        cylinder::{
            AirSays, LIQUID_FULL, PRINTED_R134A, allowed_excess, largest_gross, largest_net,
            largest_net_of, liquid_full_at, printed_limit, standing,
        },
        refrigerant::Fluid,
    },
    units::{AbsolutePressure, Mass, Temperature},
};

const LB: f64 = 0.453_592_37;

/// AHRI Guideline K, worked: R-22, 1000 lb of water, specific gravity 1.197, tare 380 lb: 957.60 lb net, 1337.60 lb gross.
#[test]
fn the_guidelines_cylinder() {
    let net = largest_net_of(1.197, Mass::new(1000.0 * LB));
    within(net.kg() / LB, 957.60, 0.005);
    within((net + Mass::new(380.0 * LB)).kg() / LB, 1337.60, 0.005);
}

/// The same rule for a cylinder of 26.2 lb of water: R-134a 25.37 lb, R-1234yf 22.95 lb.
#[test]
fn a_small_cylinder() {
    let net = |fluid| {
        largest_net(fluid, Mass::new(26.2 * LB))
            .expect("a limit")
            .kg()
            / LB
    };
    within(net(Fluid::R134a), 25.37, 0.01);
    within(net(Fluid::R1234yf), 22.95, 0.01);
    near(
        largest_gross(Fluid::R134a, Mass::new(6.0), Mass::new(26.2 * LB))
            .expect("a limit")
            .kg(),
        6.0 + 25.37 * LB,
        5e-4,
    );
    // Nearly critical at 25 degC: no level to be limited.
    assert_eq!(largest_net(Fluid::R744, Mass::new(10.0)), None);
}

/// 49 CFR 173.304(b): liquid must not fill the cylinder below 55 degC. What Guideline K allows keeps to that for each refrigerant, and what fills a
/// cylinder at 77 degF does not.
#[test]
fn what_is_allowed_is_not_liquid_full_when_warm() {
    let water = Mass::new(10.0);
    for fluid in [Fluid::R12, Fluid::R134a, Fluid::R152a, Fluid::R1234yf] {
        let net = largest_net(fluid, water).expect("a limit");
        let full = liquid_full_at(fluid, net, water);
        assert!(
            full.is_none_or(|t| t > LIQUID_FULL),
            "{}: {full:?}",
            fluid.name()
        );
        let brimful =
            liquid_full_at(fluid, Mass::new(net.kg() / 0.8), water).expect("a temperature");
        within(brimful.k(), fahrenheit(77.0), 1e-3);
        assert!(brimful < LIQUID_FULL);
    }
}

/// SAE J2211, table 1 (from memory): the highest pressure allowed in a standing cylinder of HFC-134a. Each row is saturation + 5 psi rounded down;
/// the page judges by saturation + 5 psi, so that print is at most 1 psi stricter: it has whole psi, and knows no site but sea level.
#[test]
fn the_printed_table_is_saturation_and_5_psi() {
    for (f, psig) in PRINTED_R134A {
        let t = Temperature::new(fahrenheit(f));
        let saturation = Fluid::R134a
            .saturation_pressure(t)
            .expect("a pressure")
            .pa();
        assert_eq!(
            ((saturation - ATM + allowed_excess(Fluid::R134a).pa()) / PSI).floor(),
            psig,
            "{f} degF"
        );
        within(printed_limit(t).expect("a row").pa() / PSI, psig, 1e-9);
        let at = |psi: f64| {
            standing(Fluid::R134a, t, AbsolutePressure::new(ATM + psi * PSI))
                .expect("an answer")
                .says
        };
        assert_eq!(
            (at(psig), at(psig + 1.0), at(psig - 11.0)),
            (AirSays::Clear, AirSays::Excess, AirSays::NoLiquid),
            "{f} degF"
        );
    }
    assert_eq!(printed_limit(Temperature::new(fahrenheit(64.0))), None);
    assert_eq!(printed_limit(Temperature::new(fahrenheit(121.0))), None);
}

/// 40 CFR 82 subpart B, appendix A (SAE J1989, 5.4): CFC-12 at 70 degF, 80 psig: saturation + 10 psi rounded down.
#[test]
fn the_older_refrigerant_is_allowed_more() {
    let t = Temperature::new(fahrenheit(70.0));
    let saturation = Fluid::R12.saturation_pressure(t).expect("a pressure").pa();
    assert_eq!(
        ((saturation - ATM + allowed_excess(Fluid::R12).pa()) / PSI).floor(),
        80.0
    );
}

/// Dalton: what is above saturation is air, as a share of the gas. A degree's doubt is told where it would turn the answer.
#[test]
fn the_share_of_air() {
    let t = Temperature::new(fahrenheit(70.0));
    let saturation = Fluid::R134a
        .saturation_pressure(t)
        .expect("a pressure")
        .pa();
    let found =
        standing(Fluid::R134a, t, AbsolutePressure::new(saturation / 0.9)).expect("an answer");
    near(found.share_of_air(), 0.1, 1e-12);
    assert!(found.says == AirSays::Excess && !found.is_close());
    assert!(
        standing(
            Fluid::R134a,
            t,
            AbsolutePressure::new(saturation + 6.0 * PSI)
        )
        .expect("an answer")
        .is_close()
    );
    assert_eq!(
        standing(
            Fluid::R744,
            Temperature::from_celsius(35.0),
            AbsolutePressure::new(8e6)
        ),
        None
    );
}

/// By CoolProp.
#[test]
fn cylinders_agree_with_coolprop() {
    let (mut density, mut net, mut pressure, mut full) = (
        Largest::new("liquid density in a cylinder", 1e-4),
        Largest::new("largest net mass", 1e-4),
        Largest::new("standing pressure", 1e-5),
        Largest::new("liquid-full temperature, K", 0.05),
    );
    for row in rows(include_str!("tables/cylinders.csv")) {
        let (fluid, t, at) = (
            Fluid::from_name(row[0]).expect("a fluid"),
            Temperature::new(number(row[2])),
            format!("{} {} degF", row[0], row[1]),
        );
        let found = standing(fluid, t, AbsolutePressure::new(number(row[3]))).expect("an answer");
        pressure.see(found.saturation.pa(), number(row[3]), &at);
        density.see(
            fluid.liquid_density(t).expect("a density").kg_per_m3(),
            number(row[4]),
            &at,
        );
        net.see(
            largest_net(fluid, Mass::new(10.0)).expect("a limit").kg(),
            number(row[5]),
            &at,
        );
        // 10 L, brimful at this temperature.
        let brimful = liquid_full_at(fluid, Mass::new(number(row[4]) * 10e-3), Mass::new(9.9705))
            .expect("a temperature");
        full.see_difference(brimful.k(), t.k(), &at);
        assert_eq!(
            ((found.saturation.pa() - ATM) / PSI + 5.0).floor(),
            number(row[6]),
            "{at}"
        );
    }
    for largest in [density, net, pressure, full] {
        largest.end();
    }
}
