//! The one test command: set up, format, lint, tidy, then every test, whose totals are the last line.

use super::{cargo, setup, succeed};
use crate::tidy;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::Stdio;

/// Runs every step even when one fails, and names the failed ones at the end.
pub fn run(root: &Path) -> Result<(), String> {
    setup::run()?;
    let mut failed = Vec::new();
    let mut step = |name: &str, done: Result<(), String>| {
        if let Err(trouble) = done {
            println!("== {name} failed: {trouble}");
            failed.push(name.to_owned());
        }
    };
    println!("== format");
    step("format", succeed(&mut cargo(root, &["fmt", "--all", "--check"])));
    println!("== lint");
    step("lint", succeed(&mut cargo(root, &["clippy", "--workspace", "--all-targets", "--locked", "--", "-D", "warnings"])));
    println!("== tidy");
    step("tidy", tidy::run(root));
    println!("== tests");
    let (tested, totals) = test(root);
    step("tests", tested);
    let verdict = if failed.is_empty() { Ok(()) } else { Err(format!("failed: {}", failed.join(", "))) };
    println!("{} passed, {} failed, {} skipped", totals.passed, totals.failed, totals.ignored);
    verdict
}

/// What the test programs counted.
#[derive(Debug, Default, PartialEq, Eq)]
struct Totals {
    passed: u64,
    failed: u64,
    ignored: u64,
}

impl Totals {
    /// Adds a line such as `test result: ok. 3 passed; 0 failed; 0 ignored; ..`; other lines count nothing.
    fn add(&mut self, line: &str) {
        let Some(result) = line.strip_prefix("test result: ") else { return };
        for part in result.split(['.', ';']) {
            match part.trim().split_once(' ') {
                Some((count, "passed")) => self.passed += count.parse().unwrap_or(0),
                Some((count, "failed")) => self.failed += count.parse().unwrap_or(0),
                Some((count, "ignored")) => self.ignored += count.parse().unwrap_or(0),
                _ => {}
            }
        }
    }
}

fn test(root: &Path) -> (Result<(), String>, Totals) {
    let mut totals = Totals::default();
    let mut command = cargo(root, &["test", "--workspace", "--locked", "--no-fail-fast"]);
    let mut child = match command.stdout(Stdio::piped()).spawn() {
        Ok(child) => child,
        Err(error) => return (Err(error.to_string()), totals),
    };
    if let Some(output) = child.stdout.take() {
        for line in BufReader::new(output).lines().map_while(Result::ok) {
            println!("{line}");
            totals.add(&line);
        }
    }
    let done = match child.wait() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(status.to_string()),
        Err(error) => Err(error.to_string()),
    };
    (done, totals)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_the_closing_lines() {
        let mut totals = Totals::default();
        for line in [
            "running 3 tests",
            "test result: ok. 3 passed; 0 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.00s",
            "test result: FAILED. 1 passed; 2 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.00s",
        ] {
            totals.add(line);
        }
        assert_eq!(totals, Totals { passed: 4, failed: 2, ignored: 0 });
    }
}
