//! What the pages do when a button is pressed.

mod cells;
mod crew;
mod decide;
mod evidence;
mod import;
mod text;

use crate::engine::{documents, made};
use crate::forms::{Fields, act, back, field, see};
use crate::server::Workbench;
use crate::store::Texts;
use axum::extract::{Form, Path, State};
use axum::http::{HeaderMap, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};

/// Every action.
pub fn routes() -> axum::Router<Workbench> {
    axum::Router::new()
        .route("/undo", post(undo))
        .route("/redo", post(redo))
        .route("/theme", post(theme))
        .route("/edit/{table}/{action}", post(cells::edit))
        .route("/design", post(decide::design).get(super::page))
        .route("/design/choose", post(decide::choose))
        .route("/gear/import", post(import::look).get(super::page))
        .route("/import/take", post(import::take))
        .merge(crew::routes())
        .merge(evidence::routes())
        .route("/hold", post(decide::hold))
        .route("/file/text", post(text::save))
        .route("/sheets/{file}", get(sheet))
        .route("/file/write", post(write))
        .route("/file/take", post(take))
        .route("/file/copy", get(copy_plan))
        .route("/file/copy-wiring", get(copy_wiring))
}

async fn undo(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let based = field(&fields, "based").to_owned();
    act(workbench, headers, back(&fields).to_owned(), move |bench| bench.change(|store| store.undo(&based).map(|()| String::new()))).await
}

async fn redo(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let based = field(&fields, "based").to_owned();
    act(workbench, headers, back(&fields).to_owned(), move |bench| bench.change(|store| store.redo(&based).map(|()| String::new()))).await
}

async fn write(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    act(workbench, headers, back(&fields).to_owned(), |bench| {
        bench.change(|store| {
            store.write_anyway();
            Ok(String::new())
        })
    })
    .await
}

async fn take(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    act(workbench, headers, back(&fields).to_owned(), |bench| {
        bench.change(|store| {
            store.take_disk();
            Ok(String::new())
        })
    })
    .await
}

/// Keeps the choice of colours in a cookie, so that it works without script. A year; own choice.
async fn theme(Form(fields): Form<Fields>) -> Response {
    let cookie = match field(&fields, "theme") {
        word @ ("dark" | "light") => format!("theme={word}; Path=/; Max-Age=31536000; SameSite=Strict"),
        _ => "theme=; Path=/; Max-Age=0; SameSite=Strict".to_owned(),
    };
    let mut response = see(back(&fields));
    if let Ok(value) = cookie.parse() {
        response.headers_mut().insert(header::SET_COOKIE, value);
    }
    response
}

async fn copy_plan(State(workbench): State<Workbench>) -> Response {
    let view = workbench.view();
    copy(&view.file, Some(view.now.texts.clone()), |texts| Some(texts.plan))
}

async fn copy_wiring(State(workbench): State<Workbench>) -> Response {
    let view = workbench.view();
    copy(&view.wiring_file, Some(view.now.texts.clone()), |texts| texts.wiring)
}

fn copy(name: &str, texts: Option<Texts>, pick: impl FnOnce(Texts) -> Option<String>) -> Response {
    match texts.and_then(pick) {
        Some(text) => download(name, "application/toml", text.into_bytes()),
        None => (StatusCode::NOT_FOUND, "There is no such file yet.\n").into_response(),
    }
}

/// A file for the browser to keep.
pub fn download(name: &str, kind: &str, bytes: Vec<u8>) -> Response {
    let safe: String = name.chars().map(|c| if c.is_ascii_alphanumeric() || "-_.".contains(c) { c } else { '-' }).collect();
    let headers = [(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{safe}\""))];
    (headers, bytes).into_response()
}

/// `GET /sheets/{file}`: a document made from the plan as it is now; `?look=1` shows it instead of keeping it.
async fn sheet(State(workbench): State<Workbench>, Path(file): Path<String>, uri: Uri) -> Response {
    let look = uri.query() == Some("look=1");
    let made = tokio::task::spawn_blocking(move || {
        let view = workbench.view();
        let document = documents(&view.good).into_iter().find(|document| document.file == file)?;
        let bytes = made(&view.good, &document.file, workbench.link_prefix())?;
        Some(bytes.map(|bytes| match look {
            true => ([(header::CONTENT_TYPE, document.kind)], bytes).into_response(),
            false => download(&document.file, document.kind, bytes),
        }))
    });
    match made.await {
        Ok(Some(Ok(response))) => response,
        Ok(Some(Err(words))) => {
            (StatusCode::INTERNAL_SERVER_ERROR, format!("This sheet could not be made: {words}. The plan is untouched.\n")).into_response()
        }
        Ok(None) => (StatusCode::NOT_FOUND, "There is no such sheet. Go back to the list of sheets.\n").into_response(),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "This sheet could not be made. The plan is untouched.\n").into_response(),
    }
}
