//! One pattern out of ten, or none: each sign that speaks for a pattern or against it has its points, and the pattern with the most is the one.
use super::{
    signs::{
        AirInside, ByWeight, HighSide,
        Level::{High, Low, Within},
        LowSide, Signs,
    },
    vent::Cooling,
};

/// What a reading comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pattern {
    /// Too little refrigerant.
    ChargeLow,
    /// Too much.
    ChargeHigh,
    /// Air or another gas that does not condense.
    AirInside,
    /// Too little air through the condenser.
    CondenserAirflow,
    /// A blockage.
    Blockage,
    /// An expansion valve that opens too far.
    ValveOpen,
    /// One that opens too little.
    ValveClosed,
    /// A compressor that does not pump as it should.
    CompressorWeak,
    /// More heat than makers' tables have.
    HeatLoad,
    /// Warm air is mixed in behind the evaporator.
    BlendDoor,
}

impl Pattern {
    /// All of them. Where two have as many points, the first is taken.
    pub const ALL: [Self; 10] = [
        Self::ChargeLow,
        Self::ChargeHigh,
        Self::AirInside,
        Self::CondenserAirflow,
        Self::Blockage,
        Self::ValveClosed,
        Self::ValveOpen,
        Self::CompressorWeak,
        Self::HeatLoad,
        Self::BlendDoor,
    ];

    /// As a finding writes it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::ChargeLow => "charge-low",
            Self::ChargeHigh => "charge-high",
            Self::AirInside => "air-inside",
            Self::CondenserAirflow => "condenser-airflow",
            Self::Blockage => "blockage",
            Self::ValveOpen => "valve-open",
            Self::ValveClosed => "valve-closed",
            Self::CompressorWeak => "compressor-weak",
            Self::HeatLoad => "heat-load",
            Self::BlendDoor => "blend-door",
        }
    }

    /// Whether it is what drives the high side up.
    pub const fn heats_the_condenser(self) -> bool {
        matches!(
            self,
            Self::ChargeHigh | Self::AirInside | Self::CondenserAirflow | Self::HeatLoad
        )
    }
}

/// So many points decide.
const DECIDES: i32 = 5;
/// So few rule out.
const RULES_OUT: i32 = -4;

/// A sign that speaks for a pattern, or against it.
pub struct Row {
    /// The pattern.
    pub pattern: Pattern,
    /// How much it counts.
    pub points: i32,
    /// Whether it is there.
    pub there: fn(&Signs) -> bool,
    /// The sign in words, and where that reading of it comes from.
    pub from: &'static str,
}

const fn row(pattern: Pattern, points: i32, there: fn(&Signs) -> bool, from: &'static str) -> Row {
    Row {
        pattern,
        points,
        there,
        from,
    }
}

fn low_is(s: &Signs, side: LowSide) -> bool {
    s.low == Some(side)
}

/// The high side lies between these.
fn high_in(s: &Signs, from: HighSide, to: HighSide) -> bool {
    s.high.is_some_and(|h| (from..=to).contains(&h))
}

fn not_high_side_up(s: &Signs) -> bool {
    high_in(s, HighSide::Empty, HighSide::Within)
}

/// Too hot a condenser: both sides up, or the high side above all makers' tables with something else that tells.
fn hot(s: &Signs) -> bool {
    let tells = s.vent == Cooling::Warm || s.subcooling.is_some();
    match (s.low, s.high) {
        (Some(LowSide::High), Some(HighSide::High)) => true,
        (Some(LowSide::High), Some(HighSide::Raised)) => s.vent != Cooling::Right,
        (Some(LowSide::Within), Some(HighSide::High)) => tells,
        _ => false,
    }
}

fn starved(s: &Signs) -> bool {
    s.superheat == Some(High)
}

fn flooded(s: &Signs) -> bool {
    s.superheat == Some(Low)
}

fn right(s: &Signs) -> bool {
    s.charge == ByWeight::Right
}

fn running_low(s: &Signs) -> bool {
    matches!(s.low, Some(LowSide::Low | LowSide::Within))
}

use Pattern::{
    AirInside as Air, Blockage, ChargeHigh, ChargeLow, CompressorWeak, CondenserAirflow, HeatLoad,
    ValveClosed, ValveOpen,
};

