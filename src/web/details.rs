//! What is not evidence of an order: promise, technician, complaint; cancelling; the printed job card.
use super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    account::{Account, view},
    bench::Scene,
    conversion,
    ending::finish,
    form::{Typed, measured},
    intake::{
        label_fields, label_into, number_of, previous_fields, previous_into, read_label,
        read_previous, unit_of,
    },
    route::{Route, get, post},
};
use crate::{
    shop::{PersonId, Role, layout, written::told},
    store::{
        evidence::{Own, Version},
        orders::Order,
        people,
    },
    work::{
        evidence::{Change, Entry, INTAKE, NewPiece, as_version, keep as keep_evidence},
        orders::{cancel, change},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Path, response::Response};
use chillwright_calc::{
    checks::limits::Limits,
    record::{ChargeInForce, Drive, PreviousCharge, Refrigerant, System},
};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders/{number}/details", Access::DESK, show),
        post("/orders/{number}/details", Access::DESK, keep),
        post("/orders/{number}/label", Access::STAFF, keep_label),
        post(
            "/orders/{number}/previous-charge",
            Access::STAFF,
            keep_previous,
        ),
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
    previous_form: Form,
    previous_set: Fieldset,
    cancel_form: Form,
}

async fn show(ctx: Ctx, Path(number): Path<i64>, Typed(kept): Typed) -> Result<DetailsPage, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    page(&ctx, &scene, &kept).await
}

/// The page; `typed` is one of its forms, shown again.
async fn page(ctx: &Ctx, scene: &Scene, typed: &Form) -> Result<DetailsPage, Fault> {
    let number = scene.order.number;
    let its = |word: &str| typed.sent_to(&format!("/orders/{number}/{word}"));
    let (mut form, mut label, mut previous) =
        (its("details"), its("label"), its("previous-charge"));
    if form.is_empty() {
        let o = &scene.order;
        for (name, value) in [
            ("version", o.version.to_string()),
            ("complaint", o.complaint.clone()),
            ("damage", o.damage.clone()),
            ("keys", o.keys.clone()),
            (
                "promised",
                o.promised_at
                    .map(|at| ctx.zone.field(at))
                    .unwrap_or_default(),
            ),
            (
                "technician",
                o.technician.map(|t| t.to_string()).unwrap_or_default(),
            ),
            (
                "odometer",
                o.odometer.map(|o| o.to_string()).unwrap_or_default(),
            ),
        ] {
            form.set(name, value);
        }
    }
    if label.is_empty()
        && let Some((piece, system)) = scene.each::<System>().next()
    {
        label_into(system, &mut label);
        in_force_into(system, &mut label);
        conversion::into(system, &mut label);
        label.set("seen", piece.seq.to_string());
    }
    if previous.is_empty()
        && let Some((piece, charge)) = scene.each::<PreviousCharge>().next()
    {
        previous_into(ctx, charge, &mut previous);
        previous.set("seen", piece.seq.to_string());
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
        form.select("technician", "Technician", technicians),
        form.field("complaint", "Complaint")
            .kind(Kind::Long)
            .required(),
        form.field("damage", "Visible damage and earlier repairs")
            .kind(Kind::Long),
        form.field("keys", "Keys"),
        form.field("odometer", "Odometer")
            .number(&scene.order.odometer_unit),
    ];
    let mut label_set = label_fields(&label, &Limits::of(&scene.record.limits));
    label_set.push(label.field("seen", "").kind(Kind::Hidden));
    Ok(DetailsPage {
        page: Page::of(ctx, format!("Details, order {number}"), "/orders"),
        number,
        sets: vec![Fieldset { fields, ..Fieldset::default() }],
        label_sets: vec![
            Fieldset {
                legend: "Label under the bonnet".into(),
                intro: "A change is saved as a correction. What was recorded before stays on record.".into(),
                fields: label_set,
            },
            in_force_fields(&label),
            conversion::fields(&label),
        ],
        previous_set: Fieldset {
            legend: "Last charged".into(),
            intro: "The loss since then is calculated from it. A change is saved as a correction. Leave both fields blank if it is not known.".into(),
            fields: previous_fields(&previous).into_iter().chain([previous.field("seen", "").kind(Kind::Hidden)]).collect(),
        },
        form,
        label_form: label,
        previous_form: previous,
        cancel_form: its("cancel"),
    })
}

