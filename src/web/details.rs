//! What is not evidence of an order: promise, technician, complaint; cancelling; the printed job card.
use super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    bench::Scene,
    estimate::{Account, view},
    form::{Typed, again, to},
    intake::{label_fields, label_into, read_label},
    router::{Route, get, post},
};
use crate::{
    shop::{PersonId, Role, layout},
    store::{evidence::Kind as Evidence, orders::Order, people},
    work::{
        evidence::{Change, Entry, INTAKE, as_version, keep as keep_evidence},
        orders::{cancel, change},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Path, response::Response};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/details", Access::DESK, show),
        post("/orders/{number}/details", Access::DESK, keep),
        post("/orders/{number}/label", Access::STAFF, keep_label),
        post("/orders/{number}/cancel", Access::DESK, stop),
        get("/orders/{number}/card", Access::STAFF, card),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "order/details.html")]
struct DetailsPage {
    page: Page,
    number: i64,
    form: Form,
    sets: Vec<Fieldset>,
    label_form: Form,
    label_sets: Vec<Fieldset>,
    cancel_form: Form,
}

async fn show(ctx: Ctx, Path(number): Path<i64>, Typed(kept): Typed) -> Result<DetailsPage, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let mut form = kept.sent_to(&format!("/orders/{number}/details"));
    if form.is_empty() {
        let o = &scene.order;
        for (name, value) in [
            ("version", o.version.to_string()),
            ("complaint", o.complaint.clone()),
            ("damage", o.damage.clone()),
            ("keys", o.keys.clone()),
            ("promised", o.promised_at.map(|at| ctx.zone.field(at)).unwrap_or_default()),
            ("technician", o.technician.map(|t| t.to_string()).unwrap_or_default()),
            ("odometer", o.odometer.map(|o| o.to_string()).unwrap_or_default()),
        ] {
            form.set(name, value);
        }
    }
    let label = kept.sent_to(&format!("/orders/{number}/label"));
    page(&ctx, &scene, form, label).await
}

async fn page(ctx: &Ctx, scene: &Scene, form: Form, mut label: Form) -> Result<DetailsPage, Fault> {
    let number = scene.order.number;
    if label.is_empty()
        && let Some(system) = scene.of_kinds(&[Evidence::System]).next()
    {
        label_into(&system.body, &mut label);
        label.set("seen", system.seq.to_string());
    }
    let technicians: Vec<_> = {
        let mut conn = ctx.app.store.read().await?;
        people::all(&mut conn)
            .await?
            .into_iter()
            .filter(|p| p.retired_at.is_none() && p.roles.has(Role::Technician))
            .map(|p| (p.id.to_string(), p.name))
            .collect()
    };
    let fields = vec![
        form.field("version", "").kind(Kind::Hidden),
        form.field("promised", "Promised for").kind(Kind::DateTime),
        form.select("technician", "Who works on it", technicians),
        form.field("complaint", "Complaint").kind(Kind::Long).required(),
        form.field("damage", "Visible damage and earlier repairs").kind(Kind::Long),
        form.field("keys", "Keys"),
        form.field("odometer", "Odometer").number(&scene.order.odometer_unit),
    ];
    let mut label_set = label_fields(&label);
    label_set.push(label.field("seen", "").kind(Kind::Hidden));
    Ok(DetailsPage {
        page: Page::of(ctx, format!("Details, order {number}"), "/orders"),
        number,
        sets: vec![Fieldset { fields, ..Fieldset::default() }],
        label_sets: vec![Fieldset {
            legend: "The label under the bonnet".into(),
            intro: "A change is a correction: what was recorded before stays on record.".into(),
            fields: label_set,
        }],
        form,
        label_form: label,
        cancel_form: Form::default(),
    })
}

async fn keep(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    if let Some(changed) = read(&ctx, &scene.order, &mut form) {
        let done = change(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), &changed, ctx.now).await;
        if form.settle(done)? {
            return Ok(to(format!("/orders/{number}?kept=1")));
        }
    }
    let status = form.status();
    Ok(again(status, page(&ctx, &scene, form, Form::default()).await?))
}

