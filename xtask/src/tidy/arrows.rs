//! Which crate may use which: the arrows of ARCHITECTURE.md and no others.

use super::Fault;
use std::fs;
use std::path::Path;

const ALL: &[&str] = &[
    "model",
    "planfile",
    "forwarding",
    "delay",
    "clock",
    "survival",
    "physical",
    "proof",
    "placement",
    "design",
    "drawing",
    "sheets",
    "evidence",
    "listening",
    "linecheck",
    "crewlog",
    "simulator",
    "replay",
    "rehearsal",
    "demo",
    "workbench",
];

/// Each crate and the crates of the house that it may use.
const ARROWS: &[(&str, &[&str])] = &[
    ("model", &[]),
    ("planfile", &["model"]),
    ("forwarding", &["model"]),
    ("delay", &["model", "forwarding"]),
    ("clock", &["model", "forwarding", "delay"]),
    ("survival", &["model", "forwarding"]),
    ("physical", &["model"]),
    ("proof", &["model", "forwarding", "delay", "clock", "survival", "physical"]),
    ("placement", &[]),
    ("design", &["model", "forwarding", "physical", "proof", "placement"]),
    ("drawing", &["model", "proof"]),
    ("sheets", &["model", "proof", "drawing", "placement"]),
    ("evidence", &["model"]),
    ("listening", &["evidence"]),
    ("simulator", &[]),
    ("replay", &["model", "delay", "simulator"]),
    ("linecheck", &["model", "forwarding", "survival", "evidence"]),
    ("crewlog", &["model"]),
    ("rehearsal", &["model", "forwarding", "survival", "evidence"]),
    ("demo", &["model", "planfile", "design"]),
    ("workbench", ALL),
    ("loomwright", ALL),
    ("xtask", &[]),
];

/// Every arrow that is not in the table. Tests may use what they like.
pub fn faults(root: &Path) -> Vec<Fault> {
    let mut manifests = vec![root.join("xtask/Cargo.toml")];
    if let Ok(entries) = fs::read_dir(root.join("crates")) {
        manifests.extend(entries.flatten().map(|entry| entry.path().join("Cargo.toml")));
    }
    manifests.sort();
    manifests.iter().flat_map(|manifest| manifest_faults(root, manifest)).collect()
}

fn manifest_faults(root: &Path, manifest: &Path) -> Vec<Fault> {
    let at = manifest.strip_prefix(root).unwrap_or(manifest).to_string_lossy().into_owned();
    let folder = manifest.parent().and_then(Path::file_name).unwrap_or_default().to_string_lossy().into_owned();
    match fs::read_to_string(manifest) {
        Ok(text) => arrow_faults(&folder, &text).into_iter().map(|says| Fault::new(&at, says)).collect(),
        Err(error) => vec![Fault::new(at, error.to_string())],
    }
}

fn arrow_faults(package: &str, manifest: &str) -> Vec<String> {
    let Some((_, allowed)) = ARROWS.iter().find(|(name, _)| *name == package) else {
        return vec![format!("crate `{package}` has no line in the table of arrows")];
    };
    let manifest: toml::Table = match manifest.parse() {
        Ok(manifest) => manifest,
        Err(error) => return vec![error.to_string()],
    };
    let mut faults = Vec::new();
    for section in ["dependencies", "build-dependencies"] {
        for name in manifest.get(section).and_then(toml::Value::as_table).into_iter().flat_map(toml::Table::keys) {
            if let Some(used) = name.strip_prefix("loomwright-").filter(|used| !allowed.contains(used)) {
                faults.push(format!("`{package}` must not use `{used}`"));
            }
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arrows_point_one_way() {
        for (package, manifest, count) in [
            ("delay", "[dependencies]\nloomwright-model = \"1\"\nserde = \"1\"", 0),
            ("model", "[dependencies]\nloomwright-delay = \"1\"", 1),
            ("model", "[dev-dependencies]\nloomwright-delay = \"1\"", 0),
            ("surprise", "", 1),
        ] {
            assert_eq!(arrow_faults(package, manifest).len(), count, "{package}: {manifest}");
        }
    }

    #[test]
    fn the_table_has_no_circle() {
        for (n, (package, allowed)) in ARROWS.iter().enumerate() {
            let before: Vec<&str> = ARROWS[..n].iter().map(|(name, _)| *name).collect();
            assert!(allowed.iter().all(|used| used == package || before.contains(used)), "{package}");
        }
    }
}
