//! What was typed, read as what it should be; what it is not is told beside its field.
use super::Form;
use crate::shop::{EnteredAt, Instant, Money, TabletClock, Zone, money};
use chillwright_calc::units::{Dimension, Quantity, QuantityError};
use rust_decimal::Decimal;

impl Form {
    /// A text that must be there.
    pub fn need(&mut self, name: &str, says: &str) -> Option<String> {
        let text = self.get(name).to_owned();
        if text.is_empty() {
            self.wrong(name, says);
            return None;
        }
        self.at_most(name, &text, 4000)
    }

    /// A text that may be left out.
    pub fn text(&mut self, name: &str) -> String {
        let text = self.get(name).to_owned();
        self.at_most(name, &text, 4000).unwrap_or_default()
    }

    fn at_most(&mut self, name: &str, text: &str, longest: usize) -> Option<String> {
        if text.chars().count() > longest {
            self.wrong(name, format!("That is longer than {longest} characters."));
            return None;
        }
        Some(text.to_owned())
    }

    /// One of a closed set that must be chosen.
    pub fn choice<T>(
        &mut self,
        name: &str,
        says: &str,
        from: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let chosen = from(self.get(name));
        if chosen.is_none() {
            self.wrong(name, says);
        }
        chosen
    }

    /// One of the record's words, or nothing chosen; what is none of them is said beside the field.
    pub fn word<T: std::str::FromStr>(&mut self, name: &str) -> Option<T> {
        let word = self.get(name);
        if word.is_empty() {
            return None;
        }
        let chosen = word.parse().ok();
        if chosen.is_none() {
            self.wrong(name, "Choose one of these.");
        }
        chosen
    }

    /// Whether a box was ticked.
    pub fn ticked(&self, name: &str) -> bool {
        !matches!(self.get(name), "" | "no" | "false")
    }

    /// Whether the time of this form is about right only: the person said so, or the tablet's clock was set before it was sent.
    pub fn about(&self) -> bool {
        self.about || self.ticked("about")
    }

    /// A number that may be left out.
    pub fn number(&mut self, name: &str) -> Option<Decimal> {
        let text = self.get(name).to_owned();
        if text.is_empty() {
            return None;
        }
        money::decimal(&text)
            .map_err(|says| self.wrong(name, says))
            .ok()
    }

    /// A quantity as the job record writes it, "600 g": the number typed, the unit given. `None` where nothing was typed.
    pub fn quantity(&mut self, name: &str, unit: &str) -> Option<String> {
        self.number(name).map(|n| format!("{n} {unit}"))
    }

    /// A quantity that must be there.
    pub fn need_quantity(&mut self, name: &str, unit: &str, says: &str) -> Option<String> {
        if self.get(name).is_empty() {
            self.wrong(name, says);
            return None;
        }
        self.quantity(name, unit)
    }

    /// An amount of money; nothing typed is `None`.
    pub fn money(&mut self, name: &str, currency: &str) -> Option<Money> {
        let text = self.get(name).to_owned();
        if text.is_empty() {
            return None;
        }
        Money::parse(&text, currency)
            .map_err(|says| self.wrong(name, says))
            .ok()
    }

    /// A time not in the future; nothing typed is now, or when it was entered at a tablet that had no network.
    pub fn when(&mut self, name: &str, zone: &Zone, now: Instant) -> Option<Instant> {
        let text = self.get(name).to_owned();
        if text.is_empty() {
            let entered = self.tablet.map_or(
                EnteredAt {
                    at: now,
                    about: false,
                },
                |clock| clock.entered_at(now),
            );
            self.about |= entered.about;
            return Some(entered.at);
        }
        let Some(at) = zone
            .parse_field(&text)
            .or_else(|| zone.parse_clock(&text, now))
        else {
            self.wrong(
                name,
                "Enter date and time, for example 2026-05-12 10:46, or the time alone, 10:46.",
            );
            return None;
        };
        // A tablet's clock may be a little ahead. What waited there is measured at its own time.
        let entered = self
            .tablet
            .filter(TabletClock::waited)
            .map_or(now, |clock| clock.entered_at(now).at);
        if at > entered.plus_minutes(2) {
            let then = if entered == now {
                "it is"
            } else {
                "it was entered"
            };
            let now = if entered == now { " now" } else { "" };
            self.wrong(
                name,
                format!(
                    "That is in the future: {then} {}{now}.",
                    zone.date_and_clock(entered)
                ),
            );
            return None;
        }
        Some(at)
    }

    /// A calendar date; nothing typed is `None`.
    pub fn date(&mut self, name: &str) -> Option<String> {
        let text = self.get(name).to_owned();
        if text.is_empty() {
            return None;
        }
        if !crate::shop::instant::is_date(&text) {
            self.wrong(name, "Enter the date, for example 2026-05-12.");
            return None;
        }
        Some(text)
    }
}

/// A number that is not below zero, with a unit; nothing typed is `None`.
pub fn amount(form: &mut Form, name: &str, unit: &str) -> Option<String> {
    let number = form.number(name)?;
    if number.is_sign_negative() && !number.is_zero() {
        form.wrong(name, "Enter zero or more.");
        return None;
    }
    Some(format!("{number} {unit}"))
}

/// The same as a quantity of the job record. What it cannot be (too large, below absolute zero) is said beside the field.
pub fn measured<D: Dimension>(form: &mut Form, name: &str, unit: &str) -> Option<Quantity<D>> {
    amount(form, name, unit).and_then(|text| quantity(form, name, &text))
}

/// A text of the field `name` as a quantity of the job record; a fault is said beside that field.
pub fn quantity<D: Dimension>(form: &mut Form, name: &str, text: &str) -> Option<Quantity<D>> {
    text.parse()
        .map_err(|e: QuantityError| form.wrong(name, format!("That cannot be: {e}.")))
        .ok()
}

/// A text that may be left out: an empty one says nothing.
pub fn some(text: impl Into<String>) -> Option<String> {
    Some(text.into()).filter(|t| !t.is_empty())
}
