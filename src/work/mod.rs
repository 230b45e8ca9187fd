//! The deeds: every write of the house. Each is one transaction: permission, effect, audit entry, new assessment.
pub mod assess;
pub mod codes;
pub mod deed;
pub mod evidence;
pub mod people;
pub mod start;

pub use deed::{Command, Deed, DeedError};
