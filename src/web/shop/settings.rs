//! Settings of the shop, and the limits of the calculation with their defaults and reasons.
use super::super::{
    Ctx, Fault, Field, Fieldset, Form, Kind, Page,
    access::Access,
    form::{Typed, again, to},
    router::{Route, get, post},
    start,
};
use crate::{
    shop::Zone,
    store::shop::{self, Shop},
    work::settings::{change_limits, change_shop},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::response::Response;
use chillwright_calc::{
    checks::limits::{ALL, LimitSettings},
    units::{Length, Quantity},
};
use rust_decimal::Decimal;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/shop/settings", Access::OWNER, show),
        post("/shop/settings", Access::OWNER, keep),
        get("/shop/limits", Access::OWNER, show_limits),
        post("/shop/limits", Access::OWNER, keep_limits),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "form_page.html")]
struct SettingsPage {
    page: Page,
    heading: &'static str,
    intro: &'static str,
    action: &'static str,
    button: &'static str,
    form: Form,
    sets: Vec<Fieldset>,
    caution: &'static str,
}

async fn show(ctx: Ctx, Typed(kept): Typed) -> Result<SettingsPage, Fault> {
    let mut form = kept.sent_to("/shop/settings");
    if form.is_empty() {
        let s = &ctx.shop;
        let (number, unit) = s.elevation.split_once(' ').unwrap_or((&s.elevation, "m"));
        for (name, value) in [
            ("version", s.version.to_string()),
            ("name", s.name.clone()),
            ("address", s.address.clone()),
            ("telephone", s.telephone.clone()),
            ("tax_number", s.tax_number.clone()),
            ("elevation", number.to_owned()),
            ("elevation_unit", unit.to_owned()),
            ("zone", s.zone.clone()),
            ("currency", s.currency.clone()),
            ("units", s.units.clone()),
            ("prices", if s.prices_with_tax { "gross" } else { "net" }.to_owned()),
            ("tax", Decimal::new(s.tax_rate, 2).normalize().to_string()),
            ("warranty", s.warranty.clone()),
        ] {
            form.set(name, value);
        }
    }
    Ok(page(&ctx, form))
}

fn page(ctx: &Ctx, form: Form) -> SettingsPage {
    let set = |legend: &str, fields| Fieldset { legend: legend.into(), intro: String::new(), fields };
    let sets = vec![
        set(
            "The shop",
            vec![
                form.field("version", "").kind(Kind::Hidden),
                form.field("name", "Name").required(),
                form.field("address", "Address"),
                form.field("telephone", "Telephone").kind(Kind::Tel),
                form.field("elevation", "Elevation above the sea").number("").hint("Orders that are open keep the one with which they were opened.").required(),
                form.select("elevation_unit", "in", [("m", "metres"), ("ft", "feet")]).required(),
                form.field("zone", "Time zone").required(),
                form.tiles("units", "Units", [("si", "kPa, °C, g"), ("us", "psi, °F, oz")]).required(),
            ],
        ),
        set(
            "Money",
            vec![
                form.field("currency", "Currency").required(),
                form.field("tax", "Usual tax").number("%").required(),
                form.tiles("prices", "Prices on the estimate", [("net", "before tax"), ("gross", "with tax")]).required(),
                form.field("tax_number", "Tax number"),
                form.field("warranty", "Warranty, as it is printed").kind(Kind::Long),
            ],
        ),
    ];
    SettingsPage {
        page: Page::of(ctx, "Settings", "/shop"),
        heading: "Settings",
        intro: "What is printed on reports and invoices that are frozen stays as it was.",
        action: "/shop/settings",
        button: "Keep the settings",
        form,
        sets,
        caution: "",
    }
}

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    if let Some(shop) = read(&ctx, &mut form) {
        let done = change_shop(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), &shop, ctx.now).await;
        if form.settle(done)? {
            return Ok(to("/shop?kept=1"));
        }
    }
    Ok(again(form.status(), page(&ctx, form)))
}

