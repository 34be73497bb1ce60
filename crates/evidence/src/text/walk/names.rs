//! Numbers of objects, and the names that programs print in their place.
//!
//! **Source**: numbers of the objects read from the MIB texts in RFC 2863, 3418, 3621, 3635, 4188, 4363; LLDP-MIB columns from
//! `checks/network.csv` and public walks; its extensions from memory, checked against walks.

use std::collections::HashMap;

/// Longest number. **Source**: RFC 2578 section 3.5.
const LONGEST: usize = 128;

/// Trees of tables.
pub const SYSTEM: &[u32] = &[1, 3, 6, 1, 2, 1, 1];
/// Interface table.
pub const INTERFACES: &[u32] = &[1, 3, 6, 1, 2, 1, 2, 2, 1];
/// Its extension.
pub const INTERFACES_X: &[u32] = &[1, 3, 6, 1, 2, 1, 31, 1, 1, 1];
/// Ethernet counters.
pub const ETHERNET: &[u32] = &[1, 3, 6, 1, 2, 1, 10, 7, 2, 1];
/// Pauses.
pub const PAUSES: &[u32] = &[1, 3, 6, 1, 2, 1, 10, 7, 10, 1];
/// Bridge.
pub const BRIDGE: &[u32] = &[1, 3, 6, 1, 2, 1, 17];
/// Bridge with VLANs.
pub const VLANS: &[u32] = &[1, 3, 6, 1, 2, 1, 17, 7, 1];
/// Power over Ethernet.
pub const POWER: &[u32] = &[1, 3, 6, 1, 2, 1, 105, 1];
/// Neighbour tables.
pub const LLDP: &[u32] = &[1, 0, 8802, 1, 1, 2, 1];

/// A number below a tree.
pub fn below(tree: &[u32], rest: &[u32]) -> Vec<u32> {
    [tree, rest].concat()
}

