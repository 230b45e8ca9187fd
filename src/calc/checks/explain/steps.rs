//! The figures of each section, step by step.
pub use super::amounts::{charge, found, inside, loss, oil, recovered};
use super::{Step, holds};
use crate::{
    checks::{
        case::Case,
        evacuation::Evacuated,
        figures,
        performance::{
            Decided,
            vent::{self, Basis},
        },
        rules::{leak_limit, leak_limit_source},
        timeline::live,
    },
    record::{Performance, answer::Finding},
    units::{
        AbsolutePressure, LeakRate, Length, Mass, PressureDifference, Quantity, Seconds,
        Temperature, TemperatureDifference, Volume, show,
    },
};

/// The evacuations and holds that a finding rests on.
pub fn of_evidence(case: &Case<'_>, f: &Finding) -> Vec<Step> {
    let holds = case
        .holds
        .iter()
        .filter(|h| f.evidence.contains(&h.id))
        .flat_map(|h| holds::steps(case, h));
    case.evacuations
        .iter()
        .filter(|e| f.evidence.contains(&e.id))
        .flat_map(|e| evacuation(case, e))
        .chain(holds)
        .collect()
}

/// The air around.
pub fn of_site(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    site(case)
}

/// The air around, and what was read against it.
pub fn of_gauges(case: &Case<'_>, f: &Finding) -> Vec<Step> {
    site(case).into_iter().chain(of_evidence(case, f)).collect()
}

/// Standing pressures.
pub fn of_standing(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    standing(case)
}

/// What was recovered, and what had been lost.
pub fn of_loss(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    recovered(case)
        .into_iter()
        .chain(loss(case))
        .chain(found(case))
        .collect()
}

/// What was recovered, and what was inside.
pub fn of_recovery(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    recovered(case).into_iter().chain(inside(case)).collect()
}

/// The oil's way out and in.
pub fn of_oil(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    oil(case)
}

/// The charge.
pub fn of_charge(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    charge(case)
}

/// The air that the vacuum left.
pub fn of_air(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    air(case)
}

/// How it cools.
pub fn of_performance(case: &Case<'_>, _: &Finding) -> Vec<Step> {
    performance(case)
}

/// What a hold shows, and the limit that it is measured by.
pub fn of_limit(case: &Case<'_>, f: &Finding) -> Vec<Step> {
    let how = "one evaporator, or two; a setting of the shop";
    let limit = Step::new(
        "limit",
        show::leak_rate(LeakRate::new(leak_limit(case)), case.units),
        how,
        leak_limit_source(case),
    );
    of_evidence(case, f).into_iter().chain([limit]).collect()
}

/// The air around.
pub fn site(case: &Case<'_>) -> Vec<Step> {
    let air = case.site.air;
    let elevation = case.record.site.elevation.as_ref().map(Quantity::si);
    let (how, source) = match (&case.record.site.barometer, elevation) {
        (Some(b), _) if case.site.doubtful.is_none() => (format!("by the barometer, {}", b.text()), ""),
        (_, Some(h)) => (format!("101325 Pa (1 - 0.0065 h/288.15)^5.25588, h = {}", show::length(Length::new(h.m()), case.units)), "ISO 2533"),
        _ => (
            "sea level is assumed, for neither barometer nor elevation is recorded; the highest town lies at 5100 m, the lowest 430 m below the sea".to_owned(),
            "ISO 2533",
        ),
    };
    let value = if case.site.unknown() {
        let pressure = |pa: f64| show::pressure(AbsolutePressure::new(pa), case.units);
        format!(
            "{}; anything from {} to {}",
            pressure(air.pressure.pa()),
            pressure(air.least_pa()),
            pressure(air.most_pa())
        )
    } else {
        show::pressure_within(
            air.pressure,
            PressureDifference::new(air.uncertainty_pa),
            case.units,
        )
    };
    vec![Step::new("the air’s pressure", value, how, source)]
}

