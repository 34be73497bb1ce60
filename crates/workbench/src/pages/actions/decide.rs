//! Designing, holding and freeing.

use crate::engine;
use crate::forms::{Fields, act, back, field};
use crate::server::Workbench;
use crate::store::Refusal;
use axum::extract::{Form, State};
use axum::http::HeaderMap;
use axum::response::Response;

/// `POST /design`: decides the wiring and saves it.
pub async fn design(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let afresh = field(&fields, "afresh") == "1";
    let done = move |bench: &Workbench| {
        bench.change(|store| store.edit("design of the wiring", |now| engine::design(now, afresh).map_err(Refusal::Wrong)))
    };
    act(workbench, headers, back(&fields).to_owned(), done).await
}

/// `POST /design/choose`: takes one of the designs side by side and saves its wiring.
pub async fn choose(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let shape = field(&fields, "shape").to_owned();
    let label = format!("design taken: {shape}");
    let done = move |bench: &Workbench| bench.change(|store| store.edit(&label, |now| engine::choose(now, &shape).map_err(Refusal::Wrong)));
    act(workbench, headers, back(&fields).to_owned(), done).await
}

/// `POST /hold`: holds or frees everything, or the one `item`.
pub async fn hold(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let hold = field(&fields, "hold") == "true";
    let item: Option<loomwright_model::Item> = field(&fields, "item").parse().ok();
    let what = item.as_ref().map_or("everything".to_owned(), |item| item.name().to_string());
    let label = format!("{what} {}", if hold { "held" } else { "freed" });
    let done = move |bench: &Workbench| {
        bench.change(|store| store.edit(&label, |now| engine::hold(now, item.as_ref(), hold).map_err(Refusal::Wrong)))
    };
    act(workbench, headers, back(&fields).to_owned(), done).await
}