/// Names of single values and columns: tree, rest, name.
#[rustfmt::skip]
const NAMES: &[(&[u32], &[u32], &str)] = &[
    (SYSTEM, &[1], "sysDescr"), (SYSTEM, &[3], "sysUpTime"), (SYSTEM, &[5], "sysName"), (SYSTEM, &[6], "sysLocation"),
    (SYSTEM, &[3], "sysUpTimeInstance"),
    (INTERFACES, &[1], "ifIndex"), (INTERFACES, &[2], "ifDescr"), (INTERFACES, &[3], "ifType"), (INTERFACES, &[4], "ifMtu"),
    (INTERFACES, &[5], "ifSpeed"), (INTERFACES, &[6], "ifPhysAddress"), (INTERFACES, &[7], "ifAdminStatus"),
    (INTERFACES, &[8], "ifOperStatus"), (INTERFACES, &[9], "ifLastChange"), (INTERFACES, &[10], "ifInOctets"),
    (INTERFACES, &[13], "ifInDiscards"), (INTERFACES, &[14], "ifInErrors"), (INTERFACES, &[16], "ifOutOctets"),
    (INTERFACES, &[19], "ifOutDiscards"), (INTERFACES, &[20], "ifOutErrors"),
    (INTERFACES_X, &[1], "ifName"), (INTERFACES_X, &[6], "ifHCInOctets"), (INTERFACES_X, &[8], "ifHCInMulticastPkts"),
    (INTERFACES_X, &[10], "ifHCOutOctets"), (INTERFACES_X, &[12], "ifHCOutMulticastPkts"), (INTERFACES_X, &[15], "ifHighSpeed"),
    (INTERFACES_X, &[18], "ifAlias"),
    (ETHERNET, &[3], "dot3StatsFCSErrors"), (ETHERNET, &[8], "dot3StatsLateCollisions"), (ETHERNET, &[19], "dot3StatsDuplexStatus"),
    (PAUSES, &[3], "dot3InPauseFrames"), (PAUSES, &[4], "dot3OutPauseFrames"),
    (BRIDGE, &[1, 1], "dot1dBaseBridgeAddress"), (BRIDGE, &[1, 4, 1, 2], "dot1dBasePortIfIndex"), (BRIDGE, &[2, 2], "dot1dStpPriority"),
    (BRIDGE, &[2, 4], "dot1dStpTopChanges"), (BRIDGE, &[2, 5], "dot1dStpDesignatedRoot"), (BRIDGE, &[2, 6], "dot1dStpRootCost"),
    (BRIDGE, &[2, 7], "dot1dStpRootPort"), (BRIDGE, &[2, 8], "dot1dStpMaxAge"), (BRIDGE, &[2, 9], "dot1dStpHelloTime"),
    (BRIDGE, &[2, 11], "dot1dStpForwardDelay"), (BRIDGE, &[2, 15, 1, 3], "dot1dStpPortState"),
    (BRIDGE, &[2, 15, 1, 5], "dot1dStpPortPathCost"), (BRIDGE, &[4, 2], "dot1dTpAgingTime"), (BRIDGE, &[4, 3, 1, 1], "dot1dTpFdbAddress"),
    (BRIDGE, &[4, 3, 1, 2], "dot1dTpFdbPort"), (BRIDGE, &[4, 3, 1, 3], "dot1dTpFdbStatus"),
    (VLANS, &[2, 2, 1, 2], "dot1qTpFdbPort"), (VLANS, &[2, 2, 1, 3], "dot1qTpFdbStatus"),
    (VLANS, &[2, 3, 1, 2], "dot1qTpGroupEgressPorts"), (VLANS, &[2, 3, 1, 3], "dot1qTpGroupLearnt"),
    (VLANS, &[4, 2, 1, 3], "dot1qVlanFdbId"), (VLANS, &[4, 2, 1, 4], "dot1qVlanCurrentEgressPorts"),
    (VLANS, &[4, 2, 1, 5], "dot1qVlanCurrentUntaggedPorts"), (VLANS, &[4, 3, 1, 1], "dot1qVlanStaticName"),
    (VLANS, &[4, 3, 1, 2], "dot1qVlanStaticEgressPorts"), (VLANS, &[4, 3, 1, 4], "dot1qVlanStaticUntaggedPorts"),
    (VLANS, &[4, 5, 1, 1], "dot1qPvid"),
    (POWER, &[1, 1, 3], "pethPsePortAdminEnable"), (POWER, &[1, 1, 6], "pethPsePortDetectionStatus"),
    (POWER, &[1, 1, 10], "pethPsePortPowerClassifications"), (POWER, &[1, 1, 12], "pethPsePortPowerDeniedCounter"),
    (POWER, &[1, 1, 13], "pethPsePortOverLoadCounter"), (POWER, &[3, 1, 1, 2], "pethMainPsePower"),
    (POWER, &[3, 1, 1, 4], "pethMainPseConsumptionPower"),
    (LLDP, &[3, 1], "lldpLocChassisIdSubtype"), (LLDP, &[3, 2], "lldpLocChassisId"), (LLDP, &[3, 3], "lldpLocSysName"),
    (LLDP, &[3, 4], "lldpLocSysDesc"), (LLDP, &[3, 7, 1, 2], "lldpLocPortIdSubtype"), (LLDP, &[3, 7, 1, 3], "lldpLocPortId"),
    (LLDP, &[3, 7, 1, 4], "lldpLocPortDesc"), (LLDP, &[4, 1, 1, 4], "lldpRemChassisIdSubtype"), (LLDP, &[4, 1, 1, 5], "lldpRemChassisId"),
    (LLDP, &[4, 1, 1, 6], "lldpRemPortIdSubtype"), (LLDP, &[4, 1, 1, 7], "lldpRemPortId"), (LLDP, &[4, 1, 1, 8], "lldpRemPortDesc"),
    (LLDP, &[4, 1, 1, 9], "lldpRemSysName"), (LLDP, &[4, 1, 1, 10], "lldpRemSysDesc"),
    (LLDP, &[4, 1, 1, 11], "lldpRemSysCapSupported"), (LLDP, &[4, 1, 1, 12], "lldpRemSysCapEnabled"),
    (LLDP, &[4, 2, 1, 3], "lldpRemManAddrIfSubtype"), (LLDP, &[5, 32_962, 1, 3, 1, 1, 1], "lldpXdot1RemPortVlanId"),
    (LLDP, &[5, 4_623, 1, 3, 1, 1, 4], "lldpXdot3RemPortOperMauType"),
    (&[1], &[], "iso"), (&[1, 3, 6, 1, 2, 1], &[], "mib-2"), (&[1, 3, 6, 1, 4, 1], &[], "enterprises"),
    (&[1, 3, 6, 1], &[], "internet"), (LLDP, &[], "lldpObjects"), (&[1, 0, 8802, 1, 1, 2], &[], "lldpMIB"),
];

