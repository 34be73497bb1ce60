//! Spanning tree, loops, and where every stream goes.

mod rig;

use loomwright_forwarding::Removed;
use loomwright_forwarding::fabric::{CableIx, Direction, Fabric, NodeIx, SwitchIx};
use loomwright_forwarding::{Forwarding, forward, forward_without, is_always_flooded};
use loomwright_model::Pairing;
use loomwright_model::plan::Mode;
use rig::{Rig, id};
use std::net::Ipv4Addr;

fn run(rig: &Rig) -> (Fabric, Forwarding) {
    let fabric = Fabric::new(&rig.plan, &rig.wiring);
    let forwarding = forward(&rig.plan, &rig.wiring, &fabric);
    (fabric, forwarding)
}

/// Blocked ports as `switch/port`.
fn blocked(fabric: &Fabric, forwarding: &Forwarding) -> Vec<String> {
    forwarding.tree.blocked_ports.iter().map(|(cable, end)| fabric.cables[cable.0 as usize].ends[*end].to_string()).collect()
}

/// Hops as `from>to`, unwanted ones with a `?`.
fn hops(fabric: &Fabric, forwarding: &Forwarding, flow: usize) -> Vec<String> {
    let name = |direction: Direction| format!("{}>{}", fabric.from_port(direction).item, fabric.to_port(direction).item);
    let hop = |hop: &loomwright_forwarding::FlowHop| name(hop.direction) + if hop.wanted { "" } else { "?" };
    forwarding.flows[flow].hops.iter().map(hop).collect()
}

/// **Source**: IEEE 802.1D elections; worked examples A, B and C of our handbook (rows C175 and C176 of the outside values).
#[test]
fn spanning_tree_blocks_the_worked_examples() {
    for (wires, expected) in [
        // One link of 1 Gb/s, two of 10: the bridge with the dearer way blocks.
        ("L12 s1/9 s2/9 a\n L23 s2/10 s3/9 a\n L13 s1/1 s3/1 a", "s3/1"),
        // All equal: of 2 and 3, the lower bridge is designated.
        ("L12 s1/1 s2/1 a\n L23 s2/2 s3/1 a\n L13 s1/2 s3/2 a", "s3/1"),
        // Two parallel links: the lower sending port is kept.
        ("L1 s1/2 s2/1 a\n L2 s1/1 s2/2 a", "s2/1"),
    ] {
        let mut rig = Rig::new();
        rig.switch("s1", "smart", "a").switch("s2", "smart", "a").switch("s3", "smart", "a").cables(wires);
        let (fabric, forwarding) = run(&rig);
        assert_eq!(blocked(&fabric, &forwarding), [expected], "{wires}");
        assert!(forwarding.storms.is_empty());
    }
}

#[test]
fn priority_and_path_cost_move_the_tree() {
    let wires = "L12 s1/1 s2/1 a\n L23 s2/2 s3/1 a\n L13 s1/2 s3/2 a";
    let mut rig = Rig::new();
    rig.switch("s1", "smart", "a").switch("s2", "smart", "a").switch("s3", "smart", "a").cables(wires);
    rig.wiring.switches[2].bridge_priority = Some(4_096);
    assert_eq!(blocked(&run(&rig).0, &run(&rig).1), ["s2/1"], "s3 is root; on L12 both offer the same and s1 is the lower bridge");
    rig.wiring.switches[2].bridge_priority = None;
    rig.wiring.switches[2].path_cost.insert(2, 200_000);
    assert_eq!(blocked(&run(&rig).0, &run(&rig).1), ["s3/2"], "the direct way was made dear");
}

/// A chain of devices without spanning tree between two switches is one segment: at equal cost the
/// port numbers decide, as seen with a real bridge.
#[test]
fn a_ring_over_dumb_devices_is_one_segment() {
    let mut rig = Rig::new();
    rig.switch("s1", "smart", "a").switch("s2", "smart", "a");
    rig.device("d1", "box", None).device("d2", "box", None);
    rig.cables("T s1/8 s2/8 a\n C1 s1/1 d1/1 a\n C2 d1/2 d2/1 a\n C3 d2/2 s2/1 a");
    let (fabric, forwarding) = run(&rig);
    assert_eq!(blocked(&fabric, &forwarding), ["s2/8"]);
    assert!(forwarding.storms.is_empty());
    rig.wiring.switches[1].path_cost.insert(1, 200_000);
    let (fabric, forwarding) = run(&rig);
    assert_eq!(blocked(&fabric, &forwarding), ["s2/1"]);
}

