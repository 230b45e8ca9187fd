//! What a form of the bench says, before it is kept.
use crate::{
    shop::{CylinderId, EvidenceId, Instant, InstrumentId, YardId},
    store::evidence::{Body, Own},
    web::{Field, Form, Kind as FieldKind},
};

/// What a form says, before it is kept.
pub struct Draft {
    /// Its id, if it becomes a piece of its own.
    pub id: EvidenceId,
    /// The joint that it belongs to.
    pub parent: Option<EvidenceId>,
    /// The record's entry, which says what it is.
    pub body: Body,
    /// The shop's own beside it.
    pub own: Own,
    /// Its time.
    pub at: Option<Instant>,
    /// The time is "about".
    pub approximate: bool,
    /// Instrument used.
    pub instrument: Option<InstrumentId>,
    /// Cylinder used.
    pub cylinder: Option<CylinderId>,
    /// Yard.
    pub yard: Option<YardId>,
    /// A new version of this piece, seen at this version.
    pub revises: Option<(EvidenceId, i64)>,
    /// Keeps the form for a correction.
    pub keeps_form: bool,
}

impl Draft {
    /// A piece with this body.
    pub fn new(body: impl Into<Body>) -> Self {
        Self {
            id: EvidenceId::fresh(),
            parent: None,
            body: body.into(),
            own: Own::default(),
            at: None,
            approximate: false,
            instrument: None,
            cylinder: None,
            yard: None,
            revises: None,
            keeps_form: false,
        }
    }

    /// At this time, which also goes into the entry.
    pub fn at(mut self, at: Instant, form: &Form) -> Self {
        self.body.set_time(Some(at.into()));
        if matches!(self.body, Body::Hold(_)) {
            self.own.started_at = Some(at.into());
        }
        self.at = Some(at);
        self.approximate = form.about();
        self
    }

    /// Belonging to a joint.
    pub fn under(mut self, parent: EvidenceId) -> Self {
        self.parent = Some(parent);
        self
    }
}

/// The fields for a time: empty is now; exact or about.
pub fn time_fields(form: &Form, label: &str) -> Vec<Field> {
    vec![
        form.field("at", label)
            .kind(FieldKind::DateTime)
            .hint("Blank = now."),
        form.tick("about", "The time is approximate"),
    ]
}
