//! What became of a form: a tablet that lost the answer asks, before it shows again what was typed.
use super::{
    Ctx, Fault,
    access::Access,
    route::{Route, get},
};
use crate::{shop::DeedId, store::audit};
use axum::extract::Path;

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/deeds/{deed}", Access::STAFF, became)]
}

/// `kept`, or `not kept`.
async fn became(ctx: Ctx, Path(deed): Path<String>) -> Result<&'static str, Fault> {
    let deed: DeedId = deed.parse().map_err(|_| Fault::missing("deed"))?;
    let mut conn = ctx.app.store.read().await?;
    Ok(if audit::content(&mut conn, deed).await?.is_some() {
        "kept"
    } else {
        "not kept"
    })
}
