//! Photographs of an order, from the tablet's camera.
use super::{
    App, Ctx, Fault, Field, Form, Kind, Page,
    access::Access,
    ending::finish,
    form::Typed,
    pictures::{FILES, Sent, wait},
    route::{Route, get, post},
};
use crate::shop::AttachmentKind;
use crate::{
    store::{
        attachments,
        evidence::{self, Body, Piece},
    },
    work::photographs::{Told, keep, path},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/photographs", Access::STAFF, show),
        post("/orders/{number}/photographs", Access::STAFF, enter),
        get("/photographs/{sha256}", Access::STAFF, file),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "order/photographs.html")]
struct PhotographsPage {
    page: Page,
    number: i64,
    pictures: Vec<Picture>,
    form: Form,
    fields: Vec<Field>,
}

struct Picture {
    sha256: String,
    says: String,
}

const KINDS: [(&str, &str); 3] = [
    ("photograph", "the car"),
    ("receipt", "a receipt"),
    ("signed-estimate", "the signed estimate"),
];

async fn page(ctx: &Ctx, number: i64, form: Form) -> Result<PhotographsPage, Fault> {
    let order = ctx.order(number).await?;
    let mut conn = ctx.app.store.read().await?;
    let pieces = evidence::of_order(&mut conn, order.id).await?;
    let name = |p: &Piece| match &p.body {
        Body::Part(part) => crate::shop::written::part(part),
        body => body.place().to_owned(),
    };
    let pictures = attachments::of_order(&mut conn, order.id)
        .await?
        .into_iter()
        .map(|a| {
            let of = a
                .evidence
                .and_then(|id| pieces.iter().find(|p| p.id == id))
                .map(name);
            let says: Vec<String> = of
                .into_iter()
                .chain([a.says.clone()])
                .filter(|s| !s.is_empty())
                .collect();
            let says = if says.is_empty() {
                KINDS
                    .iter()
                    .find(|k| k.0 == a.kind.word())
                    .map_or("", |k| k.1)
                    .to_owned()
            } else {
                says.join(": ")
            };
            Picture {
                sha256: a.sha256,
                says,
            }
        })
        .collect();
    let shown: Vec<(String, String)> = pieces
        .iter()
        .filter(|p| {
            matches!(
                p.body,
                Body::Part(_) | Body::Joint(_) | Body::Fixing(_) | Body::Leak(_)
            )
        })
        .map(|p| (p.mark.clone(), name(p)))
        .collect();
    let mut fields = vec![
        files_field(&form).required(),
        form.tiles("kind", "Kind", KINDS),
    ];
    if !shown.is_empty() {
        fields.push(
            form.select("piece", "Shows", shown)
                .hint("Blank = the whole car."),
        );
    }
    fields.push(form.field("says", "Description"));
    Ok(PhotographsPage {
        page: Page::of(ctx, format!("Photographs, order {number}"), "/orders"),
        number,
        pictures,
        fields,
        form,
    })
}

/// The field of the files.
pub fn files_field(form: &Form) -> Field {
    form.field(FILES, "Photographs")
        .kind(Kind::File)
        .hint("JPEG, PNG or WebP, at most 20 MB each. Place and camera data are removed.")
}

async fn show(
    ctx: Ctx,
    Path(number): Path<i64>,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<PhotographsPage, Fault> {
    let mut form = kept.sent_to(&format!("/orders/{number}/photographs"));
    if let Some(mark) = query.get("piece").filter(|_| form.is_empty()) {
        form.set("piece", mark.clone());
    }
    page(&ctx, number, form).await
}

async fn enter(ctx: Ctx, Path(number): Path<i64>, mut sent: Sent) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let pictures = sent.pictures(&ctx.app).await?;
    let mut form = sent.form;
    if pictures.is_empty() && form.error(FILES).is_none() {
        form.wrong(FILES, "Choose a photograph, or take one.");
    }
    let evidence = match form.get("piece").to_owned() {
        mark if mark.is_empty() => None,
        mark => {
            let mut conn = ctx.app.store.read().await?;
            let found = evidence::of_order(&mut conn, order.id)
                .await?
                .into_iter()
                .find(|p| p.mark == mark)
                .map(|p| p.id);
            if found.is_none() {
                form.wrong("piece", "That entry is no longer on record.");
            }
            found
        }
    };
    let mut done = None;
    if form.is_right() {
        let kind =
            AttachmentKind::from_word(form.get("kind")).unwrap_or(AttachmentKind::Photograph);
        let told = Told {
            kind,
            says: form.text("says"),
            evidence,
            at: None,
        };
        done = Some(
            keep(
                &ctx.app.store,
                &ctx.app.files,
                &ctx.actor,
                form.deed,
                order.id,
                told,
                pictures.clone(),
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}/photographs?kept=1"),
        async |mut form| {
            wait(&ctx.app, &mut form, &pictures)?;
            page(&ctx, number, form).await
        },
    )
    .await
}

async fn file(State(app): State<App>, Path(name): Path<String>) -> Result<Response, Fault> {
    let path = path(&app.files, &name).ok_or_else(|| Fault::missing("photograph"))?;
    let bytes = tokio::fs::read(path)
        .await
        .map_err(|_| Fault::missing("photograph"))?;
    Ok((
        StatusCode::OK,
        [(header::CONTENT_TYPE, "image/jpeg")],
        bytes,
    )
        .into_response())
}
