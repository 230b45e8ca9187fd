//! Instants, days and durations. There is no clock here: nothing can ask what time it is.
use super::{QuantityError, Seconds};
use jiff::{Timestamp, civil::Date, tz::TimeZone};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};
use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

/// A point in time, written as RFC 3339: `2026-06-03T08:40:00Z`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant(Timestamp);

impl Instant {
    /// From milliseconds since 1970-01-01T00:00:00Z; `None` outside the years -9999 to 9999.
    pub fn from_millis(millis: i64) -> Option<Self> {
        Timestamp::from_millisecond(millis).ok().map(Self)
    }
    /// Milliseconds since 1970-01-01T00:00:00Z.
    pub fn millis(self) -> i64 {
        self.0.as_millisecond()
    }
    /// Seconds from `earlier` to this instant; negative where `earlier` is the later one.
    pub fn seconds_since(self, earlier: Self) -> f64 {
        self.0.duration_since(earlier.0).as_secs_f64()
    }
    /// The day at Greenwich.
    pub fn day(self) -> Day {
        Day(self.0.to_zoned_datetime(TimeZone::UTC).date())
    }
}

impl From<Timestamp> for Instant {
    fn from(timestamp: Timestamp) -> Self {
        Self(timestamp)
    }
}

impl From<Instant> for Timestamp {
    fn from(instant: Instant) -> Self {
        instant.0
    }
}

impl FromStr for Instant {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        text.trim().parse().map(Self).map_err(|_| {
            QuantityError::new(format!(
                "{text:?} is not an instant in RFC 3339, such as \"2026-06-03T08:40:00Z\""
            ))
        })
    }
}

/// A day of the calendar: `2026-05-30`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(Date);

impl Day {
    /// The first instant of the day at Greenwich.
    pub fn start(self) -> Option<Instant> {
        self.0
            .to_zoned_datetime(TimeZone::UTC)
            .ok()
            .map(|zoned| Instant(zoned.timestamp()))
    }
}

impl Day {
    /// As a sentence tells it: `12 May 2027`.
    pub fn told(self) -> String {
        const MONTHS: [&str; 12] = [
            "January",
            "February",
            "March",
            "April",
            "May",
            "June",
            "July",
            "August",
            "September",
            "October",
            "November",
            "December",
        ];
        let month = MONTHS
            .get(usize::from(self.0.month().unsigned_abs()).saturating_sub(1))
            .copied()
            .unwrap_or_default();
        format!("{} {month} {}", self.0.day(), self.0.year())
    }
}

impl FromStr for Day {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let text = text.trim();
        let refuse =
            || QuantityError::new(format!("{text:?} is not a day, such as \"2026-05-30\""));
        if text.len() > 13 {
            return Err(refuse()); // an instant: jiff would drop its time of day
        }
        text.parse().map(Self).map_err(|_| refuse())
    }
}

/// A day or an instant, where the record may know either.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// Only the day is known.
    Day(Day),
    /// The time is known too.
    Instant(Instant),
}

impl Moment {
    /// The instant; of a day, its beginning at Greenwich.
    pub fn start(self) -> Option<Instant> {
        match self {
            Self::Day(day) => day.start(),
            Self::Instant(instant) => Some(instant),
        }
    }
}

impl FromStr for Moment {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        text.parse().map(Self::Day).or_else(|_| text.parse().map(Self::Instant)).map_err(|_: QuantityError| {
            QuantityError::new(format!("{text:?} is neither a day nor an instant in RFC 3339, such as \"2026-05-30\" or \"2026-06-03T08:40:00Z\""))
        })
    }
}

impl fmt::Display for Instant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Day(day) => day.fmt(f),
            Self::Instant(instant) => instant.fmt(f),
        }
    }
}

macro_rules! as_text {
    ($type:ident, $($format:tt)+) => {
        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text = Cow::<str>::deserialize(deserializer)?;
                text.parse().map_err(D::Error::custom)
            }
        }
        impl schemars::JsonSchema for $type {
            fn schema_name() -> Cow<'static, str> {
                stringify!($type).into()
            }
            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!($($format)+)
            }
        }
    };
}

as_text!(Instant, { "type": "string", "format": "date-time" });
as_text!(Day, { "type": "string", "format": "date" });
as_text!(Moment, { "type": "string", "description": "a date or an RFC 3339 instant" });

/// Reads an ISO 8601 duration. A year counts 365.25 days, a month a twelfth of that, a day 24 hours.
pub(super) fn read_duration(text: &str) -> Result<Seconds, QuantityError> {
    let refuse = |why: &str| QuantityError::new(format!("{text:?} {why}, such as \"PT15M\""));
    if !text.starts_with(['P', 'p']) {
        return Err(refuse("is not a duration in ISO 8601"));
    }
    let span: jiff::Span = text
        .parse()
        .map_err(|_| refuse("is not a duration in ISO 8601"))?;
    let days = f64::from(span.get_years()) * 365.25
        + f64::from(span.get_months()) * (365.25 / 12.0)
        + f64::from(span.get_weeks()) * 7.0
        + f64::from(span.get_days());
    let seconds = days * 86_400.0
        + f64::from(span.get_hours()) * 3600.0
        + span.get_minutes() as f64 * 60.0
        + span.get_seconds() as f64
        + span.get_milliseconds() as f64 * 1e-3
        + span.get_microseconds() as f64 * 1e-6
        + span.get_nanoseconds() as f64 * 1e-9;
    Ok(Seconds::new(seconds))
}