#[test]
fn both_ports_of_a_chained_device_in_one_switch_are_a_storm_without_spanning_tree() {
    for (gear, storms) in [("plain", 1), ("smart", 0)] {
        let mut rig = Rig::new();
        rig.switch("sw", gear, "a").device("box", "box", None).cables("A1 box/1 sw/1 a\n A2 box/2 sw/2 a");
        let (_, forwarding) = run(&rig);
        assert_eq!(forwarding.storms.len(), storms, "{gear}");
        if storms == 1 {
            assert_eq!(forwarding.storms[0].cables, [CableIx(1), CableIx(0)]);
        }
    }
}

#[test]
fn a_cable_from_a_switch_to_itself_is_a_loop() {
    for (gear, storms, blocks) in [("plain", 1, 0), ("smart", 0, 1)] {
        let mut rig = Rig::new();
        rig.switch("sw", gear, "a").cables("X sw/1 sw/2 a");
        let (_, forwarding) = run(&rig);
        assert_eq!((forwarding.storms.len(), forwarding.tree.blocked_ports.len()), (storms, blocks), "{gear}");
    }
}

#[test]
fn copies_go_to_receivers_and_to_the_querier() {
    let mut rig = Rig::new();
    rig.switch("core", "smart", "a").switch("left", "smart", "a").switch("right", "smart", "a").querier("a", "core");
    rig.device("mic", "one", None).device("amp", "one", None).device("desk", "one", None);
    rig.cables("T1 left/9 core/9 a\n T2 right/9 core/10 a\n C1 mic/1 left/1 a\n C2 amp/1 left/2 a\n C3 desk/1 right/1 a");
    rig.stream("near", "mic amp", Mode::Multicast).stream("far", "mic amp desk", Mode::Multicast);
    let (fabric, forwarding) = run(&rig);
    assert_eq!(hops(&fabric, &forwarding, 0), ["mic>left", "left>core?", "left>amp"]);
    assert_eq!(hops(&fabric, &forwarding, 1), ["mic>left", "left>core", "left>amp", "core>right", "right>desk"]);
    let far = &forwarding.flows[1];
    let path: Vec<String> = far.items_to(&fabric, far.deliveries[1]).iter().map(ToString::to_string).collect();
    let expected = "port:mic/1 cable:C1 port:left/1 port:left/9 cable:T1 port:core/9 port:core/10 cable:T2 port:right/9 port:right/1 cable:C3 port:desk/1";
    assert_eq!(path.join(" "), expected);
    let lonely = forward_without(&rig.plan, &rig.wiring, &fabric, &Removed::default().with_dead_switch(&fabric, SwitchIx(0)));
    assert!(!lonely.has_querier[lonely.domain[0] as usize]);
    assert_eq!(lonely.flows[1].deliveries.len(), 1, "only the amplifier on the same switch still hears");
}

#[test]
fn without_a_querier_or_snooping_everything_is_flooded() {
    for (gear, asks) in [("smart", false), ("dumb", true)] {
        let mut rig = Rig::new();
        rig.switch("sw", gear, "a").device("mic", "one", None).device("amp", "one", None).device("lamp", "one", None);
        rig.cables("C1 mic/1 sw/1 a\n C2 amp/1 sw/2 a\n C3 lamp/1 sw/3 a").stream("s", "mic amp", Mode::Multicast);
        if asks {
            rig.querier("a", "sw");
        }
        let (fabric, forwarding) = run(&rig);
        assert_eq!(hops(&fabric, &forwarding, 0), ["mic>sw", "sw>amp", "sw>lamp?"], "{gear}");
    }
}

