//! What happened in which order. Time decides, whatever the order of entry; between kinds, equal times follow the work.
use crate::{record::Evidence, units::Instant};

/// What comes first where two times are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rank {
    /// What is found before anything is touched.
    Found,
    /// Refrigerant recovered.
    Recovered,
    /// A joint opened.
    Opened,
    /// A part fitted.
    Fitted,
    /// A seal looked at.
    Seal,
    /// A pressure hold begun; gas let in.
    PressureHold,
    /// An evacuation begun.
    Evacuation,
    /// A vacuum hold begun.
    VacuumHold,
    /// Refrigerant charged.
    Charge,
    /// A leak check.
    LeakCheck,
    /// A performance reading.
    Performance,
}

/// A point in the order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stamp {
    /// Milliseconds.
    pub ms: i64,
    /// Among equal times.
    pub rank: Rank,
    /// Among equal times of the same kind: the order of the list.
    pub position: usize,
}

impl Stamp {
    /// A point.
    pub fn new(at: Instant, rank: Rank, position: usize) -> Self {
        Self {
            ms: at.millis(),
            rank,
            position,
        }
    }
}

/// The pieces of a list that count, each with its position in the list and the name that findings point to it by.
pub fn live<'a, T: Evidence>(
    list: &'a [T],
    section: &'a str,
) -> impl Iterator<Item = (usize, String, &'a T)> {
    list.iter()
        .enumerate()
        .filter(|(_, piece)| !piece.superseded())
        .map(move |(i, piece)| (i, name(piece, section, i), piece))
}

/// The id, or the position in its list.
pub fn name<T: Evidence>(piece: &T, section: &str, position: usize) -> String {
    piece
        .id()
        .map_or_else(|| format!("{section}[{position}]"), str::to_owned)
}
