//! Two holds compared: gas that leaves oil and rubber grows less from hold to hold, a leak does not.
use super::{
    hold::{Doubt, Held, settle},
    limits::Limits,
    timeline::Stamp,
};
use crate::record::{HoldKind, answer::Verdict};

/// Judges each inconclusive vacuum hold by the latest earlier one that stayed so.
///
/// `evacuated_between` gives the seconds of evacuation between two points, `disturbed` whether an opening or gas came between.
pub fn compare(
    holds: &mut [Held],
    limits: &Limits,
    evacuated_between: impl Fn(Stamp, Stamp) -> f64,
    disturbed: impl Fn(Stamp, Stamp) -> bool,
) {
    let mut order: Vec<usize> = (0..holds.len())
        .filter(|i| holds[*i].start.is_some() && holds[*i].kind == Some(HoldKind::Vacuum))
        .collect();
    order.sort_by_key(|i| holds[*i].start);
    let mut earlier: Option<(Stamp, f64)> = None;
    for i in order {
        let held = &mut holds[i];
        let (Some(start), Some(slope)) = (held.start, held.figures.slope_pa_per_s) else {
            continue;
        };
        // One that may have stood still, or that came to rest, has no slope to compare.
        if held.says != Verdict::Inconclusive || held.doubt != Some(Doubt::Outgassing) {
            continue;
        }
        if let Some((before, s1)) = earlier
            && evacuated_between(before, start) >= limits.outgassing_evacuation.s()
            && !disturbed(before, start)
            && s1 > 0.0
        {
            // A share that is met to the last digit is met.
            let share = slope / s1;
            held.says = if share >= limits.outgassing_leak_share.one() - 1e-9 {
                Verdict::Leak
            } else if share <= limits.outgassing_held_share.one() + 1e-9 {
                Verdict::Held
            } else {
                Verdict::Inconclusive
            };
            if held.says != Verdict::Inconclusive {
                (held.doubt, held.reason) = (None, None);
            }
            if held.says == Verdict::Held {
                (
                    held.figures.leak_slope_low_pa_per_s,
                    held.figures.leak_slope_high_pa_per_s,
                ) = (None, None);
                (
                    held.figures.leak_low_kg_per_year,
                    held.figures.leak_high_kg_per_year,
                ) = (None, None);
            }
            settle(held);
        }
        if held.ended && held.says == Verdict::Inconclusive {
            earlier = Some((start, slope));
        }
    }
}
