//! Evacuations and holds: begun with a gauge, read, ended. The answer to each reading stands above the entry.
pub mod begin;
mod drawn;
mod page;
mod photograph;
mod reading;
mod without_number;

pub use drawn::curve;
pub use page::{Running, address, blank_page, kept_page, of_deed, running};

use super::{
    frame::{entry, kept_before},
    scene::Scene,
    twice,
};
use crate::{
    store::evidence::{Body, Kind},
    web::{
        Ctx, Fault, Form,
        access::Access,
        form::{Typed, again, to},
        route::{Route, get, post},
    },
    work::evidence::{Change, as_version, keep},
};
use axum::{
    extract::{Path, Query},
    response::Response,
};
use page::{Forms, HoldPage, shown, the_piece};
use reading::sorted;
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/holds/{mark}", Access::BENCH, show),
        post(
            "/orders/{number}/holds/{mark}/readings",
            Access::BENCH,
            read,
        ),
        post("/orders/{number}/holds/{mark}/end", Access::BENCH, end),
        post(
            "/orders/{number}/holds/{mark}/photographs",
            Access::BENCH,
            photograph::enter,
        ),
    ]
}

async fn show(
    ctx: Ctx,
    Path((number, mark)): Path<(i64, String)>,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<HoldPage, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let address = format!("/orders/{number}/holds/{mark}");
    let mut form = kept.sent_to(&format!("{address}/readings"));
    if let Some(old) = query
        .get("piece")
        .and_then(|mark| scene.piece(mark))
        .filter(|p| form.is_empty() && p.kind() == Kind::Reading)
    {
        reading::fill(&ctx, &mut form, old);
    }
    if let Some(sha256) = query.get("photograph").filter(|_| form.is_empty()) {
        form.set("photograph", sha256.clone());
    }
    let forms = Forms {
        reading: form,
        end: kept.sent_to(&format!("{address}/end")),
        photograph: kept.sent_to(&format!("{address}/photographs")),
    };
    shown(&ctx, &scene, &mark, forms).await
}

async fn read(
    ctx: Ctx,
    Path((number, mark)): Path<(i64, String)>,
    mut form: Form,
) -> Result<Response, Fault> {
    let ctx = ctx.in_units_of(&form);
    let scene = Scene::of(&ctx, number).await?;
    let piece = the_piece(&ctx, &scene, &mark).await?;
    if kept_before(&ctx, &form).await? {
        return Ok(to(address(number, piece)));
    }
    let sent = form.deed;
    let picture = photograph::of(&ctx, piece, &mut form).await?;
    let new = if twice::decided(&scene, &mut form) {
        reading::read(&ctx, piece, &mut form, &scene, picture.as_ref())
    } else {
        None
    };
    if let Some(new) = new {
        let corrected = scene
            .piece(form.get("piece"))
            .filter(|p| p.parent == Some(piece.id));
        let change = match corrected {
            Some(old) => Change::Revise {
                id: old.id,
                seen: form.get("seen").parse().unwrap_or(0),
                version: new.version,
            },
            None => Change::Add(new),
        };
        let entry = entry(&form, "reading-taken", scene.order.id);
        let done = keep(&ctx.app.store, &ctx.actor, entry, vec![change], ctx.now).await;
        if form.settle(done)? {
            return Ok(to(address(number, piece)));
        }
    }
    let scene = Scene::of(&ctx, number).await?;
    if form.deed != sent {
        twice::note_first(&ctx, &scene, &mut form, sent, |kind| kind == Kind::Reading).await?;
    }
    let status = form.status();
    Ok(again(
        status,
        shown(
            &ctx,
            &scene,
            &mark,
            Forms {
                reading: form,
                ..Forms::default()
            },
        )
        .await?,
    ))
}

async fn end(
    ctx: Ctx,
    Path((number, mark)): Path<(i64, String)>,
    mut form: Form,
) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let piece = the_piece(&ctx, &scene, &mark).await?;
    if kept_before(&ctx, &form).await? {
        return Ok(to(address(number, piece)));
    }
    let last = sorted(&scene, piece).last().and_then(|r| r.at).or(piece.at);
    let at = form.when("ended", &ctx.zone, ctx.now);
    if at.zip(last).is_some_and(|(at, last)| at < last) {
        form.wrong(
            "ended",
            format!(
                "The last reading is later: {}.",
                last.map(|l| ctx.zone.short(l, ctx.now)).unwrap_or_default()
            ),
        );
    }
    if let Some(at) = at.filter(|_| form.is_right()) {
        let mut version = as_version(piece);
        match &mut version.body {
            Body::Evacuation(e) => e.ended_at = Some(at.into()),
            Body::Hold(e) => e.ended_at = Some(at.into()),
            _ => {}
        }
        let kind = if piece.kind() == Kind::Hold {
            "hold-ended"
        } else {
            "evacuation-ended"
        };
        let entry = entry(&form, kind, scene.order.id);
        let done = keep(
            &ctx.app.store,
            &ctx.actor,
            entry,
            vec![Change::Revise {
                id: piece.id,
                seen: piece.seq,
                version,
            }],
            ctx.now,
        )
        .await;
        if form.settle(done)? {
            return Ok(to(address(number, piece)));
        }
    }
    let status = form.status();
    let scene = Scene::of(&ctx, number).await?;
    Ok(again(
        status,
        shown(
            &ctx,
            &scene,
            &mark,
            Forms {
                end: form,
                ..Forms::default()
            },
        )
        .await?,
    ))
}
