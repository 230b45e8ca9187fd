//! Today: which cars are here, and what each waits for.
use super::{
    Ctx, Fault, Page,
    access::Access,
    router::{Route, get},
};
use askama::Template;
use askama_web::WebTemplate;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/", Access::STAFF, show)]
}

#[derive(Template, WebTemplate)]
#[template(path = "today.html")]
struct TodayPage {
    page: Page,
}

async fn show(ctx: Ctx) -> Result<TodayPage, Fault> {
    Ok(TodayPage { page: Page::of(&ctx, "Today", "/") })
}
