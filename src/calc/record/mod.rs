//! The job record: one work order's technical facts as one JSON document, and the answer to it.
//!
//! The store hands it to [`crate::assess`], a page serves it, the command line reads it: one type serves all.
//! Every key is optional save `version` and `system.refrigerant`; an absent key means *not recorded*, which is
//! not the same as zero. Unknown keys are refused.
#[macro_use]
mod evidence;
pub mod answer;
mod charge;
mod circuit;
mod diagnosis;
mod parts;
mod proving;
mod read;

pub use charge::{Can, Charging, Hose, HoseState, Performance, Port, PortCore, Scale, Side};
pub use circuit::{
    ChargeInForce, CompressorFailed, Conversion, Drive, Metering, PreviousCharge, Refrigerant,
    Site, System,
};
pub use diagnosis::{Identification, Isolation, Leak, Recovery, Standing};
pub use evidence::Evidence;
pub use parts::{
    Condition, Donor, Fixing, FixingKind, Flush, FlushedBy, Joint, JointType, OilAdded, Opening,
    OpeningObject, Part, PartPorts, Role, Seal, Source,
};
pub use proving::{
    Evacuation, Gas, GasLetIn, Gauge, Hold, HoldKind, LeakCheck, Method, ProvedOn, Reading,
};
pub use read::{RecordError, Version, parse, parse_value, schema_answer, schema_record};

use crate::checks::limits::LimitSettings;
use crate::units::{Day, Moment};
use evidence::absent;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

words! {
    /// How far the work is.
    pub enum Stage {
        /// Work goes on.
        InWork = "in-work",
        /// The technician says that it is done.
        Ready = "ready",
    }
}

words! {
    /// The system of units that the shop works in.
    pub enum ShopUnits {
        /// kPa, degrees Celsius, grams.
        Si = "si",
        /// psi and inches of mercury, degrees Fahrenheit, ounces.
        Us = "us",
    }
}

/// One work order's technical facts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobRecord {
    /// The version of this format: 1.
    pub version: Version,
    /// Whether work still goes on: what has simply not been done yet is then to do, and no finding. Without it the record is judged as ready.
    #[serde(default, skip_serializing_if = "absent")]
    pub stage: Option<Stage>,
    /// The shop's system of units. A reader of the other system has the gauge's units carried over; without it they are told as the gauge shows them.
    #[serde(default, skip_serializing_if = "absent")]
    pub shop_units: Option<ShopUnits>,
    /// The shop's limits where they differ from the defaults.
    #[serde(default, skip_serializing_if = "absent")]
    pub limits: LimitSettings,
    /// Where the work is done.
    #[serde(default, skip_serializing_if = "absent")]
    pub site: Site,
    /// What the circuit is, by its label and its parts.
    pub system: System,
    /// The charge that an earlier job left in the circuit.
    #[serde(default, skip_serializing_if = "absent")]
    pub previous_charge: Option<PreviousCharge>,
    /// Since when the circuit had stood open when the car came.
    #[serde(default, skip_serializing_if = "absent")]
    pub open_since: Option<Moment>,
    /// Gas let into the circuit other than by a hold or a charge.
    #[serde(default, skip_serializing_if = "absent")]
    pub gas_let_in: Vec<GasLetIn>,
    /// Pressures of the circuit at rest.
    #[serde(default, skip_serializing_if = "absent")]
    pub standing: Vec<Standing>,
    /// What gas an identifier found.
    #[serde(default, skip_serializing_if = "absent")]
    pub identification: Vec<Identification>,
    /// High voltage switched off, locked and measured dead.
    #[serde(default, skip_serializing_if = "absent")]
    pub isolation: Vec<Isolation>,
    /// Refrigerant taken out, by weight.
    #[serde(default, skip_serializing_if = "absent")]
    pub recovery: Vec<Recovery>,
    /// Leaks that were found.
    #[serde(default, skip_serializing_if = "absent")]
    pub leaks: Vec<Leak>,
    /// Parts for this car.
    #[serde(default, skip_serializing_if = "absent")]
    pub parts: Vec<Part>,
    /// The day when the desiccant was last renewed before this job.
    #[serde(default, skip_serializing_if = "absent")]
    pub desiccant_last_renewed: Option<Day>,
    /// Sections flushed, renewed or filtered.
    #[serde(default, skip_serializing_if = "absent")]
    pub flushes: Vec<Flush>,
    /// Joints of the circuit, with their openings and seals.
    #[serde(default, skip_serializing_if = "absent")]
    pub joints: Vec<Joint>,
    /// Fixings of parts: brackets, screws, mounts.
    #[serde(default, skip_serializing_if = "absent")]
    pub fixings: Vec<Fixing>,
    /// Oil put into the circuit, other than with a part.
    #[serde(default, skip_serializing_if = "absent")]
    pub oil_added: Vec<OilAdded>,
    /// Evacuations.
    #[serde(default, skip_serializing_if = "absent")]
    pub evacuations: Vec<Evacuation>,
    /// Vacuum and pressure holds.
    #[serde(default, skip_serializing_if = "absent")]
    pub holds: Vec<Hold>,
    /// Leak checks of places.
    #[serde(default, skip_serializing_if = "absent")]
    pub leak_checks: Vec<LeakCheck>,
    /// Refrigerant put in.
    #[serde(default, skip_serializing_if = "absent")]
    pub charging: Vec<Charging>,
    /// How it cools.
    #[serde(default, skip_serializing_if = "absent")]
    pub performance: Vec<Performance>,
    /// Why no performance was measured, in the shop's words.
    #[serde(default, skip_serializing_if = "absent")]
    pub performance_omitted: Option<String>,
    /// The service ports as the car leaves.
    #[serde(default, skip_serializing_if = "absent")]
    pub ports: Vec<Port>,
}

impl JobRecord {
    /// A record of a circuit of this refrigerant about which nothing else is known yet.
    pub fn new(refrigerant: Refrigerant) -> Self {
        Self {
            version: Version,
            stage: None,
            shop_units: None,
            limits: LimitSettings::default(),
            site: Site::default(),
            system: System::new(refrigerant),
            previous_charge: None,
            open_since: None,
            gas_let_in: Vec::new(),
            standing: Vec::new(),
            identification: Vec::new(),
            isolation: Vec::new(),
            recovery: Vec::new(),
            leaks: Vec::new(),
            parts: Vec::new(),
            desiccant_last_renewed: None,
            flushes: Vec::new(),
            joints: Vec::new(),
            fixings: Vec::new(),
            oil_added: Vec::new(),
            evacuations: Vec::new(),
            holds: Vec::new(),
            leak_checks: Vec::new(),
            charging: Vec::new(),
            performance: Vec::new(),
            performance_omitted: None,
            ports: Vec::new(),
        }
    }
}
