//! Reads every Rust file of the workspace once.

use super::measure::Measures;
use std::fs;
use std::path::{Path, PathBuf};

/// One Rust file.
pub struct Source {
    /// Its crate's folder name.
    pub package: String,
    /// From the root of the workspace, with `/`.
    pub path: String,
    /// Its text.
    pub text: String,
    /// All its lines.
    pub lines: usize,
    /// Whether all of it is test code: in `tests/`, `benches/` or `examples/`, or a `tests.rs`.
    pub is_test: bool,
    /// What its syntax tree says.
    pub measures: Measures,
}

/// Everything that was read.
#[derive(Default)]
pub struct Tree {
    /// By path.
    pub sources: Vec<Source>,
    /// Files that could not be parsed, and why.
    pub unreadable: Vec<(String, String)>,
}

impl Tree {
    /// Reads the crates and the chores.
    pub fn read(root: &Path) -> Result<Self, String> {
        let mut tree = Self::default();
        for folder in ["crates", "xtask"] {
            for file in files_under(&root.join(folder))? {
                if file.extension().is_some_and(|end| end == "rs") {
                    tree.add(root, &file)?;
                }
            }
        }
        Ok(tree)
    }

    fn add(&mut self, root: &Path, file: &Path) -> Result<(), String> {
        let text = fs::read_to_string(file).map_err(|error| format!("{}: {error}", file.display()))?;
        let path = file.strip_prefix(root).unwrap_or(file).to_string_lossy().replace('\\', "/");
        match Source::new(path.clone(), text) {
            Ok(source) => self.sources.push(source),
            Err(error) => self.unreadable.push((path, format!("cannot be parsed: {error}"))),
        }
        Ok(())
    }
}

impl Source {
    /// Parses and measures one file.
    pub fn new(path: String, text: String) -> syn::Result<Self> {
        let is_test = ["/tests/", "/benches/", "/examples/"].iter().any(|part| path.contains(part)) || path.ends_with("/tests.rs");
        let measures = Measures::of(&syn::parse_file(&text)?, is_test);
        let package = path.trim_start_matches("crates/").split('/').next().unwrap_or_default().to_owned();
        Ok(Self { package, lines: text.lines().count(), path, text, is_test, measures })
    }

    /// Lines outside test modules; none for a test file.
    pub fn production_lines(&self) -> usize {
        if self.is_test { 0 } else { self.lines.saturating_sub(self.measures.test_lines) }
    }
}

/// Every file below `folder`, sorted; build output and hidden folders left out.
pub fn files_under(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let mut found = Vec::new();
    let mut waiting = vec![folder.to_path_buf()];
    while let Some(folder) = waiting.pop() {
        let entries = fs::read_dir(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        for entry in entries {
            let path = entry.map_err(|error| format!("{}: {error}", folder.display()))?.path();
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            match path.is_dir() {
                _ if name == ".git" => {}
                true if name == "target" => {}
                true => waiting.push(path),
                false => found.push(path),
            }
        }
    }
    found.sort();
    Ok(found)
}
