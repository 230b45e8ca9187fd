//! The limits of the calculation, each with its default and its reason, and the vent table.
use super::super::{
    Ctx, Fault, Field, Form, Kind, Page,
    access::Access,
    form::Typed,
    route::{Route, get, post},
};
use crate::web::ending::finish;
use crate::{
    shop::written::{stored, told},
    store::shop,
    work::settings::{change_limits, limits_seen},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::response::Response;
use chillwright_calc::checks::limits::{ALL, LimitSettings, LimitSpec, VentRow, default_vent_rows};
use serde_json::Value;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/shop/limits", Access::OWNER, show),
        post("/shop/limits", Access::OWNER, keep),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "shop/limits.html")]
struct LimitsPage {
    page: Page,
    form: Form,
    fields: Vec<Field>,
}

async fn show(ctx: Ctx, Typed(kept): Typed) -> Result<LimitsPage, Fault> {
    let mut form = kept.sent_to("/shop/limits");
    if form.is_empty() {
        let kept = {
            let mut conn = ctx.app.store.read().await?;
            shop::limits(&mut conn).await?
        };
        form.set("seen", limits_seen(&kept));
        let now: LimitSettings =
            serde_json::from_value(Value::Object(kept)).map_err(|e| Fault::Own(Box::new(e)))?;
        for spec in ALL {
            form.set(spec.key, now.typed(spec.key).map(told).unwrap_or_default());
        }
        form.set(
            VENT,
            now.vent_table.as_deref().map(lines).unwrap_or_default(),
        );
    }
    Ok(page(&ctx, form))
}

const VENT: &str = "vent_table";

fn lines(rows: &[VentRow]) -> String {
    rows.iter()
        .map(|row| row.line().replace("deg", "°"))
        .collect::<Vec<_>>()
        .join("\n")
}

fn page(ctx: &Ctx, form: Form) -> LimitsPage {
    let mut fields: Vec<Field> = ALL
        .iter()
        .map(|spec| {
            form.field(spec.key, &label(spec.key)).hint(format!(
                "{} Default: {}.",
                why(spec.why),
                told(spec.default)
            ))
        })
        .collect();
    let usual = lines(&default_vent_rows()).replace('\n', "; ");
    fields.push(form.field(VENT, "Vent air table").kind(Kind::Long).hint(format!(
        "Warmest vent air that is acceptable, one line for each outside temperature. Values in between are interpolated; beyond the table nothing is judged. From the warm ends of makers’ tables. Default: {usual}."
    )));
    fields.push(form.field("seen", "").kind(Kind::Hidden));
    LimitsPage {
        page: Page::of(ctx, "Limits", "/shop"),
        form,
        fields,
    }
}

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mut settings = LimitSettings::default();
    let mut changes = Vec::new();
    for spec in ALL {
        if let Err(e) = settings.set(spec.key, &stored(form.get(spec.key))) {
            form.wrong(spec.key, refused(spec, &e));
            continue;
        }
        let value = settings
            .typed(spec.key)
            .filter(|v| *v != spec.default)
            .map(|v| Value::String(v.to_owned()));
        changes.push((spec.key, value));
    }
    changes.push((VENT, vent_table(&mut form)));
    let mut done = None;
    if form.is_right() {
        let seen = form.get("seen").to_owned();
        done = Some(
            change_limits(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &changes,
                &seen,
                ctx.now,
            )
            .await,
        );
    }
    finish(&ctx, form, done, "/shop/limits?kept=1", async |form| {
        Ok(page(&ctx, form))
    })
    .await
}

/// What a limit is called: its key in words.
fn label(key: &str) -> String {
    let words = key.replace('_', " ");
    let mut letters = words.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// What a limit is for, as a shop reads it: a number that the trade goes by is usual practice, and where we looked a source up is not the shop's matter.
fn why(why: &str) -> String {
    why.replace(" Practice.", " Usual practice.")
        .replace("degC", "°C")
        .replace("degF", "°F")
}

/// Why what was typed is no such limit, with an example as people write it.
fn refused(spec: &LimitSpec, fault: &impl std::fmt::Display) -> String {
    let example = told(spec.default);
    if spec.default.starts_with('P') {
        format!("Enter a time with its unit, for example {example}, 2 h or 24 months.")
    } else {
        format!("{fault} For example: {example}.")
    }
}

/// The table that was typed; `None` where it is empty or the default.
fn vent_table(form: &mut Form) -> Option<Value> {
    let typed = form.get(VENT).to_owned();
    let mut rows = Vec::new();
    for line in typed.lines().map(str::trim).filter(|l| !l.is_empty()) {
        match VentRow::from_line(&line.replace('°', "deg").replace('−', "-")) {
            Ok(row) => rows.push(row),
            Err(says) => form.wrong(VENT, says.replace("degC", "°C")),
        }
    }
    if rows.is_empty() || rows == default_vent_rows() {
        None
    } else {
        serde_json::to_value(rows).ok()
    }
}
