//! What was seen on the network: files dropped in, what was read from each, and what differs from the plan.

use super::super::figures::count;
use super::super::part::Part;
use super::super::tabs::tabs;
use super::{differences, live};
use crate::engine::line_check;
use crate::seen::{LARGEST, Source};
use crate::store::View;
use maud::{Markup, html};

/// The page.
pub fn parts(view: &View) -> Vec<Part> {
    let comparison = line_check(&view.good, &view.seen);
    let differing = html! {
        section #differing aria-live="polite" { h2 { "Differences" }
            @match &comparison {
                Some(comparison) => (differences::all(comparison, view)),
                None if view.good.plan.is_none() => p.calm { "The plan file has errors. Repair them first." },
                None => p.calm { "Nothing was seen yet. What no evidence covers is listed as not seen, never as wrong." },
            }
        }
    };
    vec![live::part(view), Part::new("drop", drop()), Part::new("files", files(view)), Part::new("differing", differing)]
}

fn drop() -> Markup {
    html! {
        section #drop {
            p.lead { "Captures, neighbour tables, SNMP walks, bridge tables, leases, receivers\u{2019} counts, notes as CSV. Name a file after the box it comes from, as lldp_sw-a.json." }
            form.drop.owner method="post" action="/linecheck/evidence" enctype="multipart/form-data" {
                label for="evidence" { strong { "Drop files here, or tap to choose" } span.calm { "up to " (LARGEST / 1024 / 1024) " MB each; kept beside the plan, never deleted" } }
                input #evidence type="file" name="file" multiple required;
                p.ways { button type="submit" { "Read them" } }
            }
        }
    }
}

fn files(view: &View) -> Markup {
    let all = &view.seen.sources;
    html! {
        section #files {
            @if !all.is_empty() { h2 { "Read" span.count { " " (count(all.len(), "file", "files")) " in " code { (view.seen.folder) } } } }
            ul.files { @for source in all.iter() { (file(source)) } }
            @if !view.seen.aside.is_empty() { details.more { summary { (count(view.seen.aside.len(), "file", "files")) " set aside" }
                ul.files { @for name in view.seen.aside.iter() { li { div { strong { (name) } p.calm { "kept, does not count" } } (button("/linecheck/take-back", name, "Count it again")) } } } } }
        }
    }
}

fn file(source: &Source) -> Markup {
    let evidence = &source.evidence;
    let format = evidence.sources.first().and_then(|source| source.format);
    let read: Vec<String> = evidence.counts().into_iter().filter(|(_, n)| *n > 0).map(|(kind, n)| words(kind, n)).collect();
    let frames = evidence.sources.first().and_then(|source| source.capture.as_ref()).map(|capture| capture.frames);
    html! {
        li {
            div {
                p { strong { (source.name) } " " span.kind { @match format { Some(format) => (format.words()), None if source.is_live => "live", None => "not known" } @if !source.is_live { ", " (size(source.octets)) } } }
                @if let Some(frames) = frames { p.calm { (frames) " frames" @if read.is_empty() { ", nothing in them that can be held against the plan" } } }
                @if !read.is_empty() { p { (read.join(", ")) } }
                @for complaint in evidence.complaints.iter().take(4) { p.unread { strong { "Not read: " } (complaint.says) @if complaint.times > 1 { " (" (complaint.times) " times)" } "." } }
                @if evidence.complaints.len() > 4 { p.unread { "and " (evidence.complaints.len() - 4) " more such places" } }
            }
            @if !source.is_live { (button("/linecheck/set-aside", &source.name, "Set aside")) }
        }
    }
}

fn button(action: &str, name: &str, words: &str) -> Markup {
    html! { form.owner method="post" action=(action) data-live { input type="hidden" name="file" value=(name); input type="hidden" name="back" value="/linecheck/seen"; button.second type="submit" { (words) span.unseen { ": " (name) } } } }
}

/// A size for people.
fn size(octets: u64) -> String {
    match octets {
        0..10_000 => format!("{octets} octets"),
        10_000..10_000_000 => format!("{} kB", octets / 1000),
        _ => format!("{} MB", octets / 1_000_000),
    }
}

/// A count of observations in words.
fn words(kind: &str, n: usize) -> String {
    let (one, many) = match kind {
        "systems" => ("box about itself", "boxes about themselves"),
        "ports" => ("port", "ports"),
        "neighbours" => ("neighbour", "neighbours"),
        "learned" => ("learned address", "learned addresses"),
        "members" => ("group at a port", "groups at ports"),
        "vlans" => ("VLAN row", "VLAN rows"),
        "bindings" => ("address in use", "addresses in use"),
        "dhcp" => ("DHCP message", "DHCP messages"),
        "services" => ("service", "services"),
        "queriers" => ("querier", "queriers"),
        "memberships" => ("membership", "memberships"),
        "clocks" => ("clock that sends", "clocks that send"),
        "clock_states" => ("clock state", "clock states"),
        "announcements" => ("announced stream", "announced streams"),
        "flows" => ("flow", "flows"),
        "bridges" => ("bridge port", "bridge ports"),
        "pauses" => ("pausing port", "pausing ports"),
        "repeats" => ("repeated frame", "repeated frames"),
        "received" => ("receiver\u{2019}s count", "receivers\u{2019} counts"),
        "hearings" => ("listener\u{2019}s word", "listeners\u{2019} words"),
        other => (other, other),
    };
    count(n, one, many)
}

/// What became of one file that was sent.
pub struct Outcome {
    /// Its name.
    pub name: String,
    /// What became of it, in words.
    pub says: String,
    /// Whether it is kept.
    pub is_kept: bool,
}

/// The page after files were sent of which some were not kept.
pub fn taken(outcomes: &[Outcome]) -> Vec<Part> {
    let text = html! {
        section #taken.narrow {
            ul.files { @for outcome in outcomes { li { div { p { strong { (outcome.name) } } p class=[(!outcome.is_kept).then_some("unread")] { (outcome.says) } } } } }
            p.ways { a.button href="/linecheck/seen" { "To what was read" } }
        }
    };
    vec![tabs("Line check", &super::PAGES, "/linecheck/seen"), Part::new("taken", text)]
}