/// Names in use, and indexes that are printed as text and cannot be taken back to numbers.
pub struct Names {
    known: HashMap<&'static str, Vec<u32>>,
    texts: HashMap<String, u32>,
}

impl Default for Names {
    fn default() -> Self {
        Self { known: NAMES.iter().map(|&(tree, rest, name)| (name, below(tree, rest))).collect(), texts: HashMap::new() }
    }
}

impl Names {
    /// The number of `.1.3.6`, `iso.3.6` or `IF-MIB::ifName.2`; `None` if the name is not known.
    pub fn number(&mut self, written: &str) -> Option<Vec<u32>> {
        if let Some(number) = plain_number(written) {
            return Some(number);
        }
        let object = written.rsplit_once("::").map_or(written, |(_, object)| object);
        let (name, index) = object.split_once(['.', '[']).unwrap_or((object, ""));
        let mut number = self.known.get(name)?.clone();
        match plain_number(index) {
            Some(index) => number.extend(index),
            None if index.is_empty() && name == "sysUpTimeInstance" => number.push(0),
            None if index.is_empty() => {}
            None => {
                let next = u32::try_from(self.texts.len()).unwrap_or(u32::MAX);
                number.extend([u32::MAX, *self.texts.entry(index.to_owned()).or_insert(next)]);
            }
        }
        Some(number)
    }
}

/// `.1.3.6` or `1.3.6` as numbers.
pub fn plain_number(written: &str) -> Option<Vec<u32>> {
    let written = written.strip_prefix('.').unwrap_or(written);
    let parts: Option<Vec<u32>> = written.split('.').take(LONGEST).map(|part| part.parse().ok()).collect();
    parts.filter(|parts| !parts.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_numbers_meet() {
        let mut names = Names::default();
        for (written, expected) in [
            (".1.3.6.1.2.1.31.1.1.1.1.7", Some(vec![1, 3, 6, 1, 2, 1, 31, 1, 1, 1, 1, 7])),
            ("IF-MIB::ifName.7", Some(vec![1, 3, 6, 1, 2, 1, 31, 1, 1, 1, 1, 7])),
            ("iso.0.8802.1.1.2.1.4.1.1.9.0.1.1", Some(vec![1, 0, 8802, 1, 1, 2, 1, 4, 1, 1, 9, 0, 1, 1])),
            ("SNMPv2-SMI::mib-2.17.1.1.0", Some(vec![1, 3, 6, 1, 2, 1, 17, 1, 1, 0])),
            ("BRIDGE-MIB::dot1dTpFdbPort.'..^...'", Some(vec![1, 3, 6, 1, 2, 1, 17, 4, 3, 1, 2, u32::MAX, 0])),
            ("OTHER-MIB::somethingElse.1", None),
        ] {
            assert_eq!(names.number(written), expected, "{written}");
        }
    }
}
