//! What a piece of evidence says: the job record's own entry. A wrong key, or a word where a quantity belongs, cannot be written.
use super::{
    kind::{Kind, kinds},
    own::Own,
};
use chillwright_calc::{
    record,
    units::{Day, Instant, Moment, Pressure, Quantity},
};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// A body of one value, as it is stored: `{"value": …}`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Only<T> {
    /// The value.
    pub value: T,
}

/// The entry of one kind.
pub trait Entry: Sized {
    /// Which.
    const KIND: Kind;

    /// The entry, where the body is of this kind.
    fn of(body: &Body) -> Option<&Self>;

    /// The same, to change something of it.
    fn of_mut(body: &mut Body) -> Option<&mut Self>;
}

macro_rules! body {
    ($($(#[$doc:meta])* $kind:ident: $type:ty, $word:literal, $letter:literal, $key:literal, $place:ident, $task:expr, $section:expr;)+) => {
        /// The body of a piece of evidence.
        #[derive(Debug, Clone, PartialEq, Serialize)]
        #[serde(untagged)]
        #[allow(clippy::large_enum_variant, reason = "one is made for each piece that is read; a box for each costs more")]
        pub enum Body {
            $($(#[$doc])* $kind($type),)+
        }

        impl Body {
            /// What it is.
            pub const fn kind(&self) -> Kind {
                match self { $(Self::$kind(_) => Kind::$kind,)+ }
            }

            /// Errors: a key that the entry does not have, a value that cannot be read.
            fn of_entry(kind: Kind, entry: Map<String, Value>) -> serde_json::Result<Self> {
                let entry = Value::Object(entry);
                match kind { $(Kind::$kind => serde_json::from_value(entry).map(Self::$kind),)+ }
            }
        }

        $(
            impl From<$type> for Body {
                fn from(entry: $type) -> Self {
                    Self::$kind(entry)
                }
            }

            impl Entry for $type {
                const KIND: Kind = Kind::$kind;

                fn of(body: &Body) -> Option<&Self> {
                    if let Body::$kind(entry) = body { Some(entry) } else { None }
                }

                fn of_mut(body: &mut Body) -> Option<&mut Self> {
                    if let Body::$kind(entry) = body { Some(entry) } else { None }
                }
            }
        )+
    };
}
kinds!(body);

/// Body and metadata as they are stored and as the audit trail tells them: one object.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Stored<'a> {
    /// The record's entry.
    #[serde(flatten)]
    pub body: &'a Body,
    /// The shop's own beside it.
    #[serde(flatten)]
    pub own: &'a Own,
}

/// Reads what is stored of a piece of this kind.
///
/// # Errors
///
/// A key that neither the record's entry nor the shop has, a value that cannot be read.
pub fn read(kind: Kind, stored: Map<String, Value>) -> serde_json::Result<(Body, Own)> {
    let (own, entry): (Map<_, _>, Map<_, _>) = stored
        .into_iter()
        .partition(|(key, _)| key.starts_with('_'));
    Ok((
        Body::of_entry(kind, entry)?,
        serde_json::from_value(Value::Object(own))?,
    ))
}

impl Body {
    /// The entry, where it is of this kind.
    pub fn get<T: Entry>(&self) -> Option<&T> {
        T::of(self)
    }

    /// The same, to change something of it.
    pub fn get_mut<T: Entry>(&mut self) -> Option<&mut T> {
        T::of_mut(self)
    }

    /// Where it is, in the words of whoever entered it; empty where it has no place.
    pub fn place(&self) -> &str {
        match self {
            Self::Leak(record::Leak { place, .. })
            | Self::Joint(record::Joint { place, .. })
            | Self::Fixing(record::Fixing { place, .. }) => place.as_deref().unwrap_or_default(),
            Self::Site(_)
            | Self::System(_)
            | Self::PreviousCharge(_)
            | Self::OpenSince(_)
            | Self::GasLetIn(_)
            | Self::Standing(_)
            | Self::Identification(_)
            | Self::Isolation(_)
            | Self::Recovery(_)
            | Self::Part(_)
            | Self::Desiccant(_)
            | Self::Flush(_)
            | Self::Opening(_)
            | Self::Seal(_)
            | Self::Oil(_)
            | Self::Evacuation(_)
            | Self::Hold(_)
            | Self::Reading(_)
            | Self::LeakCheck(_)
            | Self::Charging(_)
            | Self::Performance(_)
            | Self::PerformanceOmitted(_)
            | Self::Port(_) => "",
        }
    }

    /// Sets the time that the entry carries; what carries none (a hold counts from its first reading) stays as it is.
    pub fn set_time(&mut self, at: Option<Instant>) {
        let time = match self {
            Self::PreviousCharge(e) => &mut e.at,
            Self::GasLetIn(e) => &mut e.at,
            Self::Standing(e) => &mut e.at,
            Self::Identification(e) => &mut e.at,
            Self::Isolation(e) => &mut e.at,
            Self::Recovery(e) => &mut e.at,
            Self::Leak(e) => &mut e.at,
            Self::Part(e) => &mut e.fitted_at,
            Self::Flush(e) => &mut e.at,
            Self::Opening(e) => &mut e.at,
            Self::Seal(e) => &mut e.at,
            Self::Oil(e) => &mut e.at,
            Self::Evacuation(e) => &mut e.started_at,
            Self::Reading(e) => &mut e.at,
            Self::LeakCheck(e) => &mut e.at,
            Self::Charging(e) => &mut e.at,
            Self::Performance(e) => &mut e.at,
            Self::Site(_)
            | Self::System(_)
            | Self::OpenSince(_)
            | Self::Desiccant(_)
            | Self::Joint(_)
            | Self::Fixing(_)
            | Self::Hold(_)
            | Self::PerformanceOmitted(_)
            | Self::Port(_) => return,
        };
        *time = at;
    }

    /// The air at the time of an entry that rests on gauges: copied in when it is recorded. `None` for kinds that carry none.
    pub fn barometer_mut(&mut self) -> Option<&mut Option<Quantity<Pressure>>> {
        match self {
            Self::Standing(e) => Some(&mut e.barometer),
            Self::Evacuation(e) => Some(&mut e.barometer),
            Self::Hold(e) => Some(&mut e.barometer),
            Self::Performance(e) => Some(&mut e.barometer),
            // A reading has that of its hold or evacuation; a site's own is for figures that belong to no entry.
            Self::Reading(_) | Self::Site(_) => None,
            Self::System(_)
            | Self::PreviousCharge(_)
            | Self::OpenSince(_)
            | Self::GasLetIn(_)
            | Self::Identification(_)
            | Self::Isolation(_)
            | Self::Recovery(_)
            | Self::Leak(_)
            | Self::Part(_)
            | Self::Desiccant(_)
            | Self::Flush(_)
            | Self::Joint(_)
            | Self::Opening(_)
            | Self::Seal(_)
            | Self::Fixing(_)
            | Self::Oil(_)
            | Self::LeakCheck(_)
            | Self::Charging(_)
            | Self::PerformanceOmitted(_)
            | Self::Port(_) => None,
        }
    }

    /// The air at that time, to read it: see [`Body::barometer_mut`].
    pub fn barometer(&self) -> Option<&Quantity<Pressure>> {
        match self {
            Self::Standing(record::Standing { barometer, .. })
            | Self::Evacuation(record::Evacuation { barometer, .. })
            | Self::Hold(record::Hold { barometer, .. })
            | Self::Performance(record::Performance { barometer, .. }) => barometer.as_ref(),
            _ => None,
        }
    }

    /// The gauge of a hold or an evacuation.
    pub fn gauge(&self) -> Option<&record::Gauge> {
        match self {
            Self::Evacuation(record::Evacuation { gauge, .. })
            | Self::Hold(record::Hold { gauge, .. }) => gauge.as_ref(),
            _ => None,
        }
    }

    /// When a hold or an evacuation ended.
    pub fn ended_at(&self) -> Option<Instant> {
        match self {
            Self::Evacuation(record::Evacuation { ended_at, .. })
            | Self::Hold(record::Hold { ended_at, .. }) => *ended_at,
            _ => None,
        }
    }
}