/// Standing pressures.
pub fn standing(case: &Case<'_>) -> Vec<Step> {
    live(&case.record.standing, "standing")
        .filter_map(|(_, _, s)| {
            let facts = figures::standing_of(case, s)?;
            let voice = case.voice(s.pressure.as_ref()?);
            let air = case.site.air(s.barometer.as_ref()).0.pressure.pa();
            let how = format!(
                "saturation at ambient is {}; {} more are allowed for",
                voice.pressure(facts.saturation_pa, air),
                voice.difference(facts.allowed_pa)
            );
            Some(Step::new(
                "standing pressure above saturation",
                voice.difference(facts.excess_pa),
                how,
                "the refrigerant’s equation of state",
            ))
        })
        .collect()
}

/// An evacuation: how deep, and what that boils.
pub fn evacuation(case: &Case<'_>, e: &Evacuated) -> Vec<Step> {
    let voice = case.voice_of_evacuation(e);
    let air_pa = e.air.pressure.pa();
    let difference = |pa: f64| voice.difference(pa);
    let mut all = Vec::new();
    if let (Some(lowest), Some(u)) = (e.figures.lowest_pa, e.figures.uncertainty_pa) {
        let air = if e.absolute_gauge {
            "the gauge counts from perfect vacuum".to_owned()
        } else {
            format!("as read, in air of {}", voice.air(air_pa))
        };
        all.push(Step::new(
            "lowest pressure",
            voice.depth(lowest, air_pa),
            air,
            "",
        ));
        let w = if e.absolute_gauge {
            0.0
        } else {
            e.air.uncertainty_pa
        };
        let how = format!(
            "half a graduation, {}; the gauge’s zero error, {}; the air’s, {}",
            difference(0.5 * e.resolution_pa),
            difference(e.error_pa),
            difference(w)
        );
        all.push(Step::new("uncertainty", difference(u), how, ""));
        if let Some(boils) = holds::boils(lowest, case.units) {
            all.push(Step::new(
                "there water boils at",
                boils,
                "saturation temperature at that pressure; below 611.657 Pa ice sublimes",
                "IAPWS-IF97; IAPWS R14-08",
            ));
        }
    }
    if let (Some(metal), Some(psat)) = (e.metal, e.water_pa) {
        let how = format!(
            "vapour pressure of water at the coldest metal, {}",
            show::temperature_to(metal, 1, case.units)
        );
        all.push(Step::new(
            "it has to be below",
            voice.pressure(psat, air_pa),
            how,
            "IAPWS-IF97; IAPWS R14-08",
        ));
    }
    if e.figures.lowest_pa.is_some() && e.water_pa.is_some() {
        let says = match e.figures.dries {
            Some(true) => "yes",
            Some(false) => "no",
            None => "cannot be told",
        };
        all.push(Step::new(
            "does it dry",
            says,
            "the lowest pressure with its uncertainty, against that",
            "",
        ));
    }
    if let Some(needed) = crate::checks::rules::needed(case, e) {
        let dial = needed
            .on_gauge
            .unwrap_or_else(|| "it cannot show that".to_owned());
        all.push(Step::new(
            "the gauge has to show",
            needed.exact,
            format!("its uncertainty included; on its graduations: {dial}"),
            "",
        ));
    }
    if let Some(s) = e.figures.duration_s {
        all.push(Step::new(
            "it took",
            show::duration(Seconds::new(s)),
            "from the pump’s start to its end",
            "",
        ));
    }
    all
}

/// The air that the vacuum left.
pub fn air(case: &Case<'_>) -> Vec<Step> {
    let figures = figures::charge(case);
    let Some(air) = figures::air_left(case) else {
        return Vec::new();
    };
    let how = format!(
        "p V M/(R T) at the last vacuum before charging, V = {}, T = {}",
        show::volume(Volume::new(case.bench.volume.middle), case.units),
        show::temperature_to(Temperature::new(air.at_k), 1, case.units)
    );
    let of_charge = figures.air_left_ppm.map(|ppm| {
        Step::new(
            "of the charge",
            format!("{} ppm", show::significant(ppm, 3)),
            "by mass",
            "SAE J2099 as a yardstick: 150 ppm",
        )
    });
    [Step::new(
        "air left",
        show::mass(Mass::new(air.kg), case.units),
        how,
        "ideal gas law",
    )]
    .into_iter()
    .chain(of_charge)
    .collect()
}

