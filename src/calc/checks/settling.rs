//! A first reading that was taken before the pressure had settled: while it was still being pumped, while the regulator was open, before the gas had
//! evened out. It is named and left out where the others suffice.
use super::{
    course::{Course, Reading},
    limits::Limits,
    readings::{Point, corrected},
};
use crate::record::HoldKind;

/// How many others must remain for the first reading to be left out.
const OTHERS: usize = 4;
/// How many graduations beyond the doubt of the temperature the first reading of a pressure hold must lie from the others.
const OFF_BY: f64 = 1.6;

/// The readings that a hold is judged by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Settled {
    /// All of them.
    All,
    /// All but the first.
    ButTheFirst,
    /// None: the first was taken too early, and too few others remain.
    TooFew,
    /// None: they fall, or fall and rise again.
    Unsteady,
}

/// Which readings count. `water` says whether water explains a fall: then it is none.
pub fn settled(
    points: &[Point],
    kind: HoldKind,
    resolution_pa: f64,
    limits: &Limits,
    water: impl Fn(&Course<'_>) -> bool,
) -> Settled {
    let all = corrected(points, limits);
    let Some(course) = of(&all, kind, resolution_pa) else {
        return Settled::All;
    };
    let rest = corrected(points.get(1..).unwrap_or_default(), limits);
    if course.falls_back() && !water(&course) {
        let others = of(&rest, kind, resolution_pa).filter(|_| rest.len() >= 2);
        return match others {
            Some(others) if !others.falls_back() && rest.len() >= OTHERS => Settled::ButTheFirst,
            Some(others) if !others.falls_back() => Settled::TooFew,
            _ => Settled::Unsteady,
        };
    }
    // Gas that is warm from filling cools: the pressure sinks at first, and then stands. A leak goes on.
    if kind == HoldKind::Pressure && rest.len() >= OTHERS {
        let others = of(&rest, kind, resolution_pa).map_or(0.0, |others| others.change.abs());
        if course.first_is_off_by() > OFF_BY.max(0.5 * others / resolution_pa) {
            return Settled::ButTheFirst;
        }
    }
    Settled::All
}

fn of<'a>(readings: &'a [Reading], kind: HoldKind, resolution_pa: f64) -> Option<Course<'a>> {
    match kind {
        HoldKind::Vacuum => Course::of_vacuum(readings, resolution_pa),
        HoldKind::Pressure => Course::of_pressure(readings, resolution_pa),
    }
}
