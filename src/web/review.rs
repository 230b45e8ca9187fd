//! Review: what needs the owner's word, oldest first. Accepted in writing, or sent back with a reason.
use super::{
    Ctx, Fault, Form, Page,
    access::Access,
    ending::finish,
    form::Typed,
    route::{Route, get, post},
};
use crate::{
    shop::OrderId,
    store::{assessment, orders, sent_back},
    work::concessions::{About, concede, send_back},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Path, response::Response};
use chillwright_calc::record::answer::Weight;
use std::collections::{HashMap, HashSet};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/review", Access::OWNER, show),
        post("/review/{number}/{code}/{about}", Access::OWNER, decide),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "review/page.html")]
struct ReviewPage {
    page: Page,
    waiting: Vec<Waiting>,
    notes: Vec<Told>,
    blocks: usize,
    /// Why a decision was refused whose finding is not asked about any more.
    refused: Vec<String>,
}

struct Waiting {
    order: String,
    href: String,
    why: String,
    says: String,
    next: String,
    since: String,
    action: String,
    /// What was said of it already: accepted once, sent back and answered.
    before: Vec<String>,
    form: Form,
    decision: super::Field,
    binding: String,
}

struct Told {
    order: String,
    href: String,
    why: String,
    says: String,
}

async fn page(ctx: &Ctx, form: Form) -> Result<ReviewPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let orders: HashMap<OrderId, orders::Order> = orders::open(&mut conn)
        .await?
        .into_iter()
        .map(|o| (o.id, o))
        .collect();
    let findings = assessment::open_findings(&mut conn).await?;
    let back = sent_back::all_open(&mut conn).await?;
    let answered = sent_back::answered(&mut conn).await?;
    let every = assessment::all_concessions(&mut conn).await?;
    let done: HashSet<OrderId> = orders
        .keys()
        .copied()
        .filter(|id| {
            findings
                .iter()
                .filter(|f| f.order == *id)
                .all(|f| f.due || f.weight == Weight::Note)
        })
        .collect();
    let (mut waiting, mut notes, mut blocks) = (Vec::new(), Vec::new(), 0);
    for f in findings {
        let Some(order) = orders.get(&f.order).filter(|_| f.due) else {
            continue;
        };
        let name = format!("Order {}, {} {}", order.number, order.car, order.plate);
        match f.weight {
            Weight::Blocks => blocks += 1,
            Weight::Note => notes.push(Told {
                order: name,
                href: format!("/orders/{}", order.number),
                why: format!("/orders/{}/why/{}/{}", order.number, f.code, f.about),
                says: f.said(ctx.units).to_owned(),
            }),
            // Asked only for what is left once nothing is to do any more, or the technician says so.
            _ if !done.contains(&f.order) => {}
            _ => {
                let concessions: Vec<_> = every.iter().filter(|c| c.order == f.order).collect();
                if concessions.iter().any(|c| c.covers(&f.code, &f.about))
                    || back
                        .iter()
                        .any(|s| s.order == f.order && s.code == f.code && s.about == f.about)
                {
                    continue;
                }
                let action = format!("/review/{}/{}/{}", order.number, f.code, f.about);
                waiting.push(Waiting {
                    order: name,
                    href: format!("/orders/{}", order.number),
                    why: format!("/orders/{}/why/{}/{}", order.number, f.code, f.about),
                    before: before(ctx, &f, &concessions, &answered),
                    decision: form.sent_to(&action).tiles(
                        "decision",
                        "Decision",
                        [("accept", "accept in writing"), ("back", "send back")],
                    ),
                    form: form.sent_to(&action),
                    binding: f.binding.to_string(),
                    says: f.said(ctx.units).to_owned(),
                    next: f.next(ctx.units).to_owned(),
                    since: ctx.zone.short(f.since, ctx.now),
                    action,
                });
            }
        }
    }
    let refused = if waiting.iter().any(|w| !w.form.is_right()) {
        Vec::new()
    } else {
        form.general.clone()
    };
    Ok(ReviewPage {
        page: Page::of(ctx, "Review", "/review"),
        waiting,
        notes,
        blocks,
        refused,
    })
}

fn before(
    ctx: &Ctx,
    f: &assessment::Finding,
    concessions: &[&assessment::Concession],
    answered: &[sent_back::Answered],
) -> Vec<String> {
    let lapsed = concessions
        .iter()
        .filter(|c| c.code == f.code && c.about == f.about)
        .filter_map(|c| {
            Some(format!(
                "“{}” is no longer valid. {}",
                c.words,
                c.lapse(ctx.units)?
            ))
        });
    let answers = answered
        .iter()
        .filter(|a| a.order == f.order && a.code == f.code && a.about == f.about)
        .map(|a| {
            format!(
                "Sent back: “{}” {} answered, {}: “{}”",
                a.reason,
                a.name,
                ctx.zone.short(a.at, ctx.now),
                a.says
            )
        });
    lapsed.chain(answers).collect()
}

async fn show(ctx: Ctx, Typed(form): Typed) -> Result<ReviewPage, Fault> {
    page(&ctx, form).await
}

async fn decide(
    ctx: Ctx,
    Path((number, code, about)): Path<(i64, String, String)>,
    mut form: Form,
) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let binding = serde_json::from_str(form.get("binding"))
        .map_err(|_| Fault::Senseless("The form is incomplete. Open Review again.".into()))?;
    let about = About {
        order: order.id,
        code,
        about,
        binding,
        units: ctx.units,
    };
    let words = form.need("words", "Enter the reason. It is printed with your name.");
    let back = form.get("decision") == "back";
    if !matches!(form.get("decision"), "accept" | "back") {
        form.wrong("decision", "Choose accept or send back.");
    }
    let mut done = None;
    if let Some(words) = words.filter(|_| form.is_right()) {
        let fingerprint = form.fingerprint();
        done = Some(if back {
            send_back(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                fingerprint,
                about,
                &words,
                ctx.now,
            )
            .await
        } else {
            concede(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                fingerprint,
                about,
                &words,
                ctx.now,
            )
            .await
        });
    }
    finish(&ctx, form, done, "/review?kept=1", async |form| {
        page(&ctx, form).await
    })
    .await
}
