//! What a rule found, less what its row says.
use crate::{
    checks::{remedy::Remedy, timeline::Stamp},
    record::answer::{Values, Weight},
};
use serde_json::Value;

/// What a rule found: the sentence, its figures, and the steps that put it right.
#[derive(Debug, Clone)]
pub struct Found {
    pub(super) about: String,
    pub(super) weight: Weight,
    pub(super) evidence: Vec<String>,
    pub(super) values: Values,
    pub(super) says: String,
    pub(super) remedy: Remedy,
    pub(super) since: Option<Stamp>,
    pub(super) prospect: bool,
}

impl Found {
    pub(super) fn new(
        about: impl Into<String>,
        weight: Weight,
        says: impl Into<String>,
        remedy: Remedy,
    ) -> Self {
        Self {
            about: about.into(),
            weight,
            evidence: Vec::new(),
            values: Values::new(),
            says: says.into(),
            remedy,
            since: None,
            prospect: false,
        }
    }

    /// The evidence that it rests on, each once.
    pub(super) fn resting_on(
        mut self,
        evidence: impl IntoIterator<Item = impl Into<String>>,
    ) -> Self {
        for id in evidence {
            let id = id.into();
            if !self.evidence.contains(&id) {
                self.evidence.push(id);
            }
        }
        self
    }

    /// When what it misses came up; the last opening where this is not said.
    pub(super) fn since(mut self, at: Option<Stamp>) -> Self {
        self.since = at;
        self
    }

    /// It is never a finding and weighs nothing: it only says, while work goes on, what comes next.
    pub(super) fn prospect(mut self) -> Self {
        (self.prospect, self.weight) = (true, Weight::Note);
        self
    }

    /// A figure in SI, its unit in the key. One that is not finite is left out.
    pub(super) fn value(mut self, key: &str, value: f64) -> Self {
        if let Some(number) = serde_json::Number::from_f64(value) {
            self.values.insert(key.into(), Value::Number(number));
        }
        self
    }

    /// A figure, where there is one.
    pub(super) fn maybe(self, key: &str, value: Option<f64>) -> Self {
        match value {
            Some(value) => self.value(key, value),
            None => self,
        }
    }

    /// A word.
    pub(super) fn word(mut self, key: &str, value: &str) -> Self {
        self.values.insert(key.into(), Value::String(value.into()));
        self
    }
}
