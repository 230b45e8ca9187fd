//! The shop's own matters as types and rules: ids, instants, people and roles, money, VIN, ways out.
pub mod billing;
pub mod ids;
pub mod instant;
pub mod label;
pub mod layout;
pub mod money;
pub mod people;
pub mod tablet;
pub mod vin;
pub mod way;
pub mod words;
pub mod written;

pub use ids::*;
pub use instant::{Instant, Zone};
pub use label::LabelSize;
pub use money::Money;
pub use people::{Actor, Role, Roles};
pub use tablet::{EnteredAt, TabletClock};
pub use way::Way;
pub use words::*;
