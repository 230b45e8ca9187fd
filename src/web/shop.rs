//! The shop's own pages: what hangs on the wall and what one holds in one's hands.
mod barometer;
mod cylinders;
pub mod facts;
mod limits;
mod people;
mod settings;
mod things;

use super::{
    Ctx, Fault, Page,
    access::Access,
    route::{Route, get},
};
use crate::{shop::Role, store::shop};
use askama::Template;
use askama_web::WebTemplate;

/// Addresses.
pub fn routes() -> Vec<Route> {
    let mut routes = vec![get("/shop", Access::STAFF, index)];
    routes.extend(barometer::routes());
    routes.extend(things::routes());
    routes.extend(cylinders::routes());
    routes.extend(people::routes());
    routes.extend(limits::routes());
    routes.extend(settings::routes());
    routes
}

#[derive(Template, WebTemplate)]
#[template(path = "shop/index.html")]
struct IndexPage {
    page: Page,
    owner: bool,
    barometer: String,
    encryption: &'static str,
}

async fn index(ctx: Ctx) -> Result<IndexPage, Fault> {
    let mut conn = ctx.app.store.read().await?;
    let barometer = match shop::barometer(&mut conn, ctx.now).await? {
        Some(b) => format!("{} at {}.", b.site, ctx.zone.short(b.at, ctx.now)),
        None => "No reading in the last 12 hours.".into(),
    };
    Ok(IndexPage {
        page: Page::of(&ctx, "Shop", "/shop"),
        owner: ctx.actor.roles.has(Role::Owner),
        barometer,
        encryption: super::trust::says(&ctx.app),
    })
}
