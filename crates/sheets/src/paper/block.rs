//! The title block at the foot of every page.

use super::{BODY, FAINT, Look, PLAIN, Page, SIDE, SOFT, STRONG};
use crate::cautions::STANDING;
use loomwright_drawing::{Scene, Typeface};

/// Height of the row of cells.
const CELLS_H: f64 = 27.0;
/// Space below.
const BELOW: f64 = 18.0;
/// Digits of the digest that are shown; enough to tell revisions apart. Own choice.
const DIGEST_DIGITS: usize = 12;

/// What every title block says.
#[derive(Debug, Clone, Default)]
pub(crate) struct Title {
    project: String,
    by: String,
    revision: String,
    date: String,
    digest: String,
}

impl Title {
    pub(crate) fn new(scene: &Scene<'_>) -> Self {
        let about = &scene.plan.about;
        Self {
            project: about.name.clone(),
            by: about.by.clone().unwrap_or_default(),
            revision: about.revision.clone(),
            date: about.date.clone().unwrap_or_default(),
            digest: scene.report.plan.digest.chars().take(DIGEST_DIGITS).collect(),
        }
    }
}

fn words(cautions: &[&str]) -> String {
    std::iter::once(STANDING).chain(cautions.iter().copied()).collect::<Vec<_>>().join("  ")
}

fn lines(width: f64, cautions: &[&str]) -> Vec<String> {
    PLAIN.wrap(&words(cautions), width - 2.0 * SIDE)
}

/// How much of a page of `width` the title block takes.
pub(crate) fn height(width: f64, cautions: &[&str]) -> f64 {
    CELLS_H + PLAIN.leading() * lines(width, cautions).len() as f64 + BELOW
}

/// Draws the title block of page `number` of `count`.
pub(crate) fn draw(page: &mut Page, title: &Title, (number, count): (usize, usize)) {
    let (width, cautions) = (page.size.0, page.cautions.clone());
    let top = page.size.1 - height(width, &cautions);
    page.rule((SIDE, top), (width - SIDE, top), 1.2);
    let small = FAINT.tinted(SOFT);
    let mut x = width - SIDE;
    let number = format!("{number} of {count}");
    let cells = [("Page", number), ("Digest", title.digest.clone()), ("Date", title.date.clone()), ("Revision", title.revision.clone())];
    for (head, value) in cells {
        if value.is_empty() {
            continue;
        }
        let cell = small.width(head).max(STRONG.width(&value)) + 18.0;
        x -= cell;
        page.text((x + 9.0, top + 10.5), head, small);
        page.text((x + 9.0, top + 22.5), value, STRONG);
        page.hair((x, top + 3.0), (x, top + CELLS_H - 2.0));
    }
    let room = x - SIDE - 10.0;
    let by = if title.by.is_empty() { title.project.clone() } else { format!("{} \u{b7} {}", title.project, title.by) };
    page.text((SIDE, top + 10.5), small.face.fit(&by, BODY, room).into_owned(), small);
    let sheet = page.sheet.clone();
    let look = Look { face: Typeface::CondensedBold, ..STRONG };
    page.text((SIDE, top + 22.5), look.face.fit(&sheet, look.size, room).into_owned(), look);
    page.hair((SIDE, top + CELLS_H), (width - SIDE, top + CELLS_H));
    let mut y = top + CELLS_H + 10.5;
    for line in lines(width, &cautions) {
        page.text((SIDE, y), line, PLAIN);
        y += PLAIN.leading();
    }
}

impl Title {
    /// Project, revision and date in one line.
    pub(crate) fn short(&self) -> String {
        let revision = if self.revision.is_empty() { String::new() } else { format!("rev. {}", self.revision) };
        let parts = [self.project.clone(), revision, self.date.clone(), self.digest.clone()];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" \u{b7} ")
    }
}
