//! The record: how everything stands, signed by a person, to print and hand over.

use super::super::Query;
use super::super::figures::{count, micro};
use super::super::part::Part;
use super::cables::meter;
use super::words::{day, digest, name};
use crate::engine::{line_check, progress};
use crate::store::View;
use loomwright_crewlog::{Deed, Entry, Record, explain};
use maud::{Markup, html};

/// The page; `?at=ID` shows the record with that id alone, for print.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    let wanted = query.get("at").and_then(|id| view.crew.book.signed().find(|(entry, _)| entry.id == id));
    match wanted {
        Some((entry, record)) => vec![Part::new("record", html! { section #record { (whole(entry, record, view)) } })],
        None => vec![Part::new("sign", sign(view)), Part::new("records", list(view))],
    }
}

fn sign(view: &View) -> Markup {
    let now = now(view, "");
    html! {
        section #sign {
            p.lead { "What you hand over: plan, wiring, evidence, ticks and everything still open, as it stands at this moment, with your name. It is a record, not a certificate: the responsible engineer signs on paper, and local code and licensed practice come first." }
            (figures(&now))
            @if now.open.is_empty() { p { "Nothing is open." } }
            @else { h2 { "Still open" span.count { " " (now.open.len()) } } ul.still-open { @for open in now.open.iter().take(12) { li { (micro(&open.says)) } } @if now.open.len() > 12 { li.calm { "and " (now.open.len() - 12) " more, all of them in the record" } } } }
            form.owner.panel method="post" action="/linecheck/sign" {
                div.field { label for="signer" { "Who signs" } input #signer name="who" maxlength="80" required autocomplete="name"; }
                div.field { label for="remark" { "Remark" } textarea #remark name="remark" rows="2" maxlength="2000" {} }
                p.ways { button type="submit" { "Sign as it stands" } }
            }
        }
    }
}

/// Everything as it stands now.
pub fn now(view: &View, remark: &str) -> Record {
    let far = progress(&view.good, &view.crew.book);
    let comparison = line_check(&view.good, &view.seen);
    let about = view.good.plan.as_ref().map(|plan| &plan.about);
    let named = about.map_or_else(String::new, |about| {
        if about.revision.is_empty() { about.name.clone() } else { format!("{}, revision {}", about.name, about.revision) }
    });
    Record {
        plan: named,
        plan_sha256: view.good.texts.plan_digest(),
        wiring_sha256: view.good.texts.wiring_digest(),
        proof: view.good.report.verdict.clone(),
        ends: (far.ends.done, far.ends.of),
        tested: (far.tested.done, far.tested.of),
        evidence: view
            .seen
            .sources
            .iter()
            .filter(|source| !source.is_live)
            .map(|source| loomwright_crewlog::SeenFile { file: source.name.clone(), octets: source.octets, sha256: source.sha256.clone() })
            .collect(),
        line_check: comparison.as_ref().map_or_else(|| "Nothing was seen on the network.".to_owned(), |comparison| comparison.says.clone()),
        open: open(view),
        remark: remark.to_owned(),
    }
}

/// What is open: findings that stop the show, ends not plugged or disputed, differences.
fn open(view: &View) -> Vec<loomwright_crewlog::Open> {
    let one = |code: &str, says: String| loomwright_crewlog::Open { code: code.to_owned(), says };
    let far = progress(&view.good, &view.crew.book);
    let mut all: Vec<_> = view
        .good
        .report
        .findings
        .iter()
        .filter(|finding| finding.severity == "stop")
        .map(|finding| one(&finding.code, finding.says.clone()))
        .collect();
    if let Some(comparison) = line_check(&view.good, &view.seen) {
        all.extend(comparison.differences.iter().map(|difference| one(difference.code, difference.says.clone())));
        all.extend(comparison.unread.iter().map(|unread| one(explain::UNREAD, format!("{}: {}", unread.at, unread.says))));
    }
    for end in far.stops.iter().flat_map(|stop| &stop.ends) {
        match view.crew.book.plugged(end.cable.as_str(), &end.port.to_string()) {
            standing if standing.is_disputed() => {
                all.push(one(explain::DISPUTED, format!("cable {} at {}: people said different things", end.cable, end.port)))
            }
            standing if !standing.is_done() => {
                all.push(one(explain::UNPLUGGED, format!("cable {} at {}: not ticked", end.cable, end.port)))
            }
            _ => {}
        }
    }
    all.extend(
        view.good
            .wiring
            .cables
            .keys()
            .filter(|id| view.crew.book.tested(id.as_str()).is_disputed())
            .map(|id| one(explain::DISPUTED, format!("test of cable {id}: people said different things"))),
    );
    all
}

fn figures(record: &Record) -> Markup {
    let count_of = |(done, of): (usize, usize)| loomwright_crewlog::Count { done, of };
    html! {
        dl.figures {
            div { dt { "Ends plugged" } dd { span.value { (record.ends.0) " of " (record.ends.1) } (meter(count_of(record.ends))) } }
            div { dt { "Cables tested" } dd { span.value { (record.tested.0) " of " (record.tested.1) } (meter(count_of(record.tested))) } }
            div { dt { "Evidence" } dd { span.value { (record.evidence.len()) } span.note { "files" } } }
            div { dt { "Still open" } dd { span.value { (record.open.len()) } } }
        }
    }
}

fn list(view: &View) -> Markup {
    let all: Vec<(&Entry, &Record)> = view.crew.book.signed().rev().collect();
    html! {
        section #records { @if !all.is_empty() { h2 { "Signed" } ul.files { @for (entry, record) in all { li {
            div { p { strong { (entry.who) } ", " (day(&entry.time)) } p.calm { (record.ends.0) " of " (record.ends.1) " ends, " (record.open.len()) " open" @if record.plan_sha256 != view.good.texts.plan_digest() || record.wiring_sha256 != view.good.texts.wiring_digest() { "; the plan changed since" } } }
            a.button.second href={ "/linecheck/record?at=" (entry.id) } { "Read and print" } } } } } }
    }
}

