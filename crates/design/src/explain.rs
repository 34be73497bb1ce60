//! What each remark of the design means, why it matters, and where the rule comes from.

/// One remark that the design can make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// Its code, `design/..`.
    pub code: &'static str,
    /// What it is, in one sentence.
    pub title: &'static str,
    /// Why it matters and what to do; paragraphs are parted by an empty line.
    pub text: &'static str,
    /// Where the rule comes from.
    pub source: &'static str,
}

/// Every remark that the design can make, by code. A code is never given another meaning.
pub const fn explanations() -> &'static [Explanation] {
    ALL
}

const OWN: &str = "own rule";

const fn of(code: &'static str, title: &'static str, text: &'static str, source: &'static str) -> Explanation {
    Explanation { code, title, text, source }
}

const ALL: &[Explanation] = &[
    of(
        "design/control-apart",
        "Some devices are controlled through their audio port, while control has a network of its own.",
        "A control function that shares an audio port is on the audio network's wire. Computers and control jacks on the control network do not \
         reach it.\n\n\
         Control these devices from a computer on the audio network, or join the two networks by a router.",
        "common practice, no source",
    ),
    of(
        "design/held-pairing",
        "A device is held in another port setting than the plan asks for.",
        "What is held stays. The plan asks for chained or independent ports, and the wiring holds the other.\n\n\
         Take the hold off the setting, or change the plan.",
        OWN,
    ),
    of(
        "design/long-chain",
        "A chain is longer than the design would make it of its own will.",
        "Each device of a chain adds delay and clock error, and is one more point where a break splits the system in two.\n\n\
         Add a switch to the stock or the gear types.",
        "common practice, no source",
    ),
    of(
        "design/no-audio-network",
        "The plan has no audio network.",
        "No audio port can be wired.\n\nAdd a network with a subnet, such as `[network.a]`.",
        OWN,
    ),
    of(
        "design/no-clock-backup",
        "Only one device can lead the clock.",
        "If it fails, nobody leads: devices run on their own clocks and drift apart.\n\nAdd a second device that can lead.",
        "IEEE 1588-2008 clause 9.3 (from memory): the best clock that is there leads",
    ),
    of(
        "design/no-clock-leader",
        "No device can lead the clock.",
        "Audio over a network needs one common clock.\n\nAdd a device that can lead, or say so in its gear type.",
        "AES67 clause 4 (from memory)",
    ),
    of(
        "design/no-common-network",
        "Sender and receiver of a stream share no audio network.",
        "No packet can reach the receiver, however the rest is wired.\n\nPut both on one audio network, or change their legs.",
        OWN,
    ),
    of("design/no-devices", "The plan has no devices.", "There is nothing to wire.\n\nAdd devices.", OWN),
    of(
        "design/no-group",
        "No multicast group is left for a stream.",
        "Groups are given so that no two share a hardware address, and those run out first.\n\nSplit the plan into separate networks.",
        "RFC 1112 section 6.4: 32 groups share each hardware address",
    ),
    of(
        "design/no-port",
        "A device gets no switch port.",
        "No switch within reach of a cable has a free port of the right medium, speed, network and power.\n\n\
         Add a switch at its place or within reach of it, or allow a bigger type.",
        "ISO/IEC 11801 and TIA-568: 100 m of copper channel (from memory); slack is an own choice",
    ),
    of(
        "design/no-querier",
        "No switch of a network can ask who wants which stream.",
        "Without a querier memberships run out minutes after the start: depending on the switch, streams then stop or flood every port.\n\n\
         Use a switch type with a querier.",
        "RFC 3376 section 8 (from memory), RFC 4541 section 2.1 (from memory)",
    ),
    of(
        "design/no-second-way",
        "A switch could be given one trunk only.",
        "A failure is to be survived, and this trunk has no second way round.\n\n\
         Use switches with rapid spanning tree and free trunk ports, and add a route apart from the first.",
        OWN,
    ),
    of(
        "design/no-spare-ports",
        "Fewer switch ports stay free than the plan asks for.",
        "Spare ports are what a dead port is moved to on the day.\n\nAdd a switch, or allow fewer spare ports.",
        "common practice, no source",
    ),
    of(
        "design/no-trunk-port",
        "Two switches cannot be joined for want of ports.",
        "No free trunk ports of one medium are left at both ends.\n\nAllow a switch type with more trunk ports.",
        OWN,
    ),
    of(
        "design/no-way",
        "No cable can lie between two places.",
        "The plan has no route, or row of routes, for copper or fibre between them.\n\nAdd the route that a cable can take.",
        OWN,
    ),
    of(
        "design/one-leg",
        "Some devices are on one audio network only.",
        "They have one port, or a chained pair: one failure on their network can silence them.\n\n\
         Accept that, or set or choose gear with two independent ports.",
        OWN,
    ),
    of(
        "design/one-network",
        "A failure is to be survived and there is one audio network.",
        "When a switch fails, everything plugged into it is silent.\n\n\
         Add a second audio network and use devices with two independent ports.",
        OWN,
    ),
    of(
        "design/shared-feed",
        "The cores of two networks hang on one power feed.",
        "When that feed fails, both networks fall silent.\n\nBring a second feed there, or to another place with switches.",
        OWN,
    ),
    of(
        "design/shared-switch",
        "All networks share one switch.",
        "Only one is to be had. The networks are kept apart by VLAN and fall silent together.\n\nAdd a second switch to the stock.",
        OWN,
    ),
    of(
        "design/shared-way",
        "Both networks go through one route or hazard.",
        "One accident there cuts both.\n\nAdd a route between the two places that shares nothing with it.",
        OWN,
    ),
    of(
        "design/stock-too-short",
        "No cable in stock is long enough.",
        "Joined pieces add plugs that fail and lose reach.\n\nBuy or make these lengths; do not join shorter pieces without a proper coupler.",
        "common practice, no source",
    ),
    of(
        "design/subnet-full",
        "No address is left in a network's range.",
        "Every interface needs one of its own.\n\nUse a larger subnet: each prefix bit less doubles it.",
        "RFC 4632 section 3.1",
    ),
    of(
        "design/too-far",
        "Two places are too far apart for a cable.",
        "Copper and fibre end at the limits named, slack included.\n\nLet a way between them take fibre, or put a switch half-way.",
        "ISO/IEC 11801 and TIA-568 for copper, IEEE 802.3 for fibre (from memory)",
    ),
    of(
        "design/trunk-load",
        "A trunk carries more than the plan allows.",
        "Above the allowed share of its speed there is no room for bursts, and delays grow.\n\n\
         Allow a switch type with faster trunk ports, or move streams to devices on the same switch.",
        "the plan's own limit",
    ),
    of(
        "design/uneven-ports",
        "A device is not on the same port number on all its networks.",
        "It works, but whoever traces a fault by looking expects the same number on A and B.\n\n\
         Free the same port on both switches, or use the same switch type for both.",
        "common practice, no source",
    ),
    of(
        "design/unused-network",
        "An audio network of the plan is not used.",
        "The devices form one chain, which is one network.\n\nAsk for a failure to be survived if two networks are wanted.",
        OWN,
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn are_sorted_and_complete() {
        let codes: Vec<&str> = ALL.iter().map(|one| one.code).collect();
        let mut sorted = codes.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(codes, sorted);
        for one in ALL {
            assert!(one.title.ends_with('.') && one.text.ends_with('.') && !one.source.is_empty(), "{}", one.code);
        }
    }
}
