//! Whether the connection is encrypted, and how a device comes to trust this server.
use super::{
    App, Fault, Page,
    access::Access,
    host::host,
    route::{Route, get},
};
use crate::{
    shop::instant::show_date,
    store::shop,
    tls::{Carried, Way},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::{Request, State},
    http::{HeaderMap, HeaderValue, Method, Uri, header},
    middleware::Next,
    response::{IntoResponse, Redirect, Response},
};

/// Addresses.
pub fn routes() -> Vec<Route> {
    vec![
        get("/trust", Access::Anybody, show),
        get("/trust/authority.crt", Access::Anybody, certificate),
    ]
}

/// Which of the two one has, in one sentence.
pub fn says(app: &App) -> &'static str {
    match app.tls() {
        Some(_) => {
            "The connection is encrypted: what you type cannot be read on the network. The bench also works without the network for up to one day; entries are sent when the network is back."
        }
        None => {
            "The connection is not encrypted: what you type can be read on the network. The bench needs the network; without it nothing can be entered."
        }
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "trust/page.html")]
struct TrustPage {
    page: Page,
    says: &'static str,
    authority: Option<Shown>,
}

struct Shown {
    came_encrypted: bool,
    fingerprint: Vec<String>,
    vouches_for: Vec<String>,
    until: String,
    enter: String,
    others: Vec<Other>,
}

/// Ways in for which another authority vouches.
struct Other {
    ways: String,
    page: String,
}

async fn show(
    State(app): State<App>,
    carried: Option<Extension<Carried>>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<TrustPage, Fault> {
    let shop = {
        let mut conn = app.store.read().await?;
        shop::get(&mut conn)
            .await?
            .map(|s| s.name)
            .unwrap_or_default()
    };
    let asked = host(&uri, &headers).unwrap_or_default();
    Ok(TrustPage {
        page: Page {
            shop,
            ..Page::bare("Trust this server")
        },
        says: says(&app),
        authority: shown(&app, asked, carried.map(|c| c.0)),
    })
}

fn shown(app: &App, asked: &str, carried: Option<Carried>) -> Option<Shown> {
    let tls = app.tls()?;
    let way = Way::of_host(asked);
    let authority = tls.to_trust(way.as_ref())?;
    let port = asked
        .rsplit_once(':')
        .map(|(_, port)| port)
        .filter(|p| !p.is_empty() && p.chars().all(|c| c.is_ascii_digit()));
    let at = |way: &Way| port.map_or_else(|| way.to_string(), |port| format!("{way}:{port}"));
    let others = tls
        .in_use()
        .into_iter()
        .filter(|(a, _)| a.der() != authority.der())
        .filter_map(|(_, ways)| {
            let page = format!("http://{}/trust", at(ways.first()?));
            Some(Other {
                ways: ways
                    .iter()
                    .map(ToString::to_string)
                    .collect::<Vec<_>>()
                    .join(", "),
                page,
            })
        });
    Some(Shown {
        came_encrypted: carried == Some(Carried::Tls),
        fingerprint: in_groups(&authority.fingerprint()),
        vouches_for: authority
            .permits()
            .iter()
            .map(ToString::to_string)
            .collect(),
        until: show_date(&authority.ends().rfc3339()[..10]),
        enter: format!("https://{asked}/"),
        others: others.collect(),
    })
}

/// A fingerprint in groups of eight pairs, so that an eye can follow.
fn in_groups(fingerprint: &str) -> Vec<String> {
    let pairs: Vec<&str> = fingerprint.split(':').collect();
    pairs.chunks(8).map(|group| group.join(":")).collect()
}

async fn certificate(
    State(app): State<App>,
    uri: Uri,
    headers: HeaderMap,
) -> Result<Response, Fault> {
    let way = host(&uri, &headers).and_then(Way::of_host);
    let authority = app
        .tls()
        .and_then(|tls| tls.to_trust(way.as_ref()))
        .ok_or_else(|| Fault::missing("authority: this server is not encrypted"))?;
    Ok((
        [(header::CONTENT_TYPE, "application/x-x509-ca-cert")],
        authority.der().to_vec(),
    )
        .into_response())
}

/// Where the server speaks TLS, plain HTTP gets this page, its certificate and its styles; everything else is sent to the encrypted side of the same port.
pub async fn encrypted_only(request: Request, next: Next) -> Response {
    let Some(Carried::Plain(port)) = request.extensions().get::<Carried>().copied() else {
        return next.run(request).await;
    };
    let path = request.uri().path();
    if path == "/trust" || path.starts_with("/trust/") || path.starts_with("/static/") {
        return next.run(request).await;
    }
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        return Fault::Forbidden("This server only accepts forms at its encrypted address.".into())
            .into_response();
    }
    let Some(asked) = host(request.uri(), request.headers()).filter(|h| Way::of_host(h).is_some())
    else {
        return Fault::Senseless("The request does not say which server it asks.".into())
            .into_response();
    };
    // Without a port the browser came to port 80; the encrypted side is at the same one, not at 443.
    let port = if asked.ends_with(']') || !asked.contains(':') {
        format!(":{port}")
    } else {
        String::new()
    };
    let rest = request.uri().path_and_query().map_or("/", |p| p.as_str());
    Redirect::temporary(&format!("https://{asked}{port}{rest}")).into_response()
}

/// Cookies of an encrypted server never cross the network in the clear. No Strict-Transport-Security beside it: it would keep a device that does not
/// trust the authority yet, or has to trust a new one, from the only page that helps it, and would bind every other server on the same name.
pub fn secure_cookies(headers: &mut HeaderMap) {
    let cookies: Vec<_> = headers
        .get_all(header::SET_COOKIE)
        .iter()
        .cloned()
        .collect();
    headers.remove(header::SET_COOKIE);
    for cookie in cookies {
        let secure = cookie
            .to_str()
            .ok()
            .and_then(|text| HeaderValue::from_str(&format!("{text}; Secure")).ok());
        headers.append(header::SET_COOKIE, secure.unwrap_or(cookie));
    }
}
