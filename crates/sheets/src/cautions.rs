//! The usual cautions, one sentence each. **Source**: common practice; local codes and licensed people decide.

/// On every sheet.
pub const STANDING: &str = "Plans and checks; does not certify. The responsible engineer signs.";
/// Mains.
pub const MAINS: &str = "Mains: licensed electricians only; local code decides.";
/// Power over Ethernet.
pub const POE: &str = "PoE: switch the port off before unplugging; bundles get warm.";
/// Fibre.
pub const FIBRE: &str = "Fibre: invisible laser light; never look into an end, caps on.";
/// Height.
pub const HEIGHT: &str = "Work at height: trained and permitted people, secured tools.";
/// Trip and escape.
pub const TRIP: &str = "Cables on the floor: cover them, keep escape routes free, restore fire stops.";
/// Sudden sound.
pub const SOUND: &str = "Sudden full-level sound: mute amplifiers before plugging or changing anything.";
/// Life safety.
pub const LIFE_SAFETY: &str = "Life-safety streams are marked, not judged: refer them to the responsible designer; never re-patch, mute or test them without permission.";
