//! Words that neighbour daemons use for kinds, abilities and power.

use crate::facts::{Advertisement, Capabilities, IdentifierKind, LinkPower};
use crate::protocol::mau;
use loomwright_model::Power;

/// What kind of name an identifier is, by the daemon's word.
pub fn identifier_kind(word: &str) -> IdentifierKind {
    match word {
        "mac" => IdentifierKind::Mac,
        "ip" => IdentifierKind::Network,
        "ifname" => IdentifierKind::InterfaceName,
        "ifalias" => IdentifierKind::Alias,
        "local" => IdentifierKind::Local,
        "portcomponent" | "portcomp" => IdentifierKind::PortComponent,
        "chasscomponent" | "chassiscomponent" | "component" => IdentifierKind::Component,
        "circuit" => IdentifierKind::Circuit,
        _ => IdentifierKind::Other,
    }
}

/// An ability by the daemon's word.
pub fn ability(word: &str) -> u16 {
    match word.to_ascii_lowercase().as_str() {
        "repeater" => 1 << 1,
        "bridge" => Capabilities::BRIDGE,
        "wlan" => Capabilities::ACCESS_POINT,
        "router" => Capabilities::ROUTER,
        "tel" | "telephone" => Capabilities::TELEPHONE,
        "docsis" => 1 << 6,
        "station" => Capabilities::STATION,
        _ => 1,
    }
}

/// Adds an ability.
pub fn add_ability(says: &mut Advertisement, word: &str, is_enabled: bool) {
    says.capable.0 |= ability(word);
    if is_enabled {
        says.enabled.0 |= ability(word);
    }
}

/// Takes speed and duplex from the words for the medium in use.
pub fn medium(says: &mut Advertisement, words: &str) {
    (says.speed, says.full_duplex) = mau::from_words(words);
}

/// Adds one particular of power over the cable.
pub fn power(power: &mut LinkPower, key: &str, value: &str) {
    let milliwatts = || value.trim().parse().ok().map(Power::from_milliwatts);
    match key {
        "supported" => power.supported = is_yes(value),
        "enabled" => power.enabled = is_yes(value),
        "device-type" => power.feeds = value == "PSE",
        "class" => power.class = value.rsplit(' ').next().and_then(|class| class.parse().ok()).filter(|class| *class <= 8),
        "requested" => power.requested = milliwatts(),
        "allocated" => power.allocated = milliwatts(),
        _ => {}
    }
}

/// Whether a word means yes.
pub fn is_yes(word: &str) -> bool {
    matches!(word, "yes" | "on" | "true")
}
