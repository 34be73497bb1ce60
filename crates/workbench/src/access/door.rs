//! What every request at the crew's door must satisfy.

use super::{Access, Guest, Role, join};
use crate::crew::cookie;
use crate::guard::{dressed, host_of, is_from_here};
use crate::server::Workbench;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// The cookie of a phone that was let in.
pub const COOKIE: &str = "crew";
/// Tells the pages which role looks at them. Never taken from outside.
pub const ROLE: &str = "x-loomwright-role";
/// What who ticks may post.
const TICKS: [&str; 5] = ["/linecheck/tick", "/linecheck/note", "/linecheck/photo", "/linecheck/name", "/theme"];
/// What who looks may post.
const LOOKS: [&str; 1] = ["/theme"];

/// The pages for joining.
pub fn routes() -> axum::Router<Workbench> {
    join::routes()
}

/// Refuses what must not come in by the crew's door.
pub async fn door(State(access): State<Arc<Access>>, mut request: Request, next: Next) -> Response {
    request.headers_mut().remove(ROLE);
    let answer = match judge(&access, &request) {
        Ok(guest) => {
            if let Some(guest) = guest {
                request.headers_mut().insert(ROLE, HeaderValue::from_static(guest.role.word()));
                request.extensions_mut().insert(guest.who);
            }
            next.run(request).await
        }
        Err(refusal) => refusal.into_response(),
    };
    dressed(answer)
}

type Refused = (StatusCode, [(header::HeaderName, &'static str); 1], &'static str);

const fn refused(status: StatusCode, words: &'static str) -> Refused {
    (status, [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], words)
}

/// Who asks; `None` for what anybody may see: the page to join, style and script.
fn judge(access: &Access, request: &Request) -> Result<Option<Guest>, Refused> {
    let host = host_of(request);
    if !host.is_some_and(|host| host.eq_ignore_ascii_case(access.host())) {
        return Err(refused(StatusCode::MISDIRECTED_REQUEST, "This server does not answer to that name. Use the crew link.\n"));
    }
    let path = request.uri().path();
    let is_unsafe = !matches!(*request.method(), Method::GET | Method::HEAD);
    // Phones' browsers always say where a form comes from: what does not is no page of ours.
    let says_where = ["origin", "sec-fetch-site"].iter().any(|name| request.headers().contains_key(*name));
    if is_unsafe && !(says_where && is_from_here(request.headers(), host)) {
        return Err(refused(StatusCode::FORBIDDEN, "This came from another site's page and was refused. Nothing was changed.\n"));
    }
    let is_open = path.starts_with("/join/") || path.starts_with("/assets/") || path == "/favicon.ico";
    if is_open {
        return Ok(None);
    }
    let guest = cookie(request.headers(), COOKIE).and_then(|token| access.guest(token)).ok_or(refused(
        StatusCode::UNAUTHORIZED,
        "This phone is not let in, or no longer. Scan the crew link at the engineer's desk; what you tapped stays on this phone until then.\n",
    ))?;
    let allowed: &[&str] = match guest.role {
        Role::Look => &LOOKS,
        Role::Tick => &TICKS,
    };
    if is_unsafe && !allowed.contains(&path) {
        return Err(refused(
            StatusCode::FORBIDDEN,
            match guest.role {
                Role::Look => "This link is for looking only. Nothing was changed.\n",
                Role::Tick => "The crew ticks and notes; the plan is changed at the engineer's desk. Nothing was changed.\n",
            },
        ));
    }
    Ok(Some(guest))
}