fn read(ctx: &Ctx, order: &Order, form: &mut Form) -> Option<Order> {
    let complaint = form.need("complaint", "Write what the customer says.");
    let promised_at = match form.get("promised").to_owned() {
        text if text.is_empty() => None,
        text => ctx.zone.parse_field(&text).or_else(|| {
            form.wrong("promised", "Write date and time, 2026-05-12 16:00.");
            None
        }),
    };
    let odometer = match form.get("odometer").replace(' ', "") {
        text if text.is_empty() => None,
        text => text.parse::<i64>().ok().filter(|n| *n >= 0).or_else(|| {
            form.wrong("odometer", "Write a whole number.");
            None
        }),
    };
    let (damage, keys) = (form.text("damage"), form.text("keys"));
    if !form.is_right() {
        return None;
    }
    let version = form.get("version").parse().unwrap_or(0);
    let technician = form.get("technician").parse::<PersonId>().ok();
    Some(Order { complaint: complaint?, damage, keys, odometer, promised_at, technician, version, ..order.clone() })
}

async fn keep_label(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    if let (Some(mut label), Some(system)) = (read_label(&mut form), scene.of_kinds(&[Evidence::System]).next()) {
        // What this form does not ask stays as it was.
        for key in ["charge_in_force", "compressor_failed"] {
            if let Some(value) = system.body.get(key) {
                label.insert(key.into(), value.clone());
            }
        }
        let mut version = as_version(system);
        version.body = label;
        let seen = form.get("seen").parse().unwrap_or(0);
        let entry = Entry { deed: form.deed, kind: "label-corrected", order: scene.order.id, form: form.fingerprint(), roles: INTAKE };
        let done = keep_evidence(&ctx.app.store, &ctx.actor, entry, vec![Change::Revise { id: system.id, seen, version }], ctx.now).await;
        if form.settle(done)? {
            return Ok(to(format!("/orders/{number}?kept=1")));
        }
    }
    let status = form.status();
    Ok(again(status, page(&ctx, &scene, Form::default(), form).await?))
}

async fn stop(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let Some(why) = form.need("why", "Write why it is cancelled.") else { return Err(Fault::Senseless("Write why it is cancelled; nothing was kept.".into())) };
    let done = cancel(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), &order, &why, ctx.now).await;
    if form.settle(done)? {
        return Ok(to(format!("/orders/{number}")));
    }
    Err(Fault::Conflict("This order is closed or was changed meanwhile.".into()))
}

#[derive(Template, WebTemplate)]
#[template(path = "order/card.html")]
struct CardPage {
    page: Page,
    order: Order,
    shop: String,
    opened: String,
    promised: String,
    label: String,
    lines: Vec<String>,
    joints: Vec<&'static str>,
}

async fn card(ctx: Ctx, Path(number): Path<i64>) -> Result<CardPage, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let account = Account::of(&ctx, &scene.order).await?;
    let label =
        ["refrigerant", "charge", "oil_type", "oil_total", "compressor_drive", "metering"].map(|k| scene.system(k).replace('-', " ").replace("R ", "R-"));
    Ok(CardPage {
        page: Page { units_switch: None, ..Page::of(&ctx, format!("Job card, order {number}"), "/orders") },
        shop: ctx.shop.name.clone(),
        opened: ctx.zone.date_and_clock(scene.order.opened_at),
        promised: scene.order.promised_at.map(|at| ctx.zone.date_and_clock(at)).unwrap_or_default(),
        label: label.into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", "),
        lines: account.lines.iter().filter(|l| l.counts()).map(|l| view(&ctx, l)).map(|l| format!("{} {} {}", l.says, l.state, l.quantity)).collect(),
        joints: layout::joints(scene.system("metering"), scene.evaporators()).iter().map(|p| p.says).collect(),
        order: scene.order,
    })
}
