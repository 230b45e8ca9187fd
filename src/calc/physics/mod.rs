//! Laws and properties; nothing here knows of a job.
pub mod atmosphere;
pub mod curve;
pub mod cylinder;
pub mod expansion;
pub mod gas;
pub mod leak;
pub mod leak_and_gas;
pub mod moist_air;
pub mod refrigerant;
pub mod water;
