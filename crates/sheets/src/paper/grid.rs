//! A table on pages: repeated headings, measured wrapping, rows never split.

use super::widths::{HEAD, PAD, look, widths};
use super::{A4, BAND, INK, Look, Mark, PLAIN, Page, heading};
use crate::table::{Role, Row, Table};
use loomwright_drawing::Typeface;
use loomwright_drawing::geometry::Area;

/// Space above and below the text of a row, together.
const ROW_PAD: f64 = 5.6;
/// Least height of a row: a finger or a pen finds it.
const LEAST_ROW: f64 = 17.0;
/// Height of a group's heading.
const GROUP_H: f64 = 23.0;
/// Side of a box to tick.
const TICK: f64 = 9.5;
/// Between two groups on one page.
const GROUP_GAP: f64 = 5.0;

/// The pages of `table`, without title blocks.
pub(crate) fn pages(table: &Table) -> Vec<Page> {
    // Folded first: a folded name is wider than a single one.
    let table = &Table { rows: folded(table), ..table.clone() };
    let mut setter = Setter::new(table);
    if table.rows.is_empty() {
        let y = setter.y + 16.0;
        setter.page.text((super::SIDE, y), "Nothing to list.", PLAIN);
    }
    let is_one_group = |a: &Row, b: &Row| table.grouped_by.is_none_or(|n| a.cells.get(n) == b.cells.get(n));
    for rows in table.rows.chunk_by(is_one_group) {
        setter.keep(rows);
        rows.iter().for_each(|row| setter.set(row));
    }
    setter.pages.push(setter.page);
    setter.pages
}

/// The rows with runs of foldable ones as one row: `7 to 24`.
fn folded(table: &Table) -> Vec<Row> {
    let key = (0..table.columns.len()).find(|n| table.grouped_by != Some(*n)).unwrap_or(0);
    let is_alike = |a: &Row, b: &Row| {
        let rest = |row: &Row| row.cells.iter().enumerate().filter(|(n, _)| *n != key).map(|(_, cell)| cell.clone()).collect::<Vec<_>>();
        a.folds && b.folds && rest(a) == rest(b)
    };
    let mut rows = Vec::new();
    for run in table.rows.chunk_by(is_alike) {
        let [first, .., last] = run else {
            rows.extend_from_slice(run);
            continue;
        };
        let mut one = first.clone();
        one.cells[key] = format!("{} to {}", first.cells[key].text, last.cells[key].text).into();
        rows.push(one);
    }
    rows
}

/// A row broken into lines, cell by cell.
struct Broken<'t> {
    row: &'t Row,
    cells: Vec<Vec<String>>,
    height: f64,
}

struct Setter<'t> {
    table: &'t Table,
    widths: Vec<f64>,
    pages: Vec<Page>,
    page: Page,
    /// Where the next row begins.
    y: f64,
    group: Option<&'t str>,
    /// Whether nothing stands below the headings yet.
    is_fresh: bool,
}

impl<'t> Setter<'t> {
    fn new(table: &'t Table) -> Self {
        let page = Page::new(A4, table.kind.title(), &table.cautions);
        let widths = widths(table, page.body().w);
        let mut setter = Self { table, widths, pages: Vec::new(), page, y: 0.0, group: None, is_fresh: true };
        setter.begin_page(true);
        setter
    }

    fn bottom(&self) -> f64 {
        self.page.body().bottom()
    }

    fn begin_page(&mut self, is_first: bool) {
        let note = if is_first { self.table.note.as_str() } else { "" };
        let title = if is_first { self.table.kind.title().to_owned() } else { format!("{} (continued)", self.table.kind.title()) };
        self.y = heading(&mut self.page, &title, note);
        self.draw_heads();
        self.is_fresh = true;
    }

    fn new_page(&mut self) {
        let next = Page::new(A4, self.table.kind.title(), &self.table.cautions);
        self.pages.push(std::mem::replace(&mut self.page, next));
        self.begin_page(false);
    }

    fn draw_heads(&mut self) {
        let lines: Vec<Vec<String>> = self.columns().map(|(n, _)| HEAD.wrap(&self.table.columns[n].head, self.widths[n] - PAD)).collect();
        let most = lines.iter().map(Vec::len).max().unwrap_or(1);
        let bottom = self.y + HEAD.leading() * most as f64 + 4.0;
        let columns: Vec<(usize, f64)> = self.columns().collect();
        for ((n, x), lines) in columns.into_iter().zip(lines) {
            let first = bottom - 5.0 - HEAD.leading() * (lines.len() - 1) as f64;
            for (line, text) in lines.into_iter().enumerate() {
                self.write((n, x), (first + HEAD.leading() * line as f64, text), HEAD);
            }
        }
        let body = self.page.body();
        self.page.rule((body.x, bottom), (body.right(), bottom), 1.0);
        self.y = bottom;
    }

