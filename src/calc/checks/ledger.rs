//! The ledger of the refrigerant: what was weighed in and out, each mass with its uncertainty, and what is therefore inside.
//!
//! A scale is known to half of its last digit, so that a difference of two weighings is known to one digit. What a charge put in is known to that, to
//! what stayed in the hose, and to what cans held. What is *inside* is known only where the circuit was empty before: recovered or opened, then evacuated.
//! What is topped up into a circuit of which nobody knows what it held makes the whole unknown, and it stays so until it is emptied.
use super::{
    case::Case,
    circuit::Target,
    hose::{self, InHose},
    limits::Limits,
    timeline::{Rank, Stamp, live},
};
use crate::{
    JobRecord,
    record::{Charging, HoldKind, Scale, answer::ChargeIs},
    units::Instant,
};

/// A mass with the least and the most that it may be, kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Span {
    /// As weighed.
    pub kg: f64,
    /// At least.
    pub low: f64,
    /// At most.
    pub high: f64,
}

impl Span {
    /// Known exactly.
    pub const fn exactly(kg: f64) -> Self {
        Self {
            kg,
            low: kg,
            high: kg,
        }
    }

    /// Known to so much either way.
    pub const fn give(kg: f64, uncertainty_kg: f64) -> Self {
        Self {
            kg,
            low: kg - uncertainty_kg,
            high: kg + uncertainty_kg,
        }
    }

    /// How far it may be off from what was weighed: the greater of both ways.
    pub fn uncertainty(self) -> f64 {
        (self.high - self.kg).max(self.kg - self.low)
    }
}

impl std::ops::Add for Span {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            kg: self.kg + other.kg,
            low: self.low + other.low,
            high: self.high + other.high,
        }
    }
}

impl std::ops::Sub for Span {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self {
            kg: self.kg - other.kg,
            low: self.low - other.high,
            high: self.high - other.low,
        }
    }
}

impl std::iter::Sum for Span {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), |a, b| a + b)
    }
}

/// A charging as it counts.
pub struct Charged<'a> {
    /// Its id.
    pub id: String,
    /// When.
    pub at: Option<Stamp>,
    /// What went in, kg; `None` where it was not weighed.
    pub net_kg: Option<f64>,
    /// The same with its uncertainty.
    pub net: Option<Span>,
    /// What stayed in the hose.
    pub hose: InHose,
    /// The cylinder was heavier after than before: the entry cannot be.
    pub backwards: bool,
    /// It was weighed on a scale whose resolution is not recorded.
    pub resolution_assumed: bool,
    /// It.
    pub entry: &'a Charging,
}

/// A recovery as it counts.
pub struct Recovered {
    /// Its id.
    pub id: String,
    /// When.
    pub at: Option<Stamp>,
    /// kg; `None` where it was not weighed.
    pub kg: Option<f64>,
    /// The same with its uncertainty.
    pub mass: Option<Span>,
    /// The cylinder was lighter after than before: the entry cannot be.
    pub backwards: bool,
    /// It was weighed on a scale whose resolution is not recorded.
    pub resolution_assumed: bool,
    /// Its place in the record's list.
    pub position: usize,
}

/// What a scale reads to, kg; and whether that is assumed.
fn resolution(scale: Option<&Scale>, limits: &Limits) -> (f64, bool) {
    let recorded = scale
        .and_then(|s| s.resolution.as_ref())
        .map(|r| r.si().kg());
    (
        recorded.unwrap_or(limits.assumed_scale_resolution.kg()),
        recorded.is_none(),
    )
}

/// Charges that are not superseded, in the order of time.
pub fn charges<'a>(record: &'a JobRecord, limits: &Limits) -> Vec<Charged<'a>> {
    let mut all: Vec<Charged<'_>> = live(&record.charging, "charging")
        .map(|(i, id, c)| charged(record, i, id, c, limits))
        .collect();
    all.sort_by_key(|c| c.at);
    all
}

