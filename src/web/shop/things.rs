//! Instruments, yards: added, changed, retired. What was recorded with them keeps its own copy.
use super::super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    form::Typed,
    route::{Route, get, post},
};
use crate::shop::InstrumentKind;
use crate::web::ending::finish;
use crate::{
    shop::{InstrumentId, YardId, written::told},
    store::things::{self, Instrument, Yard},
    work::settings::{keep_instrument, keep_yard},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::Query, response::Response};
use std::collections::HashMap;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/shop/instruments", Access::STAFF, instruments),
        post("/shop/instruments", Access::BENCH, keep_one_instrument),
        get("/shop/yards", Access::STAFF, yards),
        post("/shop/yards", Access::STAFF, keep_one_yard),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "shop/things.html")]
struct ThingsPage {
    page: Page,
    heading: &'static str,
    empty: &'static str,
    action: &'static str,
    button: &'static str,
    lines: Vec<Line>,
    form: Form,
    sets: Vec<Fieldset>,
    changing: bool,
}

struct Line {
    name: String,
    says: String,
    href: String,
}

/// The fields that a change carries along.
pub fn retired(form: &Form, version: i64) -> Vec<super::super::Field> {
    let hidden = |name: &str| form.field(name, "").kind(Kind::Hidden);
    if version > 0 {
        vec![
            hidden("id"),
            hidden("version"),
            form.tick("retired", "No longer used"),
        ]
    } else {
        Vec::new()
    }
}

/// The version that a change was filled in against; 0 for a new thing.
pub fn version(form: &Form) -> i64 {
    form.get("version").parse().unwrap_or(0)
}

const KINDS: [(&str, &str); 8] = [
    ("dial-gauge", "dial gauge"),
    ("digital-gauge", "digital gauge"),
    ("vacuum-gauge", "electronic vacuum gauge"),
    ("scale", "scale"),
    ("thermometer", "thermometer"),
    ("identifier", "identifier"),
    ("detector", "leak detector"),
    ("other", "other"),
];
const UNITS: [&str; 15] = [
    "inHg", "kPa", "mbar", "bar", "psi", "mmHg", "Torr", "micron", "Pa", "g", "kg", "oz", "lb",
    "degC", "degF",
];

