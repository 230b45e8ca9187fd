//! The house in a browser: headless Chromium over WebDriver against the real server.
mod begin;
mod bench;
mod keyboard;
mod labels;
mod live;
mod others;
mod scenario;
mod support;
mod trust;
