//! Labels to print: a part's tag, a cylinder's label. Each carries a code that opens its page on this server.
use super::{
    Ctx, Fault, Page,
    access::Access,
    route::{Route, get},
};
use crate::shop::CylinderPurpose;
use crate::{
    plot::qr,
    shop::{CylinderId, LabelSize, instant::show_date},
    store::{parts, things},
    tls::Way,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::Path,
    http::header,
    response::{IntoResponse, Response},
};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/parts/{number}/tag", Access::STAFF, tag),
        get("/shop/cylinders/{id}/label", Access::STAFF, cylinder),
        get("/static/labels/{size}", Access::Anybody, size),
    ]
}

#[derive(Template, WebTemplate)]
#[template(path = "label.html")]
struct LabelPage {
    page: Page,
    back: String,
    size: LabelSize,
    code: String,
    address: String,
    heading: String,
    lines: Vec<String>,
    /// The code leads to the machine that made it and nowhere else.
    leads_nowhere: bool,
}

async fn tag(ctx: Ctx, Path(number): Path<i64>) -> Result<LabelPage, Fault> {
    let part = {
        let mut conn = ctx.app.store.read().await?;
        parts::all(&mut conn)
            .await?
            .into_iter()
            .find(|p| p.number == number)
            .ok_or_else(|| Fault::missing(format!("part with tag {number}")))?
    };
    let donor = part.donor();
    let lines = [
        super::parts::name(&part),
        donor.vehicle.unwrap_or_default(),
        [donor.yard, donor.stock]
            .into_iter()
            .flatten()
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>()
            .join(", "),
        donor
            .pulled_on
            .map(|day| format!("pulled {}", show_date(&day.to_string())))
            .unwrap_or_default(),
        format!("order {}, {}", part.order, part.plate),
    ];
    label(
        &ctx,
        format!("Tag {number}"),
        format!("/parts/{number}"),
        ctx.shop.tag_size(),
        lines.into(),
    )
}

async fn cylinder(ctx: Ctx, Path(id): Path<CylinderId>) -> Result<LabelPage, Fault> {
    let cylinder = {
        let mut conn = ctx.app.store.read().await?;
        things::cylinders(&mut conn)
            .await?
            .into_iter()
            .find(|c| c.id == id)
            .ok_or_else(|| Fault::missing("cylinder"))?
    };
    let purpose = match cylinder.purpose {
        CylinderPurpose::Charge => "for charging",
        CylinderPurpose::Recovery => "for recovery",
        CylinderPurpose::Contaminated => "for contaminated gas only",
    };
    let lines = [
        cylinder.refrigerant,
        purpose.to_owned(),
        if cylinder.tare.is_empty() {
            String::new()
        } else {
            format!("tare {}", cylinder.tare)
        },
        if cylinder.water_capacity.is_empty() {
            String::new()
        } else {
            format!("WC {}", cylinder.water_capacity)
        },
        ctx.shop.name.clone(),
    ];
    label(
        &ctx,
        cylinder.mark,
        format!("/shop/cylinders?id={id}"),
        ctx.shop.cylinder_label_size(),
        lines.into(),
    )
}

fn label(
    ctx: &Ctx,
    heading: String,
    path: String,
    size: Option<LabelSize>,
    lines: Vec<String>,
) -> Result<LabelPage, Fault> {
    let server = if ctx.shop.server_address.is_empty() {
        &ctx.origin
    } else {
        &ctx.shop.server_address
    };
    if server.is_empty() {
        return Err(Fault::Conflict(
            "This server’s network address is not known yet. Enter it under Shop, Settings.".into(),
        ));
    }
    let address = format!("{server}{path}");
    Ok(LabelPage {
        page: Page::of(ctx, heading.clone(), if path.starts_with("/parts") { "/parts" } else { "/shop" }),
        back: path,
        size: size.ok_or_else(|| Fault::Own("a label's size is out of bounds".into()))?,
        code: qr::svg(&address)
            .ok_or_else(|| Fault::Conflict("This server’s address is too long for a printed code. Shorten it under Shop, Settings.".into()))?,
        leads_nowhere: leads_nowhere(server),
        address,
        heading,
        lines: lines.into_iter().filter(|l| !l.is_empty()).collect(),
    })
}

/// Whether only this machine itself comes anywhere by such an address.
fn leads_nowhere(server: &str) -> bool {
    match server
        .split_once("://")
        .and_then(|(_, host)| Way::of_host(host))
    {
        Some(Way::Address(address)) => address.is_loopback(),
        Some(Way::Name(name)) => name == "localhost",
        None => true,
    }
}

/// A style sheet for one size: the content security policy takes none inside a page.
async fn size(Path(file): Path<String>) -> Result<Response, Fault> {
    let size = file
        .strip_suffix(".css")
        .and_then(LabelSize::parse)
        .ok_or_else(|| Fault::missing("size of labels"))?;
    Ok((
        [
            (header::CONTENT_TYPE, "text/css; charset=utf-8"),
            (header::CACHE_CONTROL, "max-age=3600"),
        ],
        sheet(size),
    )
        .into_response())
}

/// Everything in millimetres. The code takes the shorter side, at most half of the longer one; text gets what is left, in letters that fit its lines.
fn sheet(size: LabelSize) -> String {
    let (width, height) = (size.width() as f64, size.height() as f64);
    let margin = 1.5;
    let wide = width >= 1.3 * height;
    let (long, short) = (width.max(height), width.min(height));
    let code = (short - 2.0 * margin).min(long * 0.5 - margin);
    let (text_wide, text_high) = if wide {
        (width - code - 3.0 * margin, height - 2.0 * margin)
    } else {
        (width - 2.0 * margin, height - code - 3.0 * margin)
    };
    let letter = (text_high / 10.0).min(text_wide / 12.0).clamp(1.0, 7.0);
    let direction = if wide { "row" } else { "column" };
    format!(
        "@page {{ size: {width}mm {height}mm; margin: 0; @bottom-right {{ content: none }} }}\n\
         .label {{ width: {width}mm; height: {height}mm; padding: {margin}mm; gap: {margin}mm; flex-direction: {direction}; font-size: {letter:.2}mm }}\n\
         .label .qr {{ width: {code:.2}mm; height: {code:.2}mm }}\n"
    )
}