#[test]
fn a_chained_device_passes_on_whatever_enters_it() {
    let mut rig = Rig::new();
    rig.switch("sw", "smart", "a").querier("a", "sw");
    rig.device("mic", "one", None).device("d1", "box", None).device("d2", "box", None).device("d3", "box", None);
    rig.cables("C1 mic/1 sw/1 a\n C2 sw/2 d1/1 a\n C3 d1/2 d2/1 a\n C4 d2/2 d3/1 a");
    rig.stream("in", "mic d1", Mode::Multicast).stream("out", "d2 mic", Mode::Multicast);
    let (fabric, forwarding) = run(&rig);
    assert_eq!(hops(&fabric, &forwarding, 0), ["mic>sw", "sw>d1", "d1>d2?", "d2>d3?"]);
    assert_eq!(hops(&fabric, &forwarding, 1), ["d2>d1", "d1>sw", "sw>mic", "d2>d3?"]);
}

#[test]
fn groups_that_look_like_local_control_are_flooded() {
    for (group, floods) in
        [([224, 0, 0, 251], true), ([239, 128, 0, 251], true), ([239, 192, 1, 1], false), ([239, 0, 1, 5], false), ([239, 0, 0, 5], true)]
    {
        assert_eq!(is_always_flooded(Ipv4Addr::from(group)), floods, "{group:?}");
    }
    let mut rig = Rig::new();
    rig.switch("sw", "smart", "a").querier("a", "sw").device("mic", "one", None).device("amp", "one", None).device("lamp", "one", None);
    rig.cables("C1 mic/1 sw/1 a\n C2 amp/1 sw/2 a\n C3 lamp/1 sw/3 a").stream("s", "mic amp", Mode::Multicast);
    assert_eq!(run(&rig).1.flows[0].hops.len(), 2);
    rig.wiring.groups.insert((id("s"), 1), [(id("a"), Ipv4Addr::new(239, 128, 0, 7))].into());
    assert_eq!(run(&rig).1.flows[0].hops.len(), 3);
}

#[test]
fn unicast_is_one_flow_per_receiver() {
    let mut rig = Rig::new();
    rig.switch("sw", "smart", "a").device("mic", "one", None).device("amp", "one", None).device("desk", "one", None);
    rig.cables("C1 mic/1 sw/1 a\n C2 amp/1 sw/2 a\n C3 desk/1 sw/3 a").stream("s", "mic amp desk", Mode::Unicast);
    let (fabric, forwarding) = run(&rig);
    assert_eq!(hops(&fabric, &forwarding, 0), ["mic>sw", "sw>amp"]);
    assert_eq!(hops(&fabric, &forwarding, 1), ["mic>sw", "sw>desk"]);
    assert_eq!(forwarding.flows.iter().map(|flow| flow.deliveries[0].receiver).collect::<Vec<_>>(), [0, 1]);
}

#[test]
fn both_legs_are_used_where_both_ends_are_on_both() {
    let mut rig = Rig::new();
    rig.switch("sw-a", "smart", "a").switch("sw-b", "smart", "b");
    rig.device("x", "box", Some(Pairing::Independent)).device("y", "box", Some(Pairing::Independent)).device("z", "one", None);
    rig.cables("A1 x/1 sw-a/1 a\n A2 y/1 sw-a/2 a\n A3 z/1 sw-a/3 a\n B1 x/2 sw-b/1 b\n B2 y/2 sw-b/2 b");
    rig.stream("s", "x y z", Mode::Multicast);
    let (_, forwarding) = run(&rig);
    let reached: Vec<(u16, usize)> = forwarding.flows.iter().map(|flow| (flow.network.0, flow.deliveries.len())).collect();
    assert_eq!(reached, [(0, 2), (1, 1)]);
}

#[test]
fn one_tree_for_all_networks_can_cut_one_off() {
    let mut rig = Rig::new();
    rig.switch("s1", "smart", "a b").switch("s2", "smart", "a b");
    rig.cables("TA s1/9 s2/9 a\n TB s1/10 s2/10 b");
    let (fabric, forwarding) = run(&rig);
    assert_eq!(blocked(&fabric, &forwarding), ["s2/10"]);
    assert_eq!(forwarding.cut.iter().map(|cut| (cut.cable, cut.network.0)).collect::<Vec<_>>(), [(CableIx(1), 1)]);
}

