//! How wide the columns of a table become.

use super::{Look, PLAIN, STRONG};
use crate::table::{Role, Table};
use loomwright_drawing::Typeface;

/// Space left and right of a cell's text, together.
pub(crate) const PAD: f64 = 9.0;
/// Room for initials.
const WRITE_W: f64 = 52.0;
/// Room for a box to tick.
const TICK_W: f64 = 34.0;
/// A word longer than this may be broken.
const LONGEST_WORD: f64 = 120.0;
/// A column of words grows to this many times its natural width at most. Own choice by eye.
const MOST_SPREAD: f64 = 1.9;
/// A text longer than this counts as this long when columns are narrowed. Own choice by eye.
const LONG_TEXT: f64 = 260.0;
/// Rounds of halving when columns are narrowed; the width is then exact to a hundredth of a point.
const ROUNDS: usize = 24;

/// The look of a column's cells.
pub(crate) fn look(role: Role) -> Look {
    if role == Role::Name { STRONG } else { PLAIN }
}

/// The look of headings.
pub(crate) const HEAD: Look = Look { face: Typeface::CondensedBold, ..PLAIN };

/// What a column would like and can bear.
#[derive(Debug, Clone, Copy, Default)]
struct Wish {
    least: f64,
    natural: f64,
}

/// Widths of all columns; the grouping column gets none. Together no wider than `room` unless words
/// that must not be broken are.
pub(crate) fn widths(table: &Table, room: f64) -> Vec<f64> {
    let wishes: Vec<Wish> = (0..table.columns.len()).map(|n| wish(table, n)).collect();
    let natural: f64 = wishes.iter().map(|wish| wish.natural).sum();
    if natural <= room {
        return spread(table, &wishes, room - natural);
    }
    // Very long texts wrap anyway: they must not squeeze the short ones beside them.
    let cap =
        |most: f64| wishes.iter().map(|wish| Wish { natural: wish.natural.min(most).max(wish.least), ..*wish }).collect::<Vec<Wish>>();
    let capped = cap(LONG_TEXT);
    let sum: f64 = capped.iter().map(|wish| wish.natural).sum();
    if sum <= room {
        return stretched(&wishes, &capped, room - sum);
    }
    let narrowed = |share: f64| capped.iter().map(|wish| wish.least + (wish.natural - wish.least) * share).collect::<Vec<f64>>();
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..ROUNDS {
        let middle = (low + high) / 2.0;
        if narrowed(middle).iter().sum::<f64>() <= room { low = middle } else { high = middle }
    }
    let widths = narrowed(low);
    let sum: f64 = widths.iter().sum();
    // Even the narrowest columns are too wide: all give way alike, and words are broken.
    if sum > room { widths.iter().map(|width| width * room / sum).collect() } else { widths }
}

/// Gives room that is left to the columns whose texts were capped.
fn stretched(wishes: &[Wish], capped: &[Wish], left: f64) -> Vec<f64> {
    let missing: f64 = wishes.iter().zip(capped).map(|(wish, capped)| wish.natural - capped.natural).sum();
    let width = |(wish, capped): (&Wish, &Wish)| capped.natural + (wish.natural - capped.natural) * left / missing.max(1e-9);
    wishes.iter().zip(capped).map(width).collect()
}

/// Gives room that is left to the columns of words, by their width, but never so much that the eye loses the row.
fn spread(table: &Table, wishes: &[Wish], left: f64) -> Vec<f64> {
    let takes = |n: usize| table.columns[n].role == Role::Text || table.columns[n].role == Role::Write;
    let all: f64 = wishes.iter().enumerate().filter(|(n, _)| takes(*n)).map(|(_, wish)| wish.natural).sum();
    let share =
        |(n, wish): (usize, &Wish)| if takes(n) && all > 0.0 { wish.natural * (1.0 + left / all).min(MOST_SPREAD) } else { wish.natural };
    wishes.iter().enumerate().map(share).collect()
}

fn wish(table: &Table, n: usize) -> Wish {
    if table.grouped_by == Some(n) {
        return Wish::default();
    }
    let column = &table.columns[n];
    match column.role {
        Role::Tick => {
            let width = TICK_W.max(HEAD.width(&column.head) + PAD);
            return Wish { least: width, natural: width };
        }
        Role::Write => return Wish { least: WRITE_W, natural: WRITE_W },
        _ => {}
    }
    let look = look(column.role);
    let head = widest_word(&column.head, &HEAD);
    let mut wish = Wish { least: head + PAD, natural: head + PAD };
    for row in &table.rows {
        let Some(cell) = row.cells.get(n) else { continue };
        wish.natural = wish.natural.max(look.width(&cell.text) + PAD);
        let word = if column.role == Role::Figure { look.width(&cell.text) } else { widest_word(&cell.text, &look) };
        wish.least = wish.least.max(word.min(LONGEST_WORD) + PAD);
    }
    wish
}

fn widest_word(text: &str, look: &Look) -> f64 {
    text.split_whitespace().map(|word| look.width(word)).fold(0.0, f64::max)
}
