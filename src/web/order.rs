//! The work order: the ring as map, what stands in the way, the record sheet.
mod frozen;
mod ring;
mod why;

pub use ring::ring_of;

use super::{
    Ctx, Fault, Form, Page,
    access::Access,
    bench::{Scene, hold},
    ending::finish,
    findings::{self, FindingLine},
    form::{Typed, to},
    page::Live,
    route::{Route, get, post},
    stage::StageView,
};
use crate::shop::OrderState;
use crate::{
    shop::Instant,
    store::{assessment, evidence::Kind, orders},
    work::{handover::in_the_way, orders::note},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query},
    http::header,
    response::{IntoResponse, Response},
};
use chillwright_calc::{
    checks::case::Case,
    record::{
        Drive,
        answer::{Finding, Weight},
    },
};
use frozen::Frozen;
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/orders", Access::STAFF, list),
        get("/search", Access::STAFF, search),
        get("/orders/{number}", Access::STAFF, show),
        get("/orders/{number}/record.json", Access::STAFF, record),
        why::route(),
        post("/orders/{number}/notes", Access::STAFF, add_note),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "orders/list.html")]
struct ListPage {
    page: Page,
    heading: String,
    typed: String,
    lines: Vec<OrderLine>,
}

struct OrderLine {
    number: i64,
    plate: String,
    car: String,
    customer: String,
    says: String,
}

fn order_line(ctx: &Ctx, o: orders::Order) -> OrderLine {
    let says = match o.state {
        OrderState::Open => format!("open since {}", ctx.zone.date(o.opened_at)),
        OrderState::Cancelled => format!(
            "cancelled: {}",
            o.cancelled_why.as_deref().unwrap_or_default()
        ),
        OrderState::HandedOver => format!("handed over, opened {}", ctx.zone.date(o.opened_at)),
    };
    OrderLine {
        number: o.number,
        car: o.car_and_year(),
        plate: o.plate,
        customer: o.customer_name,
        says,
    }
}

async fn list(ctx: Ctx) -> Result<ListPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let lines = orders::newest(&mut conn)
        .await?
        .into_iter()
        .map(|o| order_line(&ctx, o))
        .collect();
    Ok(ListPage {
        page: Page::of(&ctx, "Orders", "/orders"),
        heading: "Orders".into(),
        typed: String::new(),
        lines,
    })
}

async fn search(ctx: Ctx, Query(query): Query<HashMap<String, String>>) -> Result<Response, Fault> {
    let typed = query.get("q").cloned().unwrap_or_default();
    let mut conn = ctx.app.store.read().await?;
    let found = orders::search(&mut conn, &typed).await?;
    if let [only] = found.as_slice() {
        return Ok(to(format!("/orders/{}", only.number)));
    }
    let mut page = Page::of(&ctx, "Search", "/orders");
    page.query.clone_from(&typed);
    let lines = found.into_iter().map(|o| order_line(&ctx, o)).collect();
    Ok(ListPage {
        page,
        heading: format!("Search: “{typed}”"),
        typed,
        lines,
    }
    .into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "order/page.html")]
struct OrderPage {
    page: Page,
    order: orders::Order,
    state: String,
    title: String,
    ring: String,
    lines: Vec<FindingLine>,
    stage: Option<StageView>,
    label: String,
    sheet: Vec<Row>,
    /// Told of a closed order that other rules judged.
    other_rules: String,
    vin_says: Option<&'static str>,
    notes: Vec<orders::Note>,
    zone: crate::shop::Zone,
    now: Instant,
    form: Form,
    note_action: String,
    authorised: String,
    beyond: Option<String>,
    can_bench: bool,
    can_desk: bool,
}

struct Row {
    section: &'static str,
    title: &'static str,
    says: String,
    class: &'static str,
    word: &'static str,
    curve: String,
}

async fn show(ctx: Ctx, Path(number): Path<i64>, Typed(kept): Typed) -> Result<OrderPage, Fault> {
    order_page(ctx, number, kept).await
}

async fn order_page(ctx: Ctx, number: i64, form: Form) -> Result<OrderPage, Fault> {
    let scene = Scene::brief(&ctx, number).await?;
    let (concessions, notes) = {
        let mut conn = ctx.app.store.read().await?;
        (
            assessment::concessions(&mut conn, scene.order.id).await?,
            orders::notes(&mut conn, scene.order.id).await?,
        )
    };
    let (beyond, last) = super::account::authorised(&ctx, &scene).await?;
    let authorised = last
        .as_ref()
        .map(|a| {
            format!(
                "authorised {} on {}",
                a.amount.with_currency(&ctx.shop.currency),
                ctx.zone.day(a.at)
            )
        })
        .unwrap_or_default();
    let frozen = Frozen::of(&ctx, &scene).await?;
    let (ring, sheet) = scene.ask(&ctx, |case| match &frozen {
        Some(then) if !then.is_todays() => (
            ring::as_it_was(&ctx, &scene, case, then).svg(),
            sheet(&ctx, &scene, case, &then.findings, Some(then), &concessions),
        ),
        _ => {
            let found = frozen.as_ref().map_or_else(
                || chillwright_calc::checks::rules::findings(case),
                |f| f.findings.clone(),
            );
            (
                ring_of(&ctx, &scene, case, &found, false).svg(),
                sheet(&ctx, &scene, case, &found, None, &concessions),
            )
        }
    });
    let lines = findings::lines(number, &scene.due(), &concessions, ctx.units, |c| {
        format!("{}, {}", c.name, ctx.zone.short(c.at, ctx.now))
    });
    let roles = ctx.actor.roles;
    use crate::shop::Role;
    let note_action = format!("/orders/{number}/notes");
    Ok(OrderPage {
        page: Page {
            live: Some(Live::of(number, scene.seen, format!("/orders/{number}"))),
            ..Page::of(&ctx, format!("Order {number}"), "/orders")
        },
        state: state(&scene, &concessions),
        title: scene.order.car_and_year(),
        ring,
        lines,
        stage: StageView::of(&ctx, &scene, &Form::default()),
        label: label(&scene),
        other_rules: frozen
            .as_ref()
            .filter(|f| !f.is_todays())
            .map(Frozen::says)
            .unwrap_or_default(),
        vin_says: super::intake::vin_told(&scene.order.vin),
        sheet,
        notes,
        zone: ctx.zone.clone(),
        now: ctx.now,
        form: form.sent_to(&note_action),
        note_action,
        authorised,
        beyond,
        can_bench: roles.any(&[Role::Technician, Role::Owner]) && scene.order.is_open(),
        can_desk: roles.any(&[Role::Desk, Role::Owner]),
        order: scene.order,
    })
}

