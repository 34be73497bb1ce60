//! The measures of each crate as a table.

use super::measure::Function;
use super::sources::Source;
use std::collections::BTreeMap;
use std::fmt::Write;

/// One line of the table.
#[derive(Default)]
struct Row<'a> {
    file_lines: Vec<usize>,
    functions: Vec<&'a Function>,
    public: usize,
    documented: usize,
    tests: usize,
    test_lines: usize,
}

impl<'a> Row<'a> {
    fn add(&mut self, source: &'a Source) {
        if !source.is_test {
            self.file_lines.push(source.production_lines());
        }
        self.functions.extend(source.measures.functions.iter().filter(|function| !function.is_test));
        self.public += source.measures.public;
        self.documented += source.measures.documented;
        self.tests += source.measures.tests;
        self.test_lines += source.lines - source.production_lines();
    }

    fn write(&self, name: &str, to: &mut String) -> std::fmt::Result {
        let function_lines: Vec<usize> = self.functions.iter().map(|function| function.lines).collect();
        let parameters: Vec<usize> = self.functions.iter().map(|function| function.parameters).collect();
        let docs = (self.documented * 100).checked_div(self.public).map_or("-".to_owned(), |share| format!("{share} %"));
        writeln!(
            to,
            "{name:<12}{:>6}{:>8}{:>17}{:>10}{:>15}{:>6}{:>8}{:>7}{:>7}{:>11}",
            self.file_lines.len(),
            self.file_lines.iter().sum::<usize>(),
            spread(&self.file_lines),
            function_lines.len(),
            spread(&function_lines),
            at_share(&parameters, 95),
            self.public,
            docs,
            self.tests,
            self.test_lines,
        )
    }
}

/// Production code by crate: median / 95th percentile / most, and the rest.
pub fn table(sources: &[Source]) -> String {
    let mut rows: BTreeMap<&str, Row<'_>> = BTreeMap::new();
    let mut total = Row::default();
    for source in sources {
        rows.entry(&source.package).or_default().add(source);
        total.add(source);
    }
    let mut text = format!(
        "{:<12}{:>6}{:>8}{:>17}{:>10}{:>15}{:>6}{:>8}{:>7}{:>7}{:>11}\n",
        "crate", "files", "lines", "per file", "functions", "lines each", "par.", "public", "docs", "tests", "test lines"
    );
    let named = rows.iter().map(|(name, row)| (*name, row)).chain([("all", &total)]);
    named.for_each(|(name, row)| row.write(name, &mut text).expect("writing to a string does not fail"));
    text.push_str("Lines without test code; spreads are median / 95th percentile / most; par. is the 95th percentile of parameters.\n");
    text
}

fn spread(values: &[usize]) -> String {
    format!("{} / {} / {}", at_share(values, 50), at_share(values, 95), at_share(values, 100))
}

/// The smallest value that at least `share` percent do not exceed; 0 for none.
fn at_share(values: &[usize], share: usize) -> usize {
    let mut sorted = values.to_vec();
    sorted.sort_unstable();
    let rank = (sorted.len() * share).div_ceil(100).max(1);
    sorted.get(rank - 1).copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_as_the_nearest_rank_method() {
        let values: Vec<usize> = (1..=20).collect();
        assert_eq!([50, 95, 100].map(|share| at_share(&values, share)), [10, 19, 20]);
        assert_eq!(at_share(&[], 50), 0);
    }
}
