//! Gauges and barometers that cannot be right.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        gauge,
        remedy::Remedy,
        site::{Air, Doubtful},
        timeline::live,
        voice::Voice,
    },
    record::{
        Reading,
        answer::{Weight, WorkStep},
    },
    units::{AbsolutePressure, Length, Pressure, Quantity, show},
};

/// Barometers that were reduced to sea level: the site's; and those of entries, or of a reading in them, one finding for each entry.
/// The row of `barometer-doubtful`.
pub const BAROMETER_DOUBTFUL: Rule = Rule {
    code: RuleCode::BarometerDoubtful,
    weights: &[Weight::Note],
    section: Section::Standing,
    task: Task::Standing,
    short: "barometer doubtful",
    law: "Air thins with height in a known way (ISO 2533). A barometer that shows sea-level pressure in a high place was reduced to sea level, as weather services publish it.",
    doubt: "Weather moves the air’s pressure by about {elevation_uncertainty} either way; what is doubted lies {barometer_doubtful} and more above what the elevation gives, at more than {barometer_doubtful_elevation}.",
    change: "A barometer read in the workshop, or the elevation corrected.",
    source: "ISO 2533 standard atmosphere; weather services publish the barometer reduced to sea level",
    due: Due::Now,
    find: barometer_doubtful,
    why: steps::of_site,
};

fn barometer_doubtful(case: &Case<'_>) -> Vec<Found> {
    let r = case.record;
    let own = |b: &Option<Quantity<Pressure>>| case.site.air(b.as_ref()).1;
    let within =
        |readings: &[Reading]| live(readings, "readings").find_map(|(_, _, r)| own(&r.barometer));
    let mut all: Vec<(String, Doubtful)> = case
        .site
        .doubtful
        .map(|d| ("site".to_owned(), d))
        .into_iter()
        .collect();
    all.extend(
        live(&r.standing, "standing").filter_map(|(_, id, x)| Some((id, own(&x.barometer)?))),
    );
    all.extend(
        live(&r.evacuations, "evacuations").filter_map(|(_, id, x)| {
            Some((id, own(&x.barometer).or_else(|| within(&x.readings))?))
        }),
    );
    all.extend(
        live(&r.holds, "holds").filter_map(|(_, id, x)| {
            Some((id, own(&x.barometer).or_else(|| within(&x.readings))?))
        }),
    );
    all.extend(
        live(&r.performance, "performance").filter_map(|(_, id, x)| Some((id, own(&x.barometer)?))),
    );
    all.into_iter()
        .map(|(about, d)| {
            let says = format!(
                "The barometer reading, {}, is higher than the air pressure can be at {}: it was reduced to sea level, so it is not used.",
                show::pressure(AbsolutePressure::new(d.barometer_pa), case.units),
                show::length(Length::new(d.elevation_m), case.units)
            );
            Found::new(
                about.clone(),
                Weight::Note,
                says,
                Remedy::new(WorkStep::Measure, "Read a barometer that stands in the workshop, or enter the weather service’s as reduced to sea level."),
            )
            .resting_on([about])
            .value("barometer_pa", d.barometer_pa)
            .value("standard_pa", d.standard_pa)
            .value("elevation_m", d.elevation_m)
        })
        .collect()
}

/// The row of `gauge-impossible`.
pub const GAUGE_IMPOSSIBLE: Rule = Rule {
    code: RuleCode::GaugeImpossible,
    weights: &[Weight::Note],
    section: Section::Evacuation,
    task: Task::Entry,
    short: "reading impossible",
    law: "No pressure lies below perfect vacuum. A reading that comes out below it by more than the gauge’s uncertainty tells of a wrong zero or a wrong barometer, not of the circuit.",
    doubt: "Half a graduation, the recorded zero error and the air’s uncertainty are allowed for, and never less than {impossible}.",
    change: "The gauge’s zero compared, the barometer read in the workshop, the reading corrected.",
    source: "no pressure lies below perfect vacuum",
    due: Due::Now,
    find: impossible,
    why: steps::of_gauges,
};

