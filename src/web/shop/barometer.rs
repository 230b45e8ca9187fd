//! The barometer: the air here, or reduced to sea level. It holds for twelve hours and is copied into what is recorded.
use super::super::{
    Ctx, Fault, Fieldset, Form, Kind, Page,
    access::Access,
    form::Typed,
    route::{Route, get, post},
};
use crate::web::ending::finish;
use crate::{store::shop::Barometer, work::settings::keep_barometer};
use askama::Template;
use askama_web::WebTemplate;
use axum::response::Response;
use chillwright_calc::{
    physics::atmosphere,
    units::{AbsolutePressure, Length, Pressure, Quantity},
};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/shop/barometer", Access::STAFF, show),
        post("/shop/barometer", Access::STAFF, keep),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "form_page.html")]
struct BarometerPage {
    page: Page,
    heading: &'static str,
    intro: String,
    action: &'static str,
    button: &'static str,
    form: Form,
    sets: Vec<Fieldset>,
    caution: &'static str,
}

async fn show(ctx: Ctx, Typed(form): Typed) -> Result<BarometerPage, Fault> {
    Ok(page(&ctx, form.sent_to("/shop/barometer")))
}

fn page(ctx: &Ctx, form: Form) -> BarometerPage {
    let mut fields = vec![
        form.field("pressure", "Barometer reading")
            .number("")
            .required(),
        form.tiles("unit", "in", UNITS).required(),
        form.tiles(
            "reduced",
            "Kind of reading",
            [
                ("here", "actual pressure here"),
                ("sea", "reduced to sea level, as in a weather report"),
            ],
        )
        .required(),
        form.field("at", "Read at")
            .kind(Kind::DateTime)
            .hint("Blank = now."),
    ];
    if form.error("anyway").is_some() || form.ticked("anyway") {
        fields.push(form.tick("anyway", "That is what it shows; save it"));
    }
    BarometerPage {
        page: Page::of(ctx, "Barometer", "/shop"),
        heading: "Barometer",
        intro: format!(
            "The shop is at {}. A reading is used for 12 hours. It is stored with every entry made in that time; later readings do not change those entries.",
            ctx.shop.elevation
        ),
        action: "/shop/barometer",
        button: "Save reading",
        form,
        sets: vec![Fieldset {
            fields,
            ..Fieldset::default()
        }],
        caution: "",
    }
}

const UNITS: [(&str, &str); 5] = [
    ("hPa", "hPa"),
    ("mbar", "mbar"),
    ("kPa", "kPa"),
    ("inHg", "inHg"),
    ("mmHg", "mmHg"),
];

async fn keep(ctx: Ctx, mut form: Form) -> Result<Response, Fault> {
    let mut done = None;
    if let Some(reading) = read(&ctx, &mut form) {
        done = Some(
            keep_barometer(
                &ctx.app.store,
                &ctx.actor,
                form.deed,
                form.fingerprint(),
                &reading,
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

fn read(ctx: &Ctx, form: &mut Form) -> Option<Barometer> {
    if form.get("pressure").is_empty() {
        form.wrong("pressure", "Enter the reading.");
    }
    let number = form.number("pressure");
    let unit = form.choice("unit", "Choose the unit.", |u| {
        UNITS.iter().any(|x| x.0 == u).then(|| u.to_owned())
    });
    let reduced = form.choice("reduced", "Choose the kind of reading.", |r| match r {
        "here" => Some(false),
        "sea" => Some(true),
        _ => None,
    });
    let at = form.when("at", &ctx.zone, ctx.now);
    let (number, unit, reduced) = (number?, unit?, reduced?);
    let typed = format!("{number} {} abs", unit.replace("hPa", "mbar"));
    let Ok(Pressure::Absolute(shown)) = typed.parse::<Quantity<Pressure>>().map(|q| q.si()) else {
        form.wrong("pressure", "That is not a pressure.");
        return None;
    };
    let elevation = ctx
        .shop
        .elevation
        .parse::<Quantity<Length>>()
        .map_or(Length::new(0.0), |q| q.si());
    let standard = atmosphere::standard_pressure(elevation)?;
    let here: AbsolutePressure = if reduced {
        atmosphere::site_from_sea_level(shown, elevation)?
    } else {
        shown
    };
    // The weather moves it by 6 kPa at most; more is asked about once.
    if (here.pa() - standard.pa()).abs() > 6_000.0 && !form.ticked("anyway") {
        let usual = chillwright_calc::units::show::pressure(standard, ctx.units);
        form.wrong(
            "anyway",
            format!("At {} the air pressure is about {usual}. Check the number, the unit, and whether it is reduced to sea level.", ctx.shop.elevation),
        );
        return None;
    }
    let site = if reduced {
        format!("{:.2} kPa abs", here.pa() / 1e3)
    } else {
        typed.clone()
    };
    Some(Barometer {
        site,
        typed,
        reduced,
        at: at?,
    })
}
