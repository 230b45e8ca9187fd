//! How it cools: the vent, the pattern that the pressures decide, liquid at the compressor, the high side.
use super::{Due, Found, PRACTICE, Rule, RuleCode, Section, Task};
use crate::{
    checks::{
        case::Case,
        explain::steps,
        performance::{
            self, Decided, high_side,
            pattern::Pattern,
            said,
            signs::ByWeight,
            vent::{self, Basis, Cooling},
        },
        remedy::Remedy,
    },
    record::{
        Performance, Refrigerant,
        answer::{Weight, WorkStep},
    },
    units::{Temperature, TemperatureDifference, show},
};

/// The row of `vent-warm`.
pub const VENT_WARM: Rule = Rule {
    code: RuleCode::VentWarm,
    weights: &[Weight::Blocks, Weight::Concession],
    section: Section::Performance,
    task: Task::Performance,
    short: "vent warm",
    law: "Makers’ tables give the warmest vent air to expect from a healthy system at the outside temperature and humidity. Beyond them the heat that their rows take out of the air is carried over to the day’s weather.",
    doubt: "Makers’ tables differ by some kelvins; the warm end of each is taken, straight between rows. Beyond them the answer is two bounds, and between them nothing is said. Colder than {weather_coldest} or warmer than {weather_warmest} outside it is not judged; from {vent_drop_ambient} on air that is less than {vent_drop} below the outside is always called warm.",
    change: "What makes it warm found and repaired, or the table changed to the maker’s of this car.",
    source: "makers’ tables; beyond them the heat content of moist air, ASHRAE Fundamentals, ch. 1",
    due: Due::Now,
    find: vent_warm,
    why: steps::of_performance,
};

fn vent_warm(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = performance::counted(case) else {
        return Vec::new();
    };
    let (Some(vent), Some(ambient)) = (
        p.vent.as_ref().map(|t| t.si().k()),
        p.ambient.as_ref().map(|t| t.si().k()),
    ) else {
        return Vec::new();
    };
    if vent::judged(case, p) != Cooling::Warm {
        return Vec::new();
    }
    let bounds = vent::bounds(case, p);
    let show_t = |k: f64| show::temperature_to(Temperature::new(k), 1, case.units);
    let right = bounds.map(|b| match b.basis {
        Basis::Table => format!("; up to {} is right on a day like this", show_t(b.right_k)),
        Basis::Heat => {
            format!("; makers’ tables do not reach this weather, but carried over by the heat in the air no more than {} is to be expected", show_t(b.warm_k))
        }
    });
    let says = format!(
        "The air at the vent was {} at {} outside{}.",
        show_t(vent),
        show_t(ambient),
        right.unwrap_or_default()
    );
    let decided = Decided::of(case, p);
    let remedy = decided.as_ref().map_or_else(
        || {
            let lines = if p.suction_line.is_none() || p.liquid_line.is_none() { "Measure suction and liquid line too. " } else { "" };
            Remedy::new(WorkStep::Measure, format!("{lines}Check condenser airflow, blend door, blower and cabin filter, then measure again."))
        },
        |d| d.remedy(case),
    );
    let weight = if vent::hardly_cooled(case, p) {
        Weight::Blocks
    } else {
        Weight::Concession
    };
    let found = Found::new(
        id.clone(),
        weight,
        with_pattern(case, p, says, decided.as_ref()),
        remedy,
    )
    .resting_on([id])
    .value("vent_k", vent);
    let found = found
        .value("ambient_k", ambient)
        .maybe("allowed_k", bounds.map(|b| b.warm_k));
    vec![patterned(found, decided.as_ref())]
}

/// A sentence on the weather, and what the pressures say to it.
fn with_pattern(
    case: &Case<'_>,
    p: &Performance,
    says: String,
    decided: Option<&Decided>,
) -> String {
    let Some(decided) = decided else { return says };
    let sides = said::sides_read(case, p)
        .map(|s| format!(" {}", said::capital(&s)))
        .unwrap_or_default();
    format!("{says}{sides} {}", decided.says(case))
}

fn patterned(found: Found, decided: Option<&Decided>) -> Found {
    match decided {
        Some(d) => found.word("pattern", d.pattern.word()),
        None => found,
    }
}

/// The row of `cooling-fault`.
pub const COOLING_FAULT: Rule = Rule {
    code: RuleCode::CoolingFault,
    weights: &[Weight::Concession],
    section: Section::Performance,
    task: Task::Performance,
    short: "pressures tell a fault",
    law: "Both pressures against what is usual for the day, with superheat, subcooling and the vent, form patterns that makers’ diagnosis tables name: both low, both high, one high and the other low, a vacuum.",
    doubt: "Each sign has its points, and the pattern with the most is told; others that fit stand beside it. What the scale or an identifier rules out is left away. Too much superheat is more than {superheat_most} ({superheat_most_orifice} behind an accumulator), too much subcooling more than {subcooling_most}; too little of either is under {superheat_least}.",
    change: "What it points to looked at and put right, and measured again.",
    source: performance::GUIDE,
    due: Due::Now,
    find: cooling_fault,
    why: steps::of_performance,
};

