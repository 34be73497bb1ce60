//! Writes the JSON Schema of the report from its types.

use super::cargo;
use std::path::Path;

/// Writes `docs/report.schema.json`.
pub fn run(root: &Path) -> Result<(), String> {
    let mut command = cargo(root, &["run", "--quiet", "--package", "loomwright", "--", "check", "--schema"]);
    let output = command.stderr(std::process::Stdio::inherit()).output().map_err(|error| error.to_string())?;
    if !output.status.success() {
        return Err(format!("loomwright check --schema: {}", output.status));
    }
    let file = root.join("docs/report.schema.json");
    std::fs::write(&file, output.stdout).map_err(|error| format!("{}: {error}", file.display()))?;
    println!("wrote {}", file.display());
    Ok(())
}
