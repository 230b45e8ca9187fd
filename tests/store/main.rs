//! The file itself: what it refuses, what survives, who may use whom.
mod command_line;
mod rooms;
mod schema;
