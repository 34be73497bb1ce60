//! Edits in the tables: one cell or row, a new row, a row less, a pasted block.

use super::super::tables::columns::{Column, Table};
use crate::engine::{Change, Proved, apply};
use crate::forms::{Fields, act, back, field};
use crate::server::Workbench;
use crate::store::{Made, Refusal};
use axum::extract::{Form, Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use loomwright_model::{Plan, Wiring};
use std::collections::BTreeMap;

/// `POST /edit/{table}/{action}`.
pub async fn edit(
    State(workbench): State<Workbench>,
    Path((word, action)): Path<(String, String)>,
    headers: HeaderMap,
    Form(fields): Form<Fields>,
) -> Response {
    let Some(table) = Table::named(&word) else { return (StatusCode::NOT_FOUND, "There is no such table.\n").into_response() };
    let make = match action.as_str() {
        "set" => set,
        "add" => add,
        "remove" => remove,
        "paste" => paste,
        _ => return (StatusCode::NOT_FOUND, "There is no such action.\n").into_response(),
    };
    let (label, way_back) = (label(table, &action, &fields), back(&fields).to_owned());
    let done = move |bench: &Workbench| {
        bench.change(|store| store.edit(&label, |now| made(now, |plan| make(table, plan, (&now.wiring, &fields)))))
    };
    act(workbench, headers, way_back, done).await
}

/// What undo calls it.
fn label(table: Table, action: &str, fields: &Fields) -> String {
    let id = field(fields, "id");
    match action {
        "set" => {
            let keys: Vec<&str> =
                fields.iter().map(|(key, _)| key.as_str()).filter(|key| !["id", "was", "back", "rename"].contains(key)).collect();
            match keys.as_slice() {
                [] => format!("new name for {id}"),
                [key] => format!("{key} of {id}"),
                _ => format!("{} {id}", table.word()),
            }
        }
        "add" => format!("new {} {id}", table.word()),
        "remove" => format!("{} {id} removed", table.word()),
        _ => format!("pasted {}s", table.word()),
    }
}

type Changes = Result<Vec<Change>, Refusal>;

fn made(now: &Proved, changes: impl FnOnce(&Plan) -> Changes) -> Result<Made, Refusal> {
    let Some(plan) = &now.plan else {
        return Err(Refusal::Wrong("The plan file has errors. Repair them first; the edit was not made.".to_owned()));
    };
    apply(&now.texts, now.names(), &changes(plan)?).map_err(Refusal::Wrong)
}

/// The last value sent for each column: a tick comes after the hidden "false".
fn sent<'a>(columns: &'a [Column], fields: &'a Fields) -> Vec<(&'a Column, &'a str)> {
    let last = |key: &str| fields.iter().rev().find(|(name, _)| name == key).map(|(_, value)| value.trim());
    columns.iter().filter_map(|column| Some((column, last(column.key)?))).collect()
}

fn set(table: Table, plan: &Plan, (wiring, fields): (&Wiring, &Fields)) -> Changes {
    let id = field(fields, "id");
    let columns = table.columns(plan);
    let was: BTreeMap<String, String> = serde_json::from_str(field(fields, "was")).unwrap_or_default();
    let rows = table.rows(plan, wiring);
    let Some(row) = rows.iter().find(|row| row.id == id) else {
        return Err(Refusal::Wrong(format!("{} {id} is no longer in the plan; somebody took it out.", table.word())));
    };
    let now: BTreeMap<&str, &str> = columns.iter().map(|column| column.key).zip(row.cells.iter().map(String::as_str)).collect();
    let mut changes = Vec::new();
    for (column, value) in sent(&columns, fields) {
        let key = column.key;
        let (before, current) = (was.get(key).map_or("", String::as_str), now.get(key).copied().unwrap_or(""));
        if value == before || value == current {
            continue;
        }
        if before != current {
            return Err(Refusal::Conflict { what: format!("{key} of {id}"), mine: value.to_owned(), theirs: current.to_owned() });
        }
        changes.push(Change::Set { table: table.word(), id: id.to_owned(), key: column.written(), value: value.to_owned() });
    }
    let name = field(fields, "rename").trim();
    if !name.is_empty() && name != id {
        changes.push(Change::Rename { table: table.word(), id: id.to_owned(), to: name.to_owned() });
    }
    Ok(changes)
}

fn add(table: Table, plan: &Plan, (wiring, fields): (&Wiring, &Fields)) -> Changes {
    let id = field(fields, "id").trim().to_owned();
    if table.rows(plan, wiring).iter().any(|row| row.id == id) {
        return Err(Refusal::Wrong(format!("There is a {} {id} already: choose another name.", table.word())));
    }
    let columns = table.columns(plan);
    let cells = sent(&columns, fields).into_iter().filter(|(_, value)| !value.is_empty() && *value != "false");
    Ok(vec![Change::Add { table: table.word(), id, cells: cells.map(|(column, value)| (column.written(), value.to_owned())).collect() }])
}

fn remove(table: Table, _: &Plan, (_, fields): (&Wiring, &Fields)) -> Changes {
    Ok(vec![Change::Remove { table: table.word(), id: field(fields, "id").to_owned() }])
}

/// Lines of cells parted by tabs, from the cell that they were pasted into downward and to the right.
fn paste(table: Table, plan: &Plan, (wiring, fields): (&Wiring, &Fields)) -> Changes {
    let columns = table.columns(plan);
    let rows = table.rows(plan, wiring);
    let first_column: usize = field(fields, "column").parse().unwrap_or(0);
    let first_row = rows.iter().position(|row| row.id == field(fields, "row")).unwrap_or(rows.len());
    let mut changes = Vec::new();
    for (n, line) in field(fields, "block").lines().filter(|line| !line.trim().is_empty()).enumerate() {
        let mut cells = line.split('\t').map(str::trim);
        let id = match first_column {
            0 => cells.next().unwrap_or("").to_owned(),
            _ => rows
                .get(first_row + n)
                .map(|row| row.id.clone())
                .ok_or_else(|| Refusal::Wrong(format!("Line {} has no row to go into: paste names too, or fewer lines.", n + 1)))?,
        };
        let keys = columns.iter().skip(first_column.saturating_sub(1)).map(Column::written);
        let cells: Vec<_> = keys.zip(cells.map(str::to_owned)).collect();
        if rows.iter().any(|row| row.id == id) {
            changes.extend(cells.into_iter().map(|(key, value)| Change::Set { table: table.word(), id: id.clone(), key, value }));
        } else {
            let cells = cells.into_iter().filter(|(_, value)| !value.is_empty()).collect();
            changes.push(Change::Add { table: table.word(), id, cells });
        }
    }
    Ok(changes)
}
