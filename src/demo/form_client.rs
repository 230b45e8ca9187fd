//! Somebody at a screen, without a screen: pages read and their forms sent through the router, with a browser's cookies.
use super::page_form::{FillError, PageForm};
use axum::{
    Router,
    body::Body,
    http::{Method, Request, StatusCode, header, request::Builder},
};
use tower::ServiceExt;

/// What came back.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The status.
    pub status: StatusCode,
    /// Where it leads on to; empty where it does not.
    pub location: String,
    /// The body.
    pub body: String,
}

impl Answer {
    /// The sentences beside the fields that were refused.
    pub fn refusals(&self) -> Vec<&str> {
        self.body
            .split("class=\"err\"")
            .skip(1)
            .filter_map(|s| s.split('>').nth(1)?.split('<').next())
            .collect()
    }
}

/// A browser: the router and its cookies.
#[derive(Clone)]
pub struct FormClient {
    router: Router,
    /// Names and values.
    pub cookies: Vec<(String, String)>,
}

/// A boundary that stands in nothing that anybody types.
const BOUNDARY: &str = "----0197c1f2-form-client";

impl FormClient {
    /// Without cookies.
    pub fn new(router: Router) -> Self {
        Self {
            router,
            cookies: Vec::new(),
        }
    }

    /// Another browser at the same house, without cookies.
    pub fn stranger(&self) -> Self {
        Self::new(self.router.clone())
    }

    /// The house that it looks at.
    pub fn router(&self) -> Router {
        self.router.clone()
    }

    /// Reads a page.
    pub async fn get(&mut self, path: &str) -> Answer {
        self.send(
            Request::builder().method(Method::GET).uri(path),
            Body::empty(),
        )
        .await
    }

    /// Fills in the form of `page` that is posted to `action`, and sends all of it. What the page asks for only once it has seen the rest (whether an
    /// unlikely reading is meant) is filled in when it does.
    ///
    /// # Errors
    /// A form, field or choice that the page does not have.
    pub async fn fill(
        &mut self,
        page: &str,
        action: &str,
        set: &[(&str, &str)],
    ) -> Result<Answer, FillError> {
        let shown = self.get(page).await;
        let form = PageForm::posted_to(&shown.body, page, action)?;
        let (now, later): (Vec<_>, Vec<_>) =
            set.iter().copied().partition(|(name, _)| form.has(name));
        let answer = self
            .post_pairs(action, page, &form.filled(&now)?, form.multipart)
            .await;
        if later.is_empty() {
            return Ok(answer);
        }
        let asked = PageForm::posted_to(&answer.body, page, action).unwrap_or(form);
        Ok(self
            .post_pairs(action, page, &asked.filled(set)?, asked.multipart)
            .await)
    }

    /// Posts these names and values as they are, from a page.
    pub async fn post_pairs<T: AsRef<str>>(
        &mut self,
        action: &str,
        page: &str,
        pairs: &[(T, T)],
        multipart: bool,
    ) -> Answer {
        let (kind, body) = if multipart {
            let parts = pairs
                .iter()
                .map(|(k, v)| {
                    format!(
                        "--{BOUNDARY}\r\nContent-Disposition: form-data; name=\"{}\"\r\n\r\n{}\r\n",
                        k.as_ref(),
                        v.as_ref()
                    )
                })
                .collect::<String>();
            (
                format!("multipart/form-data; boundary={BOUNDARY}"),
                format!("{parts}--{BOUNDARY}--\r\n"),
            )
        } else {
            let body = form_urlencoded::Serializer::new(String::new())
                .extend_pairs(pairs)
                .finish();
            ("application/x-www-form-urlencoded".to_owned(), body)
        };
        let request = Request::builder()
            .method(Method::POST)
            .uri(action)
            .header(header::CONTENT_TYPE, kind)
            .header(header::HOST, "shop.test")
            .header(header::REFERER, format!("http://shop.test{page}"))
            .header("sec-fetch-site", "same-origin");
        self.send(request, Body::from(body)).await
    }

    /// Sends a request with the cookies, and keeps those that come back. What cannot be sent is answered as a bad request.
    pub async fn send(&mut self, request: Builder, body: Body) -> Answer {
        let cookies: Vec<String> = self
            .cookies
            .iter()
            .map(|(k, v)| format!("{k}={v}"))
            .collect();
        let request = match request
            .header(header::COOKIE, cookies.join("; "))
            .body(body)
        {
            Ok(request) => request,
            Err(e) => {
                return Answer {
                    status: StatusCode::BAD_REQUEST,
                    location: String::new(),
                    body: e.to_string(),
                };
            }
        };
        let response = match self.router.clone().oneshot(request).await {
            Ok(response) => response,
            Err(never) => match never {},
        };
        for set in response
            .headers()
            .get_all(header::SET_COOKIE)
            .iter()
            .filter_map(|v| v.to_str().ok())
        {
            if let Some((name, rest)) = set.split_once('=') {
                let value = rest.split(';').next().unwrap_or_default();
                self.cookies.retain(|(k, _)| k != name);
                if !value.is_empty() {
                    self.cookies.push((name.to_owned(), value.to_owned()));
                }
            }
        }
        let status = response.status();
        let location = response
            .headers()
            .get(header::LOCATION)
            .and_then(|v| v.to_str().ok())
            .unwrap_or_default()
            .to_owned();
        let bytes = axum::body::to_bytes(response.into_body(), usize::MAX)
            .await
            .unwrap_or_default();
        Answer {
            status,
            location,
            body: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }
}

/// The page on which the form that is posted to this address stands.
pub fn page_of(action: &str) -> String {
    if action.starts_with("/review/") {
        return "/review".to_owned();
    }
    let (above, last) = action.rsplit_once('/').unwrap_or(("", action));
    match last {
        "readings" | "end" | "lines" | "notes" => above.to_owned(),
        "authorisations" | "payments" => format!("{above}/estimate"),
        "label" | "previous-charge" | "cancel" => format!("{above}/details"),
        "reopen" => format!("{above}/report"),
        "stage" => format!("{above}/bench"),
        "sign-out" => "/sign-in".to_owned(),
        _ => action.to_owned(),
    }
}
