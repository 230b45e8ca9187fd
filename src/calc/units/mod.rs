//! Typed quantities: parsed as a technician writes them, kept in SI, shown in either system.
pub mod si;
pub use si::*;
