//! What the shop keeps beside the record's entry, under keys that begin with `_`: no part of the job record.
use chillwright_calc::{record::Role, units::Instant};
use serde::{
    Deserialize, Deserializer, Serialize, Serializer,
    de::{MapAccess, Visitor},
    ser::SerializeMap,
};
use std::fmt;

use crate::shop::layout::Side;

/// The shop's own of one version of a piece. What is not there is left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Own {
    /// The part that a joint belongs to.
    #[serde(rename = "_role", skip_serializing_if = "Option::is_none")]
    pub role: Option<Role>,
    /// Which end of that part.
    #[serde(rename = "_side", skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// The unit that the gauge of a hold or an evacuation shows: "inHg".
    #[serde(rename = "_unit", skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// From where that gauge counts.
    #[serde(rename = "_reference", skip_serializing_if = "Option::is_none")]
    pub reference: Option<Reference>,
    /// What kind of gauge it was then.
    #[serde(rename = "_gauge_kind", skip_serializing_if = "Option::is_none")]
    pub gauge_kind: Option<GaugeKind>,
    /// When a hold was closed off; the record counts from its readings.
    #[serde(rename = "_started_at", skip_serializing_if = "Option::is_none")]
    pub started_at: Option<Instant>,
    /// The photograph that a reading was typed from: its SHA-256 in hexadecimal.
    #[serde(rename = "_photograph", skip_serializing_if = "Option::is_none")]
    pub photograph: Option<String>,
    /// What the label's internal volume was reckoned from.
    #[serde(rename = "_volume", skip_serializing_if = "Option::is_none")]
    pub volume: Option<VolumeReadings>,
    /// A recovery spoiled its cylinder.
    #[serde(rename = "_spoils", skip_serializing_if = "is_false")]
    pub spoils: bool,
    /// The form as it was filled in: a correction begins with it.
    #[serde(rename = "_form", skip_serializing_if = "Option::is_none")]
    pub form: Option<Filled>,
    /// What waited at a tablet: the tablet's own times.
    #[serde(rename = "_tablet", skip_serializing_if = "Option::is_none")]
    pub tablet: Option<Waited>,
}

fn is_false(value: &bool) -> bool {
    !*value
}

/// From where a gauge counts, in the record's words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reference {
    /// Up from nothing.
    Abs,
    /// Down from the air.
    Vacuum,
    /// Up from the air.
    Gauge,
}

impl Reference {
    /// The record's word, behind a unit.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Abs => "abs",
            Self::Vacuum => "vacuum",
            Self::Gauge => "gauge",
        }
    }
}

/// A kind of gauge, in the words of the shop's instruments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeKind {
    /// With a needle.
    DialGauge,
    /// With digits.
    DigitalGauge,
    /// With digits, absolute.
    VacuumGauge,
}

impl GaugeKind {
    /// From the word of an instrument's kind; `None` for what is no gauge.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "dial-gauge" => Some(Self::DialGauge),
            "digital-gauge" => Some(Self::DigitalGauge),
            "vacuum-gauge" => Some(Self::VacuumGauge),
            _ => None,
        }
    }
}

/// What nitrogen showed that was let from a vessel into the circuit: each as it was typed, the pressures in `unit`, the vessel in litres.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct VolumeReadings {
    /// Volume of the vessel.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vessel: Option<String>,
    /// Unit of the gauge.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// One division of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub resolution: Option<String>,
    /// In the vessel before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vessel_before: Option<String>,
    /// In the circuit before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circuit_before: Option<String>,
    /// In both after.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// Times of a tablet's clock, whatever it shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Waited {
    /// When it was entered.
    pub entered: Instant,
    /// When it was sent.
    pub sent: Instant,
}

/// A form as it was filled in: the fields in the order in which they stood, each with all that was chosen.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Filled(pub Vec<(String, Answers)>);

/// What was typed into a field, or chosen there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Answers {
    /// One text.
    One(String),
    /// Several choices.
    Many(Vec<String>),
}

impl Filled {
    /// Adds what one more field of this name said.
    pub fn add(&mut self, name: &str, value: &str) {
        match self
            .0
            .iter_mut()
            .find(|(known, _)| known == name)
            .map(|(_, answers)| answers)
        {
            Some(Answers::Many(list)) => list.push(value.to_owned()),
            Some(one) => {
                let first = if let Answers::One(text) = one {
                    std::mem::take(text)
                } else {
                    String::new()
                };
                *one = Answers::Many(vec![first, value.to_owned()]);
            }
            None => self
                .0
                .push((name.to_owned(), Answers::One(value.to_owned()))),
        }
    }

    /// Name and value of each, as a form sends them.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().flat_map(|(name, answers)| {
            let all = match answers {
                Answers::One(text) => std::slice::from_ref(text),
                Answers::Many(list) => list.as_slice(),
            };
            all.iter().map(move |value| (name.as_str(), value.as_str()))
        })
    }
}

impl Serialize for Filled {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, answers) in &self.0 {
            map.serialize_entry(name, answers)?;
        }
        map.end()
    }
}

impl<'de> Deserialize<'de> for Filled {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> Visitor<'de> for InOrder {
            type Value = Filled;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a form's fields with what was typed into each")
            }
            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Filled, M::Error> {
                let mut all = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    all.push(pair);
                }
                Ok(Filled(all))
            }
        }
        deserializer.deserialize_map(InOrder)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_keeps_its_fields_in_their_order() {
        let mut form = Filled::default();
        for (name, value) in [
            ("unit", "psi"),
            ("joints", "j2"),
            ("at", "08:10"),
            ("joints", "j1"),
            ("joints", "j3"),
        ] {
            form.add(name, value);
        }
        let own = Own {
            form: Some(form),
            ..Own::default()
        };
        let text = r#"{"_form":{"unit":"psi","joints":["j2","j1","j3"],"at":"08:10"}}"#;
        assert_eq!(serde_json::to_string(&own).expect("written"), text);
        let read: Own = serde_json::from_str(text).expect("read");
        assert_eq!(read, own);
        let pairs: Vec<_> = read.form.iter().flat_map(Filled::pairs).collect();
        assert_eq!(
            pairs,
            [
                ("unit", "psi"),
                ("joints", "j2"),
                ("joints", "j1"),
                ("joints", "j3"),
                ("at", "08:10")
            ]
        );
        assert!(
            serde_json::from_str::<Own>(r#"{"_nothing":1}"#).is_err(),
            "no key that nobody knows"
        );
    }
}
