//! The deeds: every write of the house. Each is one transaction: permission, effect, audit entry, new assessment.
pub mod assess;
pub mod billing;
pub mod codes;
pub mod concessions;
pub mod contaminated;
pub mod deed;
mod error;
pub mod evidence;
pub mod handover;
pub mod orders;
pub mod people;
pub mod photographs;
pub mod settings;
pub mod stage;
pub mod start;
pub mod starters;
mod who;

pub use deed::{Command, Deed};
pub use error::DeedError;
