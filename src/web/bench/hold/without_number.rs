//! Photographs of a gauge whose number nobody has typed yet.
use crate::{
    store::{attachments::Attachment, evidence::Piece},
    web::{Ctx, Field, Form, photographs::files_field},
};

/// A photograph whose number nobody has typed yet.
#[derive(Debug, Clone)]
pub struct WithoutNumber {
    /// Name of its file.
    pub sha256: String,
    /// When it was taken.
    pub at: String,
}

/// The field of the camera.
pub fn field(form: &Form) -> Field {
    let hint = "You can enter the reading later. It counts from when the photograph was taken.";
    Field {
        id: "f-photograph".into(),
        label: "Photograph of the gauge".into(),
        hint: hint.into(),
        ..files_field(form)
    }
}

/// Photographs of a hold or evacuation that no reading was typed from yet.
pub fn of(ctx: &Ctx, pictures: &[Attachment], readings: &[&Piece]) -> Vec<WithoutNumber> {
    let typed = |sha256: &str| {
        readings
            .iter()
            .any(|r| r.own.photograph.as_deref() == Some(sha256))
    };
    pictures
        .iter()
        .filter(|p| !typed(&p.sha256))
        .map(|p| WithoutNumber {
            sha256: p.sha256.clone(),
            at: ctx.zone.short(p.at, ctx.now),
        })
        .collect()
}
