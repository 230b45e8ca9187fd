//! Forms: what was typed, what is wrong with it, and the fields that show both again.
use super::{App, Fault, entry::FromTablet};
use crate::{
    shop::{DeedId, DeviceId, EnteredAt, Instant, Money, TabletClock, Zone, money},
    store::sessions,
    work::DeedError,
};
use axum::{
    body::Bytes,
    extract::{FromRequest, FromRequestParts, Request},
    http::{Method, StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use chillwright_calc::units::{Dimension, Quantity, QuantityError};
use rust_decimal::Decimal;
use std::collections::BTreeMap;
use uuid::Uuid;

/// A field as the templates draw it.
#[derive(Debug, Clone, Default)]
pub struct Field {
    /// Name in the form.
    pub name: String,
    /// Id on the page.
    pub id: String,
    /// What it asks.
    pub label: String,
    /// What helps to answer.
    pub hint: String,
    /// What was typed.
    pub value: String,
    /// What is wrong with it.
    pub error: Option<String>,
    /// Must be answered.
    pub required: bool,
    /// Unit, behind the field.
    pub unit: String,
    /// The last value, beside the label; never in the field.
    pub last: String,
    /// How it is drawn.
    pub kind: Kind,
    /// The browser's `autocomplete`.
    pub autocomplete: &'static str,
    /// The browser's `inputmode`.
    pub inputmode: &'static str,
}

/// How a field is drawn.
#[derive(Debug, Clone, Default)]
pub enum Kind {
    /// One line.
    #[default]
    Text,
    /// Several lines.
    Long,
    /// A number.
    Number,
    /// A code of digits, not shown.
    Code,
    /// A date.
    Date,
    /// A clock time.
    Time,
    /// Date and clock time.
    DateTime,
    /// Electronic mail.
    Email,
    /// Telephone.
    Tel,
    /// A file.
    File,
    /// Not drawn.
    Hidden,
    /// One of these, as tiles.
    Choice(Vec<Opt>),
    /// One of these, in a list that opens.
    Select(Vec<Opt>),
    /// Any of these, as tiles.
    Many(Vec<Opt>),
    /// Yes or not.
    Tick,
}

/// One of several.
#[derive(Debug, Clone, Default)]
pub struct Opt {
    /// What is sent.
    pub value: String,
    /// What is read.
    pub label: String,
    /// Chosen.
    pub chosen: bool,
    /// A second line.
    pub hint: String,
}

/// Fields that belong together.
#[derive(Debug, Clone, Default)]
pub struct Fieldset {
    /// What they are about.
    pub legend: String,
    /// A sentence before them.
    pub intro: String,
    /// The fields.
    pub fields: Vec<Field>,
}

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
        let deed = values.iter().find(|(k, _)| k == "deed").and_then(|(_, v)| v.parse().ok()).unwrap_or_else(DeedId::fresh);
        Self { path, values, errors: BTreeMap::new(), general: Vec::new(), status: StatusCode::OK, deed, tablet: None, about: false, sent: None }
    }

    /// For a page with several forms: this one's values where it was sent to `path`, else an empty form.
    pub fn sent_to(&self, path: &str) -> Form {
        if self.path == path { self.clone() } else { Form::of(path.to_owned(), Vec::new()) }
    }

    /// What was typed, trimmed; empty where nothing was.
    pub fn get(&self, name: &str) -> &str {
        self.values.iter().find(|(k, _)| k == name).map_or("", |(_, v)| v.trim())
    }

    /// All values of a name.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.values.iter().filter(move |(k, _)| k == name).map(|(_, v)| v.trim())
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

    /// Adds a value to those of a name.
    pub fn push(&mut self, name: &str, value: impl Into<String>) {
        self.values.push((name.to_owned(), value.into()));
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
            self.errors.entry(name.to_owned()).or_insert_with(|| says.into());
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

    // ---- reading ----

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
    pub fn choice<T>(&mut self, name: &str, says: &str, from: impl Fn(&str) -> Option<T>) -> Option<T> {
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
        money::decimal(&text).map_err(|says| self.wrong(name, says)).ok()
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
        Money::parse(&text, currency).map_err(|says| self.wrong(name, says)).ok()
    }

    /// A time not in the future; nothing typed is now, or when it was entered at a tablet that had no network.
    pub fn when(&mut self, name: &str, zone: &Zone, now: Instant) -> Option<Instant> {
        let text = self.get(name).to_owned();
        if text.is_empty() {
            let entered = self.tablet.map_or(EnteredAt { at: now, about: false }, |clock| clock.entered_at(now));
            self.about |= entered.about;
            return Some(entered.at);
        }
        let Some(at) = zone.parse_field(&text).or_else(|| zone.parse_clock(&text, now)) else {
            self.wrong(name, "Enter date and time, for example 2026-05-12 10:46, or the time alone, 10:46.");
            return None;
        };
        // A tablet's clock may be a little ahead. What waited there is measured at its own time.
        let entered = self.tablet.filter(TabletClock::waited).map_or(now, |clock| clock.entered_at(now).at);
        if at > entered.plus_minutes(2) {
            let then = if entered == now { "it is" } else { "it was entered" };
            let now = if entered == now { " now" } else { "" };
            self.wrong(name, format!("That is in the future: {then} {}{now}.", zone.date_and_clock(entered)));
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

    // ---- what a deed answered ----

    /// Takes what a deed answered: true where it is done (now or before), false where the form is to be shown again.
    pub fn settle(&mut self, done: Result<(), DeedError>) -> Result<bool, Fault> {
        match done {
            Ok(()) | Err(DeedError::AlreadyKept) => Ok(true),
            Err(DeedError::Refused { field, says }) => {
                self.wrong(field, says);
                Ok(false)
            }
            Err(DeedError::OtherContent) => {
                self.wrong(
                    "",
                    "This form was saved a moment ago with different content. What you see now is not saved yet; if you send it again it becomes a new entry.",
                );
                self.status = StatusCode::CONFLICT;
                // The next sending is a deed of its own.
                self.deed = DeedId::fresh();
                self.set("deed", self.deed.to_string());
                Ok(false)
            }
            Err(DeedError::Outdated) => {
                self.wrong(
                    "",
                    "Somebody else changed this while you were typing. What you typed is still here. Check what is on record now before you save again.",
                );
                self.status = StatusCode::CONFLICT;
                Ok(false)
            }
            Err(other) => Err(other.into()),
        }
    }

    // ---- drawing ----

    /// A field with what was typed and what is wrong with it.
    pub fn field(&self, name: &str, label: &str) -> Field {
        Field {
            name: name.to_owned(),
            id: format!("f-{}", name.replace(|c: char| !c.is_ascii_alphanumeric(), "-")),
            label: label.to_owned(),
            value: self.values.iter().find(|(k, _)| k == name).map_or_else(String::new, |(_, v)| v.clone()),
            error: self.errors.get(name).cloned(),
            ..Field::default()
        }
    }

    /// Tiles of which one can be chosen; nothing is, until somebody does.
    pub fn tiles(&self, name: &str, label: &str, options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>) -> Field {
        let chosen = self.get(name);
        let options = self.options(options, |value| value == chosen);
        Field { kind: Kind::Choice(options), ..self.field(name, label) }
    }

    /// A list of which one can be chosen; it begins with an empty line.
    pub fn select(&self, name: &str, label: &str, options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>) -> Field {
        let chosen = self.get(name);
        let options = self.options(options, |value| value == chosen);
        Field { kind: Kind::Select(options), ..self.field(name, label) }
    }

    /// Tiles of which any can be chosen.
    pub fn many(&self, name: &str, label: &str, options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>) -> Field {
        let chosen: Vec<&str> = self.all(name).collect();
        let options = self.options(options, |value| chosen.contains(&value));
        Field { kind: Kind::Many(options), ..self.field(name, label) }
    }

    /// One box.
    pub fn tick(&self, name: &str, label: &str) -> Field {
        Field { kind: Kind::Tick, value: if self.ticked(name) { "yes".into() } else { String::new() }, ..self.field(name, label) }
    }

    /// The hidden field with the deed's id.
    pub fn deed_field(&self) -> Field {
        Field { kind: Kind::Hidden, value: self.deed.to_string(), ..self.field("deed", "") }
    }

    fn options(&self, options: impl IntoIterator<Item = (impl Into<String>, impl Into<String>)>, chosen: impl Fn(&str) -> bool) -> Vec<Opt> {
        options
            .into_iter()
            .map(|(value, label)| {
                let value = value.into();
                Opt { chosen: !self.values.is_empty() && chosen(&value), label: label.into(), value, hint: String::new() }
            })
            .collect()
    }
}

impl Field {
    /// With a hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }
    /// Must be answered.
    pub fn required(mut self) -> Self {
        self.required = true;
        self
    }
    /// A number with its unit.
    pub fn number(mut self, unit: impl Into<String>) -> Self {
        self.kind = Kind::Number;
        self.inputmode = "decimal";
        self.unit = unit.into();
        self
    }
    /// With the last value beside the label.
    pub fn last(mut self, last: impl Into<String>) -> Self {
        self.last = last.into();
        self
    }
    /// Drawn as.
    pub fn kind(mut self, kind: Kind) -> Self {
        self.kind = kind;
        self
    }
    /// The browser may fill it in.
    pub fn autocomplete(mut self, token: &'static str) -> Self {
        self.autocomplete = token;
        self
    }
}

impl FromRequest<App> for Form {
    type Rejection = Fault;

    async fn from_request(request: Request, app: &App) -> Result<Self, Fault> {
        let path = request.uri().path().to_owned();
        let plain = request.headers().get(header::CONTENT_TYPE).is_some_and(|v| v.as_bytes().starts_with(b"application/x-www-form-urlencoded"));
        if request.method() == Method::POST && !plain {
            return Err(Fault::Senseless("This address only accepts forms.".into()));
        }
        let tablet = FromTablet::of(request.headers()).map(|t| t.clock);
        let body = Bytes::from_request(request, app).await.map_err(|_| Fault::Senseless("What was sent is too long for a form.".into()))?;
        Ok(Form { tablet, ..Form::of(path, form_urlencoded::parse(&body).into_owned().collect()) }.as_sent())
    }
}

/// For a page with a form: what was typed before the session ended, else nothing.
pub struct Typed(pub Form);

impl FromRequestParts<App> for Typed {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut axum::http::request::Parts, app: &App) -> Result<Self, Fault> {
        let id = parts.uri.query().and_then(|q| form_urlencoded::parse(q.as_bytes()).find(|(k, _)| k == "typed").and_then(|(_, v)| v.parse::<Uuid>().ok()));
        let device = parts.extensions.get::<DeviceId>().copied();
        let Some((id, device)) = id.zip(device) else { return Ok(Self(Form::default())) };
        let mut conn = app.store.read().await?;
        let kept = sessions::typed(&mut conn, id, device).await?;
        Ok(Self(kept.map_or_else(Form::default, |(path, values)| {
            let mut form = Form::of(path, values);
            form.general.push("You were signed out while typing. What you typed is back but not saved yet.".into());
            form
        })))
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
    text.parse().map_err(|e: QuantityError| form.wrong(name, format!("That cannot be: {e}."))).ok()
}

/// A text that may be left out: an empty one says nothing.
pub fn some(text: impl Into<String>) -> Option<String> {
    Some(text.into()).filter(|t| !t.is_empty())
}

/// Shows a form again, with the status of its fault.
pub fn again(form_status: StatusCode, page: impl IntoResponse) -> Response {
    (form_status, page).into_response()
}

/// After a deed: to the page where one sees it.
pub fn to(path: impl AsRef<str>) -> Response {
    Redirect::to(path.as_ref()).into_response()
}
