//! Line check: is it plugged as planned? The crew's ticks, what was seen on the network, and the record that is signed.

mod beside;
mod cable;
mod cables;
mod differences;
mod live;
mod record;
mod seen;
mod tick;
mod words;

pub use beside::beside;
pub use cable::parts as cable;
pub use record::now;
pub use seen::{Outcome, taken};

use super::Query;
use super::part::Part;
use super::tabs::tabs;
use crate::store::View;

const PAGES: [(&str, &str); 3] = [("/linecheck", "Cables"), ("/linecheck/seen", "Seen on the network"), ("/linecheck/record", "Record")];

/// The page at one of [`PAGES`].
pub fn parts(path: &str, query: &Query, view: &View) -> Vec<Part> {
    let mut all = vec![tabs("Line check", &PAGES, path), words::trouble(view)];
    all.extend(match path {
        "/linecheck/seen" => seen::parts(view),
        "/linecheck/record" => record::parts(query, view),
        _ => cables::parts(query, view),
    });
    all
}
