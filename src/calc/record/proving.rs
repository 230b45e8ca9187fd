//! Evacuations, holds and leak checks, with the gauges that they were read on.
use crate::units::{
    Day, Instant, LeakRate, Pressure, PressureDifference, Quantity, Resolution, Temperature,
};

words! {
    /// What a hold holds.
    pub enum HoldKind {
        /// A vacuum: air or water coming in raises it.
        Vacuum = "vacuum",
        /// A pressure: gas going out lowers it.
        Pressure = "pressure",
    }
}

words! {
    /// A gas in the circuit during a test.
    pub enum Gas {
        /// Air.
        Air = "air",
        /// Dry nitrogen.
        Nitrogen = "nitrogen",
        /// The circuit's own refrigerant.
        Refrigerant = "refrigerant",
        /// Oxygen: never to be used, and on record where it was.
        Oxygen = "oxygen",
    }
}

words! {
    /// How leaks were looked for.
    pub enum Method {
        /// An electronic detector.
        Electronic = "electronic",
        /// Dye and a lamp.
        Dye = "dye",
        /// Soap solution.
        Bubbles = "bubbles",
        /// By ear, with an instrument.
        Ultrasonic = "ultrasonic",
        /// Another way.
        Other = "other",
    }
}

words! {
    /// What a detector was proved on that day.
    pub enum ProvedOn {
        /// A leak of known rate.
        ReferenceLeak = "reference leak",
        /// Nothing.
        None = "none",
    }
}

section! {
    /// A gauge as it was when it was read.
    pub struct Gauge {
        /// Which gauge of the shop's.
        pub id: Option<String>,
        /// One graduation, or the last digit.
        pub resolution: Option<Quantity<Resolution>>,
        /// Its zero error by the last comparison.
        pub error: Option<Quantity<PressureDifference>>,
        /// When it was last compared.
        pub compared_on: Option<Day>,
    }
}

evidence! {
    /// One reading of a gauge.
    pub struct Reading {
        /// When it was read.
        pub at: Option<Instant>,
        /// What the gauge showed.
        pub pressure: Option<Quantity<Pressure>>,
        /// The temperature of the circuit's metal.
        pub temperature: Option<Quantity<Temperature>>,
        /// The barometer at that time, where it is not the site's.
        pub barometer: Option<Quantity<Pressure>>,
        /// The gauge that it was read on, where it is not the one of the whole hold or evacuation.
        pub gauge: Option<Gauge>,
    }
}

evidence! {
    /// Gas let into the circuit other than by a hold or a charge.
    pub struct GasLetIn {
        /// Which gas.
        pub gas: Option<Gas>,
        /// When.
        pub at: Option<Instant>,
    }
}

evidence! {
    /// An evacuation.
    pub struct Evacuation {
        /// When the pump was started.
        pub started_at: Option<Instant>,
        /// When it was closed off.
        pub ended_at: Option<Instant>,
        /// The temperature of the coldest metal of the circuit.
        pub coldest_metal: Option<Quantity<Temperature>>,
        /// The gauge.
        pub gauge: Option<Gauge>,
        /// What it showed.
        pub readings: Vec<Reading>,
        /// The barometer at that time, where it is not the site's.
        pub barometer: Option<Quantity<Pressure>>,
    }
}

evidence! {
    /// A vacuum or pressure hold. Without `ended_at` it is running.
    pub struct Hold {
        /// Vacuum or pressure.
        pub kind: Option<HoldKind>,
        /// The gas of a pressure hold; not recorded: nitrogen.
        pub gas: Option<Gas>,
        /// When it was ended.
        pub ended_at: Option<Instant>,
        /// The gauge.
        pub gauge: Option<Gauge>,
        /// What it showed.
        pub readings: Vec<Reading>,
        /// The barometer at that time, where it is not the site's.
        pub barometer: Option<Quantity<Pressure>>,
    }
}

evidence! {
    /// A leak check of places.
    pub struct LeakCheck {
        /// How.
        pub method: Option<Method>,
        /// When.
        pub at: Option<Instant>,
        /// The smallest leak that the instrument is set to show.
        pub sensitivity: Option<Quantity<LeakRate>>,
        /// What it was proved on that day.
        pub proved_on: Option<ProvedOn>,
        /// The joints' ids or places in words that were checked.
        pub places: Vec<String>,
        /// Those of them that leak.
        pub found: Vec<String>,
    }
}
