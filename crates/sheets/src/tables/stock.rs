//! Cables from stock: which piece, which cut of which reel, what to buy or rent.

use super::Source;
use super::sourcing::{Origin, Sourced, sourced};
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_model::Length;

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Stock,
        columns([
            ("Where from", Role::Text),
            ("Cable", Role::Name),
            ("Length", Role::Figure),
            ("Take", Role::Text),
            ("From place", Role::Text),
            ("To place", Role::Text),
            ("Taken", Role::Tick),
        ]),
    );
    let all = sourced(&source.scene);
    let to_buy: Vec<&Sourced> = all.iter().filter(|own| own.origin == Origin::Buy).collect();
    table.note = match to_buy.len() {
        0 => "The truck holds every cable. Cut reels in the order given; label both ends before the next cut.".to_owned(),
        count => {
            let sum: Length = to_buy.iter().map(|own| own.length).sum();
            format!(
                "The truck lacks {count} cables of together {sum}: buy or rent those marked so. Cut reels in the order given; label both ends before the next cut."
            )
        }
    };
    table.grouped_by = Some(0);
    table.units.insert(2, "m");
    table.rows = all.iter().map(|own| row(source, &all, own)).collect();
    table
}

fn row(source: &Source<'_>, all: &[Sourced<'_>], own: &Sourced<'_>) -> Row {
    let same = |other: &&Sourced<'_>| other.is_copper == own.is_copper && is_one_heap(other.origin, own.origin);
    let (count, sum) = (all.iter().filter(same).count(), all.iter().filter(same).map(|other| other.length).sum::<Length>());
    let medium = if own.is_copper { "copper" } else { "fibre" };
    let capital = if own.is_copper { "Copper" } else { "Fibre" };
    let (heap, take) = match own.origin {
        Origin::Piece { length, of: Some(of) } => {
            (format!("{capital} pieces of {length}: {count} of {of}"), format!("a piece of {length}"))
        }
        Origin::Piece { length, of: None } => (format!("{capital} pieces of {length}: {count}"), format!("a piece of {length}")),
        Origin::Reel { length, number, from } => {
            let left = length - sum;
            (format!("{capital} reel {number} of {length}: {left} left over"), format!("cut {from} to {}", from + own.length))
        }
        Origin::Buy => (format!("Buy or rent: {medium}"), format!("{} of {medium}, or longer", own.length)),
        Origin::Made => (format!("Made to length: {medium}, the plan names no stock"), format!("{} of {medium}", own.length)),
    };
    let ends = source.scene.wiring.cables.get(own.cable).map(|cable| cable.ends.each_ref().map(|end| source.place_name(&end.item)));
    let [from, to] = ends.unwrap_or(["", ""]);
    let length = Cell { text: own.length.to_string(), number: Some(own.length.metres()) };
    let mut row = Row::new(vec![heap.into(), own.cable.as_str().into(), length, take.into(), from.into(), to.into(), Cell::default()]);
    row.is_strong = own.origin == Origin::Buy;
    row
}

/// Whether two cables come from one sort of piece, one reel or one shop.
fn is_one_heap(one: Origin, other: Origin) -> bool {
    match (one, other) {
        (Origin::Piece { length: one, .. }, Origin::Piece { length: other, .. }) => one == other,
        (Origin::Reel { length: one, number: first, .. }, Origin::Reel { length: other, number: second, .. }) => {
            (one, first) == (other, second)
        }
        _ => one == other,
    }
}
