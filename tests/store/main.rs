//! The file itself: what it refuses, what survives, who may use whom.
mod circles;
mod command_line;
mod contaminated;
mod encrypted;
mod evidence;
mod migrations;
mod new_rules;
mod rooms;
mod schema;
