//! Builds what is handed out: the binary, its manual pages, its completions.

use super::{cargo, succeed};
use std::fs;
use std::path::Path;
use std::process::Command;

/// Shells that get completions, and the file name each looks for.
const SHELLS: &[(&str, &str)] = &[("bash", "loomwright.bash"), ("zsh", "_loomwright"), ("fish", "loomwright.fish")];

/// Builds into `target/dist`.
pub fn run(root: &Path) -> Result<(), String> {
    succeed(&mut cargo(root, &["build", "--release", "--locked", "--package", "loomwright"]))?;
    let built = root.join("target/release/loomwright");
    let dist = root.join("target/dist");
    let manual = dist.join("man");
    let completions = dist.join("completions");
    let trouble = |error: std::io::Error| format!("{}: {error}", dist.display());
    fs::create_dir_all(&manual).and_then(|()| fs::create_dir_all(&completions)).map_err(trouble)?;
    fs::copy(&built, dist.join("loomwright")).map_err(trouble)?;
    succeed(Command::new(&built).arg("man").arg(&manual))?;
    for (shell, file) in SHELLS {
        let output = Command::new(&built).args(["completions", shell]).output().map_err(trouble)?;
        fs::write(completions.join(file), output.stdout).map_err(trouble)?;
    }
    println!("wrote {}", dist.display());
    Ok(())
}
