//! Opt-in comparisons with general-purpose programs that are no part of the build: `benchsuite/AREA/run.py`.
//!
//! A folder with a `run.py` is an area; there is no other list. The program is given the arguments that follow the area, runs
//! in the folder of the workspace, and ends with 0 only if nothing that it compared disagrees and nothing it needs is missing.

use super::succeed;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Names another Python than `python3`, for one that has the libraries of the comparison.
const PYTHON: &str = "LOOMWRIGHT_PYTHON";

/// Runs one area.
pub fn run(root: &Path, arguments: &[String]) -> Result<(), String> {
    let known = areas(root);
    let Some((area, rest)) = arguments.split_first().filter(|(area, _)| known.contains(area)) else {
        return Err(format!("name what to compare: cargo xtask outside {}", known.join("|")));
    };
    let python = std::env::var_os(PYTHON).unwrap_or_else(|| "python3".into());
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    succeed(Command::new(python).current_dir(root).env("CARGO", cargo).arg(program(root, area)).args(rest))
}

fn program(root: &Path, area: &str) -> PathBuf {
    root.join("benchsuite").join(area).join("run.py")
}

/// Folders of the bench suite that hold a program, in order.
fn areas(root: &Path) -> Vec<String> {
    let folders = std::fs::read_dir(root.join("benchsuite")).into_iter().flatten().flatten();
    let names = folders.filter_map(|folder| folder.file_name().into_string().ok());
    with_program(names.collect(), |area| program(root, area).is_file())
}

fn with_program(mut names: Vec<String>, has_program: impl Fn(&str) -> bool) -> Vec<String> {
    names.retain(|name| has_program(name));
    names.sort();
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_with_a_program_is_an_area() {
        let names = ["records", "graph", "delay"].map(str::to_owned).to_vec();
        assert_eq!(with_program(names, |name| name != "records"), ["delay", "graph"]);
    }

    #[test]
    fn an_unknown_area_is_refused() {
        let refused = run(&crate::root(), &["weather".to_owned()]);
        assert!(refused.is_err_and(|says| says.starts_with("name what to compare")));
    }
}
