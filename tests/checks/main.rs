//! The checks: records and what must be found in them.
mod cars;
mod clearing;
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
mod said;
mod scenario;
mod site;
mod support;
mod units;
