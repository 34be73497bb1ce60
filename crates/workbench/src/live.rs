//! Live pages: each open tab is told which parts of its page changed.
//!
//! A tab says which page it shows and from which state it was drawn. At each change the page is made
//! again by the same functions that made it first, and the parts that differ are sent. A tab that fell
//! behind misses nothing, since only the newest state counts.

use crate::pages::{self, Page};
use crate::server::{Changes, Workbench};
use axum::Router;
use axum::extract::{Query, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::routing::get;
use std::convert::Infallible;
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use tokio_stream::Stream;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::ReceiverStream;

/// How often a quiet line is kept open. Own choice, below the usual minute of idle timeouts.
const KEEP_ALIVE: Duration = Duration::from_secs(15);

/// What a tab shows.
#[derive(serde::Deserialize)]
struct Tab {
    /// Path and query of its page.
    at: String,
    /// Mark of the state it was drawn from.
    #[serde(default)]
    from: String,
}

/// The one live address.
pub fn routes() -> Router<Workbench> {
    Router::new().route("/events", get(events))
}

async fn events(State(workbench): State<Workbench>, Query(tab): Query<Tab>) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let (send, receive) = mpsc::channel(4);
    tokio::spawn(follow(workbench, tab, send));
    let stream = ReceiverStream::new(receive).map(Ok);
    Sse::new(stream).keep_alive(KeepAlive::new().interval(KEEP_ALIVE))
}

async fn follow(workbench: Workbench, tab: Tab, send: mpsc::Sender<Event>) {
    let mut changes = workbench.changes();
    let mut shown: Option<Page> = None;
    loop {
        let seen = *changes.borrow_and_update();
        let (bench, at) = (workbench.clone(), tab.at.clone());
        let Ok(page) = tokio::task::spawn_blocking(move || pages::page_at(&at, &bench.view())).await else { return };
        let first_is_current = shown.is_none() && page.mark == tab.from;
        if let Some(event) = news(shown.as_ref(), &page).filter(|_| !first_is_current)
            && send.send(event).await.is_err()
        {
            return;
        }
        shown = Some(page);
        if !is_news(&mut changes, (seen, &tab.at), &send).await {
            return;
        }
    }
}

/// Waits for a change since `seen` that the page at `at` shows; false when nobody listens any more.
async fn is_news(changes: &mut watch::Receiver<Changes>, (seen, at): (Changes, &str), send: &mpsc::Sender<Event>) -> bool {
    loop {
        tokio::select! {
            changed = changes.changed() => if changed.is_err() { return false },
            () = send.closed() => return false,
        }
        let now = *changes.borrow_and_update();
        if now.plan != seen.plan || (pages::shows_crew(at) && now.crew != seen.crew) {
            return true;
        }
    }
}

/// What to tell a tab that shows `old` so that it shows `new`: the elements to replace, as a JSON list; `None` if
/// nothing differs.
fn news(old: Option<&Page>, new: &Page) -> Option<Event> {
    let elements = new.difference(old);
    let event = Event::default().event("swap").id(new.mark.clone());
    (!elements.is_empty()).then(|| event.json_data(elements).unwrap_or_else(|_| Event::default().event("reload")))
}
