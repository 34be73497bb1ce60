//! One file per page. Each page is a function of the view; nothing here knows a rule about audio networks.

mod actions;
mod addresses;
mod assets;
mod compare;
mod design;
mod drawing;
mod explain;
mod figures;
mod file;
mod import;
mod later;
mod linecheck;
mod moment;
mod part;
mod proof;
mod query;
mod sheets;
mod shell;
mod suspects;
mod tables;
mod tabs;
mod trouble;
mod verdict;
pub mod words;

use query::Query;
pub use query::{decoded, encoded};

pub use part::Page;
use part::Part;

use crate::server::Workbench;
use crate::store::View;
use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use shell::Look;
pub use shell::{bare, whole};

/// Every page, action and asset.
pub fn routes() -> Router<Workbench> {
    Router::new().merge(assets::routes()).merge(actions::routes()).fallback(get(page))
}

async fn page(State(workbench): State<Workbench>, headers: HeaderMap, uri: Uri) -> Response {
    let at = uri.path_and_query().map_or("/", |at| at.as_str()).to_owned();
    let made = tokio::task::spawn_blocking(move || {
        let page = page_at(&at, &workbench.view());
        match crate::forms::wants_fragment(&headers) {
            true => page.everything().into_response(),
            false => shell::document(&page, &Look::of(&headers), &at).into_response(),
        }
    });
    match made.await {
        Ok(response) => response,
        Err(_) => {
            (StatusCode::INTERNAL_SERVER_ERROR, "This page failed. Your plan is untouched; go back and try another page.\n").into_response()
        }
    }
}

/// Whether the page at a path shows what the crew said or what was seen on the network.
pub fn shows_crew(at: &str) -> bool {
    at.starts_with("/linecheck") || at.starts_with("/c/") || (at.starts_with("/drawing") && at.contains("linecheck"))
}

/// The page at a path with its query, as it stands in `view`.
pub fn page_at(at: &str, view: &View) -> Page {
    let (path, query) = at.split_once('?').unwrap_or((at, ""));
    let query = Query::read(query);
    let found = match path {
        "/" => Some(("Verdict", "/", verdict::parts(view))),
        "/drawing" => Some(("Drawing", "/drawing", drawing::parts(&query, view))),
        "/gear" | "/gear/places" | "/gear/routes" | "/gear/streams" => {
            tables::table_at(path).map(|table| ("Gear", "/gear", tables::parts(path, table, view)))
        }
        "/gear/import" => Some(("Gear", "/gear", import::parts())),
        "/design/options" => Some(("Designs side by side", "/design", compare::parts(&query, view))),
        "/design" | "/design/switches" | "/design/cables" => Some(("Design", "/design", design::parts(path, &query, view))),
        "/proof" | "/proof/streams" | "/proof/replay" | "/proof/listening" | "/proof/failures" | "/proof/links" | "/proof/clock"
        | "/proof/power" => Some(("Proof", "/proof", proof::parts(path, &query, view))),
        "/addresses" | "/addresses/run" => Some(("Addresses", "/addresses", addresses::parts(path, view))),
        "/linecheck" | "/linecheck/seen" | "/linecheck/record" => Some(("Line check", "/linecheck", linecheck::parts(path, &query, view))),
        "/trouble" => Some(("Trouble", "/trouble", suspects::parts(&query, view))),
        "/sheets" => Some(("Sheets", "/sheets", sheets::parts(view))),
        "/file" => Some(("Files", "/file", file::parts(&query, view))),
        "/explain" => Some(("What findings mean", "/proof", explain::index())),
        _ => match path.strip_prefix("/c/") {
            Some(cable) => linecheck::cable(&decoded(cable), view).map(|parts| ("Cable", "/linecheck", parts)),
            None => path
                .strip_prefix("/explain/")
                .and_then(|code| explain::parts(code, view))
                .map(|(section, parts)| ("What a finding means", section, parts)),
        },
    };
    match found {
        Some((title, section, parts)) => {
            let page = shell::page(title.to_owned(), section, parts, view);
            if shows_crew(at) { Page { mark: view.crew_mark(), ..page } } else { page }
        }
        None => shell::missing(path, view),
    }
}
