//! People: added, changed, retired; one owner always stays.
use super::super::{
    Ctx, Fault, Field, Form, Kind, Page,
    access::Access,
    ending::finish,
    form::Typed,
    route::{Route, get, post},
};
use crate::{
    shop::{PersonId, Roles, instant::show_date},
    store::people::{self, Person},
    work::people::{add_person, change_person},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Query, response::Response};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/shop/people", Access::OWNER, show),
        post("/shop/people", Access::OWNER, keep),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "shop/people.html")]
struct PeoplePage {
    page: Page,
    lines: Vec<(String, String, String)>,
    form: Form,
    fields: Vec<Field>,
    changing: bool,
}

async fn show(
    ctx: Ctx,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<PeoplePage, Fault> {
    let mut form = kept.sent_to("/shop/people");
    if let (Some(id), true) = (
        query.get("id").and_then(|i| i.parse::<PersonId>().ok()),
        form.is_empty(),
    ) {
        let mut conn = ctx.app.store.read().await?;
        let p = people::find(&mut conn, id)
            .await?
            .ok_or_else(|| Fault::missing("person"))?;
        for (name, value) in [
            ("id", p.id.to_string()),
            ("version", p.version.to_string()),
            ("name", p.name),
            ("certificate", p.certificate),
            ("certificate_until", p.certificate_until.unwrap_or_default()),
            (
                "retired",
                if p.retired_at.is_some() {
                    "yes".into()
                } else {
                    String::new()
                },
            ),
        ] {
            form.set(name, value);
        }
        for role in p.roles.list() {
            form.add("roles", role.word());
        }
    }
    page(&ctx, form).await
}

async fn page(ctx: &Ctx, form: Form) -> Result<PeoplePage, Fault> {
    let everybody = {
        let mut conn = ctx.app.store.read().await?;
        people::all(&mut conn).await?
    };
    let today = ctx.zone.iso_date(ctx.now);
    let lines = everybody
        .into_iter()
        .map(|p| {
            let until = p
                .certificate_until
                .as_deref()
                .map(|d| {
                    format!(
                        ", {} {}",
                        if d < today.as_str() {
                            "expired"
                        } else {
                            "valid to"
                        },
                        show_date(d)
                    )
                })
                .unwrap_or_default();
            let certificate = if p.certificate.is_empty() {
                String::new()
            } else {
                format!("; certificate {}{until}", p.certificate)
            };
            let retired = if p.retired_at.is_some() {
                "; no longer works here"
            } else {
                ""
            };
            (
                p.name,
                format!("{}{certificate}{retired}", p.roles.words()),
                format!("/shop/people?id={}", p.id),
            )
        })
        .collect();
    let changing = !form.get("id").is_empty();
    let mut fields = vec![
        form.field("name", "Name")
            .hint("As printed on documents.")
            .required(),
        form.many(
            "roles",
            "Roles",
            [
                ("desk", "front desk"),
                ("technician", "technician"),
                ("owner", "owner"),
            ],
        )
        .required(),
        Field {
            value: String::new(),
            ..form
                .field("pin", if changing { "New code" } else { "Code" })
                .kind(Kind::Code)
                .hint(if changing {
                    "Leave blank to keep the present code."
                } else {
                    "Six digits or more."
                })
        },
        form.field("certificate", "Refrigerant handling certificate"),
        form.field("certificate_until", "Valid to").kind(Kind::Date),
    ];
    if changing {
        fields.extend([
            form.field("id", "").kind(Kind::Hidden),
            form.field("version", "").kind(Kind::Hidden),
            form.tick("retired", "No longer works here"),
        ]);
    }
    Ok(PeoplePage {
        page: Page::of(ctx, "People", "/shop"),
        lines,
        form,
        fields,
        changing,
    })
}

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mut done = None;
    if let Some((person, is_new)) = read(&ctx, &mut form).await? {
        done = Some(if is_new {
            add_person(&ctx.app.store, &ctx.actor, form.deed, &person, ctx.now).await
        } else {
            change_person(&ctx.app.store, &ctx.actor, form.deed, &person, ctx.now).await
        });
    }
    finish(&ctx, form, done, "/shop/people?kept=1", async |form| {
        page(&ctx, form).await
    })
    .await
}

async fn read(ctx: &Ctx, form: &mut Form) -> Result<Option<(Person, bool)>, Fault> {
    let before = match form.get("id").parse::<PersonId>() {
        Ok(id) => {
            let mut conn = ctx.app.store.read().await?;
            Some(
                people::find(&mut conn, id)
                    .await?
                    .ok_or_else(|| Fault::missing("person"))?,
            )
        }
        Err(_) => None,
    };
    let name = form.need("name", "Enter the name.");
    let roles = Roles::from_words(form.all("roles"));
    if roles.list().next().is_none() {
        form.wrong("roles", "Choose at least one.");
    }
    let code_hash = match (form.get("pin"), &before) {
        ("", Some(p)) => Some(p.code_hash.clone()),
        (pin, _) => {
            let pin = pin.to_owned();
            ctx.app
                .codes
                .hash(&pin)
                .map_err(|says| form.wrong("pin", says))
                .ok()
        }
    };
    let certificate = form.text("certificate");
    let certificate_until = form.date("certificate_until");
    let (Some(name), Some(code_hash), true) = (name, code_hash, form.is_right()) else {
        return Ok(None);
    };
    let is_new = before.is_none();
    let person = Person {
        id: before.as_ref().map_or_else(PersonId::fresh, |p| p.id),
        name,
        roles,
        code_hash,
        certificate,
        certificate_until,
        retired_at: form.ticked("retired").then_some(ctx.now),
        version: form.get("version").parse().unwrap_or(1),
    };
    Ok(Some((person, is_new)))
}
