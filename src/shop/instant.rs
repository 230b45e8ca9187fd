//! Instants, and how the shop reads them off the wall: everything about time zones is in this file.
use jiff::{Timestamp, civil, tz::TimeZone};

/// Milliseconds since 1970 UTC. An integer, so that the database sorts it.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
    sqlx::Type,
)]
#[serde(transparent)]
#[sqlx(transparent)]
pub struct Instant(pub i64);

impl Instant {
    /// From RFC 3339 text; `None` where it is not that.
    pub fn parse(text: &str) -> Option<Self> {
        text.parse::<Timestamp>()
            .ok()
            .map(|t| Self(t.as_millisecond()))
    }

    /// RFC 3339 in UTC, as the job record writes it.
    pub fn rfc3339(self) -> String {
        self.timestamp().to_string()
    }

    /// This many minutes later (earlier where negative).
    pub fn plus_minutes(self, minutes: i64) -> Self {
        Self(self.0 + minutes * 60_000)
    }

    fn timestamp(self) -> Timestamp {
        Timestamp::from_millisecond(self.0).unwrap_or(Timestamp::UNIX_EPOCH)
    }
}

/// As the job record keeps it; text and instant are the same in both.
impl From<Instant> for chillwright_calc::units::Instant {
    fn from(at: Instant) -> Self {
        at.timestamp().into()
    }
}

/// To the millisecond.
impl From<chillwright_calc::units::Instant> for Instant {
    fn from(at: chillwright_calc::units::Instant) -> Self {
        Self(at.millis())
    }
}

/// The shop's time zone.
#[derive(Debug, Clone)]
pub struct Zone(TimeZone);

impl Zone {
    /// By its IANA name; `None` where there is no such zone.
    pub fn named(name: &str) -> Option<Self> {
        TimeZone::get(name).ok().map(Self)
    }

    /// Coordinated universal time.
    pub fn utc() -> Self {
        Self(TimeZone::UTC)
    }

    fn civil(&self, at: Instant) -> civil::DateTime {
        at.timestamp().to_zoned_datetime(self.0.clone()).datetime()
    }

    /// `12 May 2026`.
    pub fn date(&self, at: Instant) -> String {
        self.civil(at).strftime("%-d %b %Y").to_string()
    }

    /// `12 May`.
    pub fn day(&self, at: Instant) -> String {
        self.civil(at).strftime("%-d %b").to_string()
    }

    /// `10:46`.
    pub fn clock(&self, at: Instant) -> String {
        self.civil(at).strftime("%H:%M").to_string()
    }

    /// `12 May 2026, 10:46`.
    pub fn date_and_clock(&self, at: Instant) -> String {
        self.civil(at).strftime("%-d %b %Y, %H:%M").to_string()
    }

    /// `10:46` where it is the day of `now`, else `12 May, 10:46`.
    pub fn short(&self, at: Instant, now: Instant) -> String {
        if self.iso_date(at) == self.iso_date(now) {
            self.clock(at)
        } else {
            self.civil(at).strftime("%-d %b, %H:%M").to_string()
        }
    }

    /// `2026-05-12`.
    pub fn iso_date(&self, at: Instant) -> String {
        self.civil(at).strftime("%Y-%m-%d").to_string()
    }

    /// How far the zone is ahead of UTC then, milliseconds.
    pub fn offset(&self, at: Instant) -> i64 {
        i64::from(self.0.to_offset(at.timestamp()).seconds()) * 1000
    }

    /// `2026-05-12T10:46`, as a browser's field for date and time writes it.
    pub fn field(&self, at: Instant) -> String {
        self.civil(at).strftime("%Y-%m-%dT%H:%M").to_string()
    }

    /// Reads what a browser's field for date and time sends (`2026-05-12T10:46`, seconds allowed).
    pub fn parse_field(&self, text: &str) -> Option<Instant> {
        let civil: civil::DateTime = text.trim().replace(' ', "T").parse().ok()?;
        civil
            .to_zoned_datetime(self.0.clone())
            .ok()
            .map(|z| Instant(z.timestamp().as_millisecond()))
    }

    /// A clock time (`10:46`) on the day of `now`.
    pub fn parse_clock(&self, text: &str, now: Instant) -> Option<Instant> {
        self.parse_field(&format!("{}T{}", self.iso_date(now), text.trim()))
    }
}

/// `12 May 2026` for `2026-05-12`; the text itself where it is no date.
pub fn show_date(iso: &str) -> String {
    iso.parse::<civil::Date>()
        .map_or_else(|_| iso.to_owned(), |d| d.strftime("%-d %b %Y").to_string())
}

/// Whether the text is a calendar date `2026-05-12`.
pub fn is_date(iso: &str) -> bool {
    iso.len() == 10 && iso.parse::<civil::Date>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_field_reads_back_in_the_shops_zone() {
        let zone = Zone::named("Europe/Vienna").expect("bundled");
        let at = zone.parse_field("2026-07-01T10:46").expect("a time");
        assert_eq!(at.rfc3339(), "2026-07-01T08:46:00Z");
        assert_eq!(zone.field(at), "2026-07-01T10:46");
        assert_eq!(zone.offset(at), 2 * 3_600_000);
        assert_eq!(zone.date_and_clock(at), "1 Jul 2026, 10:46");
        assert_eq!(
            zone.parse_clock("11:00", at),
            zone.parse_field("2026-07-01T11:00")
        );
    }
}
