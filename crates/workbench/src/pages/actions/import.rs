//! Reading a gear list and taking it in.

use super::super::{Page, import, shell};
use crate::engine;
use crate::forms::{Fields, act, back, field};
use crate::server::Workbench;
use crate::store::Refusal;
use axum::extract::{Form, Multipart, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};

/// `POST /gear/import`: shows what every row would become; changes nothing.
pub async fn look(State(workbench): State<Workbench>, headers: HeaderMap, mut form: Multipart) -> Response {
    let (mut name, mut bytes, mut text) = ("list.tsv".to_owned(), Vec::new(), String::new());
    loop {
        match form.next_field().await {
            Ok(Some(part)) if part.name() == Some("file") => {
                let given = part.file_name().unwrap_or("").to_owned();
                let Ok(content) = part.bytes().await else { return too_large() };
                if !content.is_empty() {
                    (name, bytes) = (given, content.to_vec());
                }
            }
            Ok(Some(part)) => text = part.text().await.unwrap_or_default(),
            Ok(None) => break,
            Err(_) => return too_large(),
        }
    }
    if bytes.is_empty() {
        bytes = text.clone().into_bytes();
    }
    let made = tokio::task::spawn_blocking(move || {
        let view = workbench.view();
        let list = match &view.good.plan {
            Some(plan) => engine::list(plan, &bytes, &name),
            None => Err("The plan file has errors. Repair them first.".to_owned()),
        };
        let status = if list.is_ok() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
        let page = Page { follows: false, ..shell::page("Gear".to_owned(), "/gear", import::seen(&list, &text), &view) };
        (status, shell::document(&page, &shell::Look::of(&headers), "/gear/import").1).into_response()
    });
    made.await
        .unwrap_or_else(|_| (StatusCode::INTERNAL_SERVER_ERROR, "This list could not be read. Nothing was changed.\n").into_response())
}

fn too_large() -> Response {
    (StatusCode::PAYLOAD_TOO_LARGE, "This list is too large or did not arrive whole. Nothing was changed.\n").into_response()
}

/// `POST /import/take`: brings in what was shown.
pub async fn take(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let way_back = back(&fields).to_owned();
    let done = move |bench: &Workbench| {
        bench.change(|store| store.edit("a gear list", |now| engine::bring_in(now, field(&fields, "text")).map_err(Refusal::Wrong)))
    };
    act(workbench, headers, way_back, done).await
}
