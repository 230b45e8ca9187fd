//! Parts with their donors, joints with their seals, fixings, flushes and oil.
use crate::units::{Day, Instant, Quantity, Torque, Volume};
use schemars::JsonSchema;
use serde::de::{self, MapAccess, Visitor, value::MapAccessDeserializer};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;

words! {
    /// Where a part comes from.
    pub enum Source {
        /// Never used.
        New = "new",
        /// Taken apart and made good by a trade that does that.
        Reconditioned = "reconditioned",
        /// Out of a dismantled car.
        Salvaged = "salvaged",
        /// The car's own, put back.
        Refitted = "refitted",
        /// The car's own, mended.
        Repaired = "repaired",
        /// Made up, such as a hose.
        Made = "made",
        /// Brought by the customer.
        CustomersOwn = "customers-own",
    }
}

words! {
    /// What a part does in the circuit.
    pub enum Role {
        /// Compressor.
        Compressor = "compressor",
        /// Condenser.
        Condenser = "condenser",
        /// Evaporator.
        Evaporator = "evaporator",
        /// Receiver-drier, on the high side.
        ReceiverDrier = "receiver-drier",
        /// Accumulator, on the low side.
        Accumulator = "accumulator",
        /// Expansion valve or orifice.
        ExpansionDevice = "expansion-device",
        /// Hose.
        Hose = "hose",
        /// Pipe.
        Pipe = "pipe",
        /// Pressure sensor or switch.
        PressureSensor = "pressure-sensor",
        /// Service valve.
        ServiceValve = "service-valve",
        /// Something else, perhaps not of the circuit.
        Other = "other",
    }
}

words! {
    /// How a part's ports were when it came.
    pub enum PartPorts {
        /// Closed.
        Capped = "capped",
        /// Open to the air.
        Open = "open",
        /// Pipes cut through.
        Cut = "cut",
        /// Nobody knows.
        Unknown = "unknown",
    }
}

words! {
    /// How a seal was when it was looked at.
    pub enum Condition {
        /// Nothing wrong with it.
        Sound = "sound",
        /// Cut into.
        Nicked = "nicked",
        /// Pressed flat.
        Flattened = "flattened",
        /// Gone hard.
        Hardened = "hardened",
        /// Not there.
        Missing = "missing",
    }
}

words! {
    /// How a joint is made.
    pub enum JointType {
        /// A block with one screw.
        Block = "block",
        /// A union.
        Screwed = "screwed",
        /// A spring-lock coupling.
        QuickCoupling = "quick-coupling",
        /// A flange.
        Flange = "flange",
        /// A service port.
        Port = "port",
    }
}

words! {
    /// How a part is held.
    pub enum FixingKind {
        /// As the maker holds it.
        Standard = "standard",
        /// Otherwise.
        Improvised = "improvised",
    }
}

words! {
    /// How debris was kept from a section.
    pub enum FlushedBy {
        /// Flushed out.
        Flushed = "flushed",
        /// The section was renewed.
        Renewed = "renewed",
        /// A filter was put in line.
        Filtered = "filtered",
    }
}

section! {
    /// The car that a salvaged part came out of, and the papers for it.
    pub struct Donor {
        /// The dismantler.
        pub yard: Option<String>,
        /// Make, model and year.
        pub vehicle: Option<String>,
        /// The donor's vehicle identification number.
        pub vin: Option<String>,
        /// The yard's stock number.
        pub stock: Option<String>,
        /// The day when it was pulled.
        pub pulled_on: Option<Day>,
        /// The receipt's number.
        pub receipt: Option<String>,
    }
}

evidence! {
    /// A part for this car.
    pub struct Part {
        /// What it does in the circuit.
        pub role: Option<Role>,
        /// Where it comes from.
        pub source: Option<Source>,
        /// When it was fitted.
        pub fitted_at: Option<Instant>,
        /// It has desiccant in it.
        pub contains_desiccant: Option<bool>,
        /// Its desiccant was renewed before it was fitted.
        pub desiccant_renewed: Option<bool>,
        /// How its ports were when it came.
        pub ports: Option<PartPorts>,
        /// The part, its donor or its yard is on the shop's record with a comeback.
        pub seen_before: Option<bool>,
        /// The car that it came out of.
        pub donor: Option<Donor>,
        /// Oil drained from the part that it replaces.
        pub oil_drained: Option<Quantity<Volume>>,
        /// Oil put into it.
        pub oil_added: Option<Quantity<Volume>>,
        /// The ids of its joints.
        pub joints: Vec<String>,
    }
}

