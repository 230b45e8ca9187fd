//! Readings on two gauges in one hold: whether the gauges agree, and whose readings the hold is judged by.
use super::{
    gauge::GaugeFacts,
    limits::Limits,
    readings::{Point, Seen, Watched},
};

/// Two gauges that were read at about the same time and do not agree.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugesDisagree {
    /// Which is the finer one; `None` where it has no name.
    pub fine: Option<String>,
    /// What the finer one showed then, Pa absolute.
    pub fine_pa: f64,
    /// Which is the coarser one.
    pub coarse: Option<String>,
    /// What the coarser one showed, Pa absolute.
    pub coarse_pa: f64,
    /// By how much the coarser one showed more, on average where they were compared more than once, Pa; less where negative.
    pub by_pa: f64,
    /// By how much they may differ: both resolutions, both zero errors, and the air's pressure where only one counts from perfect vacuum, Pa.
    pub allowed_pa: f64,
}

/// The readings that a hold is judged by.
#[derive(Debug, Clone)]
pub struct Chosen {
    /// In the order of time.
    pub points: Vec<Point>,
    /// Of one gauge; where two that agree were taken together, the coarser one's resolution.
    pub facts: GaugeFacts,
    /// Two gauges do not agree.
    pub disagree: Option<GaugesDisagree>,
    /// Why there are no readings that it could be judged by.
    pub unfit: Option<String>,
}

/// By one gauge's own readings, the finest whose suffice; by all only where the gauges agree and no gauge's own suffice. `least_s` is how long such a
/// hold has to be.
pub fn choose(watched: &Watched, least_s: f64, limits: &Limits) -> Chosen {
    let mut order: Vec<usize> = (0..watched.gauges.len())
        .filter(|g| watched.points.iter().any(|p| p.gauge == *g))
        .collect();
    order.sort_by(|a, b| {
        watched.gauges[*a]
            .facts
            .resolution_pa
            .total_cmp(&watched.gauges[*b].facts.resolution_pa)
    });
    let (Some(finest), Some(coarsest)) = (order.first().copied(), order.last().copied()) else {
        return Chosen {
            points: Vec::new(),
            facts: watched.gauges[0].facts,
            disagree: None,
            unfit: None,
        };
    };
    let own = |g: usize| {
        watched
            .points
            .iter()
            .filter(|p| p.gauge == g)
            .copied()
            .collect::<Vec<_>>()
    };
    let of = |g: usize, disagree| Chosen {
        points: own(g),
        facts: watched.gauges[g].facts,
        disagree,
        unfit: None,
    };
    if order.len() == 1 {
        return of(finest, None);
    }
    let whole = lasts(&watched.points);
    let suffices = |g: usize| {
        let points = own(g);
        points.len() >= 2 && lasts(&points) > 0.0 && lasts(&points) >= least_s.min(0.5 * whole)
    };
    let compared: Vec<Comparison> = order[1..]
        .iter()
        .filter_map(|g| compare(&own(finest), &own(*g), finest, *g, watched, limits))
        .collect();
    let disagree = compared
        .iter()
        .filter_map(|c| c.disagree.clone())
        .max_by(|a, b| a.by_pa.abs().total_cmp(&b.by_pa.abs()));
    if suffices(finest) {
        return of(finest, disagree);
    }
    if disagree.is_some() {
        let unfit = Some("two gauges disagree by more than both can be misread, and the finer one was not read often or long enough".to_owned());
        return Chosen {
            points: watched.points.clone(),
            facts: watched.gauges[coarsest].facts,
            disagree,
            unfit,
        };
    }
    if let Some(g) = order.iter().copied().find(|g| suffices(*g)) {
        return of(g, None);
    }
    let unfit = (compared.len() + 1 < order.len()).then(|| {
        "its readings are on two gauges that were not compared, and too few on either".to_owned()
    });
    Chosen {
        points: watched.points.clone(),
        facts: watched.gauges[coarsest].facts,
        disagree: None,
        unfit,
    }
}

/// From the first to the last, s.
fn lasts(points: &[Point]) -> f64 {
    points
        .first()
        .zip(points.last())
        .map_or(0.0, |(a, b)| (b.ms - a.ms) as f64 / 1e3)
}

struct Comparison {
    disagree: Option<GaugesDisagree>,
}

/// Compares the coarser gauge's readings with the course of the finer one's: between two of them, or with one that is near in time. `None` where none can be.
fn compare(
    fine: &[Point],
    coarse: &[Point],
    finest: usize,
    other: usize,
    watched: &Watched,
    limits: &Limits,
) -> Option<Comparison> {
    let together = (limits.gauges_together.s() * 1e3) as i64;
    let pairs: Vec<(f64, &Point)> = coarse
        .iter()
        .filter_map(|c| Some((beside(fine, c.ms, together)?, c)))
        .collect();
    let (fine_pa, one) = pairs.iter().max_by(|a, b| {
        (a.0 - a.1.raw_pa)
            .abs()
            .total_cmp(&(b.0 - b.1.raw_pa).abs())
    })?;
    let by_pa = pairs.iter().map(|(fine, c)| c.raw_pa - fine).sum::<f64>() / pairs.len() as f64;
    let (a, b): (&Seen, &Seen) = (&watched.gauges[finest], &watched.gauges[other]);
    // Against the same air both are off by the same.
    let air = if fine.first().is_some_and(|f| f.absolute != one.absolute) {
        one.air.uncertainty_pa
    } else {
        0.0
    };
    let allowed_pa =
        a.facts.resolution_pa + b.facts.resolution_pa + a.facts.error_pa + b.facts.error_pa + air;
    let disagree = (by_pa.abs() > allowed_pa).then(|| GaugesDisagree {
        fine: a.id.clone(),
        fine_pa: *fine_pa,
        coarse: b.id.clone(),
        coarse_pa: one.raw_pa,
        by_pa,
        allowed_pa,
    });
    Some(Comparison { disagree })
}

/// What a gauge would have shown at a time: straight between two of its readings, else one that is near in time.
fn beside(fine: &[Point], ms: i64, together: i64) -> Option<f64> {
    let before = fine.iter().rfind(|f| f.ms <= ms);
    let after = fine.iter().find(|f| f.ms >= ms);
    match (before, after) {
        (Some(a), Some(b)) if b.ms > a.ms => {
            Some(a.raw_pa + (b.raw_pa - a.raw_pa) * (ms - a.ms) as f64 / (b.ms - a.ms) as f64)
        }
        (Some(a), _) if ms - a.ms <= together => Some(a.raw_pa),
        (_, Some(b)) if b.ms - ms <= together => Some(b.raw_pa),
        _ => None,
    }
}
