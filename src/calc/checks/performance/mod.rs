//! What a performance reading points to: the pair of pressures with superheat, subcooling, the vent and what is known of the charge decide one pattern, or none.
//! And how warm the vent may be, how high the high side, and the water in the air.
pub mod high_side;
pub mod pattern;
pub mod said;
pub mod signs;
pub mod vent;

pub use said::Decided;
pub use signs::LOW_SIDE_R134A;

use super::{case::Case, figures, timeline::live};
use crate::{
    checks::timeline::{Rank, Stamp},
    physics::moist_air::MoistAir,
    record::Performance,
    units::{Fraction, Temperature, show},
};
use signs::{HighSide, Level, LowSide, Signs};

/// One thing that a reading points to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pointer {
    /// What was read, against what is usual, in a sentence.
    pub read: String,
    /// What that points to.
    pub points: String,
    /// It points to something that is wrong.
    pub fault: bool,
    /// Where that reading of it comes from, in a word.
    pub from: &'static str,
    /// The same in full.
    pub source: &'static str,
}

impl Pointer {
    /// All its sentences.
    pub fn says(&self) -> String {
        format!("{} {}", self.read, self.points)
    }
}

/// Where the reading of a pair comes from.
pub const GUIDE: &str = "Low side: US Army TM 5-3805-291-23-1, table 1, and makers’ tables of pressures, for R-134a, a guide only; carried over to other refrigerants by \
                     their boiling temperature. High side: condensing 13 to 39 K above the air outside in makers’ tables. Causes: makers’ diagnosis tables.";
const LINES: &str = "Practice: superheat and subcooling as refrigeration texts read them.";
const IMPOSSIBLE: &str = "That cannot be: a line does not stand on the wrong side of boiling. Put the probe on bare metal, insulate it, and look at the gauge’s zero.";

/// The reading that counts: the last one after the last charging. It is the one that the customer gets.
pub fn counted<'a>(case: &'a Case<'_>) -> Option<(String, &'a Performance)> {
    let charged = case.last_charge().and_then(|c| c.at);
    readings(case)
        .filter(|(at, ..)| charged.is_none_or(|c| at.is_some_and(|at| at > c)))
        .max_by_key(|(at, ..)| *at)
        .map(|(_, id, p)| (id, p))
}

/// All readings, with when they were taken.
pub fn readings<'a>(
    case: &'a Case<'_>,
) -> impl Iterator<Item = (Option<Stamp>, String, &'a Performance)> {
    live(&case.record.performance, "performance")
        .map(|(i, id, p)| (p.at.map(|at| Stamp::new(at, Rank::Performance, i)), id, p))
}

/// What a performance reading points to; nothing where too little of it is recorded.
pub fn points_to(case: &Case<'_>, p: &Performance) -> Vec<Pointer> {
    let signs = Signs::of(case, p);
    let decided = pattern::decide(&signs).map(|pattern| Decided {
        pattern,
        signs: signs.clone(),
    });
    let impossible = impossible(case, p);
    let pair = said::read(case, p).and_then(|read| {
        let points = match &decided {
            Some(decided) => decided.says(case),
            None => undecided(&signs)?.to_owned(),
        };
        Some(Pointer {
            read,
            points,
            fault: decided.is_some(),
            from: "makers’ diagnosis tables",
            source: GUIDE,
        })
    });
    let lines = said::lines_read(case, p).filter(|_| impossible || pair.is_none());
    let lines = lines.map(|read| Pointer {
        read: format!("{}.", said::capital(&read)),
        points: if impossible {
            IMPOSSIBLE.to_owned()
        } else {
            "By itself that points to nothing.".to_owned()
        },
        fault: impossible,
        from: "practice",
        source: LINES,
    });
    pair.into_iter().chain(lines).collect()
}

fn impossible(case: &Case<'_>, p: &Performance) -> bool {
    let f = figures::performance_of(case, p);
    [f.superheat_k, f.subcooling_k]
        .into_iter()
        .flatten()
        .any(|k| k < signs::CANNOT_BE)
}

/// A pair that decides nothing; `None` where there is no pair to read.
fn undecided(signs: &Signs) -> Option<&'static str> {
    Some(match (signs.low?, signs.high?) {
        (LowSide::Within, HighSide::Within | HighSide::Raised)
            if signs.superheat.is_none_or(|s| s == Level::Within) =>
        {
            "Both lie where they should. That points to no fault, and does not show that the charge is right: weight is the only measure of charge."
        }
        (LowSide::Within, HighSide::High) => {
            "By itself that points to nothing; look at the condenser all the same."
        }
        _ => "That fits no single fault: measure superheat and subcooling too.",
    })
}

/// The air outside with its water; `None` where temperature or humidity is not recorded.
pub fn outside(case: &Case<'_>, p: &Performance) -> Option<MoistAir> {
    let (ambient, humidity) = (p.ambient.as_ref()?.si(), p.humidity.as_ref()?.si());
    MoistAir::new(
        ambient,
        humidity,
        case.site.air(p.barometer.as_ref()).0.pressure,
    )
}

/// Dew point and wet bulb of the air outside, in a sentence; and, where fresh air leaves the vent colder than that, how much water it left behind.
pub fn water_in_the_air(case: &Case<'_>, p: &Performance) -> Option<String> {
    let air = outside(case, p)?;
    let dew = air.dew_point()?;
    let shown = |t: Temperature| show::temperature_to(t, 1, case.units);
    let says = format!(
        "The air outside has its dew point at {} and its wet bulb at {}.",
        shown(dew),
        shown(air.wet_bulb())
    );
    let vent = p
        .vent
        .as_ref()
        .map(crate::units::Quantity::si)
        .filter(|vent| *vent < dew && p.recirculation == Some(false));
    // What leaves the vent holds at most what saturated air of that temperature does.
    let leaves = vent.and_then(|vent| {
        MoistAir::new(
            vent,
            Fraction::new(1.0),
            case.site.air(p.barometer.as_ref()).0.pressure,
        )
    });
    let left = leaves.map(|v| (air.humidity_ratio() - v.humidity_ratio()) * 1e3);
    let runs =
        left.map(|g| format!(" At least {} g of water from each kilogram of it run off the evaporator: its drain must be open.", show::significant(g, 2)));
    Some(says + &runs.unwrap_or_default())
}