/// Every sign. Makers' tables: the diagnosis tables of makers' manuals (both low, both high, low with high, high with low, vacuum, both equal). Texts: refrigeration
/// texts on superheat and subcooling. Practice: what has no source.
pub const ROWS: &[Row] = &[
    row(
        ChargeLow,
        5,
        |s| low_is(s, LowSide::Low) && high_in(s, HighSide::Empty, HighSide::Low),
        "both sides low: makers’ tables",
    ),
    row(
        ChargeLow,
        5,
        |s| {
            low_is(s, LowSide::Low)
                && high_in(s, HighSide::Within, HighSide::Within)
                && s.subcooling == Some(Low)
        },
        "low side low, little subcooling: texts",
    ),
    row(
        ChargeLow,
        5,
        |s| starved(s) && s.subcooling == Some(Low) && not_high_side_up(s),
        "much superheat, little subcooling: texts",
    ),
    row(
        ChargeLow,
        5,
        |s| low_is(s, LowSide::Within) && high_in(s, HighSide::Empty, HighSide::Low) && starved(s),
        "high side low, much superheat: texts",
    ),
    row(
        ChargeLow,
        7,
        |s| s.high == Some(HighSide::Empty) && !low_is(s, LowSide::High),
        "less than saturation: no liquid left: practice",
    ),
    row(
        ChargeLow,
        2,
        |s| matches!(s.charge, ByWeight::Short(_)),
        "short by weight: the scale",
    ),
    row(
        ChargeLow,
        -4,
        |s| s.subcooling == Some(High),
        "much subcooling: liquid enough: texts",
    ),
    row(
        ChargeLow,
        -5,
        |s| flooded(s) && s.high != Some(HighSide::Empty),
        "little superheat: the evaporator is full: texts",
    ),
    row(
        ChargeLow,
        -4,
        |s| s.valve() && s.superheat == Some(Within),
        "the valve has enough to keep its superheat: texts",
    ),
    row(ChargeLow, -20, right, "right by weight: the scale"),
    row(ChargeHigh, 4, hot, "both sides high: makers’ tables"),
    row(
        ChargeHigh,
        2,
        |s| hot(s) && s.subcooling == Some(High),
        "much subcooling: texts",
    ),
    row(
        ChargeHigh,
        -1,
        |s| hot(s) && s.subcooling == Some(Within),
        "usual subcooling: texts",
    ),
    row(
        ChargeHigh,
        -8,
        |s| s.subcooling == Some(Low),
        "little subcooling: no liquid too much: texts",
    ),
    row(
        ChargeHigh,
        3,
        |s| hot(s) && matches!(s.charge, ByWeight::Over(_)),
        "over by weight: the scale",
    ),
    row(
        ChargeHigh,
        5,
        |s| {
            s.valve()
                && flooded(s)
                && s.subcooling == Some(High)
                && !hot(s)
                && high_in(s, HighSide::Within, HighSide::High)
        },
        "little superheat, much subcooling: texts",
    ),
    row(
        ChargeHigh,
        -20,
        |s| right(s) || matches!(s.charge, ByWeight::Short(_)),
        "not over by weight: the scale",
    ),
    row(Air, 4, hot, "both sides high: makers’ tables"),
    row(
        Air,
        1,
        |s| hot(s) && s.subcooling == Some(High),
        "much subcooling by the pressure, part of which is air’s: texts",
    ),
    row(
        Air,
        -2,
        |s| hot(s) && s.subcooling == Some(Low),
        "little subcooling: texts",
    ),
    row(
        Air,
        4,
        |s| hot(s) && s.air == AirInside::There,
        "air identified, or no evacuation: the record",
    ),
    row(
        Air,
        -20,
        |s| s.air == AirInside::None,
        "no air by identifier or vacuum: the record",
    ),
    row(
        CondenserAirflow,
        5,
        hot,
        "both sides high; what is looked at first: makers’ tables",
    ),
    row(
        CondenserAirflow,
        -2,
        |s| hot(s) && s.subcooling == Some(High),
        "much subcooling: texts",
    ),
    row(
        CondenserAirflow,
        3,
        |s| hot(s) && right(s) && s.air == AirInside::None,
        "neither charge nor air: what is left",
    ),
    row(
        Blockage,
        6,
        |s| low_is(s, LowSide::Vacuum),
        "low side in vacuum: makers’ tables",
    ),
    row(
        Blockage,
        5,
        |s| low_is(s, LowSide::Low) && high_in(s, HighSide::Raised, HighSide::High),
        "low side low, high side high: makers’ tables",
    ),
    row(
        Blockage,
        5,
        |s| {
            !s.valve()
                && running_low(s)
                && not_high_side_up(s)
                && starved(s)
                && s.subcooling == Some(High)
        },
        "much superheat and subcooling: texts",
    ),
    row(
        Blockage,
        5,
        |s| !s.valve() && low_is(s, LowSide::Low) && not_high_side_up(s) && right(s) && !flooded(s),
        "low side low, the charge right: practice",
    ),
    row(
        ValveClosed,
        6,
        |s| {
            s.valve()
                && running_low(s)
                && not_high_side_up(s)
                && starved(s)
                && s.subcooling == Some(High)
        },
        "much superheat and subcooling: texts",
    ),
    row(
        ValveClosed,
        5,
        |s| {
            s.valve()
                && low_is(s, LowSide::Low)
                && high_in(s, HighSide::Within, HighSide::Within)
                && starved(s)
                && s.subcooling == Some(Within)
        },
        "low side low, much superheat, liquid before the valve: texts",
    ),
    row(
        ValveClosed,
        5,
        |s| s.valve() && low_is(s, LowSide::Low) && not_high_side_up(s) && right(s) && !flooded(s),
        "low side low, the charge right: practice",
    ),
    row(
        ValveClosed,
        5,
        |s| {
            s.valve()
                && low_is(s, LowSide::Within)
                && not_high_side_up(s)
                && right(s)
                && starved(s)
                && s.subcooling != Some(Low)
        },
        "much superheat, the charge right: texts",
    ),
    row(
        ValveOpen,
        5,
        |s| {
            s.valve()
                && low_is(s, LowSide::High)
                && high_in(s, HighSide::Within, HighSide::Within)
                && flooded(s)
        },
        "low side high, little superheat: makers’ tables",
    ),
    row(
        ValveOpen,
        6,
        |s| {
            s.valve()
                && low_is(s, LowSide::High)
                && high_in(s, HighSide::Raised, HighSide::High)
                && flooded(s)
                && s.subcooling != Some(High)
        },
        "both high, little superheat: makers’ tables",
    ),
    row(
        ValveOpen,
        5,
        |s| {
            s.valve()
                && !low_is(s, LowSide::High)
                && flooded(s)
                && s.subcooling == Some(Low)
                && high_in(s, HighSide::Within, HighSide::Raised)
        },
        "little superheat and subcooling: texts",
    ),
    row(
        ValveOpen,
        5,
        |s| {
            s.orifice()
                && low_is(s, LowSide::High)
                && high_in(s, HighSide::Within, HighSide::Within)
                && flooded(s)
                && s.subcooling == Some(Low)
        },
        "low side high, little of both: an orifice missing or too large: practice",
    ),
    row(
        CompressorWeak,
        5,
        |s| low_is(s, LowSide::High) && high_in(s, HighSide::Empty, HighSide::Low),
        "low side high, high side low: makers’ tables",
    ),
    row(
        CompressorWeak,
        3,
        |s| low_is(s, LowSide::High) && s.ratio.is_some_and(|r| r < 1.5),
        "both sides nearly equal: makers’ tables",
    ),
    row(
        CompressorWeak,
        5,
        |s| {
            low_is(s, LowSide::Within)
                && high_in(s, HighSide::Low, HighSide::Low)
                && s.ratio.is_some_and(|r| r < 3.0)
                && s.vent == Cooling::Warm
                && !starved(s)
                && s.subcooling != Some(Low)
        },
        "sides near each other, warm air: practice",
    ),
    row(
        HeatLoad,
        7,
        |s| {
            s.heavy
                && low_is(s, LowSide::High)
                && high_in(s, HighSide::Within, HighSide::Raised)
                && s.vent != Cooling::Right
                && !flooded(s)
                && s.subcooling != Some(High)
        },
        "both up on a day beyond the tables: practice",
    ),
    row(
        Pattern::BlendDoor,
        5,
        |s| {
            low_is(s, LowSide::Within)
                && high_in(s, HighSide::Within, HighSide::Raised)
                && s.vent == Cooling::Warm
                && s.coil_cold
                && !starved(s)
                && s.subcooling != Some(Low)
        },
        "pressures as usual, the air warm: makers’ tables",
    ),
];

/// The points of each pattern, in the order of [`Pattern::ALL`].
pub fn points(signs: &Signs) -> [(Pattern, i32); 10] {
    Pattern::ALL.map(|p| {
        (
            p,
            ROWS.iter()
                .filter(|r| r.pattern == p && (r.there)(signs))
                .map(|r| r.points)
                .sum(),
        )
    })
}

/// The pattern that the signs decide; `None` where nothing fits.
pub fn decide(signs: &Signs) -> Option<Pattern> {
    let best = points(signs)
        .into_iter()
        .rev()
        .max_by_key(|(_, points)| *points)?;
    (best.1 >= DECIDES).then_some(best.0)
}

/// Whether the signs rule a pattern out.
pub fn ruled_out(signs: &Signs, pattern: Pattern) -> bool {
    points(signs)
        .into_iter()
        .any(|(p, points)| p == pattern && points <= RULES_OUT)
}

/// The signs that decide it, with their sources.
pub fn speak_for(signs: &Signs, pattern: Pattern) -> Vec<&'static str> {
    ROWS.iter()
        .filter(|r| r.pattern == pattern && r.points > 0 && (r.there)(signs))
        .map(|r| r.from)
        .collect()
}
