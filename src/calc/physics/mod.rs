//! Laws and properties; nothing here knows of a job.
pub mod atmosphere;
pub mod curve;
pub mod gas;
pub mod leak;
pub mod refrigerant;
pub mod water;