async fn keep(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let mut done = None;
    if let Some(changed) = read(&ctx, &scene.order, &mut form) {
        done = Some(
            change(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &changed,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}?kept=1"),
        async |form| page(&ctx, &scene, &form).await,
    )
    .await
}

fn read(ctx: &Ctx, order: &Order, form: &mut Form) -> Option<Order> {
    let complaint = form.need("complaint", "Enter the customer’s complaint.");
    let promised_at = match form.get("promised").to_owned() {
        text if text.is_empty() => None,
        text => ctx.zone.parse_field(&text).or_else(|| {
            form.wrong(
                "promised",
                "Enter date and time, for example 2026-05-12 16:00.",
            );
            None
        }),
    };
    let odometer = match form.get("odometer").replace(' ', "") {
        text if text.is_empty() => None,
        text => text.parse::<i64>().ok().filter(|n| *n >= 0).or_else(|| {
            form.wrong("odometer", "Enter a whole number.");
            None
        }),
    };
    let (damage, keys) = (form.text("damage"), form.text("keys"));
    if !form.is_right() {
        return None;
    }
    let version = form.get("version").parse().unwrap_or(0);
    let technician = form.get("technician").parse::<PersonId>().ok();
    Some(Order {
        complaint: complaint?,
        damage,
        keys,
        odometer,
        promised_at,
        technician,
        version,
        ..order.clone()
    })
}

async fn keep_label(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let in_force = read_in_force(&mut form);
    let mut done = None;
    let mut converted = System::new(Refrigerant::Other);
    conversion::read(&mut form, &mut converted);
    if let (Some(label), Some((system, was))) =
        (read_label(&mut form), scene.each::<System>().next())
    {
        let System {
            test_pressure_most,
            converted_from,
            conversion,
            ..
        } = converted;
        // What this form does not ask stays as it was.
        let compressor_failed = was.compressor_failed.clone();
        let label = System {
            compressor_failed,
            charge_in_force: in_force,
            test_pressure_most,
            converted_from,
            conversion,
            ..label
        };
        let own = Own {
            volume: system.own.volume.clone(),
            ..Own::default()
        };
        let version = Version {
            body: label.into(),
            own,
            ..as_version(system)
        };
        let seen = form.get("seen").parse().unwrap_or(0);
        let entry = Entry {
            deed: form.deed,
            kind: "label-corrected",
            order: scene.order.id,
            form: form.fingerprint(),
            roles: INTAKE,
            tablet: None,
        };
        done = Some(
            keep_evidence(
                &ctx.app.store,
                &ctx.actor,
                entry,
                vec![Change::Revise {
                    id: system.id,
                    seen,
                    version,
                }],
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}?kept=1"),
        async |form| page(&ctx, &scene, &form).await,
    )
    .await
}

async fn keep_previous(
    ctx: Ctx,
    Path(number): Path<i64>,
    mut form: Form,
) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let was = scene
        .each::<PreviousCharge>()
        .next()
        .map(|(piece, _)| piece);
    let now = read_previous(&ctx, &mut form);
    if was.is_none() && now.is_none() {
        form.wrong("previous_on", "Enter the date, the charge, or both.");
    }
    let mut done = None;
    if form.is_right() {
        let change = match (was, now) {
            (Some(piece), now) => {
                let version = Version {
                    withdrawn: now.is_none(),
                    body: now.map_or_else(|| piece.body.clone(), Into::into),
                    ..as_version(piece)
                };
                Change::Revise {
                    id: piece.id,
                    seen: form.get("seen").parse().unwrap_or(0),
                    version,
                }
            }
            (None, now) => Change::Add(NewPiece::new(now.unwrap_or_default(), None)),
        };
        let entry = Entry {
            deed: form.deed,
            kind: "previous-charge-corrected",
            order: scene.order.id,
            form: form.fingerprint(),
            roles: INTAKE,
            tablet: None,
        };
        done = Some(keep_evidence(&ctx.app.store, &ctx.actor, entry, vec![change], ctx.now).await);
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}?kept=1"),
        async |form| page(&ctx, &scene, &form).await,
    )
    .await
}

