//! What can go wrong with a request, and the one page that says so.
use super::Page;
use crate::{store::StoreError, work::DeedError};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    http::StatusCode,
    response::{IntoResponse, Response},
};

/// A request that gets no page of its own.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    /// There is no such thing.
    #[error("There is no such page or entry: {0}.")]
    Missing(String),
    /// Not for this person.
    #[error("{0}")]
    Forbidden(String),
    /// The request makes no sense; the page's own forms never send it.
    #[error("{0}")]
    Senseless(String),
    /// Too many tries.
    #[error("Too many attempts. Wait 30 s, then try again.")]
    TooMany,
    /// It collides with something that was kept before.
    #[error("{0}")]
    Conflict(String),
    /// Our own fault.
    #[error(
        "Something went wrong on the server. Nothing was saved. Try again, and tell the person who looks after this server."
    )]
    Own(#[source] Box<dyn std::error::Error + Send + Sync>),
}

impl Fault {
    /// There is no such thing.
    pub fn missing(what: impl Into<String>) -> Self {
        Self::Missing(what.into())
    }

    /// The status that goes with it.
    pub fn status(&self) -> StatusCode {
        match self {
            Fault::Missing(_) => StatusCode::NOT_FOUND,
            Fault::Forbidden(_) => StatusCode::FORBIDDEN,
            Fault::Senseless(_) => StatusCode::BAD_REQUEST,
            Fault::TooMany => StatusCode::TOO_MANY_REQUESTS,
            Fault::Conflict(_) => StatusCode::CONFLICT,
            Fault::Own(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

impl From<StoreError> for Fault {
    fn from(e: StoreError) -> Self {
        Self::Own(Box::new(e))
    }
}

impl From<DeedError> for Fault {
    fn from(e: DeedError) -> Self {
        match e {
            DeedError::NotAllowed(_) => Fault::Forbidden(format!("You do not have permission: {e}.")),
            DeedError::Missing(what) => Fault::missing(what),
            DeedError::Refused { says, .. } => Fault::Conflict(says),
            DeedError::AlreadyKept => Fault::Conflict("This has already been saved.".into()),
            DeedError::OtherContent => {
                Fault::Conflict("The same form was saved with different content. Reload the page and enter it as a new entry or as a correction.".into())
            }
            DeedError::Outdated => Fault::Conflict("Somebody else has changed this in the meantime. Reload the page and check.".into()),
            DeedError::Store(e) => e.into(),
        }
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "error.html")]
struct ErrorPage {
    page: Page,
    heading: &'static str,
    says: String,
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        if let Fault::Own(source) = &self {
            tracing::error!(%source, "a request failed");
        }
        let heading = match self {
            Fault::Missing(_) => "Page not found",
            Fault::Forbidden(_) => "No access",
            Fault::Senseless(_) => "Request not understood",
            Fault::TooMany => "Too many attempts",
            Fault::Conflict(_) => "Somebody else changed this",
            Fault::Own(_) => "Something went wrong",
        };
        (
            self.status(),
            ErrorPage {
                page: Page::bare(heading),
                heading,
                says: self.to_string(),
            },
        )
            .into_response()
    }
}
