//! One table of routes: it makes the router, the test of roles and the list of pages.
use super::{
    App, Fault, away, bench, counter, details, devices, drafts, entry, estimate, guard, handover,
    intake, invoice, labels, live, order, parts, photographs, report, review, route::Route, shop,
    sign_in, start, today, trust, volume,
};
use axum::{
    Router,
    extract::{DefaultBodyLimit, Request, State},
    http::{HeaderName, HeaderValue, Method, StatusCode, header},
    middleware::{self, Next},
    response::{IntoResponse, Response},
};
use tower_http::{catch_panic::CatchPanicLayer, compression::CompressionLayer, csrf::CsrfLayer};

/// All of them.
pub fn routes() -> Vec<Route> {
    [
        start::routes(),
        sign_in::routes(),
        devices::routes(),
        today::routes(),
        trust::routes(),
        super::assets::routes(),
        away::routes(),
        bench::routes(),
        counter::routes(),
        details::routes(),
        drafts::routes(),
        parts::routes(),
        labels::routes(),
        live::routes(),
        photographs::routes(),
        estimate::routes(),
        invoice::routes(),
        handover::routes(),
        intake::routes(),
        order::routes(),
        report::routes(),
        review::routes(),
        shop::routes(),
        volume::routes(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The router, with everything that stands before and behind all handlers.
pub fn router(app: App) -> Router {
    let mut router = Router::new();
    for route in routes() {
        let guarded = route.handler.layer(middleware::from_fn_with_state(
            (app.clone(), route.access),
            guard::guard,
        ));
        router = router.route(route.path, guarded);
    }
    router
        .fallback(async || Fault::missing("page"))
        .method_not_allowed_fallback(async || {
            Fault::Senseless("This address cannot be used that way.".into())
        })
        .layer(DefaultBodyLimit::max(1 << 20))
        .layer(middleware::from_fn_with_state(app.clone(), encryption))
        .layer(middleware::from_fn_with_state(app.clone(), entry::answer))
        .layer(middleware::from_fn(headers))
        .layer(middleware::from_fn(own_writes_only))
        .layer(CsrfLayer::new())
        .layer(CatchPanicLayer::custom(
            |_: Box<dyn std::any::Any + Send>| {
                Fault::Own("a handler panicked".into()).into_response()
            },
        ))
        .layer(CompressionLayer::new())
        .with_state(app)
}

/// The layer against cross-site requests lets a request pass that says nothing of where it comes from; every browser says it, so we do not.
async fn own_writes_only(request: Request, next: Next) -> Response {
    let says = request.headers().contains_key("sec-fetch-site")
        || request.headers().contains_key(header::ORIGIN);
    if request.method() != Method::GET && request.method() != Method::HEAD && !says {
        return Fault::Forbidden("This server only accepts forms from its own pages.".into())
            .into_response();
    }
    next.run(request).await
}

async fn encryption(State(app): State<App>, request: Request, next: Next) -> Response {
    let mut response = trust::encrypted_only(request, next).await;
    if app.tls().is_some() {
        trust::secure_cookies(response.headers_mut());
    }
    response
}

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; worker-src 'self'; form-action 'self'; \
                      base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'";

async fn headers(request: Request, next: Next) -> Response {
    let cached = request.uri().path().starts_with("/static/");
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    headers.insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(POLICY),
    );
    headers.insert(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    );
    headers.insert(
        header::REFERRER_POLICY,
        HeaderValue::from_static("same-origin"),
    );
    headers.insert(
        HeaderName::from_static("cross-origin-opener-policy"),
        HeaderValue::from_static("same-origin"),
    );
    if !cached {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    if response.status() == StatusCode::METHOD_NOT_ALLOWED {
        return Fault::Senseless("This address cannot be used that way.".into()).into_response();
    }
    response
}
