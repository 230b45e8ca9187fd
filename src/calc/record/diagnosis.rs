//! What was found before the circuit was opened.
use super::charge::Scale;
use super::circuit::Refrigerant;
use crate::units::{Fraction, Instant, Mass, Pressure, Quantity, Seconds, Temperature, Volume};
use std::collections::BTreeMap;

evidence! {
    /// The pressure of the circuit at rest.
    pub struct Standing {
        /// What the gauge showed.
        pub pressure: Option<Quantity<Pressure>>,
        /// The temperature of the car and the air around it.
        pub ambient: Option<Quantity<Temperature>>,
        /// The car had stood until all of it had one temperature.
        pub cold_soak: Option<bool>,
        /// When it was read.
        pub at: Option<Instant>,
        /// The barometer at that time, where it is not the site's.
        pub barometer: Option<Quantity<Pressure>>,
    }
}

evidence! {
    /// What gas an identifier found.
    pub struct Identification {
        /// When it was done.
        pub at: Option<Instant>,
        /// The identifier.
        pub instrument: Option<String>,
        /// The share of each refrigerant by mass.
        pub gases: BTreeMap<String, Quantity<Fraction>>,
        /// The share of air.
        pub air: Option<Quantity<Fraction>>,
        /// Leak sealant was found.
        pub sealant: Option<bool>,
    }
}

evidence! {
    /// High voltage switched off, locked and measured dead.
    pub struct Isolation {
        /// When it was measured.
        pub at: Option<Instant>,
        /// What was measured, such as `0 V`.
        pub measured: Option<String>,
        /// How long was waited for the capacitors to discharge before it was measured.
        pub waited: Option<Quantity<Seconds>>,
    }
}

evidence! {
    /// Refrigerant taken out into a cylinder, by weight. 0 g from an empty circuit is a recovery too.
    pub struct Recovery {
        /// The cylinder that it went into.
        pub cylinder: Option<String>,
        /// What was recovered.
        pub refrigerant: Option<Refrigerant>,
        /// The cylinder's mass before.
        pub before: Option<Quantity<Mass>>,
        /// The cylinder's mass after.
        pub after: Option<Quantity<Mass>>,
        /// The scale.
        pub scale: Option<Scale>,
        /// Oil that came out with it.
        pub oil: Option<Quantity<Volume>>,
        /// When it was done.
        pub at: Option<Instant>,
    }
}

evidence! {
    /// A leak that was found.
    pub struct Leak {
        /// Where: a joint's id or a place in words.
        pub place: Option<String>,
        /// How it was found.
        pub found_by: Option<String>,
        /// When it was found.
        pub at: Option<Instant>,
        /// When it was repaired.
        pub repaired_at: Option<Instant>,
    }
}
