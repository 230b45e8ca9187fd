//! Tests through the whole router, each with a database of its own.
mod authority;
mod away;
mod bad_input;
mod bench;
mod counter;
mod encrypted;
mod ground;
mod job;
mod kept;
mod labels;
mod live;
mod money;
mod reckoned;
mod rules;
mod support;
mod why;
