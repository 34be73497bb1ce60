//! What each difference means, why it matters, and where the rule comes from.

/// One kind of difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// Its code, `seen/..`.
    pub code: &'static str,
    /// What it is, in one sentence.
    pub title: &'static str,
    /// How it is told, why it matters, what to do; paragraphs are parted by an empty line.
    pub text: &'static str,
    /// Where the rule comes from.
    pub source: &'static str,
}

/// Every kind of difference, by code. A code is never given another meaning.
pub const fn explanations() -> &'static [Explanation] {
    ALL
}

const fn of(code: &'static str, title: &'static str, text: &'static str, source: &'static str) -> Explanation {
    Explanation { code, title, text, source }
}

const ALL: &[Explanation] = &[
    of(
        "seen/both-legs-together",
        "Packets of one audio network are on another one.",
        "Told where a planned group, or a sender with a planned address, of one network is heard untagged at a place that carries only another.\n\n\
         The two legs of a stream protect it only while nothing is shared. Once they run through one network, one failure takes both, and \
         the second copy doubles the load.\n\n\
         Look for a cable between the two networks, or a second port plugged into the wrong one.",
        "SMPTE ST 2022-7 protects by two separate ways (from memory); the rest is common practice, no source",
    ),
    of(
        "seen/dhcp-server",
        "A box gives out addresses that is not planned to.",
        "Told when a server that the plan does not name for its network offers or confirms an address. Offers to one device alone are not heard by \
         others: absence from a capture proves nothing; asking does.\n\n\
         Two servers give the same address twice, or addresses of another range. It often is a Wi-Fi router.\n\n\
         Switch its server off or unplug it, then restart what took an address from it.",
        "RFC 2131 sections 3.1 and 4.3",
    ),
    of(
        "seen/duplicate-address",
        "Two interfaces use one address.",
        "Told when two hardware addresses answer for one IPv4 address, or report it as their own.\n\n\
         Packets then reach now one, now the other: connections break at random.\n\n\
         Unplug the one that should not have it, set its planned address, and plug it in again.",
        "RFC 5227 section 1.1",
    ),
    of(
        "seen/group-twice",
        "Two senders use one multicast group.",
        "Told when packets of two senders, or with two stream numbers, come on one group. One sender with two numbers may have been restarted and is \
         told as likely only.\n\n\
         Receivers get both mixed: noise, drop-outs, or the wrong programme.\n\n\
         Stop the sender that is not planned, or give it a group of its own.",
        "RFC 3550 section 8.2 (a stream number belongs to one sender)",
    ),
    of(
        "seen/half-duplex",
        "A link works in one direction at a time.",
        "Told when a port reports half duplex.\n\n\
         Both ends then wait for each other, and collide where only one of them knows: late packets and loss under load. It comes of one end set \
         by hand and the other to negotiate.\n\n\
         Set both ends to negotiate.",
        "IEEE 802.3 clause 28 (from memory); RFC 3635 for the report",
    ),
    of(
        "seen/jitter",
        "A stream arrives with more jitter than one packet time.",
        "Jitter is the mean change of the time on the way from packet to packet, as receivers count it.\n\n\
         With more than one packet time, packets take each other's turn and small receiver buffers run dry.\n\n\
         Look at the sender's load first, then at queues on the way. A busy measuring computer also shows jitter.",
        "RFC 3550 section 6.4.1 and appendix A.8; the limit is an own choice",
    ),
    of(
        "seen/jitter-above-proof",
        "A stream arrives with more jitter than the planned network can make.",
        "In the network as planned no packet waits longer than the worst case and none is quicker than the least, so their difference is the most \
         jitter that the network itself can add. More was measured.\n\n\
         Either the sender itself is uneven, or something waits in queues that is not planned.\n\n\
         Measure at the sender's port: if it is even there, look for unplanned traffic and for priorities that a switch does not keep.",
        "RFC 3550 section 6.4.1; the limit is the difference of this plan's own worst and least delay",
    ),
    of(
        "seen/loop",
        "One and the same frame comes again and again.",
        "Told from 100 copies of a frame within a second. In a loop that was measured an idle port saw 7,563 in a second; with a spanning tree 2.\n\n\
         Frames circle as fast as the links allow and fill them: nothing else passes.\n\n\
         Look for a chained device with both ports in one network, or a cable between two ports of one switch; unplug one end.",
        "own measurement on a bridge with a second cable; the limit is an own choice",
    ),
    of(
        "seen/loss",
        "Packets of a stream are lost.",
        "Receivers count what is missing in the numbering of packets; a capture shows what is lost before its own place, and is not believed where \
         more than half is missing.\n\n\
         Each lost packet is a click, unless a second leg brings it.\n\n\
         The loss lies behind the last point where nothing is lost yet: look at errors and discards of the ports from there on.",
        "RFC 3550 appendices A.1 and A.3",
    ),
    of(
        "seen/missing-cable",
        "A planned cable is not there, or dead.",
        "Certain where a port reports that its link is down. Likely where nothing at all was seen of what hangs behind a cable and its streams did \
         not come.\n\n\
         Check plugs and cable at both ends, and that the box behind it has power.",
        "own rule; RFC 2863 `ifOperStatus` for the link",
    ),
    of(
        "seen/moving-address",
        "Tables of one switch have an address at different ports.",
        "Told where several tables of a switch were read; a hint for one or two addresses, likely from three on.\n\n\
         A switch learns an address where a frame of it came in last. Where frames circle, they come in by two ports in turn, and the address \
         moves many times in a second. A moved plug, or a standby port that took over, moves it once.\n\n\
         Read the table twice, a few seconds apart. If addresses still move, look for a loop behind the ports that are named.",
        "RFC 4188 `dot1dTpFdbTable`; that circling frames make addresses move follows from how bridges learn, IEEE 802.1D clause 7.8 (from memory)",
    ),
    of(
        "seen/no-querier",
        "Nobody asks about group members.",
        "Told after 20 s of listening without a query, as a hint; after 135 s, or where streams flood ports without members, as likely.\n\n\
         Without a querier memberships run out: depending on the switch, streams then flood every port or stop.\n\n\
         Switch the querier on at the planned switch.",
        "RFC 3376 sections 8.2 and 8.3 (from memory), RFC 4541 section 2.1 (from memory)",
    ),
    of(
        "seen/packet-rate",
        "A stream runs at another packet rate than planned.",
        "Told where the rate, counted over 100 packets or more, is more than 10 % from the plan.\n\n\
         The packet time of the sender is set otherwise: receivers that expect another one may refuse the stream, and load and delay are not those \
         of the proof.\n\n\
         Set the sender's packet time as planned.",
        "arithmetic from the plan; the margin is an own choice",
    ),
    of(
        "seen/pause",
        "A port asks others to pause.",
        "Told when MAC control frames that ask for a pause are heard.\n\n\
         A pause stops all streams on a link, whatever their priority. The proof counts on none.\n\n\
         Switch flow control off at this port and at the switch.",
        "IEEE 802.3 annex 31B (from memory); that it should be off for audio is common practice, no source",
    ),
    of(
        "seen/port-errors",
        "A port counted damaged or thrown-away frames.",
        "Told as a hint from a port's own counters; they count since the box started and may be old.\n\n\
         Damaged frames mean a bad cable, plug or optic. Frames thrown away on the way out mean a full queue. Late collisions mean that the two ends \
         disagree about duplex.\n\n\
         Read the counter twice, a minute apart. If it grows, clean or change the cable, or look for what fills the queue.",
        "RFC 2863 `ifInErrors`, `ifOutDiscards`; RFC 3635 `dot3StatsFCSErrors`, `dot3StatsLateCollisions`",
    ),
    of(
        "seen/storm",
        "A broadcast storm: far too many frames for everybody.",
        "Told from 1,000 frames for everybody within a second on one interface, alike or not; streams, clock messages and what switches do not pass on \
         are not counted. Where one and the same frame comes again and again it is told as a loop instead.\n\n\
         Every box has to take in every such frame: devices that are busy with them lose streams, and slow ports fill up. One sender that makes \
         four fifths of it is a broken or misconfigured box; many at once mean that frames circle. A start of all boxes at once makes a short one.\n\n\
         Unplug the sender that is named, or look for a loop.",
        "own measurement on a bridge with a second cable: 7,563 frames in a second, 2 with a spanning tree; the limit is an own choice",
    ),
    of(
        "seen/stream-missing",
        "A receiver gets nothing of a planned stream.",
        "Told when a planned receiver counted no packet.\n\n\
         Look first for a missing cable or a box without power on its way, then at the sender.",
        "own rule",
    ),
    of(
        "seen/swapped",
        "Two plugs are exchanged.",
        "Told when each of two boxes is seen on the port that is planned for the other.\n\n\
         Swap the two plugs, or take the exchange into the plan.",
        "IEEE 802.1AB for neighbour messages; RFC 4188 for forwarding tables",
    ),
    of(
        "seen/two-domains",
        "Two clock domains are led at once.",
        "Told when leaders announce, or are followed, in more than one domain.\n\n\
         Devices of different domains do not share a clock: audio between them slips and clicks.\n\n\
         Set every clock to the same domain.",
        "IEEE 1588-2008 clause 7.1 (from memory)",
    ),
    of(
        "seen/two-leaders",
        "Two clocks lead one domain at the same time.",
        "Told when two clocks announce different leaders at one place for longer than they need to find each other.\n\n\
         The network is split, a clock is set to lead always, or announcements do not pass a switch. Devices follow either one and drift apart.\n\n\
         Find the one that should not lead.",
        "IEEE 1588-2008 clause 9.2 (from memory): the better one leads after 3 announce intervals",
    ),
    of(
        "seen/two-queriers",
        "Two boxes ask about group members.",
        "The one with the lower address should take over and the other fall silent. Two within one recording may have taken over from each other.\n\n\
         Streams are drawn towards the querier: with the wrong one they take a way that the proof does not know.\n\n\
         Leave the querier on at the planned switch only.",
        "RFC 3376 section 6.6.2 (from memory)",
    ),
    of(
        "seen/unplanned-neighbour",
        "A box hangs on a port that the plan does not know.",
        "Told when a neighbour message comes from a name and hardware address that nobody in the plan has.\n\n\
         Find out what it is: name it in the plan as it names itself, or unplug it.",
        "IEEE 802.1AB",
    ),
    of(
        "seen/unplanned-stream",
        "A stream flows that is not in the plan.",
        "Told when audio packets come on a group that the plan does not use.\n\n\
         Its load and its queues are not in the proof.\n\n\
         Stop its sender, or put the stream into the plan.",
        "own rule",
    ),
    of(
        "seen/wrong-address",
        "A box has another address of its network than planned.",
        "Others look for it under its planned address and do not find it; the address may be planned for another box.\n\n\
         Set the planned address and restart the box if it asks for that.",
        "own rule",
    ),
    of(
        "seen/wrong-dscp",
        "Packets are marked otherwise than planned.",
        "Told when media or clock packets carry another code point.\n\n\
         Switches sort packets into queues by it: with another one they wait behind traffic that should wait for them.\n\n\
         Set the sender's code point. If the sender is right, a switch on the way rewrites it.",
        "RFC 2474; the planned values are those of the plan",
    ),
    of(
        "seen/wrong-leader",
        "Another clock leads than planned.",
        "Told by name where the clock is known; a hint where it is not.\n\n\
         The planned leader is missing, or priorities are set otherwise. All may still be well now, and change at the next restart.\n\n\
         See that the planned leader is there, and set the priorities as planned.",
        "IEEE 1588-2008 clause 9.3 (from memory)",
    ),
    of(
        "seen/wrong-port",
        "A box hangs on another port than planned.",
        "Told by neighbour messages, or by the forwarding table of a switch where the box sends none.\n\n\
         Whoever searches a fault later looks at the wrong port; the port may have another VLAN or no power.\n\n\
         Move the plug, or change the wiring.",
        "IEEE 802.1AB; RFC 4188 for forwarding tables",
    ),
    of(
        "seen/wrong-querier",
        "Another switch asks about group members than planned.",
        "Told when the only querier of a network is another planned box.\n\n\
         Streams are drawn towards it, on ways that the proof does not know.\n\n\
         Leave the querier on at the planned switch only.",
        "RFC 3376 section 6.6.2 (from memory)",
    ),
    of(
        "seen/wrong-root",
        "Another bridge is the root of the spanning tree than planned.",
        "Told when spanning-tree messages, or a switch's own table, name a root that is not the planned switch of the network.\n\n\
         The tree then blocks other trunks than the proof takes for blocked: other ways, other loads, other gaps after a failure. An unknown root often is \
         an extra switch with default priority and an old address.\n\n\
         Set the bridge priorities as planned; find the box with the address that is named.",
        "IEEE 802.1D clause 17.3 (from memory): the lowest priority, then the lowest address, is root",
    ),
    of(
        "seen/wrong-sender",
        "Another box sends on a planned group.",
        "Told when packets on a group come from an address that is not its planned sender's.\n\n\
         Stop the sender that is not planned, or change the plan.",
        "own rule",
    ),
    of(
        "seen/wrong-speed",
        "A link runs slower than planned.",
        "Told when a port reports a speed below what both of its ends can do.\n\n\
         One damaged pair lets a link fall from 1 Gb/s to 100 Mb/s: streams no longer fit, and every packet takes ten times as long.\n\n\
         Change the cable. Then look at the port's settings.",
        "IEEE 802.3 clause 40 needs four pairs, clause 25 two (from memory); RFC 2863 `ifHighSpeed` for the report",
    ),
    of(
        "seen/wrong-subnet",
        "A box has an address outside the range of its network.",
        "An address that begins with 169.254 means that it found no server and chose one itself.\n\n\
         It cannot talk to the others, although its link is up.\n\n\
         Set the planned address and restart the box if it asks for that.",
        "RFC 3927 section 2.1 for 169.254/16",
    ),
    of(
        "seen/wrong-vlan",
        "A port is in another VLAN than planned.",
        "Told for ports that carry one network only.\n\n\
         What hangs there is on the wrong network, or alone.\n\n\
         Set the port to the VLAN of its network.",
        "IEEE 802.1Q; RFC 4363 `dot1qPvid` for the report",
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
