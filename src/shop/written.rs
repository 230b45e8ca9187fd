//! How people write what is stored: "30 min" for `PT30M`, "22 °C" for `22 degC`, "70 psig" for `70 psi gauge`; and the words of a part.
use super::instant::show_date;
use chillwright_calc::record::{self, Role, Source};
use std::borrow::Cow;

/// A unit's symbol as it is stored and as people write it.
const UNITS: [(&str, &str); 8] = [
    ("psi gauge", "psig"),
    ("psi abs", "psia"),
    ("degC", "°C"),
    ("degF", "°F"),
    ("g/yr", "g/year"),
    ("oz/yr", "oz/year"),
    ("N m", "N·m"),
    ("lbf ft", "lbf·ft"),
];

/// A span of time: the letter of ISO 8601, whether it stands behind the `T`, and the words that are read; the first is the one that is shown.
const SPANS: [(char, bool, &[&str]); 7] = [
    ('S', true, &["s", "sec", "second", "seconds"]),
    ('M', true, &["min", "minute", "minutes"]),
    ('H', true, &["h", "hour", "hours"]),
    ('D', false, &["days", "day", "d"]),
    ('W', false, &["weeks", "week"]),
    ('M', false, &["months", "month"]),
    ('Y', false, &["years", "year"]),
];

/// A stored quantity, duration or date as people read it. What is none of them stays as it is.
pub fn told(stored: &str) -> String {
    let text = stored.trim();
    if let Some(duration) = duration_told(text) {
        return duration;
    }
    let day = show_date(text);
    if day != text {
        return day;
    }
    match text.split_once(' ') {
        Some((number, unit)) if number.parse::<f64>().is_ok() => {
            let unit = UNITS.iter().find(|u| u.0 == unit).map_or(unit, |u| u.1);
            format!("{} {unit}", minus(&short(number)))
        }
        _ => text.to_owned(),
    }
}

/// What a person typed for a limit, as it is stored: "30 min" becomes `PT30M`, "22 °C" `22 degC`. What is stored so already stays, and so does what is not
/// understood: whoever reads it as a quantity refuses it.
pub fn stored(typed: &str) -> String {
    let text = typed.trim();
    let number = text
        .split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '−' | '+')))
        .next()
        .unwrap_or_default();
    let unit = text[number.len()..].trim();
    let number = number.replace('−', "-");
    if let Some(span) = SPANS
        .iter()
        .find(|s| s.2.contains(&unit))
        .filter(|_| number.parse::<f64>().is_ok())
    {
        return format!("P{}{number}{}", if span.1 { "T" } else { "" }, span.0);
    }
    match UNITS.iter().find(|u| u.1 == unit) {
        Some(known) => format!("{number} {}", known.0),
        None if number.parse::<f64>().is_ok() && !unit.is_empty() => format!("{number} {unit}"),
        None => text.to_owned(),
    }
}

/// A duration of one or more spans, `PT1H30M`: "1 h 30 min". `None` for other texts.
fn duration_told(iso: &str) -> Option<String> {
    // What was typed in minutes may be kept in seconds.
    let seconds = iso
        .strip_prefix("PT")
        .and_then(|t| t.strip_suffix('S'))
        .and_then(|t| t.parse::<u32>().ok());
    if let Some(s) = seconds.filter(|s| *s >= 120 && s % 6 == 0) {
        return Some(format!("{} min", f64::from(s) / 60.0));
    }
    let mut rest = iso.strip_prefix('P')?;
    let mut clock = false;
    let mut said = Vec::new();
    while !rest.is_empty() {
        if let Some(behind) = rest.strip_prefix('T') {
            (rest, clock) = (behind, true);
            continue;
        }
        let end = rest.find(|c: char| !(c.is_ascii_digit() || c == '.'))?;
        let letter = rest[end..].chars().next()?;
        let (_, _, words) = SPANS.iter().find(|s| s.0 == letter && s.1 == clock)?;
        let number = &rest[..end];
        let word = if number == "1" && words.len() == 2 {
            words.last()?
        } else {
            words.first()?
        };
        said.push(format!(
            "{number} {}",
            if number == "1" && *word == "days" {
                "day"
            } else {
                word
            }
        ));
        rest = &rest[end + letter.len_utf8()..];
    }
    (!said.is_empty()).then(|| said.join(" "))
}

/// A number with no more digits than say something: 33.3 for 33.3333333333333333. Up to six digits stay as they were typed.
fn short(number: &str) -> Cow<'_, str> {
    let digits = number.chars().filter(char::is_ascii_digit).count();
    match number.parse::<f64>() {
        Ok(value) if digits > 6 && number.contains('.') => {
            let text = format!("{:.*}", if value.abs() < 100.0 { 1 } else { 0 }, value);
            Cow::Owned(text)
        }
        _ => Cow::Borrowed(number),
    }
}

/// With a minus as it is printed.
fn minus(number: &str) -> String {
    number.replacen('-', "−", 1)
}

