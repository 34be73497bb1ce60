//! Holds the source to the house rules and prints its measures.

mod arrows;
mod checks;
mod figures;
mod finding_files;
mod measure;
mod purity;
mod sources;
mod words;

use sources::{Source, Tree};
use std::fmt;
use std::path::Path;

/// Longest file, in lines. **Source**: own choice, near the 95th percentile of well-kept Rust projects.
const FILE_LINES: usize = 800;
/// Longest function, in lines. **Source**: own choice, above the 95th percentile (54) of well-kept Rust projects.
const FUNCTION_LINES: usize = 70;
/// Most parameters, `self` not counted. **Source**: own choice, the 95th percentile of well-kept Rust projects.
const PARAMETERS: usize = 4;

/// One broken rule.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    at: String,
    says: String,
}

impl Fault {
    fn new(at: impl Into<String>, says: impl Into<String>) -> Self {
        Self { at: at.into(), says: says.into() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.at, self.says)
    }
}

/// Reads the tree, prints its figures, and lists every broken rule.
pub fn run(root: &Path) -> Result<(), String> {
    let tree = Tree::read(root)?;
    print!("{}", figures::table(&tree.sources));
    let mut faults = faults(root, &tree);
    faults.sort();
    for fault in &faults {
        println!("{fault}");
    }
    match faults.len() {
        0 => {
            println!("tidy: no rule broken");
            Ok(())
        }
        count => Err(format!("tidy: {count} broken rules")),
    }
}

fn faults(root: &Path, tree: &Tree) -> Vec<Fault> {
    let mut faults: Vec<Fault> = tree.unreadable.iter().map(|(path, why)| Fault::new(path, why)).collect();
    for source in &tree.sources {
        faults.extend(size_faults(source));
        faults.extend(measure::habit_faults(source));
        faults.extend(purity::faults(source));
        faults.extend(finding_files::faults(source, &tree.sources));
    }
    faults.extend(arrows::faults(root));
    faults.extend(checks::faults(root));
    faults.extend(words::faults(root));
    faults
}

fn size_faults(source: &Source) -> Vec<Fault> {
    let mut faults = Vec::new();
    if source.lines > FILE_LINES {
        faults.push(Fault::new(&source.path, format!("{} lines; the most is {FILE_LINES}: split it along its ideas", source.lines)));
    }
    for function in &source.measures.functions {
        let at = format!("{}:{}", source.path, function.line);
        if function.lines > FUNCTION_LINES {
            faults.push(Fault::new(&at, format!("`{}` has {} lines; the most is {FUNCTION_LINES}", function.name, function.lines)));
        }
        if function.parameters > PARAMETERS {
            faults.push(Fault::new(&at, format!("`{}` takes {} parameters; the most is {PARAMETERS}", function.name, function.parameters)));
        }
    }
    faults
}
