//! The checks: records and what must be found in them.
mod fuzz;
mod holds;
mod rules;
mod scenario;
mod support;
mod units;
