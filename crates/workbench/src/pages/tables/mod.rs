//! Gear, places, routes and streams as tables that are edited in place.

pub mod columns;

use super::Part;
use super::figures::count;
use super::tabs::tabs;
use crate::store::View;
use columns::{Column, Holds, Row, Table};
use loomwright_model::{Plan, Wiring};
use maud::{Markup, html};
use std::collections::BTreeMap;

/// The pages of the gear section: address and name.
pub const PAGES: [(&str, &str); 5] = [
    ("/gear", "Devices"),
    ("/gear/places", "Places"),
    ("/gear/routes", "Cable routes"),
    ("/gear/streams", "Streams"),
    ("/gear/import", "Bring in a list"),
];

/// The table shown at a path.
pub fn table_at(path: &str) -> Option<Table> {
    match path {
        "/gear" => Some(Table::Devices),
        "/gear/places" => Some(Table::Places),
        "/gear/routes" => Some(Table::Routes),
        "/gear/streams" => Some(Table::Streams),
        _ => None,
    }
}

/// The page of `table`.
pub fn parts(path: &str, table: Table, view: &View) -> Vec<Part> {
    let Some(plan) = &view.good.plan else {
        return vec![
            tabs("Gear", &PAGES, path),
            Part::new("nothing", html! { p #nothing.calm { "The tables come back when the plan file can be read." } }),
        ];
    };
    vec![tabs("Gear", &PAGES, path), intro(table, plan), sheet(table, plan, &view.good.wiring), block(table, plan)]
}

fn intro(table: Table, plan: &Plan) -> Part {
    let says = match table {
        Table::Devices => {
            format!("{}. A device without feeds hangs on the first feed of its place.", count(plan.devices.len(), "device", "devices"))
        }
        Table::Places => format!("{}.", count(plan.places.len(), "place", "places")),
        Table::Routes => {
            format!("{} a cable can take. Routes that name the same hazard go together.", count(plan.routes.len(), "way", "ways"))
        }
        Table::Streams => format!(
            "{}. Without \u{201c}only on\u{201d} a stream uses every network that both its ends are on.",
            count(plan.streams.len(), "stream", "streams")
        ),
        Table::Switches => "What was decided for switches.".to_owned(),
        Table::Cables => "What was decided for cables.".to_owned(),
    };
    Part::new("intro", html! { p #intro.lead { (says) } })
}

/// The table itself; each row is a part of its own.
pub fn sheet(table: Table, plan: &Plan, wiring: &Wiring) -> Part {
    let columns = table.columns(plan);
    let rows = table.rows(plan, wiring).iter().map(|row| row_part(table, &columns, row)).collect();
    let before = format!(
        "<div class=\"sheet\" id=\"sheet-{word}\"><table class=\"edit\" data-paste=\"/edit/{word}/paste\"><caption class=\"unseen\">{word}s; arrow keys move, Enter keeps and goes down</caption>{head}<tbody>",
        word = table.word(),
        head = head(&columns).into_string()
    );
    let after = format!("</tbody>{}</table></div>", new_row(table, &columns).into_string());
    Part::with_rows(format!("sheet-{}", table.word()), &before, rows, &after)
}

fn head(columns: &[Column]) -> Markup {
    html! { thead { tr { th scope="col" { "Name" } @for column in columns { th scope="col" { (column.title) } } th scope="col" { span.unseen { "Actions" } } } } }
}

fn row_part(table: Table, columns: &[Column], row: &Row) -> Part {
    let word = table.word();
    let (id, form) = (format!("row-{word}-{}", row.id), format!("form-{word}-{}", row.id));
    let was: BTreeMap<&str, &str> = columns.iter().map(|column| column.key).zip(row.cells.iter().map(String::as_str)).collect();
    let was = serde_json::to_string(&was).unwrap_or_default();
    Part::new(
        id.clone(),
        html! {
            tr id=(id) data-id=(row.id) {
                th scope="row" id={ "cell-" (word) "-" (row.id) "-name" } { input name="rename" value=(row.id) form=(form) aria-label={ "Name of " (row.id) } autocomplete="off" spellcheck="false"; }
                @for (column, value) in columns.iter().zip(&row.cells) {
                    td id={ "cell-" (word) "-" (row.id) "-" (column.key) } class=(class_of(&column.holds)) { (cell(column, value, &form, &format!("{} of {}", column.title, row.id))) }
                }
                td.tools {
                    form id=(form) method="post" action={ "/edit/" (word) "/set" } data-live {
                        input type="hidden" name="id" value=(row.id);
                        input type="hidden" name="was" value=(was);
                        input type="hidden" name="back" value=(address_of(table)) data-here;
                        button.quiet.saver type="submit" { "Save row" }
                        button.quiet type="submit" formaction={ "/edit/" (word) "/remove" } title={ "Take " (row.id) " out of the plan" } { (super::shell::stroke("M6 6l12 12M18 6L6 18")) span.unseen { "Remove " (row.id) } }
                    }
                }
            }
        },
    )
}

fn address_of(table: Table) -> &'static str {
    match table {
        Table::Devices => "/gear",
        Table::Places => "/gear/places",
        Table::Routes => "/gear/routes",
        Table::Streams => "/gear/streams",
        Table::Switches => "/design/switches",
        Table::Cables => "/design/cables",
    }
}

fn class_of(holds: &Holds) -> &'static str {
    match holds {
        Holds::Text | Holds::Names => "long",
        Holds::Number => "number",
        Holds::Yes => "yes",
        _ => "",
    }
}

/// One cell's field. It belongs to `form`; `label` names it for those who cannot see the table.
fn cell(column: &Column, value: &str, form: &str, label: &str) -> Markup {
    html! {
        @match &column.holds {
            Holds::OneOf(choices) => select name=(column.key) form=(form) aria-label=(label) {
                @if !choices.iter().any(|(choice, _)| choice == value) { option value=(value) selected { @if value.is_empty() { "choose" } @else { (value) } } }
                @for (choice, name) in choices { option value=(choice) selected[choice == value] { (name) } }
            },
            Holds::Yes => {
                input type="hidden" name=(column.key) value="false" form=(form);
                input type="checkbox" name=(column.key) value="true" checked[value == "true"] form=(form) aria-label=(label);
            },
            Holds::Number => input name=(column.key) value=(value) inputmode="numeric" form=(form) aria-label=(label) autocomplete="off";,
            _ => input name=(column.key) value=(value) form=(form) aria-label=(label) autocomplete="off" spellcheck="false";,
        }
    }
}

/// The last line: a new row.
fn new_row(table: Table, columns: &[Column]) -> Markup {
    let word = table.word();
    let form = format!("new-{word}");
    html! {
        tfoot { tr {
            th scope="row" { input id={ "name-" (form) } name="id" placeholder={ "new " (word) } form=(form) required aria-label={ "Name of the new " (word) } autocomplete="off" spellcheck="false" data-clear; }
            @for column in columns { td class=(class_of(&column.holds)) { (cell(column, "", &form, &format!("{} of the new {word}", column.title))) } }
            td.tools {
                form id=(form) method="post" action={ "/edit/" (word) "/add" } data-live data-then={ "name-" (form) } {
                    input type="hidden" name="back" value=(address_of(table)) data-here;
                    button.second type="submit" { "Add" }
                }
            }
        } }
    }
}

/// A block of rows at once, for browsers where pasting into a cell does not reach the script.
fn block(table: Table, plan: &Plan) -> Part {
    let titles: Vec<&str> = std::iter::once("Name").chain(table.columns(plan).iter().map(|column| column.title)).collect();
    let word = table.word();
    Part::new(
        "block",
        html! {
            details #block.more {
                summary { "Paste many rows from a spreadsheet" }
                p { "Copy the rows and paste them here, or straight into a cell above. Columns in this order: " (titles.join(" | ")) ". A name that is there already is changed; a new one is added." }
                form method="post" action={ "/edit/" (word) "/paste" } data-live {
                    input type="hidden" name="back" value=(address_of(table)) data-here;
                    label.unseen for="block-text" { "Rows, with tabs between cells" }
                    textarea #block-text name="block" required data-clear spellcheck="false" {}
                    p { button type="submit" { "Put them in" } }
                }
            }
        },
    )
}