async fn instruments(
    ctx: Ctx,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<ThingsPage, Fault> {
    let mut form = kept.sent_to("/shop/instruments");
    if let (Some(id), true) = (
        query.get("id").and_then(|i| i.parse::<InstrumentId>().ok()),
        form.is_empty(),
    ) {
        let mut conn = ctx.app.store.read().await?;
        let i = things::instruments(&mut conn)
            .await?
            .into_iter()
            .find(|i| i.id == id)
            .ok_or_else(|| Fault::missing("instrument"))?;
        let number = |text: &str| text.split(' ').next().unwrap_or_default().to_owned();
        for (name, value) in [
            ("id", i.id.to_string()),
            ("version", i.version.to_string()),
            ("mark", i.mark.clone()),
            ("kind", i.kind.word().to_owned()),
            ("name", i.name.clone()),
            ("unit", i.unit.clone()),
            ("resolution", number(&i.resolution)),
            ("error", number(&i.error)),
            ("sensitivity", number(&i.sensitivity)),
            ("compared_on", i.compared_on.clone().unwrap_or_default()),
            (
                "retired",
                if i.retired_at.is_some() {
                    "yes".into()
                } else {
                    String::new()
                },
            ),
        ] {
            form.set(name, value);
        }
    }
    instruments_page(&ctx, form).await
}

async fn instruments_page(ctx: &Ctx, form: Form) -> Result<ThingsPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let lines = things::instruments(&mut conn).await?.into_iter().map(|i| {
        let kind = KINDS
            .iter()
            .find(|k| k.0 == i.kind.word())
            .map_or("", |k| k.1);
        let facts = [
            kind.to_owned(),
            i.name.clone(),
            if i.resolution.is_empty() {
                String::new()
            } else {
                format!("resolution {}", told(&i.resolution))
            },
            if i.sensitivity.is_empty() {
                String::new()
            } else {
                format!("shows {}", told(&i.sensitivity))
            },
            i.compared_on
                .as_deref()
                .map(|d| format!("checked {}", crate::shop::instant::show_date(d)))
                .unwrap_or_default(),
            if i.retired_at.is_some() {
                "no longer used".into()
            } else {
                String::new()
            },
        ];
        Line {
            name: i.mark,
            says: facts
                .into_iter()
                .filter(|s| !s.is_empty())
                .collect::<Vec<_>>()
                .join(", "),
            href: format!("/shop/instruments?id={}", i.id),
        }
    });
    let lines = lines.collect();
    let mut fields = vec![
        form.field("mark", "Mark on the instrument")
            .hint("For example G-2.")
            .required(),
        form.tiles("kind", "Kind", KINDS).required(),
        form.field("name", "Name"),
        form.select("unit", "Unit", UNITS.map(|u| (u, u.replace("deg", "°")))),
        form.field("resolution", "Resolution: one division, or the last digit")
            .number(""),
        form.field("error", "Zero error at the last check")
            .number(""),
        form.field("sensitivity", "Detector sensitivity")
            .number("g/year"),
        form.field("compared_on", "Last checked on")
            .kind(Kind::Date),
    ];
    fields.extend(retired(&form, version(&form)));
    Ok(ThingsPage {
        page: Page::of(ctx, "Instruments", "/shop"),
        heading: "Instruments",
        empty: "No instruments yet. Start with the gauge that reads your vacuum.",
        action: "/shop/instruments",
        button: "Save",
        lines,
        changing: version(&form) > 0,
        sets: vec![Fieldset {
            fields,
            ..Fieldset::default()
        }],
        form,
    })
}

async fn keep_one_instrument(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mut done = None;
    if let Some(i) = read_instrument(&ctx, &mut form) {
        done = Some(
            keep_instrument(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &i,
                version(&form) == 0,
                ctx.now,
            )
            .await,
        );
    }
    finish(&ctx, form, done, "/shop/instruments?kept=1", async |form| {
        instruments_page(&ctx, form).await
    })
    .await
}

fn read_instrument(ctx: &Ctx, form: &mut Form) -> Option<Instrument> {
    let mark = form.need("mark", "Enter the mark.");
    let kind = form.choice("kind", "Choose what it is.", InstrumentKind::from_word);
    let unit = if UNITS.contains(&form.get("unit")) {
        form.get("unit").to_owned()
    } else {
        Default::default()
    };
    let gauge = kind.is_some_and(InstrumentKind::is_gauge);
    if gauge
        && !matches!(
            unit.as_str(),
            "inHg" | "kPa" | "mbar" | "bar" | "psi" | "mmHg" | "Torr" | "micron" | "Pa"
        )
    {
        form.wrong("unit", "Choose the unit that the gauge shows.");
    }
    if gauge && form.get("resolution").is_empty() {
        form.wrong("resolution", "Enter the resolution: one division, or the last digit. What a hold can show depends on it.");
    }
    if unit.is_empty() && !form.get("resolution").is_empty() {
        form.wrong("unit", "Choose the unit.");
    }
    let resolution = super::super::form::amount(form, "resolution", &unit);
    let error = form.quantity("error", &unit);
    let sensitivity = super::super::form::amount(form, "sensitivity", "g/yr");
    let compared_on = form.date("compared_on");
    if compared_on
        .as_deref()
        .is_some_and(|d| d > ctx.zone.iso_date(ctx.now).as_str())
    {
        form.wrong("compared_on", "That date is in the future.");
    }
    if resolution
        .as_deref()
        .is_some_and(|r| r.split(' ').next().and_then(|n| n.parse::<f64>().ok()) == Some(0.0))
    {
        form.wrong("resolution", "Enter more than zero.");
    }
    let name = form.text("name");
    if !form.is_right() {
        return None;
    }
    Some(Instrument {
        id: form
            .get("id")
            .parse()
            .unwrap_or_else(|_| InstrumentId::fresh()),
        mark: mark?,
        kind: kind?,
        name,
        unit,
        resolution: resolution.unwrap_or_default(),
        error: error.unwrap_or_default(),
        sensitivity: sensitivity.unwrap_or_default(),
        compared_on,
        retired_at: form.ticked("retired").then_some(ctx.now),
        version: version(form),
    })
}

