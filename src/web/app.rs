//! What all handlers share.
use crate::{shop::Instant, store::Store, work::codes::Codes};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use std::{
    num::NonZeroU32,
    path::PathBuf,
    sync::{Arc, Mutex},
};

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
    clock: Box<dyn Fn() -> Instant + Send + Sync>,
}

impl App {
    /// Puts the house together. The clock comes from outside, so that tests and the demo have their own.
    pub fn new(store: Store, codes: Codes, files: PathBuf, start_code: Option<String>, clock: impl Fn() -> Instant + Send + Sync + 'static) -> Self {
        // Five wrong codes at once, then one more every half minute: a six-digit code takes a year to guess.
        let quota = Quota::with_period(std::time::Duration::from_secs(30)).unwrap_or(Quota::per_minute(NonZeroU32::MIN));
        let tries = RateLimiter::keyed(quota.allow_burst(NonZeroU32::new(5).unwrap_or(NonZeroU32::MIN)));
        Self(Arc::new(Inner { store, codes, files, start_code: Mutex::new(start_code), tries, clock: Box::new(clock) }))
    }

    /// Now, by the house's clock.
    pub fn now(&self) -> Instant {
        (self.0.clock)()
    }

    /// Whether one more try is allowed.
    pub fn may_try(&self, what: &str) -> bool {
        self.0.tries.check_key(&what.to_owned()).is_ok()
    }
}

impl std::ops::Deref for App {
    type Target = Inner;
    fn deref(&self) -> &Inner {
        &self.0
    }
}