/// Performance readings.
pub fn performance(case: &Case<'_>) -> Vec<Step> {
    live(&case.record.performance, "performance")
        .flat_map(|(_, _, p)| {
            let f = figures::performance_of(case, p);
            let temperature = |k: f64| show::temperature_to(Temperature::new(k), 1, case.units);
            let difference =
                |k: f64| show::temperature_difference(TemperatureDifference::new(k), case.units);
            let state = "the refrigerant’s equation of state";
            let mut all: Vec<Step> = Vec::new();
            let at = |q: &Option<Quantity<crate::units::Pressure>>| {
                q.as_ref().map(|q| q.text().to_owned()).unwrap_or_default()
            };
            all.extend(f.evaporating_k.map(|k| {
                Step::new(
                    "evaporating at",
                    temperature(k),
                    format!("saturation at the low side’s {}", at(&p.low_side)),
                    state,
                )
            }));
            all.extend(f.condensing_k.map(|k| {
                Step::new(
                    "condensing at",
                    temperature(k),
                    format!("saturation at the high side’s {}", at(&p.high_side)),
                    state,
                )
            }));
            all.extend(f.pressure_ratio.map(|r| {
                Step::new(
                    "pressure ratio",
                    show::significant(r, 3),
                    "high side over low side, both absolute",
                    "",
                )
            }));
            all.extend(f.condensing_above_ambient_k.map(|k| {
                Step::new(
                    "condensing above ambient",
                    difference(k),
                    "the difference of the two",
                    "",
                )
            }));
            all.extend(f.superheat_k.map(|k| {
                Step::new(
                    "superheat",
                    difference(k),
                    "suction line less evaporating",
                    "",
                )
            }));
            all.extend(f.subcooling_k.map(|k| {
                Step::new(
                    "subcooling",
                    difference(k),
                    "condensing less liquid line",
                    "",
                )
            }));
            all.extend(high_side(case, p));
            all.extend(vent_may_be(case, p));
            all.extend(
                p.vent
                    .as_ref()
                    .map(|v| Step::new("the vent was", v.text(), "as read", "")),
            );
            all.extend(Decided::of(case, p).map(|d| {
                let signs =
                    crate::checks::performance::pattern::speak_for(&d.signs, d.pattern).join("; ");
                Step::new(
                    "the pattern",
                    d.name(),
                    signs,
                    crate::checks::performance::GUIDE,
                )
            }));
            all
        })
        .collect()
}

/// The most that the high side may be.
fn high_side(case: &Case<'_>, p: &Performance) -> Option<Step> {
    let air = case.site.air(p.barometer.as_ref()).0.pressure.pa();
    let (high, most) = (
        p.high_side.as_ref()?,
        crate::checks::performance::high_side::limit(case)?.pa(),
    );
    Some(Step::new(
        "the high side may be",
        case.voice(high).pressure(air + most, air),
        "in any weather; a setting of the shop for this refrigerant",
        "makers’ high-pressure switches",
    ))
}

/// How warm the vent may be.
fn vent_may_be(case: &Case<'_>, p: &Performance) -> Vec<Step> {
    let (Some(ambient), Some(humidity), Some(bounds)) = (
        p.ambient.as_ref(),
        p.humidity.as_ref(),
        vent::bounds(case, p),
    ) else {
        return Vec::new();
    };
    let temperature = |k: f64| show::temperature_to(Temperature::new(k), 1, case.units);
    match bounds.basis {
        Basis::Table => {
            let how = format!(
                "the shop’s table at {} and {}",
                ambient.text(),
                humidity.text()
            );
            vec![Step::new(
                "the vent may be",
                temperature(bounds.right_k),
                how,
                "makers’ tables",
            )]
        }
        Basis::Heat => {
            let how = |what: &str| {
                let taken = format!("the {what} heat that the table’s rows take out of the air");
                format!(
                    "{taken}, taken out of air of {} and {}",
                    ambient.text(),
                    humidity.text()
                )
            };
            let source = "makers’ tables, carried over by ASHRAE Fundamentals, ch. 1";
            vec![
                Step::new(
                    "the vent is right up to",
                    temperature(bounds.right_k),
                    how("most"),
                    source,
                ),
                Step::new(
                    "the vent is warm above",
                    temperature(bounds.warm_k),
                    how("least"),
                    source,
                ),
            ]
        }
    }
}
