//! Coming in: the link, the PIN, a name.

use super::NotIn;
use super::door::COOKIE;
use crate::crew::{NAME_COOKIE, tidy_name};
use crate::forms::{Fields, field, see};
use crate::pages::{bare, encoded};
use crate::server::Workbench;
use axum::Router;
use axum::extract::{Form, Path, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use maud::html;

/// How long a phone stays in. **Unit**: second. Own choice: a long load-in; a new start of the workbench ends it too.
const STAYS: u32 = 3 * 24 * 3600;

/// The addresses.
pub fn routes() -> Router<Workbench> {
    Router::new().route("/join/{secret}", get(ask).post(join))
}

async fn ask(State(workbench): State<Workbench>, Path(secret): Path<String>, headers: HeaderMap) -> Response {
    match workbench.access().and_then(|access| access.role_of(&secret)) {
        Some(_) => form(&headers, (&secret, ""), None),
        None => refused(&headers, NotIn::Link),
    }
}

async fn join(State(workbench): State<Workbench>, Path(secret): Path<String>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let name = tidy_name(field(&fields, "name"));
    let Some(access) = workbench.access() else { return refused(&headers, NotIn::Link) };
    match access.join(&secret, field(&fields, "pin"), &name) {
        Ok(token) => {
            let mut response = see("/linecheck");
            let cookies = [
                format!("{COOKIE}={token}; Path=/; Max-Age={STAYS}; HttpOnly; SameSite=Lax"),
                format!("{NAME_COOKIE}={}; Path=/; Max-Age={STAYS}; SameSite=Lax", encoded(&name).replace(',', "%2C")),
            ];
            for value in cookies.iter().filter_map(|cookie| HeaderValue::from_str(cookie).ok()) {
                response.headers_mut().append(header::SET_COOKIE, value);
            }
            response
        }
        Err(NotIn::Link) => refused(&headers, NotIn::Link),
        Err(why) => form(&headers, (&secret, &name), Some(why)),
    }
}

fn form(headers: &HeaderMap, (secret, name): (&str, &str), why: Option<NotIn>) -> Response {
    let status = match why {
        None => StatusCode::OK,
        Some(NotIn::Wait(_) | NotIn::Shut) => StatusCode::TOO_MANY_REQUESTS,
        Some(_) => StatusCode::FORBIDDEN,
    };
    let text = html! {
        section.narrow.join {
            h1 { "Join the line check" }
            p.lead { "The PIN is at the engineer\u{2019}s desk. Your name stands beside what you tick, so that others know whom to ask." }
            @if let Some(why) = why { p.refusal.plain role="alert" { (words(why)) } }
            form method="post" action={ "/join/" (encoded(secret)) } {
                div.field { label for="pin" { "PIN" } input #pin name="pin" inputmode="numeric" autocomplete="one-time-code" maxlength="6" required autofocus; }
                div.field { label for="name" { "Your name" } input #name name="name" value=(name) maxlength="40" autocomplete="name" required; }
                p.ways { button type="submit" { "Join" } }
            }
        }
    };
    let mut response = (status, bare(headers, "Join", &text)).into_response();
    if let Some(NotIn::Wait(seconds)) = why {
        response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(seconds));
    }
    response
}

fn refused(headers: &HeaderMap, why: NotIn) -> Response {
    let text = html! { section.narrow.join { h1 { "Not this way" } p { (words(why)) } } };
    (StatusCode::NOT_FOUND, bare(headers, "Not this way", &text)).into_response()
}

fn words(why: NotIn) -> String {
    match why {
        NotIn::Link => "This link leads nowhere, or no longer. Scan the one that the engineer\u{2019}s desk shows now.".to_owned(),
        NotIn::Pin => "That is not the PIN.".to_owned(),
        NotIn::Wait(seconds) => format!("Too many wrong PINs. Wait {seconds} s, then try again."),
        NotIn::Shut => "No more phones are let in. Ask at the engineer\u{2019}s desk for a new link.".to_owned(),
    }
}
