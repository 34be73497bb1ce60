//! The design: let the tool decide the wiring, see why, hold what must stay.

use super::Query;
use super::figures::{count, item_link};
use super::part::Part;
use super::tables::columns::Table;
use super::tables::sheet;
use super::tabs::tabs;
use crate::engine::{Proposal, proposal};
use crate::store::View;
use loomwright_model::Plan;
use maud::{Markup, html};

/// The pages of the design: address and name.
pub(super) const PAGES: [(&str, &str); 4] =
    [("/design", "Design"), ("/design/options", "Options"), ("/design/switches", "Switches"), ("/design/cables", "Cables")];

/// The page at `path`.
pub fn parts(path: &str, query: &Query, view: &View) -> Vec<Part> {
    let mut parts = vec![tabs("Design", &PAGES, path)];
    let Some(plan) = &view.good.plan else {
        parts.push(Part::new("nothing", html! { p #nothing.calm { "There is nothing to design until the plan file can be read." } }));
        return parts;
    };
    match path {
        "/design/switches" => parts.extend([held(), sheet(Table::Switches, plan, &view.good.wiring)]),
        "/design/cables" => parts.extend([held(), sheet(Table::Cables, plan, &view.good.wiring)]),
        _ => parts.extend([order(plan, view), reasons(query, plan, view)]),
    }
    parts
}

fn held() -> Part {
    Part::new(
        "held",
        html! { p #held.lead { "What is held stays exactly as it is in the next design. Everything may be changed by hand; the proof judges it either way." } },
    )
}

fn order(plan: &Plan, view: &View) -> Part {
    let wiring = &view.good.wiring;
    let held = wiring.switches.values().filter(|switch| switch.hold).count() + wiring.cables.values().filter(|cable| cable.hold).count();
    let held = if held == 0 { "none".to_owned() } else { held.to_string() };
    let says = if wiring.cables.is_empty() {
        format!(
            "{} and {} are in the plan. Nothing is wired yet.",
            count(plan.devices.len(), "device", "devices"),
            count(plan.streams.len(), "stream", "streams")
        )
    } else {
        format!(
            "Wired with {} and {}; {held} of them held.",
            count(wiring.switches.len(), "switch", "switches"),
            count(wiring.cables.len(), "cable", "cables")
        )
    };
    Part::new(
        "order",
        html! {
            section #order.panel.narrow {
                p.large { (says) }
                p.calm { "The design decides pairing, switches, trunks, ports, routes, lengths, addresses, groups and clock by common practice. It is not a proved optimum. What is plugged in stays where it can: as few ends move as possible. Designed anew, only held items stay. The step can be undone." }
                form.ways method="post" action="/design" data-live {
                    input type="hidden" name="back" value="/design?reasons=1";
                    button type="submit" { (if wiring.cables.is_empty() { "Design the wiring" } else { "Design what changed" }) }
                    @if !wiring.cables.is_empty() { button.second type="submit" name="afresh" value="1" { "Design all anew" } }
                    a.button.second href="/design?reasons=1" { "See what it would do" }
                    a href="/design/options" { "Compare other shapes" }
                }
                @if !wiring.cables.is_empty() {
                    div.ways {
                        @for (hold, name) in [("true", "Hold everything"), ("false", "Free everything")] {
                            form method="post" action="/hold" data-live {
                                input type="hidden" name="hold" value=(hold);
                                input type="hidden" name="back" value="/design" data-here;
                                button.second type="submit" { (name) }
                            }
                        }
                        a href="/design/cables" { "Hold single cables" }
                    }
                }
            }
        },
    )
}

fn reasons(query: &Query, plan: &Plan, view: &View) -> Part {
    let shown = query.get("reasons").map(|_| proposal(plan, &view.good.wiring, query.get("afresh").is_some()));
    Part::new("reasons", html! { section #reasons { @if let Some(proposal) = shown { (decided(&proposal)) } } })
}

fn decided(proposal: &Proposal) -> Markup {
    html! {
        h2 { "What it decides, and why" }
        @if proposal.is_as_wired { p.calm { "The wiring is as this design has it." } } @else { p { (count(proposal.differences.len(), "cable or switch differs", "cables and switches differ")) " from the wiring now: " @for item in proposal.differences.iter().take(24) { (item_link(item)) " " } @if proposal.differences.len() > 24 { "and more." } } }
        @for finding in &proposal.findings { article.finding { p.says { (super::figures::severity(&finding.severity)) " " (finding.says) } p.do { (finding.remedy) } } }
        ol.decisions {
            @for decision in &proposal.decisions {
                li { p { (decision.says) } p.because { "Because " (decision.because) ". " (item_link(&decision.item)) } }
            }
        }
    }
}
