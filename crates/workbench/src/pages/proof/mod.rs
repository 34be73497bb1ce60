//! The proof: what was found, every stream's microseconds, every failure, every link, the clock, the power.

mod chances;
mod clock;
pub mod failure;
pub mod failures;
mod findings;
mod links;
mod listening;
mod power;
pub mod replay;
pub mod streams;
mod strip;

use super::Query;
use super::part::Part;
use crate::store::View;
use maud::html;

/// The pages of the proof: address and name.
const PAGES: [(&str, &str); 7] = [
    ("/proof", "Findings"),
    ("/proof/streams", "Streams"),
    ("/proof/listening", "Listening"),
    ("/proof/failures", "Failures"),
    ("/proof/links", "Links"),
    ("/proof/clock", "Clock"),
    ("/proof/power", "Power and lengths"),
];

/// The page at `path`.
pub fn parts(path: &str, query: &Query, view: &View) -> Vec<Part> {
    let report = &view.good.report;
    // The replay belongs to the streams.
    let tab = if path == "/proof/replay" { "/proof/streams" } else { path };
    let mut parts = vec![super::tabs::tabs("Proof", &PAGES, tab)];
    match path {
        "/proof/streams" => parts.append(&mut streams::parts(query, view)),
        "/proof/replay" => parts.push(replay::part(query, view)),
        "/proof/failures" => parts.append(&mut failures::parts(query, view)),
        "/proof/listening" => parts.push(listening::part(view)),
        "/proof/links" => parts.push(links::part(view)),
        "/proof/clock" => parts.push(clock::part(view)),
        "/proof/power" => parts.push(power::part(report)),
        _ => parts.push(findings::part(view)),
    }
    if view.good.plan.is_none() {
        parts.push(Part::new("nothing", html! { p #nothing.calm { "There is nothing to prove until the plan file can be read." } }));
    }
    parts
}
