//! The house in a browser: headless Chromium over WebDriver against the real server.
mod away;
mod begin;
mod bench;
mod hands;
mod keyboard;
mod labels;
mod live;
mod net;
mod others;
mod scenario;
mod support;
mod trust;
mod vin;
