//! One row of the table of routes: an address, who may ask for it, who answers.
use super::{App, access::Access};
use axum::{http::Method, routing::MethodRouter};

/// An address, who may ask for it, and who answers.
pub struct Route {
    /// GET or POST.
    pub method: Method,
    /// As axum writes it: `/orders/{number}`.
    pub path: &'static str,
    /// Who may.
    pub access: Access,
    /// Who answers.
    pub handler: MethodRouter<App>,
}

/// A page.
pub fn get<H, T>(path: &'static str, access: Access, handler: H) -> Route
where
    H: axum::handler::Handler<T, App>,
    T: 'static,
{
    Route {
        method: Method::GET,
        path,
        access,
        handler: axum::routing::get(handler),
    }
}

/// A form.
pub fn post<H, T>(path: &'static str, access: Access, handler: H) -> Route
where
    H: axum::handler::Handler<T, App>,
    T: 'static,
{
    Route {
        method: Method::POST,
        path,
        access,
        handler: axum::routing::post(handler),
    }
}
