//! Tests through the whole router, each with a database of its own.
mod authority;
mod bad_input;
mod bench;
mod counter;
mod encrypted;
mod frozen;
mod ground;
mod job;
mod kept;
mod labels;
mod live;
mod money;
mod reckoned;
mod rules;
mod support;
mod units;
mod why;
