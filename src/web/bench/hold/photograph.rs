//! A photograph of the gauge now, and the number later.
use super::page::{Forms, address, shown, the_piece};
use crate::shop::AttachmentKind;
use crate::web::{
    Ctx, Fault, Form,
    bench::scene::Scene,
    form::{again, to},
    pictures::{FILES, Sent, wait},
};
use crate::{
    store::{
        attachments::{self, Attachment},
        evidence::Piece,
    },
    work::photographs::{Told, keep},
};
use axum::{extract::Path, response::Response};

/// The photograph that a reading is typed from, where the form names one.
pub async fn of(ctx: &Ctx, piece: &Piece, form: &mut Form) -> Result<Option<Attachment>, Fault> {
    let name = form.get("photograph").to_owned();
    if name.is_empty() {
        return Ok(None);
    }
    let mut conn = ctx.app.store.read().await?;
    let found = attachments::of_piece(&mut conn, piece.id)
        .await?
        .into_iter()
        .find(|a| a.sha256 == name);
    if found.is_none() {
        form.wrong("", "That photograph does not belong to this gauge.");
    }
    Ok(found)
}

/// A photograph of the gauge is kept.
pub async fn enter(
    ctx: Ctx,
    Path((number, mark)): Path<(i64, String)>,
    mut sent: Sent,
) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let piece = the_piece(&ctx, &scene, &mark).await?;
    let pictures = sent.pictures(&ctx.app).await?;
    let mut form = sent.form;
    if pictures.is_empty() && form.error(FILES).is_none() {
        form.wrong(FILES, "Take a photograph of the gauge.");
    }
    let at = form.when("at", &ctx.zone, ctx.now);
    if form.is_right() {
        let told = Told {
            kind: AttachmentKind::Photograph,
            says: "the gauge".into(),
            evidence: Some(piece.id),
            at,
        };
        let done = keep(
            &ctx.app.store,
            &ctx.app.files,
            &ctx.actor,
            form.deed,
            scene.order.id,
            told,
            pictures.clone(),
            ctx.now,
        )
        .await;
        if form.settle(done)? {
            return Ok(to(address(number, piece)));
        }
    }
    wait(&ctx.app, &mut form, &pictures)?;
    let status = form.status();
    Ok(again(
        status,
        shown(
            &ctx,
            &scene,
            &mark,
            Forms {
                photograph: form,
                ..Forms::default()
            },
        )
        .await?,
    ))
}