/// What a charge put in: by the cylinder's mass before and after less what stayed in the hose, or out of cans.
fn charged<'a>(
    record: &JobRecord,
    position: usize,
    id: String,
    c: &'a Charging,
    limits: &Limits,
) -> Charged<'a> {
    let (digit, assumed) = resolution(c.scale.as_ref(), limits);
    let hose = hose::of(record, c, limits, digit);
    let cans: Vec<_> = c.cans.iter().filter(|can| !can.superseded).collect();
    let from_can = |can: &&crate::record::Can| {
        let (net, left) = (can.net.as_ref()?.si().kg(), can.left.as_ref()?.si().kg());
        let left = if left == 0.0 {
            Span::exactly(0.0)
        } else {
            Span::give(left, 0.5 * digit)
        };
        Some(Span::give(net, limits.can_share.one() * net) - left)
    };
    let cylinder = match (&c.before, &c.after) {
        (Some(before), Some(after)) => Some(Span::give(before.si().kg() - after.si().kg(), digit)),
        (None, None) if !cans.is_empty() => Some(Span::exactly(0.0)),
        _ => None,
    };
    let backwards = cylinder.is_some_and(|w| w.high < 0.0);
    let from_cans = cans.iter().map(from_can).sum::<Option<Span>>();
    let net = cylinder
        .zip(from_cans)
        .map(|(cylinder, cans)| cylinder - hose.kg + cans)
        .filter(|_| !backwards);
    Charged {
        at: c.at.map(|at| Stamp::new(at, Rank::Charge, position)),
        net_kg: net.map(|n| n.kg),
        net,
        resolution_assumed: assumed && c.before.is_some() && c.after.is_some(),
        id,
        hose,
        backwards,
        entry: c,
    }
}

/// Recoveries that are not superseded, in the order of time.
pub fn recoveries(record: &JobRecord, limits: &Limits) -> Vec<Recovered> {
    let mut all: Vec<Recovered> = live(&record.recovery, "recovery")
        .map(|(i, id, r)| {
            let (digit, assumed) = resolution(r.scale.as_ref(), limits);
            let weighed = r
                .before
                .as_ref()
                .zip(r.after.as_ref())
                .map(|(before, after)| Span::give(after.si().kg() - before.si().kg(), digit));
            let backwards = weighed.is_some_and(|w| w.high < 0.0);
            let mass = weighed.filter(|_| !backwards);
            let at = r.at.map(|at: Instant| Stamp::new(at, Rank::Recovered, i));
            Recovered {
                position: i,
                id,
                at,
                kg: mass.map(|m| m.kg),
                mass,
                backwards,
                resolution_assumed: assumed && weighed.is_some(),
            }
        })
        .collect();
    all.sort_by_key(|r| r.at);
    all
}

/// What is known of what is inside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Contents {
    /// What the car came with.
    AsItCame,
    /// Emptied or opened, and not evacuated since.
    Emptied,
    /// This much: nothing after an evacuation, then what was weighed in and out.
    Known(Span),
    /// Nobody knows how much, and why.
    Unknown(Why),
}

/// Why nobody knows how much is inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It was topped up into what was there.
    ToppedUp,
    /// It was charged without an evacuation before.
    NotEvacuated,
    /// It was not weighed.
    NotWeighed,
}

/// What was inside when a recovery began.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Before {
    /// What the car came with.
    AsItCame,
    /// A charge of this record, last put in at that time.
    Known(Span, Stamp),
    /// Something, after a charge of this record.
    Unknown,
}

/// Recoveries with no charging between.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Their positions in the case's list.
    pub recoveries: Vec<usize>,
    /// When the first was done.
    pub at: Option<Stamp>,
    /// What came out in all; `None` where not all of it was weighed.
    pub total: Option<Span>,
    /// What was inside.
    pub before: Before,
    /// Only a part of a known charge was taken out, and the circuit stayed closed.
    pub partly: bool,
}

/// The ledger of a case.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    /// What is inside after all that is on record.
    pub contents: Contents,
    /// Something was charged since the circuit was last evacuated.
    pub charged_since: bool,
    /// Recoveries, by what they took out of.
    pub runs: Vec<Run>,
}

#[derive(Debug, Clone, Copy)]
enum Event {
    Opened,
    Evacuated,
    Charged(usize),
    Recovered(usize),
}

/// Of a known charge less than this share is a part taken out on purpose; more was to empty it.
const PART: f64 = 0.5;

impl Ledger {
    /// Walks through everything in the order of time.
    pub fn of(case: &Case<'_>) -> Self {
        let events = events(case);
        let mut ledger = Self {
            contents: Contents::AsItCame,
            charged_since: false,
            runs: Vec::new(),
        };
        let mut last_charge: Option<Stamp> = None;
        let mut from = 0;
        while from < events.len() {
            // From one charging to the next.
            let to = events[from..]
                .iter()
                .position(|(_, e)| matches!(e, Event::Charged(_)))
                .map_or(events.len(), |i| from + i);
            ledger.between_charges(case, &events[from..to], last_charge);
            if let Some((at, Event::Charged(i))) = events.get(to) {
                ledger.charge(case.charges[*i].net);
                last_charge = *at;
            }
            from = to + 1;
        }
        ledger
    }

    fn charge(&mut self, net: Option<Span>) {
        self.charged_since = true;
        self.contents = match (self.contents, net) {
            (_, None) => Contents::Unknown(Why::NotWeighed),
            (Contents::Known(inside), Some(net)) => Contents::Known(inside + net),
            (Contents::Emptied, Some(_)) => Contents::Unknown(Why::NotEvacuated),
            (Contents::AsItCame, Some(_)) => Contents::Unknown(Why::ToppedUp),
            (Contents::Unknown(why), Some(_)) => Contents::Unknown(why),
        };
    }