fn cooling_fault(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = performance::counted(case) else {
        return Vec::new();
    };
    let Some(decided) = Decided::of(case, p).filter(|_| vent::judged(case, p) != Cooling::Warm)
    else {
        return Vec::new();
    };
    // The scale says so already.
    let weighed = matches!(
        (decided.pattern, decided.signs.charge),
        (Pattern::ChargeLow, ByWeight::Short(_)) | (Pattern::ChargeHigh, ByWeight::Over(_))
    );
    if weighed {
        return Vec::new();
    }
    let says = format!(
        "{} {}",
        said::read(case, p).unwrap_or_default(),
        decided.says(case)
    );
    vec![patterned(
        Found::new(id.clone(), Weight::Concession, says, decided.remedy(case)).resting_on([id]),
        Some(&decided),
    )]
}

/// The row of `liquid-at-compressor`.
pub const LIQUID_AT_COMPRESSOR: Rule = Rule {
    code: RuleCode::LiquidAtCompressor,
    weights: &[Weight::Concession],
    section: Section::Performance,
    task: Task::Performance,
    short: "liquid at compressor",
    law: "An expansion valve keeps the vapour that goes to the compressor some degrees above boiling. With less than {superheat_least} of superheat liquid goes along with it; a compressor that draws in liquid loses its oil and breaks.",
    doubt: "A probe that sits badly, or a gauge that is off, by a few degrees takes superheat for none. Behind an accumulator nothing is said.",
    change: "What lets liquid through put right, and superheat measured again on bare, insulated metal.",
    source: PRACTICE,
    due: Due::Now,
    find: liquid,
    why: steps::of_performance,
};

fn liquid(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = performance::counted(case) else {
        return Vec::new();
    };
    let Some(k) = said::liquid_at_compressor(case, p) else {
        return Vec::new();
    };
    let decided = Decided::of(case, p)
        .filter(|d| matches!(d.pattern, Pattern::ValveOpen | Pattern::ChargeHigh));
    let remedy = decided.as_ref().map_or_else(
        || {
            Remedy::new(
                WorkStep::Measure,
                "Measure superheat again on bare metal, insulated. Is it still none: check the blower, the cabin filter and the valve’s bulb, and do not let it run on.",
            )
        },
        |d| d.remedy(case),
    );
    let superheat =
        show::temperature_difference(TemperatureDifference::new(k.max(0.0)), case.units);
    let says = format!(
        "The suction line shows {superheat} of superheat: liquid may reach the compressor, which can break it."
    );
    vec![patterned(
        Found::new(id.clone(), Weight::Concession, says, remedy)
            .resting_on([id])
            .value("superheat_k", k),
        decided.as_ref(),
    )]
}

/// The row of `high-side-limit`.
pub const HIGH_SIDE_LIMIT: Rule = Rule {
    code: RuleCode::HighSideLimit,
    weights: &[Weight::Blocks],
    section: Section::Performance,
    task: Task::Performance,
    short: "high side too high",
    law: "A high-pressure switch stops the compressor before the relief valve opens, with R-134a at {high_side_r134a} to {3.14 MPa} above the air by makers’ manuals. Above that a hose may burst or refrigerant is blown off, whatever the weather.",
    doubt: "The switch’s pressure differs by car; where the maker’s is known, set it. For R-1234yf {high_side_r1234yf}, R-152a {high_side_r152a}, R-12 {high_side_r12} and R-744 {high_side_r744} are taken.",
    change: "What drives it up put right, and measured again.",
    source: "makers’ high-pressure switches and relief valves",
    due: Due::Now,
    find: beyond,
    why: steps::of_performance,
};

fn beyond(case: &Case<'_>) -> Vec<Found> {
    let Some((id, p)) = performance::counted(case) else {
        return Vec::new();
    };
    let (Some((above, most)), Some(high)) = (high_side::beyond(case, p), p.high_side.as_ref())
    else {
        return Vec::new();
    };
    let air = case.site.air(p.barometer.as_ref()).0.pressure.pa();
    let voice = case.voice(high);
    let says = format!(
        "The high side stood at {}, above the {} at which the compressor must have been switched off: a hose may burst, or the relief valve open.",
        voice.pressure(air + above, air),
        voice.pressure(air + most, air)
    );
    let decided = Decided::of(case, p).filter(|d| d.pattern.heats_the_condenser());
    let why = match decided.as_ref().map(|d| d.pattern) {
        Some(Pattern::ChargeHigh) => " It points to too much refrigerant.",
        Some(Pattern::AirInside) => " It points to air in the circuit.",
        _ => "",
    };
    let gas = if case.record.system.refrigerant == Refrigerant::R744 {
        "gas cooler"
    } else {
        "condenser"
    };
    let remedy = Remedy::new(
        WorkStep::Measure,
        format!(
            "Switch the AC off and keep it off. Check that the {gas} fans run, that air gets through and that the high-pressure switch works.{why}"
        ),
    );
    let found = Found::new(id.clone(), Weight::Blocks, says, remedy)
        .resting_on([id])
        .value("high_side_pa_gauge", above)
        .value("limit_pa_gauge", most);
    vec![patterned(found, decided.as_ref())]
}
