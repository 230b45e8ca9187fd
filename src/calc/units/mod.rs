//! Typed quantities: parsed as a technician writes them, kept in SI, shown in either system.
//!
//! ```
//! use chillwright_calc::units::{Mass, Quantity};
//! let charge: Quantity<Mass> = "1.5 lb".parse()?;
//! assert_eq!(charge.to_string(), "1.5 lb");
//! assert!((charge.si().kg() - 0.680388555).abs() < 1e-12);
//! # Ok::<(), chillwright_calc::units::QuantityError>(())
//! ```
mod number;
mod pressure;
mod quantity;
pub mod show;
pub mod si;
mod table;
mod time;

pub use number::parse_number;
pub use pressure::Pressure;
pub use quantity::{Dimension, Quantity, QuantityError};
pub use show::UnitSystem;
pub use si::*;
pub use table::{FLUID_OUNCE, FOOT, INCH, INHG, MICRON, OUNCE, POUND, PSI};
pub use time::{Day, Instant, Moment};