async fn stop(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let mut done = None;
    if let Some(why) = form.need("why", "Enter the reason for cancelling.") {
        done = Some(
            cancel(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &scene.order,
                &why,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}"),
        async |form| page(&ctx, &scene, &form).await,
    )
    .await
}

/// The charge that holds instead of the label's.
fn in_force_fields(form: &Form) -> Fieldset {
    Fieldset {
        legend: "Different charge specified".into(),
        intro: "If the label’s charge no longer applies: a condenser of different capacity, a later maker’s specification. The reason is printed.".into(),
        fields: vec![
            form.field("instead", "Charge instead of the label’s").number("in the label’s unit"),
            form.field("instead_tolerance", "Tolerance ±").number("in the same unit"),
            form.field("instead_why", "Reason"),
        ],
    }
}

fn in_force_into(system: &System, form: &mut Form) {
    let Some(ChargeInForce {
        mass,
        tolerance,
        why,
    }) = &system.charge_in_force
    else {
        return;
    };
    // It has the label's unit, or where the label has no charge its own.
    if form.get("charge_unit").is_empty() {
        form.set("charge_unit", unit_of(mass));
    }
    form.set("instead", number_of(mass));
    form.set("instead_tolerance", number_of(tolerance));
    form.set("instead_why", why.as_deref().unwrap_or_default());
}

fn read_in_force(form: &mut Form) -> Option<ChargeInForce> {
    if form.get("instead").is_empty() {
        if !form.get("instead_tolerance").is_empty() || !form.get("instead_why").is_empty() {
            form.wrong("instead", "Enter the charge, or leave all three blank.");
        }
        return None;
    }
    let unit = match form.get("charge_unit") {
        unit @ ("g" | "kg" | "oz" | "lb") => unit.to_owned(),
        _ => {
            form.wrong("charge_unit", "Choose the unit of the charge.");
            return None;
        }
    };
    let why = form.need(
        "instead_why",
        "Enter why the label’s charge no longer applies.",
    );
    let (mass, tolerance) = (
        measured(form, "instead", &unit),
        measured(form, "instead_tolerance", &unit),
    );
    Some(ChargeInForce {
        mass: Some(mass?),
        tolerance,
        why: Some(why?),
    })
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

/// The label on the printed card.
fn on_card(label: &System) -> String {
    let drive = label.compressor_drive.map(|drive| match drive {
        Drive::Electric => "electric compressor, high voltage".to_owned(),
        Drive::Belt => "belt drive".to_owned(),
    });
    let said = [
        Some(label.refrigerant.word().to_owned()),
        label.charge.as_ref().map(|c| told(c.text())),
        label.oil_type.as_deref().map(told),
        label.oil_total.as_ref().map(|v| told(v.text())),
        drive,
        label.metering.map(|m| m.word().replace('-', " ")),
    ];
    said.into_iter()
        .flatten()
        .filter(|s| !s.is_empty())
        .collect::<Vec<_>>()
        .join(", ")
}

async fn card(ctx: Ctx, Path(number): Path<i64>) -> Result<CardPage, Fault> {
    let scene = Scene::of(&ctx, number).await?;
    let account = Account::of(&ctx, &scene.order).await?;
    Ok(CardPage {
        page: Page {
            units_switch: None,
            ..Page::of(&ctx, format!("Order sheet, order {number}"), "/orders")
        },
        shop: ctx.shop.name.clone(),
        opened: ctx.zone.date_and_clock(scene.order.opened_at),
        promised: scene
            .order
            .promised_at
            .map(|at| ctx.zone.date_and_clock(at))
            .unwrap_or_default(),
        label: scene.label().map(on_card).unwrap_or_default(),
        lines: account
            .lines
            .iter()
            .filter(|l| l.counts())
            .map(|l| view(&ctx, l))
            .map(|l| format!("{} {} {}", l.says, l.state, l.quantity))
            .collect(),
        joints: layout::joints(scene.metering(), scene.evaporators())
            .iter()
            .map(|p| p.says)
            .collect(),
        order: scene.order,
    })
}
