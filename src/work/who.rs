//! Who may enter what.
use crate::shop::Role;

/// Who enters evidence.
pub const BENCH: &[Role] = &[Role::Technician, Role::Owner];
/// Who enters what is seen at intake.
pub const INTAKE: &[Role] = &[Role::Desk, Role::Technician, Role::Owner];
