//! First start: the shop and its first owner.
use super::{
    App, Fault, Fieldset, Form, Kind, Page,
    access::{self, Access},
    form::again,
    route::{Route, get, post},
    shop::facts,
};
use crate::shop::InstrumentKind;
use crate::{
    shop::{Role, Roles},
    store::shop::{self, Shop},
    work::start::{FirstStart, first_start},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Redirect, Response},
};
use axum_extra::extract::CookieJar;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/start", Access::Anybody, show),
        post("/start", Access::Anybody, begin),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "form_page.html")]
struct StartPage {
    page: Page,
    heading: &'static str,
    intro: &'static str,
    action: &'static str,
    button: &'static str,
    form: Form,
    sets: Vec<Fieldset>,
    caution: &'static str,
}

async fn show(State(app): State<App>) -> Result<Response, Fault> {
    let mut conn = app.store.read().await?;
    if shop::get(&mut conn).await?.is_some() {
        return Ok(Redirect::to("/").into_response());
    }
    let mut form = Form::of("/start".into(), Vec::new());
    form.set("deed", form.deed.to_string());
    Ok(page(form).into_response())
}

fn page(form: Form) -> StartPage {
    let set = |legend: &str, fields| Fieldset {
        legend: legend.into(),
        intro: String::new(),
        fields,
    };
    let sets = vec![
        set(
            "Owner",
            vec![
                form.field("code", "Code from the terminal")
                    .hint("Two groups of five letters and digits.")
                    .required(),
                form.field("owner", "Your name")
                    .hint("As printed next to what you accept.")
                    .required()
                    .autocomplete("name"),
                form.field("pin", "Your own code")
                    .hint("Six digits or more. You enter it at the tablet.")
                    .kind(Kind::Code)
                    .required()
                    .autocomplete("new-password"),
                form.many(
                    "roles",
                    "You are the owner. What else do you do here?",
                    [("desk", "front desk"), ("technician", "technician")],
                ),
                form.field("device", "Name of this device")
                    .hint("For example: desk, bench 1.")
                    .required(),
            ],
        ),
        set(
            "The shop",
            vec![
                form.field("name", "Name")
                    .required()
                    .autocomplete("organization"),
                form.field("address", "Address")
                    .autocomplete("street-address"),
                form.field("telephone", "Phone")
                    .kind(Kind::Tel)
                    .autocomplete("tel"),
                form.field("elevation", "Elevation above sea level")
                    .number("")
                    .hint("Needed to read any vacuum gauge: air pressure falls with height.")
                    .required(),
                form.select("elevation_unit", "in", [("m", "metres"), ("ft", "feet")])
                    .required(),
                form.field("zone", "Time zone")
                    .hint("For example Europe/Vienna or America/Denver.")
                    .required(),
                form.tiles(
                    "units",
                    "Units",
                    [("si", "kPa, °C, g"), ("us", "psi, °F, oz")],
                )
                .required(),
            ],
        ),
        set(
            "Money and numbers",
            vec![
                form.field("currency", "Currency")
                    .hint("Three letters: EUR, USD.")
                    .required(),
                form.field("tax", "Usual tax").number("%").required(),
                form.tiles(
                    "prices",
                    "Prices on the estimate",
                    [("net", "before tax"), ("gross", "with tax")],
                )
                .required(),
                form.field("tax_number", "Tax number")
                    .hint("Printed on invoices."),
                form.field("next_order", "Number of the first order")
                    .number("")
                    .required(),
                form.field("next_invoice", "Number of the first invoice")
                    .number("")
                    .required(),
            ],
        ),
        set(
            "First instrument",
            vec![
                form.field("mark", "Mark on your vacuum or low-side gauge")
                    .hint("For example G-1. More can be added later."),
                form.tiles(
                    "instrument",
                    "Kind of gauge",
                    [
                        ("dial-gauge", "dial"),
                        ("digital-gauge", "digital, reads 0 in open air"),
                        ("vacuum-gauge", "electronic vacuum gauge"),
                    ],
                ),
                form.field("resolution", "Resolution: one division, or the last digit")
                    .number(""),
                form.select(
                    "unit",
                    "in",
                    [
                        ("inHg", "inHg"),
                        ("kPa", "kPa"),
                        ("mbar", "mbar"),
                        ("bar", "bar"),
                        ("psi", "psi"),
                        ("mmHg", "mmHg"),
                        ("micron", "micron"),
                    ],
                ),
            ],
        ),
    ];
    StartPage {
        page: Page::bare("Set up the shop"),
        heading: "Set up the shop",
        intro: "You are asked this once. Everything except the order and invoice numbers can be changed later.",
        action: "/start",
        button: "Set up",
        form,
        sets,
        caution: "",
    }
}

