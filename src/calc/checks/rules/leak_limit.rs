//! How much a circuit may lose in a year.
use crate::{
    checks::case::Case,
    record::Refrigerant,
    units::{LeakRate, show},
};

/// Whether Directive 2006/40/EC sets the limit: it does for gases with a GWP above 150. Of the car refrigerants that is R-134a (1430 by the fourth report
/// of the IPCC); R-12 (10900), of which no new car is made, goes by analogy, and so does one that is not known here. R-152a (124), R-1234yf and R-744 are
/// below it.
fn by_directive(refrigerant: Refrigerant) -> bool {
    matches!(
        refrigerant,
        Refrigerant::R134a | Refrigerant::R12 | Refrigerant::Other
    )
}

/// What a car may lose, kg a year.
pub fn leak_limit(case: &Case<'_>) -> f64 {
    let limits = case.limits;
    let limit = match (
        by_directive(case.record.system.refrigerant),
        case.record.system.evaporators.is_some_and(|n| n >= 2),
    ) {
        (true, false) => limits.leak_limit,
        (true, true) => limits.leak_limit_two_evaporators,
        (false, false) => limits.leak_limit_low_gwp,
        (false, true) => limits.leak_limit_low_gwp_two_evaporators,
    };
    limit.kg_per_year()
}

/// What that limit rests on.
pub fn leak_limit_source(case: &Case<'_>) -> &'static str {
    match case.record.system.refrigerant {
        Refrigerant::R134a => "Directive 2006/40/EC",
        Refrigerant::R12 | Refrigerant::Other => "Directive 2006/40/EC by analogy",
        _ => "the shop’s own figure: Directive 2006/40/EC sets none for a GWP of 150 or less",
    }
}

/// The limit in a sentence, with whose it is.
pub fn told(case: &Case<'_>) -> String {
    let rate = show::leak_rate(LeakRate::new(leak_limit(case)), case.units);
    match by_directive(case.record.system.refrigerant) {
        true => format!("The limit is {rate}."),
        false => format!(
            "The shop’s own limit for {} is {rate}.",
            case.record.system.refrigerant
        ),
    }
}
