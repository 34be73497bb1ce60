//! The style sheet, the script and the icon: served from memory, so that pages work without internet.

use crate::engine::{Colour, colours};
use crate::server::Workbench;
use axum::Router;
use axum::http::header;
use axum::response::IntoResponse;
use axum::routing::get;
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

/// The style sheet: the colours of the drawings first, so that pages and drawings share one list.
static STYLE: LazyLock<String> = LazyLock::new(|| {
    let set =
        |pick: fn(&Colour) -> &str| colours().iter().map(|colour| format!("{}:{};", colour.variable, pick(colour))).collect::<String>();
    let (light, dark) = (set(|colour| colour.light), set(|colour| colour.dark));
    let page = concat!(include_str!("../assets/app.css"), include_str!("../assets/crew.css"));
    format!(
        ":root{{{light}}}\n@media (prefers-color-scheme: dark){{:root:not([data-theme=\"light\"]){{{dark}}}}}\n:root[data-theme=\"dark\"]{{{dark}}}\n{page}"
    )
});
const SCRIPT: &str = include_str!("../assets/app.js");
const CREW: &str = include_str!("../assets/crew.js");
const DEAD_SPOT: &str = include_str!("../assets/dead-spot.js");
const ICON: &str = include_str!("../assets/icon.svg");

/// Changes with the assets, so that a browser may keep them until then.
pub static VERSION: LazyLock<String> = LazyLock::new(|| {
    let hash = Sha256::new()
        .chain_update(STYLE.as_str())
        .chain_update(SCRIPT)
        .chain_update(CREW)
        .chain_update(DEAD_SPOT)
        .chain_update(ICON)
        .finalize();
    hash.iter().take(4).map(|byte| format!("{byte:02x}")).collect()
});

/// The assets.
pub fn routes() -> Router<Workbench> {
    Router::new()
        .route("/assets/app.css", get(|| async { asset("text/css; charset=utf-8", STYLE.as_str()) }))
        .route("/assets/app.js", get(|| async { asset("text/javascript; charset=utf-8", SCRIPT) }))
        .route("/assets/crew.js", get(|| async { asset("text/javascript; charset=utf-8", CREW) }))
        .route("/assets/dead-spot.js", get(worker))
        .route("/assets/icon.svg", get(|| async { asset("image/svg+xml", ICON) }))
        .route("/favicon.ico", get(|| async { asset("image/svg+xml", ICON) }))
}

/// It may look after pages outside its own folder.
async fn worker() -> impl IntoResponse {
    ([("service-worker-allowed", "/")], asset("text/javascript; charset=utf-8", DEAD_SPOT))
}

fn asset(kind: &'static str, text: &'static str) -> impl IntoResponse {
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=31536000, immutable")], text)
}
