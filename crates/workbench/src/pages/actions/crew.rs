//! What the crew says: ticks, notes, pictures, a name, a signature.

use super::super::linecheck;
use crate::crew::{NAME_COOKIE, Who, now};
use crate::engine::cable;
use crate::forms::{Fields, act, back, field, see};
use crate::pages::encoded;
use crate::server::Workbench;
use crate::store::{Refusal, View};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Form, Multipart, Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use loomwright_crewlog::{Deed, Entry, photo};

/// Longest id that a phone gives. **Unit**: octet. Own choice.
const LONGEST_ID: usize = 64;
/// Longest note or remark. **Unit**: sign. Own choice; the pages allow the same.
const LONGEST_TEXT: usize = 2_000;
/// Room for the form around a picture. **Unit**: octet. Own choice.
const FORM: usize = 64 * 1024;

/// The addresses.
pub fn routes() -> Router<Workbench> {
    Router::new()
        .route("/linecheck/tick", post(tick))
        .route("/linecheck/note", post(note))
        .route("/linecheck/name", post(name))
        .route("/linecheck/sign", post(sign))
        .route("/linecheck/photo", post(take_photo).layer(DefaultBodyLimit::max(photo::LARGEST + FORM)))
        .route("/linecheck/photo/{file}", get(show_photo))
}

/// `POST /linecheck/tick`: `cable`, `port` or none for the test, `is`, `knew`, and from phones `id` and `made`.
async fn tick(State(workbench): State<Workbench>, who: Who, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let way_back = back(&fields).to_owned();
    let done = move |bench: &Workbench| {
        let is = match field(&fields, "is") {
            "true" => true,
            "false" => false,
            _ => return Err(Refusal::Wrong("Not ticked: the form did not say what is so.".to_owned())),
        };
        let id = known_cable(&bench.view(), field(&fields, "cable"), field(&fields, "port"))?;
        let deed = match field(&fields, "port") {
            "" => Deed::Test { cable: id, is },
            port => Deed::Plug { cable: id, port: port.to_owned(), is },
        };
        say(bench, entry(&fields, who, deed))
    };
    act(workbench, headers, way_back, done).await
}

/// `POST /linecheck/note`: `cable`, `text`.
async fn note(State(workbench): State<Workbench>, who: Who, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let way_back = back(&fields).to_owned();
    let done = move |bench: &Workbench| {
        let text = shortened(field(&fields, "text"));
        if text.is_empty() {
            return Err(Refusal::Wrong("Not kept: the note is empty.".to_owned()));
        }
        let cable = known_cable(&bench.view(), field(&fields, "cable"), "")?;
        say(bench, entry(&fields, who, Deed::Note { cable, text }))
    };
    act(workbench, headers, way_back, done).await
}

/// Whether the plan has the cable, with an end at `port` if one is named: gives its name.
fn known_cable(view: &View, id: &str, port: &str) -> Result<String, Refusal> {
    let Some(found) = cable(&view.good, id) else {
        return Err(Refusal::Wrong(format!("Not ticked: the plan has no cable {id} any more. Look at the line check as it is now.")));
    };
    if !port.is_empty() && !found.ends.iter().any(|end| end.to_string() == port) {
        return Err(Refusal::Wrong(format!(
            "Not ticked: the plan changed, cable {id} now goes from {} to {}. Look where it is plugged.",
            found.ends[0], found.ends[1]
        )));
    }
    Ok(id.to_owned())
}

fn entry(fields: &Fields, who: Who, deed: Deed) -> Entry {
    let given = field(fields, "id");
    let is_usable =
        !given.is_empty() && given.len() <= LONGEST_ID && given.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-');
    let made = Some(field(fields, "made")).filter(|made| is_moment(made)).map(str::to_owned);
    Entry {
        id: if is_usable { given.to_owned() } else { crate::crew::fresh_id() },
        time: now(),
        made,
        who: who.name,
        hand: who.hand,
        knew: field(fields, "knew").parse().unwrap_or(0),
        deed,
    }
}

