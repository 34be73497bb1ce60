//! What stands beside the drawing while it shows the line check.

use super::super::figures::{count, micro};
use super::cables::meter;
use crate::engine::progress;
use crate::store::View;
use loomwright_linecheck::Comparison;
use maud::{Markup, html};

/// Most differences that are named here. Own choice; the page has them all.
const NAMED: usize = 5;

/// How far the crew is, what the marks mean, and what differs.
pub fn beside(view: &View, comparison: Option<&Comparison>) -> Markup {
    let far = progress(&view.good, &view.crew.book);
    let all = comparison.map_or(&[][..], |comparison| &comparison.differences);
    html! {
        aside #check.side.panel {
            h2 { "Line check" }
            p { strong { (far.cables.done) } " of " (count(far.cables.of, "cable", "cables")) " plugged at both ends" }
            (meter(far.cables))
            p.calm { "Faint cables are not plugged at both ends yet. A red glow marks what was seen otherwise than planned." }
            @if !all.is_empty() { ul { @for one in all.iter().take(NAMED) { li { (micro(&one.says)) } } } }
            p.ways { a href="/linecheck" { "Cables" } a href="/linecheck/seen" { @if all.is_empty() { "Seen on the network" } @else { (count(all.len(), "difference", "differences")) } } }
        }
    }
}