#[test]
fn a_failure_lets_a_blocked_port_forward() {
    let mut rig = Rig::new();
    rig.switch("s1", "smart", "a").switch("s2", "smart", "a").switch("s3", "smart", "a").querier("a", "s1");
    rig.device("mic", "one", None).device("amp", "one", None);
    rig.cables("L12 s1/1 s2/1 a\n L23 s2/2 s3/1 a\n L13 s1/2 s3/2 a\n C1 mic/1 s2/5 a\n C2 amp/1 s3/5 a");
    rig.stream("s", "mic amp", Mode::Multicast);
    let (fabric, whole) = run(&rig);
    assert_eq!(hops(&fabric, &whole, 0), ["mic>s2", "s2>s1", "s1>s3", "s3>amp"]);
    let without = |removed: Removed| forward_without(&rig.plan, &rig.wiring, &fabric, &removed);
    let healed = without(Removed::default().with_cable(CableIx(0)));
    assert_eq!(hops(&fabric, &healed, 0), ["mic>s2", "s2>s3", "s3>s1?", "s3>amp"]);
    for removed in [Removed::default().with_dead_switch(&fabric, SwitchIx(0)), Removed::default().with_frozen_switch(&fabric, SwitchIx(0))]
    {
        assert_eq!(hops(&fabric, &without(removed), 0), ["mic>s2", "s2>s3", "s3>amp"]);
    }
    let gone = without(Removed::default().with_dead_switch(&fabric, SwitchIx(2)));
    assert!(gone.flows[0].deliveries.is_empty());
}

#[test]
fn a_wrong_plug_makes_one_domain_of_two_networks() {
    let mut rig = Rig::new();
    rig.switch("sw-a", "smart", "a").switch("sw-b", "smart", "b").device("d", "box", None).device("e", "one", None);
    rig.cables("A1 d/1 sw-a/1 a\n B1 e/1 sw-b/1 b");
    let (fabric, forwarding) = run(&rig);
    assert!(forwarding.joined_networks(&fabric).is_empty());
    rig.cables("A2 d/2 sw-b/2 a");
    let (fabric, forwarding) = run(&rig);
    let joined: Vec<Vec<u16>> = forwarding.joined_networks(&fabric).values().map(|n| n.iter().map(|n| n.0).collect()).collect();
    assert_eq!((joined, fabric.joins.len()), (vec![vec![0, 1]], 1));
}

/// Numbers that look random and are the same every time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }
}

/// A random system: switches of all kinds, chained and single devices, surplus trunks.
fn random_rig(dice: &mut Dice) -> Rig {
    let mut rig = Rig::new();
    let switches = 1 + dice.below(5);
    let (mut next_port, mut wires) = (vec![1usize; switches], String::new());
    for at in 0..switches {
        rig.switch(&format!("s{at}"), ["smart", "smart", "plain", "dumb"][dice.below(4)], "a");
    }
    for at in 1..switches + dice.below(3) {
        let (a, b) = if at < switches { (at, dice.below(at)) } else { (dice.below(switches), dice.below(switches)) };
        for end in [a, b] {
            next_port[end] += 1;
        }
        let ports = if a == b { (next_port[a] - 2, next_port[a] - 1) } else { (next_port[a] - 1, next_port[b] - 1) };
        wires += &format!("T{at} s{a}/{} s{b}/{} a\n", ports.0, ports.1);
    }
    let devices = 2 + dice.below(7);
    for at in 0..devices {
        rig.device(&format!("d{at}"), "box", None);
        if at > 0 && dice.below(3) == 0 && !wires.contains(&format!(" d{}/2", at - 1)) {
            wires += &format!("C{at} d{at}/1 d{}/2 a\n", at - 1);
        } else {
            let switch = dice.below(switches);
            wires += &format!("C{at} d{at}/1 s{switch}/{} a\n", next_port[switch]);
            next_port[switch] += 1;
        }
    }
    rig.cables(&wires);
    if dice.below(4) > 0 {
        rig.querier("a", &format!("s{}", dice.below(switches)));
    }
    let way: Vec<String> = (0..devices).filter(|at| *at == 0 || dice.below(2) == 0).map(|at| format!("d{at}")).collect();
    rig.stream("s", &way.join(" "), Mode::Multicast);
    rig
}

/// Forwards frames hop by hop, with tables learnt from queries and reports.
struct Reference<'a> {
    fabric: &'a Fabric,
    passes: Vec<bool>,
    /// Links on which a node heard a query or a report.
    router: Vec<Vec<u32>>,
    member: Vec<Vec<u32>>,
    asks: bool,
    /// Every direction that a frame took.
    seen: Vec<Direction>,
}

