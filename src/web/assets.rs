//! Styles and scripts: ours, inside the binary.
use super::{
    Fault,
    access::Access,
    router::{Route, get},
};
use axum::{extract::Path, http::header, response::IntoResponse};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![get("/static/{file}", Access::Anybody, file)]
}

async fn file(Path(name): Path<String>) -> Result<impl IntoResponse, Fault> {
    let (kind, text) = match name.as_str() {
        "app.css" => ("text/css; charset=utf-8", include_str!("../../static/app.css")),
        "print.css" => ("text/css; charset=utf-8", include_str!("../../static/print.css")),
        "app.js" => ("text/javascript; charset=utf-8", include_str!("../../static/app.js")),
        "live.js" => ("text/javascript; charset=utf-8", include_str!("../../static/live.js")),
        "drafts.js" => ("text/javascript; charset=utf-8", include_str!("../../static/drafts.js")),
        "gloves.js" => ("text/javascript; charset=utf-8", include_str!("../../static/gloves.js")),
        "forms.js" => ("text/javascript; charset=utf-8", include_str!("../../static/forms.js")),
        _ => return Err(Fault::missing("file")),
    };
    Ok(([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=60")], text))
}
