//! What kinds of holds there are, and what each may be called.
use super::hold::{Simulated, Temperatures};
use chillwright_calc::record::answer::Verdict;

/// A rise under this many bounds may be called either way.
pub const EITHER_WAY: f64 = 1.6;
const OUTGASSING_PA: f64 = 200.0;
const MINIMUM_S: f64 = 900.0;
const PRESSURE_MINIMUM_S: f64 = 1800.0;

/// What kind of hold is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Nature {
    Tight,
    Leaking,
    Wet,
    Outgassing,
    /// Gas out of oil or desiccant that comes to rest elsewhere than water.
    Gassing,
    /// The pump runs throughout: fast falls and slow ones.
    Pumped,
    /// The pump runs at first, then air comes in.
    Bounced,
    /// Still, but for a first reading that was taken too early.
    Unsettled,
    /// A leak with such a first reading.
    UnsettledLeak,
    /// Still, read on two gauges that are on record and agree.
    TwoGauges,
    /// A leak, read so.
    TwoGaugesLeak,
    /// Still, read on two gauges that are on record and do not agree.
    Disagreeing,
    /// Still, read on two gauges that do not agree and of which one is on record.
    Mixed,
    /// Nitrogen, still.
    Nitrogen,
    /// Nitrogen that leaks.
    NitrogenLeak,
    /// Nitrogen, still, but for a first reading while the gas was warm from filling.
    NitrogenUnsettled,
}

use Nature::*;

/// The shares, of sixty: tight 14, leaking 12, wet 8, outgassing 5, gassing 3, pumped 3, bounced 1, unsettled 2 and 1, two gauges 2 and 1, disagreeing 1,
/// mixed 1, nitrogen 3, 2 and 1.
pub const NATURES: [Nature; 60] = [
    Tight,
    Leaking,
    Wet,
    Outgassing,
    Nitrogen,
    Tight,
    Leaking,
    Wet,
    Pumped,
    Leaking,
    Tight,
    Leaking,
    Wet,
    Unsettled,
    Gassing,
    Tight,
    Leaking,
    Outgassing,
    Tight,
    NitrogenLeak,
    Tight,
    Leaking,
    Wet,
    TwoGauges,
    Pumped,
    Tight,
    Leaking,
    Gassing,
    Outgassing,
    Nitrogen,
    Tight,
    Leaking,
    Wet,
    Bounced,
    Tight,
    Mixed,
    Leaking,
    Wet,
    UnsettledLeak,
    Tight,
    Outgassing,
    Leaking,
    TwoGaugesLeak,
    NitrogenUnsettled,
    Wet,
    Tight,
    Unsettled,
    Leaking,
    Disagreeing,
    Tight,
    Pumped,
    Gassing,
    Nitrogen,
    Tight,
    Wet,
    Outgassing,
    TwoGauges,
    Tight,
    NitrogenLeak,
    Leaking,
];

impl Nature {
    /// A leak is in it.
    pub fn leaks(self) -> bool {
        matches!(self, Leaking | UnsettledLeak | TwoGaugesLeak | NitrogenLeak)
    }

    /// It is held with nitrogen.
    pub fn nitrogen(self) -> bool {
        matches!(self, Nitrogen | NitrogenLeak | NitrogenUnsettled)
    }
}

