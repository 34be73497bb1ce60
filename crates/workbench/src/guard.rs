//! What every request must satisfy, and what every answer says to the browser.
//!
//! A page from elsewhere must not be able to read or change the plan: the name the browser thinks it
//! talks to must be one of ours (a foreign name that points to this machine is refused), and whatever
//! changes something must come from one of our own pages.

use crate::server::Workbench;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// Said with every answer.
const HEADERS: [(HeaderName, &str); 6] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'self'; img-src 'self' data:; frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "same-origin"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
];

/// Refuses what must not come in; dresses what goes out.
pub async fn guard(State(workbench): State<Workbench>, mut request: Request, next: Next) -> Response {
    request.headers_mut().remove(crate::access::ROLE);
    let response = match refusal(&workbench, &request) {
        Some((status, text)) => (status, text).into_response(),
        None => next.run(request).await,
    };
    dressed(response)
}

/// With what every answer says to the browser.
pub fn dressed(mut response: Response) -> Response {
    for (name, value) in HEADERS {
        response.headers_mut().entry(name).or_insert(HeaderValue::from_static(value));
    }
    response
}

fn refusal(workbench: &Workbench, request: &Request) -> Option<(StatusCode, &'static str)> {
    let host = host_of(request);
    if !host.is_some_and(|host| workbench.answers_to(host)) {
        return Some((
            StatusCode::MISDIRECTED_REQUEST,
            "This server does not answer to that name. Use the address that it printed when it started.\n",
        ));
    }
    if !request.method().is_safe() && !is_from_here(request.headers(), host) {
        return Some((StatusCode::FORBIDDEN, "This came from another site's page and was refused. Nothing was changed.\n"));
    }
    None
}

/// The name that the browser thinks it talks to.
pub fn host_of(request: &Request) -> Option<&str> {
    let header = request.headers().get(header::HOST).and_then(|value| value.to_str().ok());
    header.or_else(|| request.uri().authority().map(|authority| authority.as_str()))
}

/// Whether an unsafe request comes from our own page: by Sec-Fetch-Site where the browser sends it, else
/// by Origin; a client that sends neither is no browser and carries nobody's rights.
/// **Source**: Fetch Metadata Request Headers (W3C), RFC 6454; the order is own choice.
pub fn is_from_here(headers: &HeaderMap, host: Option<&str>) -> bool {
    let text = |name: &str| headers.get(name).map(|value| value.to_str().unwrap_or(""));
    if let Some(site) = text("sec-fetch-site") {
        return matches!(site, "same-origin" | "none");
    }
    match text("origin") {
        Some(origin) => host.is_some_and(|host| origin.strip_prefix("http://") == Some(host)),
        None => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(pairs: &[(&'static str, &'static str)]) -> bool {
        let headers = pairs.iter().map(|(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value))).collect();
        is_from_here(&headers, Some("localhost:8750"))
    }

    #[test]
    fn only_our_own_pages_change_things() {
        assert!(judged(&[]));
        assert!(judged(&[("sec-fetch-site", "same-origin")]) && judged(&[("sec-fetch-site", "none")]));
        assert!(!judged(&[("sec-fetch-site", "cross-site")]) && !judged(&[("sec-fetch-site", "same-site")]));
        assert!(judged(&[("origin", "http://localhost:8750")]));
        for foreign in ["http://localhost:8751", "https://localhost:8750", "null", "http://evil.test"] {
            assert!(!judged(&[("origin", foreign)]), "{foreign}");
        }
        assert!(!judged(&[("sec-fetch-site", "cross-site"), ("origin", "http://localhost:8750")]));
    }
}
