//! The kit of all tests through the house: a house with a database of its own and a clock that is set by hand, and a browser without a screen that fills in
//! the pages’ own forms.
#![allow(dead_code, reason = "each test target uses what it needs of it")]
use axum::{
    body::Body,
    http::{Request, StatusCode, header},
};
use chillwright::{
    demo::{
        form_client::{FormClient, page_of},
        page_form::PageForm,
    },
    shop::Instant,
    store::{
        Store,
        evidence::{Piece, Stored},
    },
    web::{App, router},
    work::codes::Codes,
};
use serde_json::Value;
use std::{
    ops::{Deref, DerefMut},
    sync::{
        Arc,
        atomic::{AtomicI64, Ordering},
    },
};
use tower::ServiceExt;

pub use chillwright::demo::form_client::Answer;

/// The shop, and one browser that is signed in as its owner (who is also desk and technician).
pub struct Shop {
    pub app: App,
    pub browser: Browser,
    clock: Arc<AtomicI64>,
    _folder: tempfile::TempDir,
}

/// Somebody at a screen.
#[derive(Clone)]
pub struct Browser(FormClient);

impl Deref for Browser {
    type Target = FormClient;
    fn deref(&self) -> &FormClient {
        &self.0
    }
}

impl DerefMut for Browser {
    fn deref_mut(&mut self) -> &mut FormClient {
        &mut self.0
    }
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
        Self::on(
            tempfile::tempdir().expect("a folder"),
            Instant::parse(MORNING).expect("a time"),
        )
        .await
    }

    /// On the file `shop.db` of this folder, at this time.
    pub async fn on(folder: tempfile::TempDir, now: Instant) -> Self {
        let store = Store::open(&folder.path().join("shop.db"))
            .await
            .expect("a store");
        let clock = Arc::new(AtomicI64::new(now.0));
        let hand = clock.clone();
        let app = App::new(
            store,
            Codes::cheap(),
            folder.path().join("files"),
            Some(START_CODE.into()),
            move || Instant(hand.load(Ordering::SeqCst)),
        );
        let browser = Browser(FormClient::new(router::router(app.clone())));
        Self {
            app,
            browser,
            clock,
            _folder: folder,
        }
    }

    /// After the first start: elevation 120 m, UTC, EUR, 10 % tax, dial gauge G-1 of 0.5 inHg.
    pub async fn begun() -> Self {
        let mut shop = Self::new().await;
        let answer = shop.browser.post("/start", &FIRST_START).await;
        assert_eq!(
            (answer.status, answer.location.as_str()),
            (StatusCode::SEE_OTHER, "/"),
            "{}",
            answer.body
        );
        shop
    }

    /// Sets the clock forward.
    pub fn minutes_pass(&self, minutes: i64) {
        self.clock.fetch_add(minutes * 60_000, Ordering::SeqCst);
    }
}

/// What is stored of a piece of evidence, as a map by keys.
pub fn stored(piece: &Piece) -> Value {
    serde_json::to_value(Stored {
        body: &piece.body,
        own: &piece.own,
    })
    .expect("a body")
}

/// One text of it, empty where it is not there.
pub fn said(piece: &Piece, key: &str) -> String {
    stored(piece)[key].as_str().unwrap_or_default().to_owned()
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
        Self(self.0.stranger())
    }

    /// Fills in the form that is posted to this address, on the page where it stands, and sends all that a browser would send of it. A field or choice
    /// that the page does not have is a fault of the test, or of the page.
    pub async fn post(&mut self, action: &str, fields: &[(&str, &str)]) -> Answer {
        // What is changed is named in the address of its form.
        let changed = fields
            .iter()
            .find(|(name, _)| matches!(*name, "piece" | "line" | "id"));
        let query = changed.map_or_else(String::new, |(name, which)| format!("?{name}={which}"));
        let page = format!("{}{query}", page_of(action));
        self.post_from(action, &page, fields).await
    }

    /// The same of a form that stands on another page.
    pub async fn post_from(&mut self, action: &str, page: &str, fields: &[(&str, &str)]) -> Answer {
        self.0
            .fill(page, action, fields)
            .await
            .unwrap_or_else(|e| panic!("{e}"))
    }

    /// The same of a form that an answer shows again.
    pub async fn post_shown(
        &mut self,
        shown: &Answer,
        action: &str,
        fields: &[(&str, &str)],
    ) -> Answer {
        let form = PageForm::posted_to(&shown.body, "the answer", action)
            .and_then(|form| Ok((form.filled(fields)?, form.multipart)));
        let (pairs, multipart) = form.unwrap_or_else(|e| panic!("{e}"));
        self.0.post_pairs(action, action, &pairs, multipart).await
    }

    /// Posts what no page of ours sends: for hostile hands, and for what comes twice or too late.
    pub async fn post_raw(&mut self, action: &str, fields: &[(&str, &str)]) -> Answer {
        self.0.post_pairs(action, action, fields, false).await
    }

    /// Shows the pages in these units, by the switch on the page.
    pub async fn look_in(&mut self, page: &str, units: &str) {
        let shown = self.get(page).await;
        let switch = PageForm::posted_to(&shown.body, page, "/units").expect("the switch of units");
        if switch.hidden("to") == Some(units) {
            let answer = self.post_from("/units", page, &[]).await;
            assert_eq!(answer.location, page, "{}", answer.body);
        }
    }

    /// As a browser where the page's form can be filled in so; else by a hand-made body.
    pub async fn post_somehow(&mut self, action: &str, fields: &[(&str, &str)]) -> Answer {
        match self.0.fill(&page_of(action), action, fields).await {
            Ok(answer) => answer,
            Err(_) => self.post_raw(action, fields).await,
        }
    }

    /// What a browser would send of the form that is posted to this address.
    pub async fn filled(
        &mut self,
        page: &str,
        action: &str,
        fields: &[(&str, &str)],
    ) -> Vec<(String, String)> {
        let shown = self.get(page).await;
        PageForm::posted_to(&shown.body, page, action)
            .and_then(|form| form.filled(fields))
            .unwrap_or_else(|e| panic!("{e}"))
    }

    /// The technician says that an order is ready; nothing where it is already.
    pub async fn ready(&mut self, number: i64) {
        let action = format!("/orders/{number}/stage");
        let page = page_of(&action);
        let says = self.get(&page).await.body;
        let Ok(form) = PageForm::posted_to(&says, &page, &action) else {
            return;
        };
        if form.hidden("stage") == Some("ready") {
            let answer = self.post(&action, &[]).await;
            assert!(answer.status.is_redirection(), "{}", answer.body);
        }
    }

    /// Asks for something that does not end: the body as it comes.
    pub async fn stream(&self, path: &str) -> Body {
        let cookies: Vec<String> = self
            .cookies
            .iter()
            .map(|(k, v)| format!("{k}={v}"))
            .collect();
        let request = Request::builder()
            .uri(path)
            .header(header::COOKIE, cookies.join("; "))
            .body(Body::empty())
            .expect("a request");
        let response = self.router().oneshot(request).await.expect("an answer");
        assert_eq!(
            (
                response.status(),
                response.headers()[header::CONTENT_TYPE].as_bytes()
            ),
            (StatusCode::OK, &b"text/event-stream"[..])
        );
        response.into_body()
    }
}
