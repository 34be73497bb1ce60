//! One outside value.

use std::collections::BTreeMap;
use std::str::FromStr;

/// A row of a file of outside values.
pub struct Row {
    pub id: String,
    pub topic: String,
    pub input: String,
    pub expected: String,
    pub source: String,
    pub confidence: String,
    named: BTreeMap<String, String>,
}

impl Row {
    /// All rows of a file.
    pub fn read(text: &str) -> Vec<Self> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows = reader.records().map(|row| row.expect("a row with every column"));
        rows.map(|row| {
            let cell = |at: usize| row[at].to_owned();
            let parts = row[2].split(';').filter_map(|part| part.split_once('='));
            let named = parts.map(|(key, value)| (key.to_owned(), value.to_owned())).collect();
            Self { id: cell(0), topic: cell(1), input: cell(2), expected: cell(3), source: cell(5), confidence: cell(6), named }
        })
        .collect()
    }

    /// The value of a key of the input; empty if it is not there.
    pub fn word(&self, key: &str) -> &str {
        self.named.get(key).map_or("", String::as_str)
    }

    /// The value of a key of the input that must be there.
    pub fn get<T: FromStr>(&self, key: &str) -> T {
        self.word(key).parse().unwrap_or_else(|_| panic!("{}: {key} in {}", self.id, self.input))
    }
}