evidence! {
    /// A section flushed, renewed or filtered.
    pub struct Flush {
        /// From where to where, such as `evaporator to compressor`.
        pub section: Option<String>,
        /// When it was done.
        pub at: Option<Instant>,
        /// How.
        pub by: Option<FlushedBy>,
    }
}

evidence! {
    /// A joint of the circuit.
    pub struct Joint {
        /// Where it is, in words.
        pub place: Option<String>,
        /// How it is made.
        #[serde(rename = "type")]
        pub joint_type: Option<JointType>,
        /// When it was opened.
        pub opened: Vec<Opening>,
        /// What was seen and done at its seal.
        pub seals: Vec<Seal>,
        /// How tight it was done up.
        pub torque: Option<Quantity<Torque>>,
    }
}

evidence! {
    /// What was seen and done at a joint's seal.
    pub struct Seal {
        /// When it was seen.
        pub at: Option<Instant>,
        /// How the seal was that was there.
        pub condition: Option<Condition>,
        /// A new one went in.
        pub renewed: Option<bool>,
        /// The seal came with the donor part.
        pub from_donor: Option<bool>,
        /// What it was lubricated with.
        pub lubricant: Option<String>,
    }
}

evidence! {
    /// An opening of a joint. The record may write it as its instant alone.
    pub struct OpeningObject {
        /// When it was opened.
        pub at: Option<Instant>,
    }
}

/// An opening of a joint: read from an instant or from an object, written as an instant where that says it all.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Opening(pub OpeningObject);

impl Opening {
    /// An opening at this instant.
    pub fn at(instant: Instant) -> Self {
        Self(OpeningObject {
            at: Some(instant),
            ..OpeningObject::default()
        })
    }
}

impl std::ops::Deref for Opening {
    type Target = OpeningObject;
    fn deref(&self) -> &OpeningObject {
        &self.0
    }
}

impl Serialize for Opening {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match &self.0 {
            OpeningObject {
                at: Some(at),
                id: None,
                superseded: false,
                approximate: false,
            } => at.serialize(serializer),
            object => object.serialize(serializer),
        }
    }
}

impl<'de> Deserialize<'de> for Opening {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Either;
        impl<'de> Visitor<'de> for Either {
            type Value = Opening;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an instant, or an object with at, approximate, superseded")
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Opening, E> {
                text.parse().map(Opening::at).map_err(E::custom)
            }
            fn visit_map<M: MapAccess<'de>>(self, map: M) -> Result<Opening, M::Error> {
                OpeningObject::deserialize(MapAccessDeserializer::new(map)).map(Opening)
            }
        }
        deserializer.deserialize_any(Either)
    }
}

impl JsonSchema for Opening {
    fn schema_name() -> Cow<'static, str> {
        "Opening".into()
    }
    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        let (instant, object) = (
            generator.subschema_for::<Instant>(),
            generator.subschema_for::<OpeningObject>(),
        );
        schemars::json_schema!({ "anyOf": [instant, object] })
    }
}

evidence! {
    /// How a part is held: a bracket, a screw, a mount.
    pub struct Fixing {
        /// The id of the part.
        pub part: Option<String>,
        /// Where, in words.
        pub place: Option<String>,
        /// As the maker holds it, or improvised.
        pub kind: Option<FixingKind>,
        /// What was done.
        pub note: Option<String>,
        /// The day to look at it again.
        pub look_again_on: Option<Day>,
    }
}

evidence! {
    /// Oil put into the circuit, other than with a part.
    pub struct OilAdded {
        /// The oil, such as `PAG 46`.
        #[serde(rename = "type")]
        pub oil_type: Option<String>,
        /// How much.
        pub volume: Option<Quantity<Volume>>,
        /// When.
        pub at: Option<Instant>,
    }
}
