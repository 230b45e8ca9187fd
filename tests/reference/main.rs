//! The physics, held to values that we did not write. Each test names its source.
mod published;
mod tables;
