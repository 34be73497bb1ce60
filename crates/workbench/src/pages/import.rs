//! Bringing in a gear list: choose or paste it, see what every row becomes, then take it.

use super::part::Part;
use super::tables::PAGES;
use super::tabs::tabs;
use crate::engine::List;
use maud::{Markup, html};

const HERE: &str = "/gear/import";

/// The empty page.
pub fn parts() -> Vec<Part> {
    vec![tabs("Gear", &PAGES, HERE), Part::new("list", html! { section #list.narrow { (choose("")) } })]
}

/// The page after a list was read.
pub fn seen(list: &Result<List, String>, text: &str) -> Vec<Part> {
    let shown = match list {
        Ok(list) => html! { section #list { (preview(list)) } },
        Err(words) => html! { section #list.narrow { p.refusal.plain role="alert" { (words) } (choose(text)) } },
    };
    vec![tabs("Gear", &PAGES, HERE), Part::new("list", shown)]
}

fn choose(text: &str) -> Markup {
    html! {
        p.lead { "A gear list from a spreadsheet: one row per device or kind of device, with a heading row. Nothing is changed before you have seen what each row becomes." }
        form method="post" action=(HERE) enctype="multipart/form-data" {
            label.field { "A file: CSV, XLSX or ODS" input type="file" name="file" accept=".csv,.tsv,.txt,.xlsx,.xls,.ods"; }
            p { "or paste the rows:" }
            label.unseen for="list-text" { "Rows with a heading" }
            textarea #list-text name="text" spellcheck="false" placeholder="Name\tType\tPlace\tCount" { "\n" (text) }
            p.ways { button type="submit" { "Read it" } }
        }
    }
}

fn preview(list: &List) -> Markup {
    let unread = list.rows.iter().filter(|row| !row.is_read).count();
    html! {
        p.large { (super::figures::count(list.devices, "device", "devices")) " would be added" @if unread > 0 { "; " (super::figures::count(unread, "row", "rows")) " cannot be read" } "." }
        @for note in &list.notes { p.calm { (note) } }
        form method="post" action="/import/take" {
            input type="hidden" name="back" value="/gear";
            textarea.unseen name="text" aria-hidden="true" tabindex="-1" { "\n" (list.text) }
            p.ways { button type="submit" disabled[list.rows.iter().all(|row| !row.is_read)] { "Put them in" } a href=(HERE) { "Another list" } }
        }
        div.sheet { table {
            thead { tr { th.figure scope="col" { "Row" } th scope="col" { "Becomes" } th scope="col" { "To check" } } }
            tbody { @for row in &list.rows { tr {
                th.figure scope="row" { (row.number) }
                td { @if row.is_read { (row.says) } @else { strong.late { "not read: " } (row.says) } }
                td { @for note in &row.notes { div { (note) } } }
            } } }
        } }
        details.more {
            summary { "Change the rows here and read them again" }
            form method="post" action=(HERE) enctype="multipart/form-data" {
                label.unseen for="again" { "Rows with a heading" }
                textarea #again name="text" spellcheck="false" wrap="off" { "\n" (list.text) }
                p.ways { button.second type="submit" { "Read it again" } }
            }
        }
    }
}