fn state(scene: &Scene, concessions: &[assessment::Concession]) -> String {
    match scene.order.state {
        OrderState::HandedOver => return "Handed over.".into(),
        OrderState::Cancelled => {
            return format!(
                "Cancelled: {}",
                scene.order.cancelled_why.as_deref().unwrap_or_default()
            );
        }
        OrderState::Open => {}
    }
    let due = scene.due();
    let way = in_the_way(&due, concessions);
    if !assessment::is_done(&scene.findings) {
        return match way.iter().any(|f| f.weight == Weight::Blocks) {
            true => "Work in progress. Something is blocking.".into(),
            false => "Work in progress.".into(),
        };
    }
    let blocks = way.iter().filter(|f| f.weight == Weight::Blocks).count();
    let owner = way.len() - blocks;
    match (blocks, owner) {
        (0, 0) => "Ready to hand over as repaired.".into(),
        (0, _) => "Waiting for the owner’s decision.".into(),
        (_, 0) => "Work to finish at the bench.".into(),
        _ => "Work to finish, then the owner’s decision.".into(),
    }
}

fn label(scene: &Scene) -> String {
    let Some(label) = scene.label() else {
        return String::new();
    };
    let tolerance = label
        .charge_tolerance
        .as_ref()
        .map(|t| format!(" ± {t}"))
        .unwrap_or_default();
    let drive = label.compressor_drive.map(|drive| match drive {
        Drive::Electric => "electric compressor, high voltage".to_owned(),
        Drive::Belt => drive.word().to_owned(),
    });
    let said = [
        Some(label.refrigerant.word().to_owned()),
        label
            .charge
            .as_ref()
            .map(|charge| format!("{charge}{tolerance}")),
        label.oil_type.clone(),
        label.oil_total.as_ref().map(ToString::to_string),
        drive,
        label.metering.map(|m| m.word().replace('-', " ")),
    ];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// The sheet. Where `other` rules judged, their sentences stand in it, and of what they did not speak about only that it is on record.
fn sheet(
    ctx: &Ctx,
    scene: &Scene,
    case: &Case<'_>,
    findings: &[Finding],
    other: Option<&Frozen>,
    concessions: &[assessment::Concession],
) -> Vec<Row> {
    use chillwright_calc::checks::sheet::section_of;
    let waits = |section: &str| {
        findings.iter().any(|f| {
            f.weight == Weight::Concession
                && section_of(&f.code).is_some_and(|s| s.word() == section)
                && !concessions.iter().any(|c| c.covers(&f.code, &f.about))
        })
    };
    chillwright_calc::checks::sheet::lines(case, findings)
        .into_iter()
        .map(|line| {
            let (class, word) = match line.weight {
                Some(Weight::Concession) if !waits(line.section) => ("good", "accepted"),
                Some(weight) => findings::class_and_word(weight),
                None if line.to_do => ("", "to do"),
                None if line.on_record => ("good", "in order"),
                None => ("", ""),
            };
            let says = match other {
                Some(then) => then.said_of(line.section, line.on_record),
                None if line.on_record => line.says,
                None => "Nothing on record.".into(),
            };
            let curve = if line.section == "hold" && other.is_none() {
                last_curve(ctx, scene, case)
            } else {
                String::new()
            };
            Row {
                section: line.section,
                title: line.title,
                says,
                class,
                word,
                curve,
            }
        })
        .collect()
}

fn last_curve(ctx: &Ctx, scene: &Scene, case: &Case<'_>) -> String {
    let Some(piece) = scene.of_kinds(&[Kind::Hold]).max_by_key(|p| p.at) else {
        return String::new();
    };
    let mut readings: Vec<_> = scene.children(piece, Kind::Reading).collect();
    readings.sort_by_key(|r| r.at);
    hold::curve(ctx, scene, case, piece, &readings)
}

async fn record(ctx: Ctx, Path(number): Path<i64>) -> Result<Response, Fault> {
    let scene = Scene::brief(&ctx, number).await?;
    let text = serde_json::to_string_pretty(&scene.record).map_err(|e| Fault::Own(Box::new(e)))?;
    Ok(([(header::CONTENT_TYPE, "application/json")], text).into_response())
}

async fn add_note(ctx: Ctx, Path(number): Path<i64>, mut form: Form) -> Result<Response, Fault> {
    let order = ctx.order(number).await?;
    let mut done = None;
    if let Some(says) = form.need("says", "Enter a note.") {
        done = Some(
            note(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                order.id,
                form.fingerprint(),
                &says,
                ctx.now,
            )
            .await,
        );
    }
    finish(
        &ctx,
        form,
        done,
        format!("/orders/{number}#notes"),
        async |form| order_page(ctx.clone(), number, form).await,
    )
    .await
}
