//! Files of what was seen on the network: taken in piece by piece, set aside, taken back.

use super::super::linecheck::{self, Outcome};
use super::super::{Page, shell};
use crate::crew::{Who, fresh_id, now};
use crate::forms::{Fields, act, back, field, see};
use crate::seen::LARGEST;
use crate::server::Workbench;
use crate::store::Refusal;
use axum::Router;
use axum::extract::multipart::Field;
use axum::extract::{DefaultBodyLimit, Form, Multipart, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::post;
use loomwright_crewlog::{Deed, Entry, SeenFile};

/// Most files at once. Own choice.
const MOST: usize = 64;

/// The addresses.
pub fn routes() -> Router<Workbench> {
    // Each file has its own limit, which says what to do; this one only ends what has no end.
    let largest = usize::try_from(LARGEST).unwrap_or(usize::MAX).saturating_mul(2);
    Router::new()
        .route("/linecheck/evidence", post(take).layer(DefaultBodyLimit::max(largest)))
        .route("/linecheck/set-aside", post(set_aside))
        .route("/linecheck/take-back", post(take_back))
}

/// `POST /linecheck/evidence`: any number of files. What is whole is kept, whatever becomes of the others.
async fn take(State(workbench): State<Workbench>, who: Who, headers: HeaderMap, mut form: Multipart) -> Response {
    let mut outcomes = Vec::new();
    while outcomes.len() < MOST {
        match form.next_field().await {
            Ok(Some(part)) if part.name() == Some("file") && part.file_name().is_some_and(|name| !name.is_empty()) => {
                outcomes.push(one(&workbench, &who, part).await)
            }
            Ok(Some(_)) => {}
            Ok(None) => break,
            Err(_) => {
                outcomes.push(lost("what was sent"));
                break;
            }
        }
    }
    if outcomes.is_empty() {
        outcomes.push(Outcome { name: "No file".to_owned(), says: "Choose one or more files first.".to_owned(), is_kept: false });
    }
    if outcomes.iter().all(|outcome| outcome.is_kept) {
        return see("/linecheck/seen");
    }
    let answer = tokio::task::spawn_blocking(move || {
        let parts = linecheck::taken(&outcomes);
        let page = Page { follows: false, ..shell::page("Line check".to_owned(), "/linecheck", parts, &workbench.view()) };
        (StatusCode::UNPROCESSABLE_ENTITY, shell::document(&page, &shell::Look::of(&headers), "/linecheck/seen").1).into_response()
    });
    answer.await.unwrap_or_else(|_| see("/linecheck/seen"))
}

fn lost(name: &str) -> Outcome {
    let says = "Not kept: it did not arrive whole. Send it again.".to_owned();
    Outcome { name: name.to_owned(), says, is_kept: false }
}

/// One file, piece by piece onto the disk; acknowledged when it lies there, is in the log and was read.
async fn one(workbench: &Workbench, who: &Who, mut part: Field<'_>) -> Outcome {
    let name = part.file_name().unwrap_or_default().to_owned();
    let refused = |says: String| Outcome { name: name.clone(), says, is_kept: false };
    let mut incoming = match workbench.incoming(&name) {
        Ok(incoming) => incoming,
        Err(words) => return refused(words),
    };
    loop {
        match part.chunk().await {
            Ok(Some(piece)) => {
                if let Err(words) = incoming.take(&piece) {
                    return refused(words);
                }
            }
            Ok(None) => break,
            Err(_) => return lost(&name),
        }
    }
    let (bench, who) = (workbench.clone(), who.clone());
    let kept = tokio::task::spawn_blocking(move || {
        let kept = incoming.keep()?;
        bench.with_seen(|_| ());
        match kept {
            Some(file) => bench.say(arrived(who, file)).map(|()| "Kept and read."),
            None => Ok("The same file is here already."),
        }
    });
    match kept.await {
        Ok(Ok(says)) => Outcome { name, says: says.to_owned(), is_kept: true },
        Ok(Err(words)) => refused(words),
        Err(_) => refused("It was kept but could not be read.".to_owned()),
    }
}

fn arrived(who: Who, file: SeenFile) -> Entry {
    Entry { id: fresh_id(), time: now(), made: None, who: who.name, hand: who.hand, knew: 0, deed: Deed::Evidence(file) }
}

async fn set_aside(State(workbench): State<Workbench>, who: Who, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let way_back = back(&fields).to_owned();
    let done = move |bench: &Workbench| {
        let file = field(&fields, "file").to_owned();
        bench.with_seen(|seen| seen.set_aside(&file)).map_err(Refusal::Wrong)?;
        let says = format!("{file} is kept and no longer counts.");
        let entry =
            Entry { id: fresh_id(), time: now(), made: None, who: who.name, hand: who.hand, knew: 0, deed: Deed::SetAside { file } };
        bench.say(entry).map(|()| says).map_err(Refusal::Unkept)
    };
    act(workbench, headers, way_back, done).await
}

async fn take_back(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let way_back = back(&fields).to_owned();
    let done = move |bench: &Workbench| {
        bench.with_seen(|seen| seen.take_back(field(&fields, "file"))).map(|()| String::new()).map_err(Refusal::Wrong)
    };
    act(workbench, headers, way_back, done).await
}