/// Whether it is a moment as the log writes it; a phone may send anything.
fn is_moment(text: &str) -> bool {
    text.len() == 20
        && text.bytes().zip(b"0000-00-00T00:00:00Z").all(|(a, form)| if *form == b'0' { a.is_ascii_digit() } else { a == *form })
}

fn shortened(text: &str) -> String {
    text.replace("\r\n", "\n").trim().chars().take(LONGEST_TEXT).collect()
}

fn say(bench: &Workbench, entry: Entry) -> Result<String, Refusal> {
    bench.say(entry).map(|()| String::new()).map_err(Refusal::Unkept)
}

/// `POST /linecheck/name`: kept in this browser for a year; own choice.
async fn name(Form(fields): Form<Fields>) -> Response {
    let name = crate::crew::tidy_name(field(&fields, "name"));
    let mut response = see(&format!("{}?name={}", back(&fields), encoded(&name)));
    let cookie = format!("{NAME_COOKIE}={}; Path=/; Max-Age=31536000; SameSite=Lax", encoded(&name).replace(',', "%2C"));
    if let Ok(value) = cookie.parse() {
        response.headers_mut().insert(header::SET_COOKIE, value);
    }
    response
}

/// `POST /linecheck/sign`: `who`, `remark`.
async fn sign(State(workbench): State<Workbench>, who: Who, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let id = crate::crew::fresh_id();
    let way_there = format!("/linecheck/record?at={id}");
    let done = move |bench: &Workbench| {
        let signer = crate::crew::tidy_name(field(&fields, "who"));
        if signer.is_empty() {
            return Err(Refusal::Wrong("Not signed: say who signs.".to_owned()));
        }
        let view = bench.view();
        let record = linecheck::now(&view, &shortened(field(&fields, "remark")));
        let knew = view.crew.book.len();
        say(bench, Entry { id, time: now(), made: None, who: signer, hand: who.hand, knew, deed: Deed::Sign(Box::new(record)) })
    };
    act(workbench, headers, way_there, done).await
}

/// `POST /linecheck/photo`: `cable` and the picture `photo`.
async fn take_photo(State(workbench): State<Workbench>, who: Who, headers: HeaderMap, mut form: Multipart) -> Response {
    let (mut id, mut picture) = (String::new(), Vec::new());
    loop {
        match form.next_field().await {
            Ok(Some(part)) if part.name() == Some("photo") => match part.bytes().await {
                Ok(octets) => picture = octets.to_vec(),
                Err(_) => return too_large(),
            },
            Ok(Some(part)) => id = part.text().await.unwrap_or_default(),
            Ok(None) => break,
            Err(_) => return too_large(),
        }
    }
    let way_back = format!("/c/{}", encoded(&id));
    let done = move |bench: &Workbench| {
        let cable = known_cable(&bench.view(), &id, "")?;
        let kept = bench.photos().keep(&cable, &picture).map_err(Refusal::Wrong)?;
        let deed = Deed::Photo { cable, file: kept.file, octets: picture.len() as u64, sha256: kept.sha256 };
        say(bench, entry(&Vec::new(), who, deed))
    };
    act(workbench, headers, way_back, done).await
}

fn too_large() -> Response {
    let words = format!(
        "Not kept: the picture is larger than {} MB or did not arrive whole. Go back and take a smaller one.\n",
        photo::LARGEST / 1024 / 1024
    );
    (StatusCode::PAYLOAD_TOO_LARGE, words).into_response()
}

async fn show_photo(State(workbench): State<Workbench>, Path(file): Path<String>) -> Response {
    let read = tokio::task::spawn_blocking(move || workbench.photos().read(&file)).await.ok().flatten();
    match read {
        Some((kind, octets)) => ([(header::CONTENT_TYPE, kind.media_type())], octets).into_response(),
        None => (StatusCode::NOT_FOUND, "There is no such picture.\n").into_response(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_moments_pass() {
        assert!(is_moment("2026-05-02T14:03:22Z"));
        for other in ["", "2026-05-02", "2026-05-02T14:03:22.5Z", "2026-05-02 14:03:22Z", "<script>alert(1)</sc"] {
            assert!(!is_moment(other), "{other}");
        }
    }
}
