//! Chillwright: job tracking for the garage that repairs car air conditioning.
//!
//! Rooms, from the ground up; each may use those above it in this list and no other:
//! `shop` types and rules of the shop, `store` SQLite and all SQL, `work` the deeds, `plot` figures as SVG, `tls` authority, certificates and the encrypted door, `web` pages.
pub mod demo;
pub mod plot;
pub mod shop;
pub mod store;
pub mod tls;
pub mod web;
pub mod work;
