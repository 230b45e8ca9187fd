//! Who may ask for what, the cookies by which a browser is known, and addresses to come back to.
use crate::shop::Role;
use axum_extra::extract::cookie::{Cookie, SameSite};

/// Who may ask for an address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// Anybody: styles, the first start, the code that admits a device.
    Anybody,
    /// Anybody at an admitted device: signing in.
    Device,
    /// Whoever has one of these roles and is signed in at an admitted device.
    Roles(&'static [Role]),
}

impl Access {
    /// Everybody who works here.
    pub const STAFF: Access = Access::Roles(&[Role::Desk, Role::Technician, Role::Owner]);
    /// Front desk or owner.
    pub const DESK: Access = Access::Roles(&[Role::Desk, Role::Owner]);
    /// At the car: technician or owner.
    pub const BENCH: Access = Access::Roles(&[Role::Technician, Role::Owner]);
    /// The owner alone.
    pub const OWNER: Access = Access::Roles(&[Role::Owner]);
}

/// Cookie of an admitted device.
pub const DEVICE: &str = "cw_device";
/// Cookie of a session.
pub const SESSION: &str = "cw_session";

/// A cookie of ours.
pub fn cookie(name: &'static str, value: String, days: i64) -> Cookie<'static> {
    Cookie::build((name, value))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .max_age(time::Duration::days(days))
        .build()
}

/// `back=…`, percent-encoded.
pub fn back_query(back: &str) -> String {
    form_urlencoded::Serializer::new(String::new())
        .append_pair("back", back)
        .finish()
}

/// A path on this server, never another host.
pub fn safe_back(back: &str) -> &str {
    let local = back.starts_with('/')
        && !back.starts_with("//")
        && !back.starts_with("/\\")
        && !back.contains(['\r', '\n']);
    if local { back } else { "/" }
}