fn read(ctx: &Ctx, form: &mut Form) -> Option<Shop> {
    let name = form.need("name", "Write the shop's name.");
    let unit = form.choice("elevation_unit", "Choose metres or feet.", |u| matches!(u, "m" | "ft").then(|| u.to_owned()));
    let elevation = form.need_quantity("elevation", &unit.unwrap_or_default(), "Write the elevation.").filter(|e| {
        let known = e.parse::<Quantity<Length>>().ok().and_then(|l| chillwright_calc::physics::atmosphere::standard_pressure(l.si()));
        if known.is_none() {
            form.wrong("elevation", "No workshop lies there.");
        }
        known.is_some()
    });
    let zone = form.need("zone", "Write the time zone.").filter(|z| Zone::named(z).is_some());
    if zone.is_none() {
        form.wrong("zone", "That zone is not known. Write it like Europe/Vienna.");
    }
    let currency = form.need("currency", "Write the currency.").map(|c| c.to_uppercase()).filter(|c| c.len() == 3 && c.chars().all(|c| c.is_ascii_uppercase()));
    if currency.is_none() {
        form.wrong("currency", "Three letters, as EUR.");
    }
    let units = form.choice("units", "Choose the units.", |u| matches!(u, "si" | "us").then(|| u.to_owned()));
    let prices_with_tax = form.choice("prices", "Choose one.", |p| match p {
        "net" => Some(false),
        "gross" => Some(true),
        _ => None,
    });
    let tax_rate = start::tax(form);
    let (address, telephone, tax_number, warranty) = (form.text("address"), form.text("telephone"), form.text("tax_number"), form.text("warranty"));
    if !form.is_right() {
        return None;
    }
    Some(Shop {
        name: name?,
        address,
        telephone,
        tax_number,
        elevation: elevation?,
        zone: zone?,
        currency: currency?,
        units: units?,
        prices_with_tax: prices_with_tax?,
        tax_rate: tax_rate?,
        warranty,
        version: form.get("version").parse().unwrap_or(0),
        ..ctx.shop.clone()
    })
}

#[derive(Template, WebTemplate)]
#[template(path = "shop/limits.html")]
struct LimitsPage {
    page: Page,
    form: Form,
    fields: Vec<Field>,
}

async fn settings_now(ctx: &Ctx) -> Result<LimitSettings, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let stored = shop::limits(&mut conn).await?;
    serde_json::from_value(serde_json::Value::Object(stored)).map_err(|e| Fault::Own(Box::new(e)))
}

async fn show_limits(ctx: Ctx, Typed(kept): Typed) -> Result<LimitsPage, Fault> {
    let mut form = kept.sent_to("/shop/limits");
    if form.is_empty() {
        let now = settings_now(&ctx).await?;
        for spec in ALL {
            form.set(spec.key, now.typed(spec.key).unwrap_or_default());
        }
    }
    Ok(limits_page(&ctx, form))
}

fn limits_page(ctx: &Ctx, form: Form) -> LimitsPage {
    let fields = ALL.iter().map(|spec| form.field(spec.key, &spec.key.replace('_', " ")).hint(format!("{} Default: {}.", spec.why, spec.default))).collect();
    LimitsPage { page: Page::of(ctx, "Limits", "/shop"), form, fields }
}

async fn keep_limits(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mut settings = LimitSettings::default();
    let mut changes = Vec::new();
    for spec in ALL {
        let typed = form.get(spec.key).to_owned();
        if let Err(e) = settings.set(spec.key, &typed) {
            form.wrong(spec.key, format!("{e}"));
            continue;
        }
        let value = settings.typed(spec.key).filter(|v| *v != spec.default).map(|v| serde_json::Value::String(v.to_owned()));
        changes.push((spec.key, value));
    }
    if form.is_right() {
        let done = change_limits(&ctx.app.store, &ctx.actor, form.deed, form.fingerprint(), &changes, ctx.now).await;
        if form.settle(done)? {
            return Ok(to("/shop/limits?kept=1"));
        }
    }
    Ok(again(form.status(), limits_page(&ctx, form)))
}
