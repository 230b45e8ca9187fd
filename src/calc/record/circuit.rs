//! Where the car stands and what circuit it has.
use super::evidence::absent;
use crate::units::{GaugePressure, Instant, Length, Mass, Pressure, Quantity, Volume};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

section! {
    /// Where the work is done: the surrounding air's pressure.
    pub struct Site {
        /// What a barometer there showed.
        pub barometer: Option<Quantity<Pressure>>,
        /// How high the site lies above the sea.
        pub elevation: Option<Quantity<Length>>,
    }
}

words! {
    /// The refrigerant that a circuit is made for, or that a vessel holds.
    pub enum Refrigerant {
        /// 1,1,1,2-tetrafluoroethane.
        R134a = "R-134a",
        /// 2,3,3,3-tetrafluoropropene.
        R1234yf = "R-1234yf",
        /// Dichlorodifluoromethane.
        R12 = "R-12",
        /// 1,1-difluoroethane.
        R152a = "R-152a",
        /// Carbon dioxide.
        R744 = "R-744",
        /// Another one, whose properties are not known here.
        Other = "other",
    }
}

words! {
    /// What turns the compressor.
    pub enum Drive {
        /// The engine, by a belt.
        Belt = "belt",
        /// A motor of its own at high voltage.
        Electric = "electric",
    }
}

words! {
    /// The expansion device.
    pub enum Metering {
        /// A valve that follows the superheat.
        ExpansionValve = "expansion-valve",
        /// A fixed orifice, with an accumulator after the evaporator.
        OrificeTube = "orifice-tube",
    }
}

/// What the circuit is, by its label and its parts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct System {
    /// The refrigerant on the label.
    pub refrigerant: Refrigerant,
    /// The charge on the label.
    #[serde(default, skip_serializing_if = "absent")]
    pub charge: Option<Quantity<Mass>>,
    /// The label's give or take.
    #[serde(default, skip_serializing_if = "absent")]
    pub charge_tolerance: Option<Quantity<Mass>>,
    /// The charge that holds instead of the label's, and why.
    #[serde(default, skip_serializing_if = "absent")]
    pub charge_in_force: Option<ChargeInForce>,
    /// The oil on the label, such as `PAG 46`.
    #[serde(default, skip_serializing_if = "absent")]
    pub oil_type: Option<String>,
    /// The whole circuit's oil.
    #[serde(default, skip_serializing_if = "absent")]
    pub oil_total: Option<Quantity<Volume>>,
    /// The volume inside the circuit.
    #[serde(default, skip_serializing_if = "absent")]
    pub internal_volume: Option<Quantity<Volume>>,
    /// What turns the compressor.
    #[serde(default, skip_serializing_if = "absent")]
    pub compressor_drive: Option<Drive>,
    /// The expansion device.
    #[serde(default, skip_serializing_if = "absent")]
    pub metering: Option<Metering>,
    /// How many evaporators the circuit has.
    #[serde(default, skip_serializing_if = "absent")]
    pub evaporators: Option<u8>,
    /// The compressor failed, and how.
    #[serde(default, skip_serializing_if = "absent")]
    pub compressor_failed: Option<CompressorFailed>,
    /// The greatest pressure above the surrounding air at which the circuit may be tested, by its label or the maker: that of its low side.
    #[serde(default, skip_serializing_if = "absent")]
    pub test_pressure_most: Option<Quantity<GaugePressure>>,
    /// The refrigerant that the circuit was made for, where it was converted to the present one.
    #[serde(default, skip_serializing_if = "absent")]
    pub converted_from: Option<Refrigerant>,
    /// What was done for that conversion.
    #[serde(default, skip_serializing_if = "absent")]
    pub conversion: Option<Conversion>,
}

impl System {
    /// A circuit of which only the refrigerant is known.
    pub const fn new(refrigerant: Refrigerant) -> Self {
        Self {
            refrigerant,
            charge: None,
            charge_tolerance: None,
            charge_in_force: None,
            oil_type: None,
            oil_total: None,
            internal_volume: None,
            compressor_drive: None,
            metering: None,
            evaporators: None,
            compressor_failed: None,
            test_pressure_most: None,
            converted_from: None,
            conversion: None,
        }
    }
}

section! {
    /// A charge that holds instead of the label's.
    pub struct ChargeInForce {
        /// The charge.
        pub mass: Option<Quantity<Mass>>,
        /// Its give or take.
        pub tolerance: Option<Quantity<Mass>>,
        /// Why it differs from the label.
        pub why: Option<String>,
    }
}

section! {
    /// How a compressor failed.
    pub struct CompressorFailed {
        /// It came apart and shed debris into the circuit.
        pub debris: Option<bool>,
    }
}

section! {
    /// What a conversion from one refrigerant to another takes.
    pub struct Conversion {
        /// The label of the old refrigerant is covered by one of the new.
        pub label: Option<bool>,
        /// The service ports have the fittings of the new refrigerant.
        pub fittings: Option<bool>,
        /// The oil suits the new refrigerant.
        pub oil: Option<bool>,
        /// The receiver-drier or accumulator has a desiccant that suits the new refrigerant.
        pub desiccant: Option<bool>,
        /// A switch cuts the compressor out before the high side lets refrigerant off.
        pub cut_out: Option<bool>,
    }
}

evidence! {
    /// The charge that an earlier job left in the circuit.
    pub struct PreviousCharge {
        /// When it was charged.
        pub at: Option<Instant>,
        /// What the circuit held then.
        pub mass: Option<Quantity<Mass>>,
    }
}
