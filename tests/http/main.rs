//! Tests through the whole router, each with a database of its own.
mod authority;
mod away;
mod bad_input;
mod before;
mod bench;
mod contaminated;
mod cooling;
mod counter;
mod encrypted;
mod frozen;
mod ground;
mod job;
mod kept;
mod kinds;
#[path = "../kit/mod.rs"]
mod kit;
mod labels;
mod live;
mod money;
mod program;
mod reckoned;
mod rules;
mod stage;
mod told;
mod units;
mod why;
mod words;
