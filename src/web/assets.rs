//! Styles and scripts: ours, inside the binary. The service worker knows them by their version.
use super::{
    Fault,
    access::Access,
    route::{Route, get},
};
use axum::{extract::Path, http::header, response::IntoResponse};
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

/// Addresses. The worker stands at the root, so that it may serve every page.
pub fn routes() -> Vec<Route> {
    vec![
        get("/static/{file}", Access::Anybody, file),
        get("/worker.js", Access::Anybody, worker),
    ]
}

const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";

/// The styles in the order of their cascade, sent as one file: a tablet on a weak network asks once.
const STYLES: &str = concat!(
    include_str!("../../static/tokens.css"),
    include_str!("../../static/shell.css"),
    include_str!("../../static/order.css"),
    include_str!("../../static/bench.css"),
    include_str!("../../static/paper.css"),
    include_str!("../../static/forms.css"),
    include_str!("../../static/narrow.css"),
    include_str!("../../static/gloves.css"),
);

macro_rules! files {
    ($styles:literal; $($name:literal, $kind:ident;)+) => {
        &[($styles, CSS, STYLES), $(($name, $kind, include_str!(concat!("../../static/", $name)))),+]
    };
}

/// Name, kind, content.
const FILES: &[(&str, &str, &str)] = files! {
    "app.css";
    "print.css", CSS;
    "app.js", JS;
    "away.js", JS;
    "curve.js", JS;
    "dates.js", JS;
    "disk.js", JS;
    "drafts.js", JS;
    "entries.js", JS;
    "forms.js", JS;
    "gloves.js", JS;
    "live.js", JS;
    "pages.js", JS;
    "server.js", JS;
    "vin.js", JS;
};

const WORKER: &str = include_str!("../../static/worker.js");

/// Changes with every file: pages and worker of another version do not mix.
pub fn version() -> &'static str {
    static VERSION: LazyLock<String> = LazyLock::new(|| {
        let hash = FILES.iter().fold(
            Sha256::new().chain_update(WORKER),
            |hash, (name, _, text)| hash.chain_update(name).chain_update(text),
        );
        hex::encode(&hash.finalize()[..8])
    });
    &VERSION
}

async fn file(Path(name): Path<String>) -> Result<impl IntoResponse, Fault> {
    let (_, kind, text) = FILES
        .iter()
        .find(|f| f.0 == name)
        .ok_or_else(|| Fault::missing("file"))?;
    Ok((
        [
            (header::CONTENT_TYPE, *kind),
            (header::CACHE_CONTROL, "max-age=60"),
        ],
        *text,
    ))
}

async fn worker() -> impl IntoResponse {
    static TEXT: LazyLock<String> = LazyLock::new(|| {
        let files: Vec<String> = FILES.iter().map(|f| format!("/static/{}", f.0)).collect();
        WORKER
            .replace("__VERSION__", version())
            .replace("__FILES__", &files.join(" "))
    });
    ([(header::CONTENT_TYPE, JS)], TEXT.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::{fs, path::Path};

    /// Each stylesheet of the folder is served, and can be read and compared line by line.
    #[test]
    fn every_stylesheet_is_served_and_can_be_read() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("static");
        let mut sheets = 0;
        for file in fs::read_dir(folder)
            .expect("the folder")
            .map(|f| f.expect("a file").path())
            .filter(|f| f.extension().is_some_and(|e| e == "css"))
        {
            let text = fs::read_to_string(&file).expect("a stylesheet");
            assert!(
                FILES.iter().any(|(_, _, served)| served.contains(&text)),
                "{} is not served",
                file.display()
            );
            let long = text
                .lines()
                .find(|line| line.len() > 140 || line.matches(';').count() > 1);
            assert_eq!(long, None, "{}: one declaration a line", file.display());
            sheets += 1;
        }
        assert!(sheets >= 8, "{sheets}");
    }
}
