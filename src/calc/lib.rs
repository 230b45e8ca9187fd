//! What the measurements on a car's refrigerant circuit show, and what they could not have shown.
//!
//! Three rooms, used downwards only: [`checks`] turns a [`record`] into figures and findings by the laws in
//! [`physics`]; [`units`] serves all. There is no clock, no database and no web in here: the same record gives
//! the same answer anywhere.
pub mod checks;
pub mod physics;
pub mod record;
pub mod units;

pub use checks::assess;
pub use record::answer::Assessment;
pub use record::{JobRecord, RecordError, parse, parse_value, schema_answer, schema_record};
pub use units::UnitSystem;

/// The version of the rules, stored with each assessment. A change of what any record finds changes it.
pub const RULES_VERSION: &str = "2.0.0";
