//! Generic gear types that come with the tool, so that a plan can start without data sheets.

use crate::log::{File, Log};
use crate::read::gear;
use indexmap::IndexMap;
use loomwright_model::{Gear, Id};
use std::sync::OnceLock;
use toml::de::DeTable;

/// The shipped gear as a text, in the form of a plan's own `[gear.NAME]` tables. Values are typical, not measured.
pub const TEXT: &str = include_str!("catalogue.toml");

/// The shipped gear. A plan's own gear of the same name replaces it.
pub fn catalogue() -> &'static IndexMap<Id, Gear> {
    static ALL: OnceLock<IndexMap<Id, Gear>> = OnceLock::new();
    ALL.get_or_init(|| {
        let (tree, _) = DeTable::parse_recoverable(TEXT);
        gear::all(tree.get_ref(), true, &mut Log::new(File::Plan))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use loomwright_model::{GearKind, PoeClass, Power};

    #[test]
    fn reads_without_a_problem() {
        let (tree, syntax) = DeTable::parse_recoverable(TEXT);
        assert!(syntax.is_empty(), "{syntax:?}");
        let mut log = Log::new(File::Plan);
        let gear = gear::all(tree.get_ref(), true, &mut log);
        assert!(log.problems.is_empty(), "{:?}", log.problems);
        assert!(gear.len() >= 25, "{}", gear.len());
        assert!(gear.values().all(|gear| gear.shipped && gear.mtbf.is_some() && gear.draws.is_some() && gear.price.is_some()));
    }

    /// What a powered device may draw. **Source**: IEEE 802.3-2018 tables 33-1 and 145-1 (from memory), milliwatts.
    #[test]
    fn draws_no_more_than_its_power_class() {
        let most = |class| match class {
            PoeClass::Class1 => 3_840,
            PoeClass::Class2 => 6_490,
            PoeClass::Class0 | PoeClass::Class3 => 12_950,
            PoeClass::Class4 => 25_500,
            PoeClass::Class5 => 40_000,
            PoeClass::Class6 => 51_000,
            PoeClass::Class7 => 62_000,
            PoeClass::Class8 => 71_300,
        };
        for (id, gear) in catalogue() {
            if let Some(class) = gear.poe {
                assert!(gear.draws.is_some_and(|draws| draws <= Power::from_milliwatts(most(class))), "{id} draws more than {class}");
            }
        }
    }

    #[test]
    fn computers_never_lead_the_clock() {
        let computers = catalogue().values().filter(|gear| gear.kind == GearKind::Computer);
        assert!(computers.clone().count() >= 3 && computers.into_iter().all(|gear| !gear.clock.can_lead));
    }
}
