//! Answers to forms: a redirect for a plain browser, the changed page for the script, and plain words on refusal.

use crate::pages::{encoded, page_at, words};
use crate::server::Workbench;
use crate::store::Refusal;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};

/// What else was done, for the script to show; percent-encoded.
const SAYS: &str = "x-says";

/// The fields of a posted form, in order. A name may come several times.
pub type Fields = Vec<(String, String)>;

/// The first value of `name`; empty if it was not sent.
pub fn field<'a>(fields: &'a Fields, name: &str) -> &'a str {
    fields.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value.as_str())
}

/// Where to go afterwards: a path of this server, never an address elsewhere.
pub fn back(fields: &Fields) -> &str {
    let wanted = field(fields, "back");
    let is_ours = wanted.starts_with('/') && !wanted.starts_with("//") && !wanted.contains(['\\', '\r', '\n']);
    if is_ours { wanted } else { "/" }
}

/// Whether the script asks, which shows answers in place.
pub fn wants_fragment(headers: &HeaderMap) -> bool {
    headers.contains_key("x-fragment")
}

/// Does `how` off the async threads and answers. What `how` gives is shown to the person.
pub async fn act(
    workbench: Workbench,
    headers: HeaderMap,
    back: String,
    how: impl FnOnce(&Workbench) -> Result<String, Refusal> + Send + 'static,
) -> Response {
    let is_fragment = wants_fragment(&headers);
    let done = tokio::task::spawn_blocking(move || match how(&workbench) {
        Ok(also) if is_fragment => ([(SAYS, encoded(&also))], page_at(&back, &workbench.view()).everything()).into_response(),
        Ok(_) => see(&back),
        Err(refusal) if is_fragment => (status(&refusal), words::plain(&refusal)).into_response(),
        Err(refusal) => (status(&refusal), words::document(&refusal, &back, &workbench.view(), &headers)).into_response(),
    });
    done.await.unwrap_or_else(|_| {
        (StatusCode::INTERNAL_SERVER_ERROR, "This edit failed and nothing was changed. Please try another way and report it.\n")
            .into_response()
    })
}

/// Sends the browser to a page of ours.
pub fn see(path: &str) -> Response {
    (StatusCode::SEE_OTHER, [(header::LOCATION, path.to_owned())]).into_response()
}

fn status(refusal: &Refusal) -> StatusCode {
    match refusal {
        Refusal::Wrong(_) => StatusCode::UNPROCESSABLE_ENTITY,
        Refusal::Unkept(_) => StatusCode::SERVICE_UNAVAILABLE,
        Refusal::Conflict { .. } => StatusCode::CONFLICT,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_back_stays_here() {
        let to = |path: &str| back(&vec![("back".to_owned(), path.to_owned())]).to_owned();
        assert_eq!(to("/gear?x=1"), "/gear?x=1");
        for foreign in ["//evil.test", "http://evil.test", "", "gear", "/\\evil.test", "/x\r\ny"] {
            assert_eq!(to(foreign), "/", "{foreign:?}");
        }
    }
}
