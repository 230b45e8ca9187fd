//! Reading a record, and the schemas of record and answer.
use super::JobRecord;
use super::answer::Assessment;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema, schema_for};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use std::borrow::Cow;

/// Why a record was refused: the path of the key and what was wrong with it, on one line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {reason}")]
pub struct RecordError {
    /// The key's path, such as `holds[0].readings[1].pressure`; `record` for the document as a whole.
    pub path: String,
    /// What was wrong with it.
    pub reason: String,
}

/// Reads a record from JSON.
///
/// # Errors
/// What is not a record of version 1: broken JSON, an unknown key, a word outside its closed set, a quantity
/// without its unit or reference, a temperature below absolute zero, a negative mass.
///
/// ```
/// let refused = chillwright_calc::parse(
///     r#"{ "version": 1, "system": { "refrigerant": "R-134a" }, "standing": [ { "pressure": "28 inHg" } ] }"#,
/// );
/// assert_eq!(refused.unwrap_err().to_string(), "standing[0].pressure: 28 inHg: vacuum, gauge or abs?");
/// ```
pub fn parse(json: &str) -> Result<JobRecord, RecordError> {
    let mut deserializer = serde_json::Deserializer::from_str(json);
    let record = serde_path_to_error::deserialize(&mut deserializer).map_err(|error| {
        let path = error.path().to_string();
        refusal(path, &error.into_inner().to_string())
    })?;
    deserializer
        .end()
        .map_err(|error| refusal(".".into(), &error.to_string()))?;
    Ok(record)
}

/// Reads a record that is JSON already, without going through text.
///
/// # Errors
/// As [`parse`].
pub fn parse_value(json: serde_json::Value) -> Result<JobRecord, RecordError> {
    serde_path_to_error::deserialize(json).map_err(|error| {
        let path = error.path().to_string();
        refusal(path, &error.into_inner().to_string())
    })
}

/// Puts the refusal on one line, with the missing key's own name in the path.
fn refusal(path: String, reason: &str) -> RecordError {
    let reason = reason.replace(['\n', '\r'], " ");
    // serde_json ends its messages with the place in the text, which the path says better.
    let reason = match reason.rsplit_once(" at line ") {
        Some((said, place))
            if !said.is_empty()
                && !matches!(path.as_str(), "." | "?")
                && place.contains(" column ") =>
        {
            said.to_owned()
        }
        _ => reason,
    };
    let missing = reason
        .strip_prefix("missing field `")
        .and_then(|rest| rest.split('`').next())
        .map(|key| {
            if key == "system" {
                "system.refrigerant"
            } else {
                key
            }
            .to_owned()
        });
    match (path.as_str(), missing) {
        ("." | "?" | "", Some(key)) => RecordError {
            path: key,
            reason: "must be recorded".into(),
        },
        (_, Some(key)) => RecordError {
            path: format!("{path}.{key}"),
            reason: "must be recorded".into(),
        },
        ("." | "?" | "", None) => RecordError {
            path: "record".into(),
            reason,
        },
        (_, None) => RecordError { path, reason },
    }
}

/// The version of the record's format. There is one, 1; no other can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Version;

impl Serialize for Version {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_u8(1)
    }
}

impl<'de> Deserialize<'de> for Version {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        match u64::deserialize(deserializer)? {
            1 => Ok(Self),
            other => Err(D::Error::custom(format!(
                "version {other} cannot be read here, only version 1"
            ))),
        }
    }
}

impl JsonSchema for Version {
    fn schema_name() -> Cow<'static, str> {
        "Version".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "const": 1 })
    }
}

/// The JSON Schema of the record.
pub fn schema_record() -> Schema {
    schema_for!(JobRecord)
}

/// The JSON Schema of the answer.
pub fn schema_answer() -> Schema {
    schema_for!(Assessment)
}