async fn yards(
    ctx: Ctx,
    Typed(kept): Typed,
    Query(query): Query<HashMap<String, String>>,
) -> Result<ThingsPage, Fault> {
    let mut form = kept.sent_to("/shop/yards");
    if let (Some(id), true) = (
        query.get("id").and_then(|i| i.parse::<YardId>().ok()),
        form.is_empty(),
    ) {
        let mut conn = ctx.app.store.read().await?;
        let y = things::yards(&mut conn)
            .await?
            .into_iter()
            .find(|y| y.id == id)
            .ok_or_else(|| Fault::missing("yard"))?;
        for (name, value) in [
            ("id", y.id.to_string()),
            ("version", y.version.to_string()),
            ("name", y.name.clone()),
            ("address", y.address.clone()),
            ("telephone", y.telephone.clone()),
            (
                "return_days",
                y.return_days.map(|d| d.to_string()).unwrap_or_default(),
            ),
            (
                "retired",
                if y.retired_at.is_some() {
                    "yes".into()
                } else {
                    String::new()
                },
            ),
        ] {
            form.set(name, value);
        }
    }
    yards_page(&ctx, form).await
}

async fn yards_page(ctx: &Ctx, form: Form) -> Result<ThingsPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let lines = things::yards(&mut conn).await?.into_iter().map(|y| {
        let days = y
            .return_days
            .map(|d| format!("returns within {d} days"))
            .unwrap_or_default();
        let facts = [
            y.address.clone(),
            y.telephone.clone(),
            days,
            if y.retired_at.is_some() {
                "no longer used".into()
            } else {
                String::new()
            },
        ];
        Line {
            says: facts
                .into_iter()
                .filter(|s| !s.is_empty())
                .collect::<Vec<_>>()
                .join(", "),
            href: format!("/shop/yards?id={}", y.id),
            name: y.name,
        }
    });
    let lines = lines.collect();
    let mut fields = vec![
        form.field("name", "Name").required(),
        form.field("address", "Address"),
        form.field("telephone", "Phone").kind(Kind::Tel),
        form.field("return_days", "Return period").number("days"),
    ];
    fields.extend(retired(&form, version(&form)));
    Ok(ThingsPage {
        page: Page::of(ctx, "Yards", "/shop"),
        heading: "Yards",
        empty: "No yards yet.",
        action: "/shop/yards",
        button: "Save",
        lines,
        changing: version(&form) > 0,
        sets: vec![Fieldset {
            fields,
            ..Fieldset::default()
        }],
        form,
    })
}

async fn keep_one_yard(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let name = form.need("name", "Enter the name.");
    let return_days = match form.get("return_days").to_owned() {
        text if text.is_empty() => None,
        text => text
            .parse::<i64>()
            .ok()
            .filter(|d| (0..=3650).contains(d))
            .or_else(|| {
                form.wrong("return_days", "Enter a whole number of days.");
                None
            }),
    };
    let mut done = None;
    if let (Some(name), true) = (name, form.is_right()) {
        let id = form.get("id").parse().unwrap_or_else(|_| YardId::fresh());
        let y = Yard {
            id,
            name,
            address: form.text("address"),
            telephone: form.text("telephone"),
            return_days,
            retired_at: form.ticked("retired").then_some(ctx.now),
            version: version(&form),
        };
        done = Some(
            keep_yard(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &y,
                version(&form) == 0,
                ctx.now,
            )
            .await,
        );
    }
    finish(&ctx, form, done, "/shop/yards?kept=1", async |form| {
        yards_page(&ctx, form).await
    })
    .await
}
