//! What the measurements on a car's refrigerant circuit show, and what they could not have shown.
pub mod physics;
pub mod units;
