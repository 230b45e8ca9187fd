//! The checks: records and what must be found in them.
mod compared;
mod explain;
mod fuzz;
mod grid;
mod holds;
mod one_cause;
mod outlook;
mod pressures;
mod properties;
mod rules;
mod scenario;
mod support;
mod units;
