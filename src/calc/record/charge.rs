//! Charging, performance and the service ports.
use super::circuit::Refrigerant;
use crate::units::{Fraction, Instant, Length, Mass, Pressure, Quantity, Seconds, Temperature};

words! {
    /// A side of the circuit.
    pub enum Side {
        /// From the expansion device to the compressor.
        Low = "low",
        /// From the compressor to the expansion device.
        High = "high",
    }
}

words! {
    /// A service port's valve core.
    pub enum PortCore {
        /// It closes.
        Tight = "tight",
        /// It does not.
        Leaks = "leaks",
        /// A new one went in.
        Renewed = "renewed",
    }
}

section! {
    /// A scale as it was when it was read.
    pub struct Scale {
        /// Which scale of the shop's.
        pub id: Option<String>,
        /// Its last digit.
        pub resolution: Option<Quantity<Mass>>,
    }
}

evidence! {
    /// A can that refrigerant came out of.
    pub struct Can {
        /// What it held, by its label.
        pub net: Option<Quantity<Mass>>,
        /// What stayed in it.
        pub left: Option<Quantity<Mass>>,
    }
}

words! {
    /// What fills a charging hose when it is closed off.
    pub enum HoseState {
        /// Liquid.
        Liquid = "liquid",
        /// Vapour.
        Vapour = "vapour",
    }
}

section! {
    /// A charging hose.
    pub struct Hose {
        /// How long it is.
        pub length: Option<Quantity<Length>>,
        /// How wide it is inside.
        pub bore: Option<Quantity<Length>>,
        /// What filled it when it was closed off; without it, somewhere between vapour and liquid.
        pub state: Option<HoseState>,
    }
}

evidence! {
    /// Refrigerant put in, from a cylinder by weight or from cans.
    pub struct Charging {
        /// What was charged.
        pub refrigerant: Option<Refrigerant>,
        /// When it was begun.
        pub at: Option<Instant>,
        /// The cylinder that it came from.
        pub cylinder: Option<String>,
        /// The scale.
        pub scale: Option<Scale>,
        /// The cylinder's mass before.
        pub before: Option<Quantity<Mass>>,
        /// The cylinder's mass after.
        pub after: Option<Quantity<Mass>>,
        /// What left the cylinder but stayed in the hose.
        pub left_in_hose: Option<Quantity<Mass>>,
        /// The cans that it came from.
        pub cans: Vec<Can>,
        /// The shop knows that a mixture or another gas had gone into that cylinder.
        pub contaminated: Option<bool>,
        /// The hose, where what stayed in it was not weighed: what it holds follows from it.
        pub hose: Option<Hose>,
    }
}

evidence! {
    /// How the car cools, with everything that was read at one time.
    pub struct Performance {
        /// When it was read.
        pub at: Option<Instant>,
        /// The temperature of the air outside.
        pub ambient: Option<Quantity<Temperature>>,
        /// Its relative humidity.
        pub humidity: Option<Quantity<Fraction>>,
        /// The pressure on the low side.
        pub low_side: Option<Quantity<Pressure>>,
        /// The pressure on the high side.
        pub high_side: Option<Quantity<Pressure>>,
        /// The temperature of the air at the centre vent.
        pub vent: Option<Quantity<Temperature>>,
        /// The temperature of the suction line before the compressor.
        pub suction_line: Option<Quantity<Temperature>>,
        /// The temperature of the liquid line before the expansion device.
        pub liquid_line: Option<Quantity<Temperature>>,
        /// The engine's speed in revolutions per minute.
        pub engine: Option<u32>,
        /// The blower's step.
        pub blower: Option<String>,
        /// The cabin's own air is cooled again.
        pub recirculation: Option<bool>,
        /// For how long the low side stood below the freezing point of water.
        pub low_below_freezing_for: Option<Quantity<Seconds>>,
        /// The barometer at that time, where it is not the site's.
        pub barometer: Option<Quantity<Pressure>>,
        /// Doors or windows stood open.
        pub doors_open: Option<bool>,
    }
}

evidence! {
    /// A service port as the car leaves.
    pub struct Port {
        /// Which side it is on.
        pub side: Option<Side>,
        /// It has its cap.
        pub cap: Option<bool>,
        /// Its valve core.
        pub core: Option<PortCore>,
    }
}