/// The row of the table, and whether the verdict is right. `left_out` says whether the first reading was.
pub fn judge(
    s: &Simulated,
    verdict: Verdict,
    bound: f64,
    duration: f64,
    left_out: bool,
) -> (&'static str, bool) {
    use Verdict::*;
    let minimum = if s.nature.nitrogen() {
        PRESSURE_MINIMUM_S
    } else {
        MINIMUM_S
    };
    let still = if duration < minimum { TooShort } else { Held };
    let open = [Inconclusive, NotReadable].contains(&verdict);
    let beyond = s.moved_by(left_out, duration).abs() >= EITHER_WAY * bound;
    let enough = s.readings >= 5;
    match s.nature {
        Tight => ("tight", verdict == still),
        TwoGauges => (
            "tight, two gauges that agree",
            verdict == still || (!s.one_suffices && open),
        ),
        Disagreeing => (
            "tight, two gauges that disagree",
            verdict == still || (!s.one_suffices && open),
        ),
        Mixed => (
            "tight, two gauges, one on record",
            open || left_out || (verdict == Leak && !(enough && s.both_ways)),
        ),
        Unsettled if !enough => ("tight, first reading early, too few others", open),
        Unsettled => (
            "tight, first reading early",
            verdict == still && (left_out || s.early_low) || s.early_low && verdict == Inconclusive,
        ),
        UnsettledLeak if !enough => (
            "leak, first reading early, too few others",
            open || verdict == Leak,
        ),
        Pumped if beyond => (
            "still being pumped",
            open || verdict == TooShort && duration < minimum,
        ),
        Pumped => (
            "still being pumped, under 1.6 bounds",
            open || verdict == still,
        ),
        Bounced => ("pumped, then a leak", open || verdict == Leak),
        NitrogenUnsettled if !enough => (
            "nitrogen, first reading warm, too few others",
            open || verdict == Leak,
        ),
        Nitrogen | NitrogenUnsettled if s.overnight && s.first_unknown() => {
            ("nitrogen overnight, no temperatures", open)
        }
        Nitrogen => ("nitrogen, tight", verdict == still),
        NitrogenUnsettled => ("nitrogen, first reading warm", verdict == still && left_out),
        NitrogenLeak if s.overnight && s.temperatures.doubtful() => (
            "nitrogen overnight leaking, no temperatures",
            open || verdict == Leak,
        ),
        NitrogenLeak if beyond => ("nitrogen, leak", verdict == Leak),
        NitrogenLeak => (
            "nitrogen, leak under 1.6 bounds",
            [still, Leak, Inconclusive].contains(&verdict),
        ),
        Outgassing if beyond => (
            "outgassing that the gauge sees",
            verdict == still || verdict == Inconclusive,
        ),
        Outgassing => (
            "outgassing, moved by under 1.6 bounds",
            verdict == still || verdict == Inconclusive,
        ),
        Gassing if !beyond => (
            "gas that is not water, under 1.6 bounds",
            verdict == still || open || verdict == Leak,
        ),
        Gassing if !s.shape_shows(duration) => (
            "gas that is not water, no shape can be told",
            verdict == Leak || verdict == Inconclusive,
        ),
        Gassing => ("gas that is not water", verdict == Inconclusive),
        Leaking | UnsettledLeak | TwoGaugesLeak if !beyond => (
            "leak under 1.6 bounds",
            [still, Leak, Inconclusive, Moisture].contains(&verdict),
        ),
        TwoGaugesLeak if !s.one_suffices => (
            "leak, two gauges, neither suffices",
            open || verdict == Leak,
        ),
        Leaking | UnsettledLeak | TwoGaugesLeak if s.end_pa < OUTGASSING_PA => {
            ("leak below 200 Pa", [Leak, Inconclusive].contains(&verdict))
        }
        UnsettledLeak => ("leak, first reading early", verdict == Leak),
        Leaking | TwoGaugesLeak => ("leak", verdict == Leak),
        Wet if !beyond => (
            "wet, moved by under 1.6 bounds",
            [Moisture, still, Inconclusive, Leak].contains(&verdict),
        ),
        Wet if s.readings < 5 || s.temperatures == Temperatures::None => (
            "wet, no shape can be told",
            [Moisture, Leak, Inconclusive, NotReadable].contains(&verdict),
        ),
        Wet if s.temperatures.doubtful() && verdict == NotReadable => {
            ("wet, no shape can be told", true)
        }
        Wet if !s.water_shows() => (
            "wet, not at saturation or not seen to be",
            [Moisture, Inconclusive].contains(&verdict),
        ),
        Wet => ("wet", verdict == Moisture),
    }
}
