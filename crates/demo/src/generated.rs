//! What of `plans/` is generated: wirings, faulty twins.

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

fn list(planted: &[Planted]) -> String {
    planted.iter().map(|fault| format!("{} {}\n", fault.code, fault.item)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn written_plans_are_read_without_a_problem() {
        for files in WRITTEN {
            assert!(read(&files).is_ok(), "{:?}", read(&files).err());
        }
    }
}
