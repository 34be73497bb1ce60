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
    let done =
        |bench: &Workbench| bench.change(|store| store.edit("design of the wiring", |now| engine::design(now).map_err(Refusal::Wrong)));
    act(workbench, headers, back(&fields).to_owned(), done).await
}

/// `POST /hold`: holds or frees everything.
pub async fn hold(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let hold = field(&fields, "hold") == "true";
    let label = if hold { "everything held" } else { "everything freed" };
    let done = move |bench: &Workbench| bench.change(|store| store.edit(label, |now| engine::hold_all(now, hold).map_err(Refusal::Wrong)));
    act(workbench, headers, back(&fields).to_owned(), done).await
}
