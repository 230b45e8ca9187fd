//! What was weighed into the circuit and out of it.
use super::timeline::{Rank, Stamp, live};
use crate::{JobRecord, record::Charging, units::Instant};

/// A charging as it counts.
pub struct Charged<'a> {
    /// Its id.
    pub id: String,
    /// When.
    pub at: Option<Stamp>,
    /// What went in, kg; `None` where it was not weighed.
    pub net_kg: Option<f64>,
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
    /// Its place in the record's list.
    pub position: usize,
}

/// Charges that are not superseded, in the order of time.
pub fn charges(record: &JobRecord) -> Vec<Charged<'_>> {
    let mut all: Vec<Charged<'_>> = live(&record.charging, "charging")
        .map(|(i, id, c)| Charged { id, at: c.at.map(|at| Stamp::new(at, Rank::Charge, i)), net_kg: charged_kg(c), entry: c })
        .collect();
    all.sort_by_key(|c| c.at);
    all
}

/// What a charge put in, kg: by the cylinder's mass before and after less what stayed in the hose, or out of cans.
fn charged_kg(c: &Charging) -> Option<f64> {
    let cans: Vec<_> = c.cans.iter().filter(|can| !can.superseded).collect();
    let from_cans = cans.iter().map(|can| Some(can.net.as_ref()?.si().kg() - can.left.as_ref()?.si().kg())).sum::<Option<f64>>();
    let weighed = match (&c.before, &c.after) {
        (Some(before), Some(after)) => Some(before.si().kg() - after.si().kg() - c.left_in_hose.as_ref().map_or(0.0, |h| h.si().kg())),
        (None, None) if !cans.is_empty() => Some(0.0),
        _ => None,
    };
    Some(weighed? + from_cans?)
}

/// Recoveries that are not superseded, in the order of time.
pub fn recoveries(record: &JobRecord) -> Vec<Recovered> {
    let mut all: Vec<Recovered> = live(&record.recovery, "recovery")
        .map(|(i, id, r)| Recovered {
            id,
            position: i,
            at: r.at.map(|at: Instant| Stamp::new(at, Rank::Recovered, i)),
            kg: r.before.as_ref().zip(r.after.as_ref()).map(|(before, after)| after.si().kg() - before.si().kg()),
        })
        .collect();
    all.sort_by_key(|r| r.at);
    all
}
