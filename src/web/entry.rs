//! What was entered at a tablet and sent by its worker (`static/worker.js`): who entered it and when, and an answer that a script can read.
use super::App;
use crate::shop::{Instant, PersonId, TabletClock};
use axum::{
    Json,
    extract::{Request, State},
    http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};
use serde::Serialize;

/// What the worker tells of an entry, as a form body writes it: `person`, `entered`, `sent`, and `server` with `tablet` where it had heard the server.
const ENTRY: HeaderName = HeaderName::from_static("chillwright-entry");
/// The server's time with every answer, milliseconds since 1970 UTC.
const NOW: HeaderName = HeaderName::from_static("chillwright-now");

/// An entry that a worker sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FromTablet {
    /// Who entered it.
    pub person: Option<PersonId>,
    /// The tablet's clock.
    pub clock: TabletClock,
}

impl FromTablet {
    /// Reads the header; `None` where there is none, or none that can be read.
    pub fn of(headers: &HeaderMap) -> Option<Self> {
        let pairs: Vec<_> = form_urlencoded::parse(headers.get(ENTRY)?.as_bytes()).collect();
        let get = |name: &str| {
            pairs
                .iter()
                .find(|(key, _)| key == name)
                .map(|(_, value)| value.as_ref())
        };
        let number = |name: &str| get(name)?.parse::<i64>().ok();
        let contact = number("server").map(Instant).zip(number("tablet"));
        Some(Self {
            person: get("person").and_then(|p| p.parse().ok()),
            clock: TabletClock {
                entered: number("entered")?,
                sent: number("sent")?,
                contact,
            },
        })
    }
}

/// Why an entry has to wait: `nobody` or somebody `else` is signed in.
#[derive(Serialize)]
struct Waits {
    #[serde(rename = "signIn")]
    sign_in: &'static str,
}

/// The answer to an entry that waits for a code.
pub fn waits_for_code(somebody_else: bool) -> Response {
    (
        StatusCode::UNAUTHORIZED,
        Json(Waits {
            sign_in: if somebody_else { "else" } else { "nobody" },
        }),
    )
        .into_response()
}

/// Where a kept entry leads to.
#[derive(Serialize)]
struct Kept {
    to: String,
}

/// Answers an entry in JSON where a browser would be led on; tells every answer the server's time.
pub async fn answer(State(app): State<App>, request: Request, next: Next) -> Response {
    let entry = FromTablet::of(request.headers()).is_some();
    let response = next.run(request).await;
    let to = response
        .headers()
        .get(header::LOCATION)
        .and_then(|to| to.to_str().ok())
        .map(str::to_owned);
    let mut response = match to {
        Some(to) if entry && response.status() == StatusCode::SEE_OTHER => {
            Json(Kept { to }).into_response()
        }
        _ => response,
    };
    response
        .headers_mut()
        .insert(NOW, HeaderValue::from(app.now().0));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_is_read_as_the_worker_writes_it() {
        let mut headers = HeaderMap::new();
        assert_eq!(FromTablet::of(&headers), None);
        headers.insert(ENTRY, HeaderValue::from_static("person=01890a5d-ac96-774b-bcce-b302099a8057&entered=1000&sent=-5&server=9&tablet=8"));
        let read = FromTablet::of(&headers).expect("an entry");
        assert_eq!(
            read.clock,
            TabletClock {
                entered: 1000,
                sent: -5,
                contact: Some((Instant(9), 8))
            }
        );
        assert!(read.person.is_some());
        headers.insert(
            ENTRY,
            HeaderValue::from_static("person=&entered=1000&sent=1200"),
        );
        assert_eq!(
            FromTablet::of(&headers).expect("an entry"),
            FromTablet {
                person: None,
                clock: TabletClock {
                    entered: 1000,
                    sent: 1200,
                    contact: None
                }
            }
        );
        for odd in ["", "entered=x&sent=1", "sent=1"] {
            headers.insert(ENTRY, HeaderValue::from_str(odd).expect("a header"));
            assert_eq!(FromTablet::of(&headers), None, "{odd}");
        }
    }
}
