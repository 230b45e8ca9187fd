//! Where the work is done.
use super::{Due, Found, Rule, RuleCode, Section, Task};
use crate::{
    checks::{case::Case, explain::steps, remedy::Remedy, timeline::live},
    record::{
        Reading,
        answer::{Weight, WorkStep},
    },
    units::{AbsolutePressure, Pressure, Quantity, show},
};

/// The row of `elevation-missing`.
pub const ELEVATION_MISSING: Rule = Rule {
    code: RuleCode::ElevationMissing,
    weights: &[Weight::Note],
    section: Section::Standing,
    task: Task::Details,
    short: "elevation missing",
    law: "A gauge shows the difference to the air around it, and the air thins with height (ISO 2533). Without the elevation or a barometer nobody can say what a reading means.",
    doubt: "Towns lie between {430 m} below the sea and {5100 m} above it: the air has up to {assumed_site_above} more and up to {assumed_site_uncertainty} less than at sea level.",
    change: "The elevation entered.",
    source: "ISO 2533 standard atmosphere",
    due: Due::Now,
    find: missing,
    why: steps::of_site,
};

fn missing(case: &Case<'_>) -> Vec<Found> {
    if !case.site.unknown() || !a_gauge_was_read(case) {
        return Vec::new();
    }
    let pressure = |pa: f64| show::pressure(AbsolutePressure::new(pa), case.units);
    let most = pressure(case.site.air.most_pa());
    // psia says by itself what it counts from.
    let abs = if most.ends_with("psia") || most.ends_with("abs") {
        ""
    } else {
        " abs"
    };
    let says = format!(
        "Neither the elevation of the workshop nor a barometer is on record: the air’s pressure may be anything from {} to {most}{abs}.",
        pressure(case.site.air.least_pa()).trim_end_matches(" abs")
    );
    let remedy = Remedy::new(WorkStep::Record, "Enter the elevation of the workshop.");
    vec![
        Found::new("site", Weight::Note, says, remedy)
            .value("least_pa", case.site.air.least_pa())
            .value("most_pa", case.site.air.most_pa()),
    ]
}

/// A pressure was read against the air without a barometer of its own. A gauge that counts from perfect vacuum needs none.
fn a_gauge_was_read(case: &Case<'_>) -> bool {
    let r = case.record;
    let against_air = |p: &Option<Quantity<Pressure>>, own: &Option<Quantity<Pressure>>| {
        own.is_none() && p.as_ref().is_some_and(|p| !p.si().is_absolute())
    };
    let within = |readings: &[Reading], own: &Option<Quantity<Pressure>>| {
        own.is_none()
            && live(readings, "readings").any(|(_, _, x)| against_air(&x.pressure, &x.barometer))
    };
    live(&r.standing, "standing").any(|(_, _, x)| against_air(&x.pressure, &x.barometer))
        || live(&r.evacuations, "evacuations").any(|(_, _, x)| within(&x.readings, &x.barometer))
        || live(&r.holds, "holds").any(|(_, _, x)| within(&x.readings, &x.barometer))
        || live(&r.performance, "performance").any(|(_, _, x)| {
            against_air(&x.low_side, &x.barometer) || against_air(&x.high_side, &x.barometer)
        })
}
