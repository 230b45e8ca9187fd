//! The house as a test has it: a database of its own, a clock that is set by hand, a browser's cookies.
use axum::{
    body::Body,
    http::{Method, Request, StatusCode, header},
};
use chillwright::{
    shop::Instant,
    store::Store,
    web::{App, router},
    work::codes::Codes,
};
use http_body_util::BodyExt;
use std::sync::{
    Arc,
    atomic::{AtomicI64, Ordering},
};
use tower::ServiceExt;

/// The shop, and one browser that is signed in as its owner (who is also desk and technician).
pub struct Shop {
    pub app: App,
    pub browser: Browser,
    clock: Arc<AtomicI64>,
    _folder: tempfile::TempDir,
}

/// A browser: the router and its cookies.
#[derive(Clone)]
pub struct Browser {
    router: axum::Router,
    pub cookies: Vec<(String, String)>,
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub location: String,
    pub body: String,
}

/// The code that the terminal printed.
pub const START_CODE: &str = "ABCDE-23456";
/// The owner's code.
pub const PIN: &str = "480213";
/// 12 May 2026, 08:00 UTC.
pub const MORNING: &str = "2026-05-12T08:00:00Z";

impl Shop {
    /// Before the first start.
    pub async fn new() -> Self {
        Self::on(tempfile::tempdir().expect("a folder"), Instant::parse(MORNING).expect("a time")).await
    }

    /// On the file `shop.db` of this folder, at this time.
    pub async fn on(folder: tempfile::TempDir, now: Instant) -> Self {
        let store = Store::open(&folder.path().join("shop.db")).await.expect("a store");
        let clock = Arc::new(AtomicI64::new(now.0));
        let hand = clock.clone();
        let app = App::new(store, Codes::cheap(), folder.path().join("files"), Some(START_CODE.into()), move || Instant(hand.load(Ordering::SeqCst)));
        let browser = Browser { router: router::router(app.clone()), cookies: Vec::new() };
        Self { app, browser, clock, _folder: folder }
    }

    /// After the first start: elevation 120 m, UTC, EUR, 10 % tax, dial gauge G-1 of 0.5 inHg.
    pub async fn begun() -> Self {
        let mut shop = Self::new().await;
        let answer = shop.browser.post("/start", &FIRST_START).await;
        assert_eq!((answer.status, answer.location.as_str()), (StatusCode::SEE_OTHER, "/"), "{}", answer.body);
        shop
    }

    /// Sets the clock forward.
    pub fn minutes_pass(&self, minutes: i64) {
        self.clock.fetch_add(minutes * 60_000, Ordering::SeqCst);
    }
}

/// What the first page is sent.
pub const FIRST_START: [(&str, &str); 22] = [
    ("code", START_CODE),
    ("owner", "Perrin Hask"),
    ("pin", PIN),
    ("roles", "desk"),
    ("roles", "technician"),
    ("device", "desk"),
    ("name", "Hask & Marlow"),
    ("address", "3 Tannery Row, Wend"),
    ("telephone", "0555 0142"),
    ("elevation", "120"),
    ("elevation_unit", "m"),
    ("zone", "UTC"),
    ("units", "si"),
    ("currency", "eur"),
    ("tax", "10"),
    ("prices", "net"),
    ("next_order", "412"),
    ("next_invoice", "187"),
    ("mark", "G-1"),
    ("instrument", "dial-gauge"),
    ("resolution", "0.5"),
    ("unit", "inHg"),
];

impl Browser {
    /// Another browser at the same house, without cookies.
    pub fn stranger(&self) -> Self {
        Self { router: self.router.clone(), cookies: Vec::new() }
    }

    pub async fn get(&mut self, path: &str) -> Answer {
        let request = Request::builder().method(Method::GET).uri(path);
        self.send(request, Body::empty()).await
    }

    pub async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.post_from(path, path, fields).await
    }

    /// Sends a form that stands on the page `from`.
    pub async fn post_from(&mut self, path: &str, from: &str, fields: &[(&str, &str)]) -> Answer {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let request = Request::builder()
            .method(Method::POST)
            .uri(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header(header::HOST, "shop.test")
            .header(header::REFERER, format!("http://shop.test{from}"))
            .header("sec-fetch-site", "same-origin");
        self.send(request, Body::from(body)).await
    }

    /// The technician says that an order is ready; nothing where it is already.
    pub async fn ready(&mut self, number: i64) {
        let answer = self.post(&format!("/orders/{number}/stage"), &[("stage", "ready")]).await;
        assert!(answer.status.is_redirection() || answer.body.contains("ready already"), "{}", answer.body);
    }

    /// Asks for something that does not end: the body as it comes.
    pub async fn stream(&self, path: &str) -> Body {
        let cookies: Vec<String> = self.cookies.iter().map(|(k, v)| format!("{k}={v}")).collect();
        let request = Request::builder().uri(path).header(header::COOKIE, cookies.join("; ")).body(Body::empty()).expect("a request");
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        assert_eq!((response.status(), response.headers()[header::CONTENT_TYPE].as_bytes()), (StatusCode::OK, &b"text/event-stream"[..]));
        response.into_body()
    }

    pub async fn send(&mut self, request: axum::http::request::Builder, body: Body) -> Answer {
        let cookies: Vec<String> = self.cookies.iter().map(|(k, v)| format!("{k}={v}")).collect();
        let request = request.header(header::COOKIE, cookies.join("; ")).body(body).expect("a request");
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        for set in response.headers().get_all(header::SET_COOKIE) {
            let (name, rest) = set.to_str().expect("text").split_once('=').expect("name=value");
            let value = rest.split(';').next().unwrap_or_default();
            self.cookies.retain(|(k, _)| k != name);
            if !value.is_empty() {
                self.cookies.push((name.into(), value.into()));
            }
        }
        let status = response.status();
        let location = response.headers().get(header::LOCATION).and_then(|v| v.to_str().ok()).unwrap_or_default().to_owned();
        let bytes = response.into_body().collect().await.expect("a body").to_bytes();
        Answer { status, location, body: String::from_utf8_lossy(&bytes).into_owned() }
    }
}