fn impossible(case: &Case<'_>) -> Vec<Found> {
    let mut all: Vec<(String, f64, Air, Voice, &str)> = Vec::new();
    all.extend(case.evacuations.iter().filter_map(|e| {
        Some((
            e.id.clone(),
            e.impossible_pa?,
            e.impossible_air,
            case.voice_of_evacuation(e),
            "The evacuation does not count.",
        ))
    }));
    all.extend(case.holds.iter().filter_map(|h| {
        Some((
            h.id.clone(),
            h.impossible_pa?,
            h.impossible_air,
            case.voice_of_hold(h),
            "The hold does not count.",
        ))
    }));
    let loose = |p: &Option<Quantity<Pressure>>, b: &Option<Quantity<Pressure>>| {
        let air = case.site.air(b.as_ref()).0;
        let read = gauge::loose(p.as_ref()?, air, case.limits);
        read.impossible
            .then_some((read.raw_pa, air, case.voice(p.as_ref()?)))
    };
    all.extend(
        live(&case.record.standing, "standing").filter_map(|(_, id, s)| {
            let (pa, air, voice) = loose(&s.pressure, &s.barometer)?;
            Some((id, pa, air, voice, ""))
        }),
    );
    all.extend(
        live(&case.record.performance, "performance").filter_map(|(_, id, p)| {
            let (pa, air, voice) =
                loose(&p.low_side, &p.barometer).or_else(|| loose(&p.high_side, &p.barometer))?;
            Some((id, pa, air, voice, ""))
        }),
    );
    all.into_iter()
        .map(|(about, pa, air, voice, voids)| {
            let says = format!(
                "A reading is {} below perfect vacuum, which cannot be: the gauge or the barometer is wrong (air pressure {}). {voids}",
                voice.difference(-pa),
                voice.air(air.pressure.pa())
            );
            Found::new(
                about.clone(),
                Weight::Note,
                says.trim_end(),
                Remedy::new(WorkStep::Measure, "Check the gauge’s zero with its hose open, check barometer and elevation, then read again."),
            )
            .resting_on([about])
            .value("reading_pa", pa)
            .value("barometer_pa", air.pressure.pa())
        })
        .collect()
}

/// The row of `gauges-disagree`.
pub const GAUGES_DISAGREE: Rule = Rule {
    code: RuleCode::GaugesDisagree,
    weights: &[Weight::Concession],
    section: Section::Hold,
    task: Task::Entry,
    short: "gauges disagree",
    law: "Two gauges on one circuit at one time show one pressure. Where they differ by more than both can be misread, one of them is wrong, and nobody knows which.",
    doubt: "Both resolutions, both zero errors and, where only one counts from perfect vacuum, the uncertainty of the air pressure are allowed for.",
    change: "Both gauges compared, the wrong one corrected or taken out of use, and the test read again on the right one.",
    source: "plain arithmetic of both gauges’ resolutions and zero errors",
    due: Due::Now,
    find: disagree,
    why: steps::of_gauges,
};

fn disagree(case: &Case<'_>) -> Vec<Found> {
    case.holds
        .iter()
        .filter_map(|h| Some((h, h.gauges_disagree.as_ref()?)))
        .map(|(h, d)| {
            let voice = case.voice_of_hold(h);
            let name = |gauge: &Option<String>, which: &str| gauge.clone().unwrap_or_else(|| format!("the {which} gauge"));
            let air = h.air.pressure.pa();
            let says = format!(
                "Two gauges disagree: {} on {} and {} on {} at about the same time, {} apart; their errors explain {}.",
                voice.pressure(d.fine_pa, air),
                name(&d.fine, "finer"),
                voice.pressure(d.coarse_pa, air),
                name(&d.coarse, "coarser"),
                voice.difference(d.by_pa.abs()),
                voice.difference(d.allowed_pa)
            );
            let remedy = "Compare both gauges with their hoses open to the air and on one pressure, then read the hold again on the right one.";
            Found::new(h.id.clone(), Weight::Concession, says, Remedy::new(WorkStep::Measure, remedy))
                .resting_on([h.id.clone()])
                .value("by_pa", d.by_pa)
                .value("allowed_pa", d.allowed_pa)
        })
        .collect()
}