#[derive(Clone, Copy, PartialEq)]
enum Frame {
    Query,
    Report,
    Audio,
}

impl Reference<'_> {
    /// Sends a frame from `node`; `came` is the link it arrived on.
    fn send(&mut self, frame: Frame, node: NodeIx, came: Option<u32>) {
        let at = node.0 as usize;
        if let Some(link) = came {
            match frame {
                Frame::Query => self.router[at].push(link),
                Frame::Report => self.member[at].push(link),
                Frame::Audio => {}
            }
        }
        let snoops = self.asks && self.fabric.traits[at].is_snooping;
        for &(link, to) in self.fabric.neighbours(node) {
            let is_told = match frame {
                Frame::Query => true,
                Frame::Report => self.router[at].contains(&link),
                Frame::Audio => self.router[at].contains(&link) || self.member[at].contains(&link),
            };
            if !self.passes[link as usize] || came == Some(link) || (snoops && !is_told) {
                continue;
            }
            let ends = &self.fabric.links[link as usize];
            self.seen.push(Direction::new(ends.cable, usize::from(ends.nodes[0] != node)));
            self.send(frame, to, Some(link));
        }
    }
}

#[test]
fn flows_are_what_frames_do() {
    let mut dice = Dice(7);
    let (mut compared, mut stormy) = (0, 0);
    for round in 0..2_000 {
        let rig = random_rig(&mut dice);
        let (fabric, forwarding) = run(&rig);
        assert!(fabric.left_out.is_empty(), "{:?}", fabric.left_out);
        if !forwarding.storms.is_empty() {
            stormy += 1;
            continue;
        }
        let Some(flow) = forwarding.flows.first() else { continue };
        let asks = rig.wiring.querier.first().filter(|(_, name)| rig.plan.gear[&rig.wiring.switches[*name].gear].querier);
        let count = fabric.nodes.len();
        let mut reference = Reference {
            fabric: &fabric,
            passes: forwarding.blocked.iter().map(|blocked| !blocked).collect(),
            router: vec![Vec::new(); count],
            member: vec![Vec::new(); count],
            asks: asks.is_some(),
            seen: Vec::new(),
        };
        if let Some((_, name)) = asks {
            let switch = rig.wiring.switches.get_index_of(name).expect("the querier is there");
            reference.send(Frame::Query, NodeIx(fabric.nodes_of_switch(SwitchIx(switch as u32)).start as u32), None);
            for receiver in &rig.plan.streams[0].to {
                let device = rig.plan.devices.get_index_of(receiver).expect("the receiver is there");
                reference.send(Frame::Report, fabric.audio[device][0].node, None);
            }
        }
        reference.seen.clear();
        reference.send(Frame::Audio, flow.sender, None);
        let mut expected = reference.seen;
        let mut found: Vec<Direction> = flow.hops.iter().map(|hop| hop.direction).collect();
        expected.sort_unstable();
        found.sort_unstable();
        assert_eq!(found, expected, "round {round}");
        assert_eq!(flow.deliveries.len(), rig.plan.streams[0].to.len(), "round {round}: everybody hears");
        check_wanted(flow);
        compared += 1;
    }
    assert!(compared > 800 && stormy > 50, "{compared} compared, {stormy} with storms");
}

/// A hop is wanted if and only if a delivery lies behind it.
fn check_wanted(flow: &loomwright_forwarding::Flow) {
    let mut wanted = vec![false; flow.hops.len()];
    for delivery in &flow.deliveries {
        flow.hops_to(*delivery).into_iter().for_each(|hop| wanted[hop as usize] = true);
    }
    assert_eq!(flow.hops.iter().map(|hop| hop.wanted).collect::<Vec<_>>(), wanted);
}

#[test]
fn spanning_tree_leaves_no_loop_and_no_island_among_bridges() {
    let mut dice = Dice(11);
    for round in 0..500 {
        let mut rig = random_rig(&mut dice);
        rig.wiring.switches.values_mut().for_each(|switch| switch.gear = id("smart"));
        let (_, forwarding) = run(&rig);
        assert!(forwarding.storms.is_empty(), "round {round}");
        assert!(forwarding.domain.iter().all(|domain| *domain == 0), "round {round}: the cables join everything");
    }
}
