//! What of `plans/` is generated: wirings, faulty twins.

use crate::campus::{Campus, campus};
use crate::faults::{Planted, plant};
use crate::{Files, WRITTEN};
use loomwright_model::{Plan, Wiring};
use loomwright_planfile::{Loaded, Source, read as read_files, write_plan, write_wiring};

/// Reads a written plan with its wiring.
///
/// **Errors**: the problems as text; the tests see to it that there are none.
pub fn read(files: &Files) -> Result<Loaded, String> {
    let plan = Source { name: files.name, text: files.plan };
    let wiring = (!files.wiring.is_empty()).then_some(Source { name: "wiring", text: files.wiring });
    read_files(plan, wiring).map_err(|problems| format!("{problems:?}"))
}

/// `plan` and `wiring` with every fault planted that they have ground for.
pub fn faulty(plan: &Plan, wiring: &Wiring) -> (Plan, Wiring, Vec<Planted>) {
    let (mut plan, mut wiring) = (plan.clone(), wiring.clone());
    plan.about.name.push_str(", with planted faults");
    let planted = plant(&mut plan, &mut wiring);
    (plan, wiring, planted)
}

/// Every generated file below `plans/`, with its text.
pub fn generated() -> Vec<(String, String)> {
    let mut files = Vec::new();
    for written in WRITTEN {
        let name = written.name;
        let Ok(loaded) = read_files(Source { name, text: written.plan }, None) else { continue };
        let wiring = loomwright_design::design(&loaded.plan, &Wiring::default()).wiring;
        let (bad_plan, bad_wiring, planted) = faulty(&loaded.plan, &wiring);
        files.push((format!("{name}/{name}.wiring.toml"), write_wiring(&wiring)));
        files.push((format!("{name}-faults/{name}-faults.toml"), write_plan(&bad_plan)));
        files.push((format!("{name}-faults/{name}-faults.wiring.toml"), write_wiring(&bad_wiring)));
        files.push((format!("{name}-faults/planted.txt"), list(&planted)));
    }
    files
}

/// The demos by name: the written ones, `campus`, and each with `-faults` after its name.
pub const NAMES: [&str; 6] = ["playhouse", "meeting-room", "campus", "playhouse-faults", "meeting-room-faults", "campus-faults"];

/// The texts of plan and wiring of the demo of that name; `None` for a name that is not in [`NAMES`].
pub fn texts(name: &str) -> Option<[String; 2]> {
    let (base, is_faulty) = name.strip_suffix("-faults").map_or((name, false), |base| (base, true));
    let written = WRITTEN.iter().find(|files| files.name == base);
    if let (Some(files), false) = (written, is_faulty) {
        return Some([files.plan.to_owned(), files.wiring.to_owned()]);
    }
    let (plan, wiring) = match written {
        Some(files) => read(files).ok().map(|loaded| (loaded.plan, loaded.wiring))?,
        None if base == "campus" => {
            let plan = campus(Campus::default());
            let wiring = loomwright_design::design(&plan, &Wiring::default()).wiring;
            (plan, wiring)
        }
        None => return None,
    };
    let (plan, wiring) = match faulty(&plan, &wiring) {
        (bad_plan, bad_wiring, _) if is_faulty => (bad_plan, bad_wiring),
        _ => (plan, wiring),
    };
    Some([write_plan(&plan), write_wiring(&wiring)])
}

fn list(planted: &[Planted]) -> String {
    planted.iter().map(|fault| format!("{} {}\n", fault.code, fault.item)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_named_demo_is_there_and_no_other() {
        for name in NAMES.iter().filter(|name| !name.starts_with("campus")) {
            assert!(texts(name).is_some(), "{name}");
        }
        assert!(texts("opera").is_none() && texts("opera-faults").is_none());
    }

    #[test]
    fn written_plans_are_read_without_a_problem() {
        for files in WRITTEN {
            assert!(read(&files).is_ok(), "{:?}", read(&files).err());
        }
    }
}
