//! A page as named parts. The same part, made by the same function, stands in the page and in the stream.

use maud::{Markup, PreEscaped, html};

/// One element with an id, as it stands in the page.
#[derive(Debug, Clone)]
pub struct Part {
    /// The id of its element.
    pub id: String,
    html: String,
    /// For a table: where in `html` its rows stand, and the rows as parts of their own.
    rows: Option<Rows>,
}

#[derive(Debug, Clone)]
struct Rows {
    from: usize,
    to: usize,
    parts: Vec<Part>,
}

impl Part {
    /// An element. **Invariant**: `html` is one element whose id is `id`.
    pub fn new(id: impl Into<String>, html: Markup) -> Self {
        Self { id: id.into(), html: html.into_string(), rows: None }
    }

    /// An element with rows that can be replaced one by one: `before` opens it, `after` closes it.
    pub fn with_rows(id: impl Into<String>, before: &str, rows: Vec<Self>, after: &str) -> Self {
        let inner: String = rows.iter().map(|row| row.html.as_str()).collect();
        let rows = Rows { from: before.len(), to: before.len() + inner.len(), parts: rows };
        Self { id: id.into(), html: format!("{before}{inner}{after}"), rows: Some(rows) }
    }

    /// As it stands in the page.
    pub fn html(&self) -> Markup {
        PreEscaped(self.html.clone())
    }

    /// What of it differs from `old`: itself, or only some of its rows.
    fn differing<'a>(&'a self, old: &Self, found: &mut Vec<&'a str>) {
        if self.html == old.html {
            return;
        }
        match (self.rows.as_ref(), old.rows.as_ref()) {
            (Some(new_rows), Some(old_rows)) if self.frame() == old.frame() && same_ids(&new_rows.parts, &old_rows.parts) => {
                for (new, old) in new_rows.parts.iter().zip(&old_rows.parts) {
                    new.differing(old, found);
                }
            }
            _ => found.push(&self.html),
        }
    }

    fn frame(&self) -> Option<(&str, &str)> {
        self.rows.as_ref().map(|rows| (&self.html[..rows.from], &self.html[rows.to..]))
    }
}

fn same_ids(new: &[Part], old: &[Part]) -> bool {
    new.iter().map(|part| &part.id).eq(old.iter().map(|part| &part.id))
}

/// One page: its title, and its parts in reading order.
#[derive(Debug, Clone)]
pub struct Page {
    /// For the browser's tab.
    pub title: String,
    /// The entry of the navigation that it belongs to.
    pub section: &'static str,
    /// Names the state it was drawn from.
    pub mark: String,
    /// False for a page that is not there.
    pub exists: bool,
    /// False for an answer that stands still while the plan changes.
    pub follows: bool,
    /// Parts outside the main area that every page has.
    pub around: Vec<Part>,
    /// The main area.
    pub parts: Vec<Part>,
}

impl Page {
    /// The main element.
    pub fn main(&self) -> Markup {
        html! { main #main tabindex="-1" { @for part in &self.parts { (part.html()) } } }
    }

    /// Everything that can change while the page is open.
    pub fn everything(&self) -> Markup {
        html! { @for part in &self.around { (part.html()) } (self.main()) }
    }

    /// The elements that a tab which shows `old` has to replace to show this; none if nothing differs. Each stands
    /// alone, since a table's row cannot be parsed after another element.
    pub fn difference(&self, old: Option<&Self>) -> Vec<String> {
        let Some(old) = old.filter(|old| same_ids(&old.parts, &self.parts) && same_ids(&old.around, &self.around)) else {
            return vec![self.everything().into_string()];
        };
        let mut found = Vec::new();
        let new_and_old = self.around.iter().zip(&old.around).chain(self.parts.iter().zip(&old.parts));
        for (new, old) in new_and_old {
            new.differing(old, &mut found);
        }
        found.into_iter().map(str::to_owned).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(id: &str, text: &str) -> Part {
        Part::new(id, html! { tr id=(id) { td { (text) } } })
    }

    fn page(title: &str, rows: Vec<Part>) -> Page {
        let table = Part::with_rows("t", "<table id=\"t\">", rows, "</table>");
        let head = Part::new("h", html! { h1 #h { (title) } });
        Page {
            title: title.into(),
            section: "",
            mark: String::new(),
            exists: true,
            follows: true,
            around: vec![],
            parts: vec![head, table],
        }
    }

    #[test]
    fn only_what_differs_is_sent() {
        let old = page("A", vec![row("r1", "x"), row("r2", "y")]);
        let sent = |new: &Page| new.difference(Some(&old));
        assert!(sent(&old).is_empty());
        assert_eq!(sent(&page("A", vec![row("r1", "x"), row("r2", "z")])), ["<tr id=\"r2\"><td>z</td></tr>"]);
        assert_eq!(sent(&page("B", vec![row("r1", "x"), row("r2", "y")])), ["<h1 id=\"h\">B</h1>"]);
        let longer = sent(&page("A", vec![row("r1", "x"), row("r2", "y"), row("r3", "z")]));
        assert!(longer.len() == 1 && longer[0].starts_with("<table id=\"t\">") && longer[0].contains("r3"));
        assert!(old.difference(None)[0].starts_with("<main"));
    }
}
