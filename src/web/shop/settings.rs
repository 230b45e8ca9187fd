//! Settings of the shop.
use super::{
    super::{
        Ctx, Fault, Field, Fieldset, Form, Kind, Page,
        access::Access,
        form::Typed,
        route::{Route, get, post},
    },
    facts,
};
use crate::web::ending::finish;
use crate::{shop::LabelSize, store::shop::Shop, tls::Way, work::settings::change_shop};
use askama::Template;
use askama_web::WebTemplate;
use axum::response::Response;
use rust_decimal::Decimal;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/shop/settings", Access::OWNER, show),
        post("/shop/settings", Access::OWNER, keep),
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
            (
                "prices",
                if s.prices_with_tax { "gross" } else { "net" }.to_owned(),
            ),
            ("tax", Decimal::new(s.tax_rate, 2).normalize().to_string()),
            ("warranty", s.warranty.clone()),
            ("server_address", s.server_address.clone()),
            ("tag_width", s.tag_width.to_string()),
            ("tag_height", s.tag_height.to_string()),
            ("cylinder_width", s.cylinder_width.to_string()),
            ("cylinder_height", s.cylinder_height.to_string()),
        ] {
            form.set(name, value);
        }
    }
    Ok(page(&ctx, form))
}

fn page(ctx: &Ctx, form: Form) -> SettingsPage {
    let set = |legend: &str, fields| Fieldset {
        legend: legend.into(),
        intro: String::new(),
        fields,
    };
    let sets = vec![
        set(
            "The shop",
            vec![
                form.field("version", "").kind(Kind::Hidden),
                form.field("name", "Name").required(),
                form.field("address", "Address"),
                form.field("telephone", "Phone").kind(Kind::Tel),
                form.field("elevation", "Elevation above sea level")
                    .number("")
                    .hint("Open orders keep the elevation they were opened with.")
                    .required(),
                form.select("elevation_unit", "in", [("m", "metres"), ("ft", "feet")])
                    .required(),
                form.field("zone", "Time zone").required(),
                form.tiles(
                    "units",
                    "Units",
                    [("si", "kPa, °C, g"), ("us", "psi, °F, oz")],
                )
                .required(),
            ],
        ),
        set(
            "Money",
            vec![
                form.field("currency", "Currency").required(),
                form.field("tax", "Usual tax").number("%").required(),
                form.tiles(
                    "prices",
                    "Prices on the estimate",
                    [("net", "before tax"), ("gross", "with tax")],
                )
                .required(),
                form.field("tax_number", "Tax number"),
                form.field("warranty", "Warranty text, as printed")
                    .kind(Kind::Long),
            ],
        ),
        set("Labels", label_fields(ctx, &form)),
    ];
    SettingsPage {
        page: Page::of(ctx, "Settings", "/shop"),
        heading: "Settings",
        intro: "Reports and invoices already issued do not change.",
        action: "/shop/settings",
        button: "Save",
        form,
        sets,
        caution: "",
    }
}

fn label_fields(ctx: &Ctx, form: &Form) -> Vec<Field> {
    let now = if ctx.origin.is_empty() {
        String::new()
    } else {
        format!(", now {}", ctx.origin)
    };
    let hint = format!(
        "The codes on labels lead to this address. For example https://shop.test:8470. Blank = the address used to open the label page{now}."
    );
    let side = |name, label| form.field(name, label).number("mm");
    vec![
        form.field("server_address", "Address of this server")
            .hint(hint),
        side("tag_width", "Width of a part’s tag"),
        side("tag_height", "Height of a part’s tag"),
        side("cylinder_width", "Width of a cylinder’s label"),
        side("cylinder_height", "Height of a cylinder’s label"),
    ]
}

/// Width and height of a label; what was not sent stays as it is.
fn label_size(form: &mut Form, kind: &str, was: (i64, i64)) -> (i64, i64) {
    let mut side = |end: &str, was: i64| {
        let name = format!("{kind}_{end}");
        if form.get(&name).is_empty() {
            return was;
        }
        let typed = form
            .get(&name)
            .parse()
            .ok()
            .filter(|mm| (LabelSize::SMALLEST..=LabelSize::LARGEST).contains(mm));
        typed.unwrap_or_else(|| {
            form.wrong(
                &name,
                format!(
                    "Enter whole millimetres, {} to {}.",
                    LabelSize::SMALLEST,
                    LabelSize::LARGEST
                ),
            );
            was
        })
    };
    (side("width", was.0), side("height", was.1))
}

/// `http://` or `https://`, a name or address, perhaps a port; nothing behind that.
fn server_address(form: &mut Form) -> String {
    let typed = form.text("server_address").trim_end_matches('/').to_owned();
    if !typed.is_empty() && !is_origin(&typed) {
        form.wrong(
            "server_address",
            "Enter it as a browser shows it, including the port: https://shop.test:8470.",
        );
    }
    typed
}

fn is_origin(typed: &str) -> bool {
    typed
        .strip_prefix("https://")
        .or_else(|| typed.strip_prefix("http://"))
        .is_some_and(|host| Way::of_host(host).is_some())
}

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mut done = None;
    if let Some(shop) = read(&ctx, &mut form) {
        done = Some(
            change_shop(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &shop,
                ctx.now,
            )
            .await,
        );
    }
    finish(&ctx, form, done, "/shop?kept=1", async |form| {
        Ok(page(&ctx, form))
    })
    .await
}

fn read(ctx: &Ctx, form: &mut Form) -> Option<Shop> {
    let facts = facts::read(form);
    let warranty = form.text("warranty");
    let server_address = server_address(form);
    let (tag_width, tag_height) =
        label_size(form, "tag", (ctx.shop.tag_width, ctx.shop.tag_height));
    let (cylinder_width, cylinder_height) = label_size(
        form,
        "cylinder",
        (ctx.shop.cylinder_width, ctx.shop.cylinder_height),
    );
    if !form.is_right() {
        return None;
    }
    Some(Shop {
        warranty,
        server_address,
        tag_width,
        tag_height,
        cylinder_width,
        cylinder_height,
        next_order: ctx.shop.next_order,
        next_invoice: ctx.shop.next_invoice,
        version: form.get("version").parse().unwrap_or(0),
        ..facts?
    })
}
