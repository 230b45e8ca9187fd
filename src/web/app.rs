//! What all handlers share.
use crate::{shop::Instant, store::Store, tls::Tls, work::codes::Codes};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use std::{
    collections::HashMap,
    num::NonZeroU32,
    path::PathBuf,
    sync::{Arc, Mutex, OnceLock},
};
use tokio::sync::watch;

/// The running house. Cheap to clone.
#[derive(Clone)]
pub struct App(Arc<Inner>);

/// What is behind [`App`].
pub struct Inner {
    /// The shop's file.
    pub store: Store,
    /// How codes are hashed.
    pub codes: Codes,
    /// Folder of the photographs.
    pub files: PathBuf,
    /// The code that the terminal printed for the first start, until it is used.
    pub start_code: Mutex<Option<String>>,
    /// Tries of a code, by what is tried: a person, a device.
    pub tries: DefaultKeyedRateLimiter<String>,
    rounds: Mutex<HashMap<String, u64>>,
    tls: OnceLock<Arc<Tls>>,
    closing: watch::Sender<bool>,
    clock: Box<dyn Fn() -> Instant + Send + Sync>,
}

impl App {
    /// Puts the house together. The clock comes from outside, so that tests and the demo have their own.
    pub fn new(
        store: Store,
        codes: Codes,
        files: PathBuf,
        start_code: Option<String>,
        clock: impl Fn() -> Instant + Send + Sync + 'static,
    ) -> Self {
        // Five wrong codes at once, then one more every half minute: a six-digit code takes a year to guess.
        let quota = Quota::with_period(std::time::Duration::from_secs(30))
            .unwrap_or(Quota::per_minute(NonZeroU32::MIN));
        let tries =
            RateLimiter::keyed(quota.allow_burst(NonZeroU32::new(5).unwrap_or(NonZeroU32::MIN)));
        Self(Arc::new(Inner {
            store,
            codes,
            files,
            start_code: Mutex::new(start_code),
            tries,
            rounds: Mutex::default(),
            tls: OnceLock::new(),
            closing: watch::Sender::new(false),
            clock: Box::new(clock),
        }))
    }

    /// Says, once and before anything is served, that it is served encrypted, and by which authorities.
    pub fn encrypted(self, tls: Arc<Tls>) -> Self {
        let _ = self.0.tls.set(tls);
        self
    }

    /// Authorities and certificates, where the server speaks TLS.
    pub fn tls(&self) -> Option<&Arc<Tls>> {
        self.0.tls.get()
    }

    /// Now, by the house's clock.
    pub fn now(&self) -> Instant {
        (self.0.clock)()
    }

    /// Ends what would stay open for ever, so that the server can stop.
    pub fn close(&self) {
        self.0.closing.send_replace(true);
    }

    /// Waits until the house closes.
    pub async fn closing(&self) {
        // An error says that the sender is gone, and with it the house.
        let _ = self
            .0
            .closing
            .subscribe()
            .wait_for(|closing| *closing)
            .await;
    }

    /// Whether one more try is allowed.
    pub fn may_try(&self, what: &str) -> bool {
        self.0.tries.check_key(&self.counted(what)).is_ok()
    }

    /// The try was right: what came before is forgotten, so that people who take turns at a tablet all day are never refused.
    pub fn was_right(&self, what: &str) {
        if let Ok(mut rounds) = self.0.rounds.lock() {
            *rounds.entry(what.to_owned()).or_default() += 1;
        }
        self.0.tries.retain_recent();
    }

    /// What is tried, in the round since it was right last.
    fn counted(&self, what: &str) -> String {
        let round = self
            .0
            .rounds
            .lock()
            .ok()
            .and_then(|rounds| rounds.get(what).copied())
            .unwrap_or(0);
        format!("{what} {round}")
    }
}

impl std::ops::Deref for App {
    type Target = Inner;
    fn deref(&self) -> &Inner {
        &self.0
    }
}