/// Where a part comes from, in words; a used one is always called used.
pub const fn source(source: Source) -> &'static str {
    match source {
        Source::Salvaged => "used",
        Source::Refitted => "the car’s own",
        Source::Made => "made up",
        Source::CustomersOwn => "the customer’s own",
        Source::New | Source::Reconditioned | Source::Repaired => source.word(),
    }
}

/// What a part is, in words.
pub const fn role(role: Role) -> &'static str {
    match role {
        Role::ExpansionDevice => "expansion valve or orifice tube",
        Role::PressureSensor => "pressure sensor",
        Role::ServiceValve => "service valve",
        Role::Other => "part",
        Role::Compressor
        | Role::Condenser
        | Role::Evaporator
        | Role::ReceiverDrier
        | Role::Accumulator
        | Role::Hose
        | Role::Pipe => role.word(),
    }
}

/// A part with its source: "used evaporator".
pub fn part(part: &record::Part) -> String {
    let role = part.role.map_or("", role);
    part.source
        .map_or_else(|| role.to_owned(), |s| format!("{} {role}", source(s)))
}

/// A part with its source and an article, within a sentence: "a used evaporator".
pub fn a_part(of: &record::Part) -> String {
    let part = part(of);
    match part.chars().next() {
        _ if part.starts_with("the ") => part,
        Some('a' | 'e' | 'i' | 'o' | 'u') if !part.starts_with("used") => format!("an {part}"),
        _ => format!("a {part}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chillwright_calc::checks::limits::{ALL, LimitSettings, Limits};

    #[test]
    fn durations_are_read_and_told_as_people_write_them() {
        for (iso, words) in [
            ("PT30M", "30 min"),
            ("PT15M", "15 min"),
            ("P24M", "24 months"),
            ("PT2H", "2 h"),
            ("P1D", "1 day"),
            ("P1Y", "1 year"),
            ("PT90S", "90 s"),
        ] {
            assert_eq!(told(iso), words);
            assert_eq!(stored(words), iso);
            assert_eq!(stored(iso), iso, "an ISO duration is taken too");
        }
        assert_eq!(
            (told("PT1H30M"), told("PT600S"), told("PT750S")),
            ("1 h 30 min".into(), "10 min".into(), "12.5 min".into())
        );
        assert_eq!(stored("2 hours"), "PT2H");
        assert_eq!(stored("45min"), "PT45M");
        assert_eq!(stored("soon"), "soon");
        assert_eq!(told("PAG 46"), "PAG 46");
        assert_eq!(told("P"), "P");
    }

    #[test]
    fn units_and_shares_are_told_as_people_write_them() {
        for (was, words) in [
            ("22 degC", "22 °C"),
            ("-4 degC", "−4 °C"),
            ("70 psi gauge", "70 psig"),
            ("40 g/yr", "40 g/year"),
            ("10 N m", "10 N·m"),
            ("28 inHg vacuum", "28 inHg vacuum"),
        ] {
            assert_eq!(told(was), words);
            assert_eq!(stored(words), was);
        }
        assert_eq!(told("33.3333333333333333 %"), "33.3 %");
        assert_eq!(told("0.05 %"), "0.05 %");
        assert_eq!(told("2026-05-12"), "12 May 2026");
    }

    /// What the Limits page shows as a default can be typed into it, and is the same limit: all of them, within the digits that are shown.
    #[test]
    fn every_default_can_be_typed_as_it_is_shown() {
        let usual = Limits::of(&LimitSettings::default());
        for spec in ALL {
            let mut settings = LimitSettings::default();
            settings
                .set(spec.key, &stored(&told(spec.default)))
                .unwrap_or_else(|e| panic!("{}: {e}", spec.key));
            if spec.key != "vacuum_share" {
                assert_eq!(Limits::of(&settings), usual, "{}", spec.key);
            }
            let shown = told(spec.default);
            assert!(
                !shown.starts_with("PT")
                    && !shown.contains("deg")
                    && !shown.contains("/yr")
                    && shown.len() < 16,
                "{}: {shown}",
                spec.key
            );
        }
    }

    #[test]
    fn a_part_is_called_by_its_own_name() {
        let of = |source, role| record::Part {
            source,
            role: Some(role),
            ..record::Part::default()
        };
        assert_eq!(
            part(&of(Some(Source::Salvaged), Role::Evaporator)),
            "used evaporator"
        );
        assert_eq!(
            part(&of(Some(Source::New), Role::ReceiverDrier)),
            "new receiver-drier"
        );
        assert_eq!(
            a_part(&of(Some(Source::Salvaged), Role::Evaporator)),
            "a used evaporator"
        );
        assert_eq!(a_part(&of(None, Role::Accumulator)), "an accumulator");
        assert_eq!(
            a_part(&of(Some(Source::Refitted), Role::Hose)),
            "the car’s own hose"
        );
    }
}
