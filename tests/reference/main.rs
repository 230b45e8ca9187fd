//! The calculation, held to values that we did not write, a file for each subject. Each test names its source: what was printed, or a table
//! under tables/ that a kept script made with a general-purpose reference library.
mod again;
mod air;
mod amounts;
mod curves;
mod cylinders;
mod expansion;
mod holds;
mod leak_and_gas;
mod leaks;
mod refrigerants;
mod service;
mod table;
mod vin;
mod water;
