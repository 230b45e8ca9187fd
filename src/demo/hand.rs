//! The hand that types: forms sent through the router, with a clock that it sets itself.
use super::DemoError;
use crate::{
    shop::{Instant, PersonId, Zone},
    store::Store,
    web::{App, router},
    work::codes::{self, Codes},
};
use axum::{
    Router,
    body::Body,
    http::{Method, Request, header},
};
use std::{
    path::Path,
    sync::{
        Arc,
        atomic::{AtomicI64, Ordering},
    },
};
use tower::ServiceExt;

/// The hand.
pub struct Hand {
    router: Router,
    cookies: Vec<(String, String)>,
    clock: Arc<AtomicI64>,
    start_code: String,
}

impl Hand {
    /// At an empty house, at this time.
    pub fn new(store: &Store, codes: &Codes, files: &Path, now: Instant) -> Self {
        let clock = Arc::new(AtomicI64::new(now.0));
        let (hand, start_code) = (clock.clone(), codes::one_time());
        let app = App::new(store.clone(), codes.clone(), files.to_owned(), Some(start_code.clone()), move || Instant(hand.load(Ordering::SeqCst)));
        Self { router: router::router(app), cookies: Vec::new(), clock, start_code }
    }

    /// Lets minutes pass.
    pub fn wait(&self, minutes: i64) {
        self.clock.fetch_add(minutes * 60_000, Ordering::SeqCst);
    }

    /// Minutes before now, as a field for date and time takes it.
    pub fn ago(&self, minutes: i64) -> String {
        Zone::utc().field(Instant(self.clock.load(Ordering::SeqCst)).plus_minutes(-minutes))
    }

    /// First start.
    pub async fn begin(&mut self, owner: &str, code: &str) -> Result<(), DemoError> {
        let start_code = self.start_code.clone();
        let fields = [
            ("code", start_code.as_str()),
            ("owner", owner),
            ("pin", code),
            ("device", "the demo’s own"),
            ("name", "Hask & Marlow"),
            ("address", "3 Tannery Row, Wend"),
            ("telephone", "0555 0142"),
            ("tax_number", "00-417-788"),
            ("elevation", "120"),
            ("elevation_unit", "m"),
            ("zone", "UTC"),
            ("units", "si"),
            ("currency", "EUR"),
            ("tax", "10"),
            ("prices", "net"),
            ("next_order", "412"),
            ("next_invoice", "187"),
            ("mark", "G-2"),
            ("instrument", "dial-gauge"),
            ("resolution", "0.5"),
            ("unit", "inHg"),
        ];
        self.send("/start", &fields).await.map(|_| ())
    }

    /// Instruments, cylinders, a yard, the barometer.
    pub async fn tools(&mut self) -> Result<(), DemoError> {
        for (mark, kind, unit, resolution) in [("V-1", "vacuum-gauge", "micron", "10"), ("G-3", "digital-gauge", "psi", "1"), ("S-1", "scale", "g", "5")] {
            self.send("/shop/instruments", &[("mark", mark), ("kind", kind), ("unit", unit), ("resolution", resolution), ("compared_on", "2026-01-10")])
                .await?;
        }
        self.send("/shop/instruments", &[("mark", "D-1"), ("kind", "detector"), ("sensitivity", "4")]).await?;
        for (mark, purpose) in [("C-01", "charge"), ("C-03", "recovery")] {
            self.send("/shop/cylinders", &[("mark", mark), ("refrigerant", "R-134a"), ("purpose", purpose), ("tare", "6.2"), ("water", "11.9")]).await?;
        }
        self.send("/shop/yards", &[("name", "Northfell Dismantlers"), ("address", "Quarry Lane, Wend"), ("telephone", "0555 0177"), ("return_days", "30")])
            .await?;
        self.send("/shop/barometer", &[("pressure", "100.9"), ("unit", "kPa"), ("reduced", "here")]).await?;
        Ok(())
    }

    /// Somebody else takes the tablet.
    pub async fn be(&mut self, (person, code): (PersonId, &str)) -> Result<(), DemoError> {
        // The limit on guessing lets five tries pass at once, then one each half minute of the wall's clock: a new session needs none of them
        // where the right person is here already.
        let person = person.to_string();
        self.send("/sign-in", &[("person", &person), ("pin", code)]).await.map(|_| ())
    }

    /// Sends a form; gives the address to which the answer leads.
    pub async fn send(&mut self, path: &str, fields: &[(&str, &str)]) -> Result<String, DemoError> {
        let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
        let cookies: Vec<String> = self.cookies.iter().map(|(k, v)| format!("{k}={v}")).collect();
        let request = Request::builder()
            .method(Method::POST)
            .uri(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin")
            .header(header::COOKIE, cookies.join("; "));
        let refused = |status: u16, says: String| DemoError::Refused { path: path.to_owned(), status, says };
        let request = request.body(Body::from(body)).map_err(|e| refused(0, e.to_string()))?;
        let response = match self.router.clone().oneshot(request).await {
            Ok(response) => response,
            Err(never) => match never {},
        };
        for set in response.headers().get_all(header::SET_COOKIE).iter().filter_map(|v| v.to_str().ok()) {
            if let Some((name, rest)) = set.split_once('=') {
                self.cookies.retain(|(k, _)| k != name);
                self.cookies.push((name.to_owned(), rest.split(';').next().unwrap_or_default().to_owned()));
            }
        }
        let status = response.status();
        let location = response.headers().get(header::LOCATION).and_then(|v| v.to_str().ok()).map(str::to_owned);
        match location.filter(|_| status.is_redirection()) {
            Some(location) => Ok(location),
            None => {
                let bytes = axum::body::to_bytes(response.into_body(), 1 << 20).await.unwrap_or_default();
                let page = String::from_utf8_lossy(&bytes).into_owned();
                let says: Vec<&str> = page.split("class=\"err\"").skip(1).filter_map(|s| s.split('>').nth(1)?.split('<').next()).collect();
                Err(refused(status.as_u16(), says.join(" ")))
            }
        }
    }

    /// Reads a page.
    pub async fn page(&mut self, path: &str) -> String {
        let cookies: Vec<String> = self.cookies.iter().map(|(k, v)| format!("{k}={v}")).collect();
        let Ok(request) = Request::builder().uri(path).header(header::COOKIE, cookies.join("; ")).body(Body::empty()) else { return String::new() };
        let response = match self.router.clone().oneshot(request).await {
            Ok(response) => response,
            Err(never) => match never {},
        };
        let bytes = axum::body::to_bytes(response.into_body(), 1 << 22).await.unwrap_or_default();
        String::from_utf8_lossy(&bytes).into_owned()
    }
}
