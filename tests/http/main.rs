//! Tests through the whole router, each with a database of its own.
mod ground;
mod money;
mod support;
