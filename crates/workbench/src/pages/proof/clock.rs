//! The clock of each network: who leads, who follows through how many boxes, with what error.

use super::super::figures::{item_link, time};
use super::super::part::Part;
use super::super::verdict::meter;
use super::streams::net;
use crate::store::View;
use loomwright_proof::report::{ClockLine, FollowerLine};
use maud::{Markup, html};

/// One table per network.
pub fn part(view: &View) -> Part {
    let limit = view.good.plan.as_ref().map_or(0, |plan| plan.targets.clock_error.nanoseconds_up());
    Part::new(
        "clock",
        html! {
            section #clock {
                p.lead { "Allowed error between any device and its leader: " (time(limit)) "." }
                p { "Guaranteed: no single exchange errs by more. Expected, not guaranteed: what the planned load gives on average; filtered, if the device keeps the quickest of 64 exchanges and the boxes on the way are empty often enough for that." }
                @if view.good.report.clock.is_empty() { p.calm { "No network carries a clock yet." } }
                @for line in &view.good.report.clock { (follows(view, line, limit)) }
            }
        },
    )
}

fn follows(view: &View, line: &ClockLine, limit: u64) -> Markup {
    let mut followers: Vec<&FollowerLine> = line.per_device.iter().collect();
    followers.sort_by_key(|follower| (std::cmp::Reverse(follower.worst_error_ns.unwrap_or(u64::MAX)), &follower.device));
    html! {
        h2 { "Network " (net(view, &line.network)) }
        p { @match &line.leader { Some(leader) => { (item_link(leader)) " leads." } None => { "Nobody can lead." } } }
        div.sheet { table {
            thead { tr { th scope="col" { "Follower" } th.figure scope="col" { "Boxes between" } th.figure scope="col" { "Guaranteed" } th.figure scope="col" { "Expected" } th.figure scope="col" { "Filtered" } th scope="col" { "" } } }
            tbody { @for follower in followers { tr {
                th scope="row" { (follower.device) }
                td.figure { (follower.hops) }
                @match follower.worst_error_ns {
                    Some(error) => { td.figure.late[error > limit] { (time(error)) } }
                    None => { td.figure.late { "no bound" } }
                }
                td.figure { @match follower.expected_error_ns { Some(error) => { (time(error)) } None => { "-" } } }
                td.figure { @match follower.filtered_error_ns { Some(error) => { (time(error)) } None => { "too full" } } }
                td.bar { @if let Some(error) = follower.worst_error_ns { (meter(error, limit)) } }
            } } }
        } }
    }
}
