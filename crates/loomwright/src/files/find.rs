//! Which files a person means.

use crate::outcome::Failure;
use std::fs;
use std::path::{Path, PathBuf};

/// End of a wiring file's name.
const WIRING: &str = ".wiring.toml";

/// A plan and the wiring beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanPaths {
    /// `NAME.toml`.
    pub plan: PathBuf,
    /// `NAME.wiring.toml`; it may not exist yet.
    pub wiring: PathBuf,
}

impl PlanPaths {
    /// The plan that `given` means: the file, the one in the folder, or the one whose wiring was named.
    ///
    /// **Errors**: nothing there, or a folder with no plan or several.
    pub fn find(given: &Path) -> Result<Self, Failure> {
        let given = if given.as_os_str().is_empty() { Path::new(".") } else { given };
        match fs::metadata(given) {
            Ok(what) if what.is_dir() => Self::of(only_plan_in(given)?),
            Ok(_) => Self::of(given.to_path_buf()),
            Err(_) if with_extension(given).is_file() => Self::of(with_extension(given)),
            Err(error) => {
                let mut failure = Failure::of_file("read", given, &error);
                if error.kind() == std::io::ErrorKind::NotFound {
                    failure.remedy = format!("Check the path, or start a plan with `loomwright new {}`.", with_extension(given).display());
                }
                Err(failure)
            }
        }
    }

    fn of(plan: PathBuf) -> Result<Self, Failure> {
        let name = plan.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if let Some(stem) = name.strip_suffix(WIRING) {
            return Ok(Self { plan: plan.with_file_name(format!("{stem}.toml")), wiring: plan });
        }
        let stem = name.strip_suffix(".toml").unwrap_or(&name);
        Ok(Self { wiring: plan.with_file_name(format!("{stem}{WIRING}")), plan })
    }
}

/// `path` with `.toml` at its end.
pub fn with_extension(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    if name.ends_with(".toml") { path.to_path_buf() } else { path.with_file_name(format!("{name}.toml")) }
}

fn only_plan_in(folder: &Path) -> Result<PathBuf, Failure> {
    let entries = fs::read_dir(folder).map_err(|error| Failure::of_file("look into", folder, &error))?;
    let mut plans: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).filter(|path| is_plan(path)).collect();
    plans.sort();
    match plans.as_slice() {
        [only] => Ok(only.clone()),
        [] => Err(Failure::new(
            format!("there is no plan in the folder {}", folder.display()),
            format!("Name the plan file, or start one with `loomwright new {}`.", folder.join("plan.toml").display()),
        )),
        several => {
            let names: Vec<String> = several.iter().map(|path| path.display().to_string()).collect();
            Err(Failure::new(
                format!("there are {} plans in the folder {}", names.len(), folder.display()),
                format!("Name one: {}.", names.join(", ")),
            ))
        }
    }
}

fn is_plan(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name.ends_with(".toml") && !name.ends_with(WIRING) && !name.starts_with('.') && path.is_file()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_plan_a_person_means() {
        let folder = tempfile::tempdir().expect("a folder for the test");
        let at = |name: &str| folder.path().join(name);
        for name in ["show.toml", "show.wiring.toml", ".hidden.toml"] {
            fs::write(at(name), "").expect("a file for the test");
        }
        let expected = PlanPaths { plan: at("show.toml"), wiring: at("show.wiring.toml") };
        for given in [folder.path().to_path_buf(), at("show.toml"), at("show"), at("show.wiring.toml")] {
            assert_eq!(PlanPaths::find(&given).map_err(|failure| failure.says), Ok(expected.clone()), "{}", given.display());
        }
        fs::write(at("other.toml"), "").expect("a file for the test");
        assert!(PlanPaths::find(folder.path()).is_err_and(|failure| failure.says.contains("2 plans")));
        assert!(PlanPaths::find(&at("gone")).is_err_and(|failure| failure.remedy.contains("loomwright new")));
    }
}
