//! What a clock announces of itself, and which of two is better.

use loomwright_model::{Id, Plan, Wiring};

/// priority1 of the device that should lead. Common practice, no source.
pub const LEADER_PRIORITY: u8 = 10;
/// priority1 of the device that takes over. Common practice, no source.
pub const BACKUP_PRIORITY: u8 = 20;
/// priority1 and priority2 of all others. **Source**: IEEE 1588 default 128.
const DEFAULT_PRIORITY: u8 = 128;
/// clockAccuracy "unknown". **Source**: IEEE 1588-2008 7.6.2.5.
const ACCURACY_UNKNOWN: u8 = 0xFE;
/// offsetScaledLogVariance of a clock that does not know its own. **Source**: IEEE 1588-2008 7.6.3.3, from memory.
const VARIANCE_UNKNOWN: u16 = 0xFFFF;
/// clockClass of a clock that only follows. **Source**: IEEE 1588-2008 table 5.
const FOLLOWS_ONLY: u8 = 255;
/// Highest clockClass that never follows another. **Source**: IEEE 1588-2008 9.3.3 (checked against the
/// state decision of an open implementation).
const NEVER_FOLLOWS: u8 = 127;

/// The announced dataset. Smaller wins, field by field in this order; the better clock is the least.
///
/// **Source**: IEEE 1588-2008 9.3.4, dataset comparison (same order in 2019).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dataset {
    /// Set by people; decides before quality.
    pub priority1: u8,
    /// clockClass.
    pub class: u8,
    /// clockAccuracy.
    pub accuracy: u8,
    /// offsetScaledLogVariance.
    pub variance: u16,
    /// Set by people; decides after quality.
    pub priority2: u8,
    /// Stands in for the clock identity, which is made from the hardware address and known only on
    /// site: here the order of the names decides.
    pub identity: Id,
}

impl Dataset {
    /// A clock of which only priority1 and class are known.
    pub fn new(identity: Id, priority1: u8, class: u8) -> Self {
        Self { priority1, class, accuracy: ACCURACY_UNKNOWN, variance: VARIANCE_UNKNOWN, priority2: DEFAULT_PRIORITY, identity }
    }

    /// Whether it stays silent rather than follow a better one.
    pub fn never_follows(&self) -> bool {
        self.class <= NEVER_FOLLOWS
    }
}

/// What each device announces, in the order of the plan; `None` for those that cannot lead.
///
/// The device named as leader in the wiring has priority1 10, the backup 20, all others 128, unless its
/// setting says otherwise.
pub fn datasets(plan: &Plan, wiring: &Wiring) -> Vec<Option<Dataset>> {
    let one = |(id, device): (&Id, &loomwright_model::Device)| {
        let ability = plan.gear_of(device)?.clock;
        let set = wiring.settings.get(id).and_then(|setting| setting.clock_priority);
        let named = match id {
            id if wiring.clock.leader.as_ref() == Some(id) => LEADER_PRIORITY,
            id if wiring.clock.backup.as_ref() == Some(id) => BACKUP_PRIORITY,
            _ => DEFAULT_PRIORITY,
        };
        let can_lead = ability.can_lead && ability.quality != FOLLOWS_ONLY;
        can_lead.then(|| Dataset::new(id.clone(), set.unwrap_or(named), ability.quality))
    };
    plan.devices.iter().map(one).collect()
}
