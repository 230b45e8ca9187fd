//! Evidence: an identity row and its versions. A correction is a new version; nothing is overwritten.
//!
//! `kind` is the one table of kinds, `body` what a piece says (an entry of the job record, by its own type), `own` what the shop keeps beside it, `query`
//! the rows.
mod body;
mod kind;
mod own;
mod query;

pub use body::{Body, Entry, Only, Stored, read};
pub use kind::{Kind, Place};
pub use own::{Answers, Filled, GaugeKind, Own, Reference, VolumeReadings, Waited};
pub use query::{Entering, Piece, Version, add, add_version, of_order, read as stored, workers};
