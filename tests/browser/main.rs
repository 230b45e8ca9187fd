//! The house in a browser: headless Chromium over WebDriver against the real server.
mod begin;
mod others;
mod scenario;
mod support;