    fn between_charges(
        &mut self,
        case: &Case<'_>,
        events: &[(Option<Stamp>, Event)],
        last_charge: Option<Stamp>,
    ) {
        let recoveries: Vec<usize> = events
            .iter()
            .filter_map(|(_, e)| {
                if let Event::Recovered(i) = e {
                    Some(*i)
                } else {
                    None
                }
            })
            .collect();
        let first = events
            .iter()
            .position(|(_, e)| matches!(e, Event::Recovered(_)));
        if let Some(first) = first {
            let total = recoveries
                .iter()
                .map(|i| case.recoveries[*i].mass)
                .sum::<Option<Span>>();
            let worked_on = events[first..]
                .iter()
                .any(|(_, e)| !matches!(e, Event::Recovered(_)));
            let before = match (self.contents, last_charge) {
                (Contents::AsItCame, _) => Before::AsItCame,
                (Contents::Known(inside), Some(at)) if self.charged_since => {
                    Before::Known(inside, at)
                }
                (_, None) => Before::AsItCame,
                _ => Before::Unknown,
            };
            let part = |inside: Span| total.is_some_and(|t| t.kg < PART * inside.kg);
            let partly = matches!(before, Before::Known(inside, _) if part(inside))
                && !worked_on
                && first == 0;
            self.runs.push(Run {
                at: events[first].0,
                total,
                before,
                partly,
                recoveries,
            });
            if let (true, Contents::Known(inside), Some(total)) = (partly, self.contents, total) {
                self.contents = Contents::Known(inside - total);
                return;
            }
        }
        for (_, event) in events {
            self.contents = match (event, self.contents) {
                (Event::Evacuated, _) => Contents::Known(Span::exactly(0.0)),
                (Event::Recovered(_), Contents::Known(inside)) if inside.high <= 0.0 => {
                    self.contents
                }
                _ => Contents::Emptied,
            };
            self.charged_since = false;
        }
    }

    /// What is inside by weight, where that is known and something was charged.
    pub fn net(&self) -> Option<Span> {
        match self.contents {
            Contents::Known(inside) if self.charged_since => Some(inside),
            _ => None,
        }
    }

    /// Why nobody knows how much is inside, where something was charged.
    pub fn unknown(&self) -> Option<Why> {
        match self.contents {
            Contents::Unknown(why) => Some(why),
            _ => None,
        }
    }

    /// Whether a recovery took out only a part of a known charge, the circuit staying closed.
    pub fn is_part(&self, recovery: usize) -> bool {
        self.runs
            .iter()
            .any(|run| run.partly && run.recoveries.contains(&recovery))
    }
}

/// In the order of time. A recovery without a time comes first where nothing was charged, else nobody can say what it came out of; anything else
/// without one counts nowhere.
fn events(case: &Case<'_>) -> Vec<(Option<Stamp>, Event)> {
    let charged = case.charges.iter().any(|c| c.at.is_some());
    let mut all: Vec<(Option<Stamp>, Event)> = case
        .openings
        .iter()
        .map(|o| (Some(o.at), Event::Opened))
        .collect();
    all.extend(case.gas_in.iter().map(|(at, _)| (Some(*at), Event::Opened)));
    all.extend(
        case.evacuations
            .iter()
            .filter_map(|e| Some((Some(e.start?), Event::Evacuated))),
    );
    all.extend(
        case.holds
            .iter()
            .filter(|h| h.kind == Some(HoldKind::Vacuum))
            .filter_map(|h| Some((Some(h.start?), Event::Evacuated))),
    );
    all.extend(
        case.charges
            .iter()
            .enumerate()
            .filter_map(|(i, c)| Some((Some(c.at?), Event::Charged(i)))),
    );
    all.extend(
        case.recoveries
            .iter()
            .enumerate()
            .filter(|(_, r)| r.at.is_some() || !charged)
            .map(|(i, r)| (r.at, Event::Recovered(i))),
    );
    all.sort_by_key(|(at, _)| *at);
    all
}

/// What a net charge is against the charge in force: right where all that the weighing allows lies within the tolerance, wrong where all of it lies
/// outside, and else it cannot be told.
pub fn judged(net: Span, target: Target) -> ChargeIs {
    const ROUNDING: f64 = 1e-9;
    let (least, most) = (
        target.kg - target.tolerance_kg - ROUNDING,
        target.kg + target.tolerance_kg + ROUNDING,
    );
    if net.low >= least && net.high <= most {
        ChargeIs::Right
    } else if net.high < least || net.low > most {
        ChargeIs::Wrong
    } else {
        ChargeIs::CannotTell
    }
}