async fn begin(State(app): State<App>, jar: CookieJar, mut form: Form) -> Result<Response, Fault> {
    let start = read(&app, &mut form);
    let Some((start, instrument)) = start.filter(|_| form.is_right()) else {
        return Ok(again(form.status(), page(form)));
    };
    if !app.may_try("start") {
        return Err(Fault::TooMany);
    }
    let right = app.start_code.lock().is_ok_and(|code| {
        code.as_deref() == Some(&crate::work::codes::tidy_one_time(form.get("code")))
    });
    if !right {
        form.wrong(
            "code",
            "That is not the code shown in the terminal when the server started.",
        );
        return Ok(again(form.status(), page(form)));
    }
    match first_start(&app.store, start, instrument, app.now()).await {
        Ok(tokens) => {
            if let Ok(mut code) = app.start_code.lock() {
                *code = None;
            }
            let jar = jar
                .add(access::cookie(access::DEVICE, tokens.device, 400))
                .add(access::cookie(access::SESSION, tokens.session, 30));
            Ok((jar, Redirect::to("/")).into_response())
        }
        Err(e) => {
            form.settle(Err(e))?;
            Ok(again(form.status(), page(form)))
        }
    }
}

fn read(
    app: &App,
    form: &mut Form,
) -> Option<(FirstStart, Option<crate::store::things::Instrument>)> {
    let owner = form.need("owner", "Enter your name.");
    let device = form.need("device", "Enter a name for this device.");
    let code_hash = app
        .codes
        .hash(form.get("pin"))
        .map_err(|says| form.wrong("pin", says))
        .ok();
    let shop = read_shop(form);
    let instrument = read_instrument(form);
    let roles = Roles::from_words(form.all("roles")).with(Role::Owner);
    let start = FirstStart {
        deed: form.deed,
        owner: owner?,
        code_hash: code_hash?,
        roles,
        shop: shop?,
        device: device?,
    };
    Some((start, instrument))
}

fn read_shop(form: &mut Form) -> Option<Shop> {
    let facts = facts::read(form);
    let (next_order, next_invoice) = (counter(form, "next_order"), counter(form, "next_invoice"));
    Some(Shop {
        next_order: next_order?,
        next_invoice: next_invoice?,
        ..facts?
    })
}

fn counter(form: &mut Form, name: &str) -> Option<i64> {
    let number = form
        .get(name)
        .parse::<i64>()
        .ok()
        .filter(|n| (1..1_000_000_000).contains(n));
    if number.is_none() {
        form.wrong(name, "Enter a whole number, 1 or more.");
    }
    number
}

fn read_instrument(form: &mut Form) -> Option<crate::store::things::Instrument> {
    if form.get("mark").is_empty() {
        return None;
    }
    let mark = form.text("mark");
    let kind = form.choice("instrument", "Choose the kind of gauge.", |k| {
        InstrumentKind::from_word(k).filter(|k| k.is_gauge())
    });
    let unit = form.choice("unit", "Choose its unit.", |u| {
        matches!(
            u,
            "inHg" | "kPa" | "mbar" | "bar" | "psi" | "mmHg" | "micron"
        )
        .then(|| u.to_owned())
    });
    let resolution = form.need_quantity(
        "resolution",
        unit.as_deref().unwrap_or_default(),
        "Enter the resolution: one division, or the last digit.",
    );
    if resolution
        .as_deref()
        .is_some_and(|r| r.starts_with('-') || r.starts_with("0 "))
    {
        form.wrong("resolution", "Enter more than zero.");
    }
    Some(crate::store::things::Instrument::gauge(
        mark,
        kind?,
        unit?,
        resolution?,
    ))
}
