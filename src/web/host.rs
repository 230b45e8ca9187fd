//! The address by which a browser came.
use axum::http::{HeaderMap, Uri, header};

/// Name and port that the browser asked for: the request's `Host`, or in HTTP/2 its `:authority`.
pub fn host<'a>(uri: &'a Uri, headers: &'a HeaderMap) -> Option<&'a str> {
    uri.authority()
        .map(|a| a.as_str())
        .or_else(|| headers.get(header::HOST)?.to_str().ok())
}