    /// Shown columns with their left edges.
    fn columns(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let mut x = self.page.body().x;
        (0..self.table.columns.len()).filter(|n| self.table.grouped_by != Some(*n)).map(move |n| {
            let left = x;
            x += self.widths[n];
            (n, left)
        })
    }

    fn write(&mut self, (n, x): (usize, f64), (y, text): (f64, String), look: Look) {
        if self.table.columns[n].role == Role::Figure {
            self.page.text_end((x + self.widths[n] - PAD / 2.0, y), &text, look);
        } else {
            self.page.text((x + PAD / 2.0, y), text, look);
        }
    }

    fn set(&mut self, row: &'t Row) {
        let group = self.table.grouped_by.and_then(|n| row.cells.get(n)).map(|cell| cell.text.as_str());
        for broken in self.broken(row) {
            let is_new_group = group.is_some() && group != self.group;
            let needed = broken.height + if is_new_group { GROUP_H + GROUP_GAP } else { 0.0 };
            if self.y + needed > self.bottom() {
                self.new_page();
                // A group that goes on says so; a new one has its plain heading.
                if let (false, Some(name)) = (is_new_group, group) {
                    self.draw_group(&format!("{name} (continued)"));
                }
            }
            if let (true, Some(name)) = (is_new_group, group) {
                self.y += if self.is_fresh { 0.0 } else { GROUP_GAP };
                self.draw_group(name);
                self.group = group;
            }
            self.draw_row(&broken);
        }
    }

    /// Turns the page before a group that would be torn apart here but fits on a page of its own.
    fn keep(&mut self, rows: &'t [Row]) {
        if !self.table.keeps_groups || self.is_fresh {
            return;
        }
        let all: f64 = rows.iter().flat_map(|row| self.broken(row)).map(|broken| broken.height).sum::<f64>() + GROUP_H + GROUP_GAP;
        if self.y + all > self.bottom() {
            self.new_page();
        }
    }

    /// The row as one piece, or as several where it is higher than a whole page.
    fn broken(&self, row: &'t Row) -> Vec<Broken<'t>> {
        let cell = |n: usize| look(self.table.columns[n].role).wrap(&row.cells[n].text, self.widths[n] - PAD + 0.02);
        let mut cells: Vec<Vec<String>> = self.columns().map(|(n, _)| cell(n)).collect();
        let leading = super::STRONG.leading();
        // A page holds this many lines below its headings, with room for a group's heading.
        let most = (((self.page.body().h - 90.0 - GROUP_H) / leading) as usize).max(1);
        let mut pieces = Vec::new();
        loop {
            let rest: Vec<Vec<String>> = cells.iter_mut().map(|lines| lines.split_off(lines.len().min(most))).collect();
            pieces.push(Broken { row, height: self.height(&cells), cells });
            if rest.iter().all(Vec::is_empty) {
                return pieces;
            }
            cells = rest;
        }
    }

    fn height(&self, cells: &[Vec<String>]) -> f64 {
        let tall = |((n, _), lines): ((usize, f64), &Vec<String>)| look(self.table.columns[n].role).leading() * lines.len() as f64;
        self.columns().zip(cells).map(tall).fold(0.0, f64::max).max(LEAST_ROW - ROW_PAD) + ROW_PAD
    }

    fn draw_group(&mut self, name: &str) {
        self.is_fresh = false;
        let body = self.page.body();
        let area = Area::new(body.x, self.y, body.w, GROUP_H - 3.0);
        self.page.marks.push(Mark::Fill { area, tint: BAND });
        let look = Look { face: Typeface::CondensedBold, size: 11.0, tint: INK };
        let shown = look.face.fit(name, look.size, body.w - 12.0).into_owned();
        self.page.text((body.x + 6.0, self.y + 14.0), shown, look);
        self.y += GROUP_H - 3.0;
    }

    fn draw_row(&mut self, broken: &Broken<'_>) {
        self.is_fresh = false;
        let columns: Vec<(usize, f64)> = self.columns().collect();
        for ((n, x), lines) in columns.into_iter().zip(&broken.cells) {
            let role = self.table.columns[n].role;
            let look = look(role);
            for (line, text) in lines.iter().enumerate() {
                let y = self.y + ROW_PAD / 2.0 + 9.4 + look.leading() * line as f64;
                self.write((n, x), (y, text.clone()), look);
            }
            if role == Role::Tick {
                let area = Area::new(x + (self.widths[n] - TICK) / 2.0, self.y + (broken.height - TICK) / 2.0, TICK, TICK);
                self.page.marks.push(Mark::Outline { area, tint: INK, width: 0.8 });
            }
        }
        let body = self.page.body();
        if broken.row.is_strong {
            self.page.marks.push(Mark::Fill { area: Area::new(body.x - 5.0, self.y + 2.0, 3.0, broken.height - 4.0), tint: INK });
        }
        self.y += broken.height;
        self.page.hair((body.x, self.y), (body.right(), self.y));
    }
}