fn whole(entry: &Entry, record: &Record, view: &View) -> Markup {
    html! {
        h2 { "Record of the line check: " (record.plan) }
        dl.facts.wide {
            dt { "Signed by" } dd { strong { (entry.who) } ", " (day(&entry.time)) }
            @if !record.remark.is_empty() { dt { "Remark" } dd { (record.remark) } }
            dt { "Plan" } dd { code { (view.file) } ", SHA-256 " code.long { (record.plan_sha256) } }
            @if !record.wiring_sha256.is_empty() { dt { "Wiring" } dd { code { (view.wiring_file) } ", SHA-256 " code.long { (record.wiring_sha256) } } }
            dt { "Proof" } dd { (micro(&record.proof)) }
            dt { "Line check" } dd { (micro(&record.line_check)) }
        }
        (figures(record))
        @if !record.evidence.is_empty() { h3 { "Evidence" } ul.plain-list { @for file in &record.evidence { li { (file.file) ", " (file.octets) " octets, " (digest(&file.sha256)) } } } }
        h3 { "Still open" } @if record.open.is_empty() { p { "Nothing." } } @else { ul.plain-list { @for open in &record.open { li { (micro(&open.says)) " " span.code { (open.code) } } } } }
        h3 { "Who said what" }
        div.sheet { table { thead { tr { th scope="col" { "When" } th scope="col" { "Who" } th scope="col" { "What" } } }
            tbody { @for entry in before(entry, view) { tr { td { (day(entry.when())) } td { (name(entry)) } td { (words(&entry.deed)) } } } } } }
        p.signature { "Signature" }
        p.calm { "Plans and checks; does not certify. The responsible engineer signs." }
        p.ways { button type="button" data-print { "Print" } a href="/linecheck/record" { "All records" } }
    }
}

/// Everything in the log up to the signature.
fn before<'v>(signed: &Entry, view: &'v View) -> Vec<&'v Entry> {
    view.crew.book.entries().iter().take_while(|entry| entry.id != signed.id).collect()
}

fn words(deed: &Deed) -> String {
    match deed {
        Deed::Plug { cable, port, is } => format!("{cable} {} {port}", if *is { "plugged into" } else { "not plugged into" }),
        Deed::Test { cable, is } => format!("{cable} {}", if *is { "tested, good" } else { "not good, or not tested" }),
        Deed::Note { cable, text } => format!("{cable}: \u{201c}{text}\u{201d}"),
        Deed::Photo { cable, file, .. } => format!("{cable}: photo {file}"),
        Deed::Evidence(file) => {
            format!("evidence {}, {}", file.file, count(file.octets.try_into().unwrap_or(usize::MAX), "octet", "octets"))
        }
        Deed::SetAside { file } => format!("evidence {file} set aside"),
        Deed::Sign(_) => "signed".to_owned(),
    }
}
