//! A form as a browser sends it, what a deed answers to it, and where it leads.
use super::Form;
use crate::{
    shop::{DeedId, DeviceId},
    store::sessions,
    web::{App, Fault, entry::FromTablet},
    work::DeedError,
};
use axum::{
    body::Bytes,
    extract::{FromRequest, FromRequestParts, Request},
    http::{Method, StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use uuid::Uuid;

impl Form {
    /// Takes what a deed answered: true where it is done (now or before), false where the form is to be shown again.
    pub fn settle(&mut self, done: Result<(), DeedError>) -> Result<bool, Fault> {
        match done {
            Ok(()) | Err(DeedError::AlreadyKept) => Ok(true),
            Err(DeedError::Refused { field, says }) => {
                self.wrong(field, says);
                Ok(false)
            }
            Err(DeedError::OtherContent) => {
                self.wrong(
                    "",
                    "This form was saved a moment ago with different content. What you see now is not saved yet; if you send it again it becomes a new entry.",
                );
                self.status = StatusCode::CONFLICT;
                // The next sending is a deed of its own.
                self.deed = DeedId::fresh();
                self.set("deed", self.deed.to_string());
                Ok(false)
            }
            Err(DeedError::Outdated) => {
                self.wrong(
                    "",
                    "Somebody else changed this while you were typing. What you typed is still here. Check what is on record now before you save again.",
                );
                self.status = StatusCode::CONFLICT;
                Ok(false)
            }
            Err(other) => Err(other.into()),
        }
    }
}

impl FromRequest<App> for Form {
    type Rejection = Fault;

    async fn from_request(request: Request, app: &App) -> Result<Self, Fault> {
        let path = request.uri().path().to_owned();
        let plain = request
            .headers()
            .get(header::CONTENT_TYPE)
            .is_some_and(|v| {
                v.as_bytes()
                    .starts_with(b"application/x-www-form-urlencoded")
            });
        if request.method() == Method::POST && !plain {
            return Err(Fault::Senseless("This address only accepts forms.".into()));
        }
        let tablet = FromTablet::of(request.headers()).map(|t| t.clock);
        let body = Bytes::from_request(request, app)
            .await
            .map_err(|_| Fault::Senseless("What was sent is too long for a form.".into()))?;
        Ok(Form {
            tablet,
            ..Form::of(path, form_urlencoded::parse(&body).into_owned().collect())
        }
        .as_sent())
    }
}

/// For a page with a form: what was typed before the session ended, else nothing.
pub struct Typed(pub Form);

impl FromRequestParts<App> for Typed {
    type Rejection = Fault;

    async fn from_request_parts(
        parts: &mut axum::http::request::Parts,
        app: &App,
    ) -> Result<Self, Fault> {
        let id = parts.uri.query().and_then(|q| {
            form_urlencoded::parse(q.as_bytes())
                .find(|(k, _)| k == "typed")
                .and_then(|(_, v)| v.parse::<Uuid>().ok())
        });
        let device = parts.extensions.get::<DeviceId>().copied();
        let Some((id, device)) = id.zip(device) else {
            return Ok(Self(Form::default()));
        };
        let mut conn = app.store.read().await?;
        let kept = sessions::typed(&mut conn, id, device).await?;
        Ok(Self(kept.map_or_else(Form::default, |(path, values)| {
            let mut form = Form::of(path, values);
            form.general.push(
                "You were signed out while typing. What you typed is back but not saved yet."
                    .into(),
            );
            form
        })))
    }
}

/// Shows a form again, with the status of its fault.
pub fn again(form_status: StatusCode, page: impl IntoResponse) -> Response {
    (form_status, page).into_response()
}

/// After a deed: to the page where one sees it.
pub fn to(path: impl AsRef<str>) -> Response {
    Redirect::to(path.as_ref()).into_response()
}
