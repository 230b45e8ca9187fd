//! Forms: what was typed, what is wrong with it, and the fields that show both again.
mod draw;
mod field;
mod read;
mod sent;

use crate::shop::{DeedId, TabletClock};
use axum::http::StatusCode;
use std::collections::BTreeMap;

pub use field::{Field, Fieldset, Kind, Opt};
pub use read::{amount, measured, quantity, some};
pub use sent::{Typed, again, to};

/// What was typed into a form, and what is wrong with it. An empty one is a form that nobody filled in yet.
#[derive(Debug, Clone)]
pub struct Form {
    /// The address that the form is sent to.
    pub path: String,
    values: Vec<(String, String)>,
    errors: BTreeMap<String, String>,
    /// Faults of the form as a whole.
    pub general: Vec<String>,
    status: StatusCode,
    /// The id of this form's deed: a new one in an empty form.
    pub deed: DeedId,
    /// What the tablet's worker tells of its clock, where the form came through one.
    pub tablet: Option<TabletClock>,
    about: bool,
    sent: Option<String>,
}

impl Default for Form {
    fn default() -> Self {
        Self::of(String::new(), Vec::new())
    }
}

impl Form {
    /// A form with these values.
    pub fn of(path: String, values: Vec<(String, String)>) -> Self {
        let deed = values
            .iter()
            .find(|(k, _)| k == "deed")
            .and_then(|(_, v)| v.parse().ok())
            .unwrap_or_else(DeedId::fresh);
        Self {
            path,
            values,
            errors: BTreeMap::new(),
            general: Vec::new(),
            status: StatusCode::OK,
            deed,
            tablet: None,
            about: false,
            sent: None,
        }
    }

    /// For a page with several forms: this one's values where it was sent to `path`, else an empty form.
    pub fn sent_to(&self, path: &str) -> Form {
        if self.path == path {
            self.clone()
        } else {
            Form::of(path.to_owned(), Vec::new())
        }
    }

    /// What was typed, trimmed; empty where nothing was.
    pub fn get(&self, name: &str) -> &str {
        self.values
            .iter()
            .find(|(k, _)| k == name)
            .map_or("", |(_, v)| v.trim())
    }

    /// All values of a name.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.values
            .iter()
            .filter(move |(k, _)| k == name)
            .map(|(_, v)| v.trim())
    }

    /// All names and values as sent.
    pub fn pairs(&self) -> &[(String, String)] {
        &self.values
    }

    /// Whether anything was sent.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// Sets a value, for a form that begins with what is on record.
    pub fn set(&mut self, name: &str, value: impl Into<String>) {
        self.values.retain(|(k, _)| k != name);
        self.values.push((name.to_owned(), value.into()));
    }

    /// One more value of a field that takes several.
    pub fn add(&mut self, name: &str, value: impl Into<String>) {
        self.values.push((name.to_owned(), value.into()));
    }

    /// Gives fields other names, where `name` says one.
    pub fn rename(&mut self, name: impl Fn(&str) -> Option<String>) {
        for (key, _) in &mut self.values {
            if let Some(other) = name(key) {
                *key = other;
            }
        }
    }

    /// Notes what is wrong with a field (the first fault stays); a field without name is the form as a whole.
    pub fn wrong(&mut self, name: &str, says: impl Into<String>) {
        // A conflict stays one, whatever else is asked.
        if self.status == StatusCode::OK {
            self.status = StatusCode::UNPROCESSABLE_ENTITY;
        }
        if name.is_empty() {
            self.general.push(says.into());
        } else {
            self.errors
                .entry(name.to_owned())
                .or_insert_with(|| says.into());
        }
    }

    /// Whether nothing is wrong.
    pub fn is_right(&self) -> bool {
        self.errors.is_empty() && self.general.is_empty()
    }

    /// Faults with the names of their fields, for the list on top of the form.
    pub fn errors(&self) -> impl Iterator<Item = (&str, &str)> {
        self.errors.iter().map(|(k, v)| (k.as_str(), v.as_str()))
    }

    /// The fault of a field.
    pub fn error(&self, name: &str) -> Option<&str> {
        self.errors.get(name).map(String::as_str)
    }

    /// The status of the page that shows this form again.
    pub fn status(&self) -> StatusCode {
        self.status
    }

    /// As it came, before anything is read: what a handler changes does not make it another form.
    pub fn as_sent(mut self) -> Self {
        self.sent = Some(self.fingerprint());
        self
    }

    /// The whole form as text, less its id and who was at the tablet: for recognising it when it comes twice.
    pub fn fingerprint(&self) -> String {
        if let Some(sent) = &self.sent {
            return sent.clone();
        }
        let mut out = form_urlencoded::Serializer::new(self.path.clone() + "?");
        out.extend_pairs(self.values.iter().filter(|(k, _)| k != "deed" && k != "by"));
        out.finish()
    }
}
