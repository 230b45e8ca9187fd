//! Tests through the whole router, each with a database of its own.
mod bad_input;
mod ground;
mod job;
mod money;
mod support;
