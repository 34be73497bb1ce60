//! A chain without a switch: decides whether one will do, and wires it.

use crate::demand::{Jack, audio_networks};
use crate::draft::{Draft, listed};
use crate::form::Form;
use crate::lengths;
use crate::panel::cable_for;
use crate::trunks::Run;
use loomwright_model::{Gear, Id, Item, Medium, Pairing, PortRef, PortRole, Survive};
use loomwright_physical::ways::Way;

/// The longest chain that is built where switches could be had. **Source**: common practice: 3 to 5 for shows.
pub(crate) const LONGEST: usize = 5;

/// One device as a member of a chain: the ports it can be chained by, one or two.
struct Member {
    device: usize,
    place: usize,
    ports: Vec<(Id, Medium)>,
}

/// The cables of a chain through all devices, if a chain will do: few devices, one or two places, no failure to
/// survive. With `no_switches` to be had, a longer one is built too and said to be long.
pub(crate) fn decide(draft: &mut Draft, jacks: &[Jack], no_switches: bool) -> Option<Vec<Run>> {
    let no_switches = match draft.form {
        Form::Usual => no_switches,
        Form::Chain | Form::Ring => true,
        Form::Switches | Form::ChainsInPlaces => return None,
    };
    let network = jacks.first()?.network.clone();
    let simple = jacks.iter().all(|jack| jack.network == network && jack.poe.is_none());
    let held = !draft.done.wiring.switches.is_empty() || !draft.done.wiring.cables.is_empty();
    let relaxed = draft.plan.targets.survive == Survive::Nothing;
    if !simple || held || jacks.len() < 2 || (!no_switches && (!relaxed || jacks.len() > LONGEST)) {
        return None;
    }
    let members = ordered(draft, jacks)?;
    if !no_switches && members.iter().any(|member| member.place != members[0].place) && places(&members).len() > 2 {
        return None;
    }
    let mut runs: Vec<Run> = members.windows(2).map(|pair| join(draft, &pair[0], &pair[1], &network)).collect::<Option<_>>()?;
    if let (Form::Ring, [first, .., last]) = (draft.form, &members[..]) {
        let laid = runs.iter().flat_map(|run| draft.ways.risks(&run.way)).collect();
        let mut closing = join(draft, last, first, &network)?;
        let apart = draft.ways.avoiding(closing.medium, closing.places, &laid);
        if let Some(way) = apart.filter(|way| lengths::within_reach(draft.plan, closing.medium, way.length)) {
            closing.way = if closing.places[0] <= closing.places[1] { way } else { reversed(way) };
        }
        runs.push(closing);
    }
    let names: Vec<&Id> = members.iter().map(|member| draft.device(member.device)).collect();
    let says = format!("A chain without a switch: {}.", listed(&names, 12));
    let because = if draft.form != Form::Usual {
        "this is the shape that was asked for"
    } else if no_switches {
        "there is no switch to be had"
    } else {
        "few devices, close together, and no failure has to be survived: no switch is needed"
    };
    draft.decide(Item::Plan, says, because);
    if members.len() > LONGEST {
        let says = format!(
            "The chain has {} devices, more than {LONGEST}: each adds delay and one more point where a break splits the system.",
            members.len()
        );
        let remedy = "Add a switch to the stock or the gear types.".to_owned();
        draft.warn("design/long-chain", vec![Item::Plan], [says, remedy]);
    }
    if audio_networks(draft.plan).len() > 1 {
        let says = format!("The chain uses network {network} only.");
        draft.note(
            "design/unused-network",
            vec![Item::Network(network)],
            [says, "Ask for a failure to be survived if two networks are wanted.".to_owned()],
        );
    }
    Some(runs)
}

fn places(members: &[Member]) -> Vec<usize> {
    let mut places: Vec<usize> = members.iter().map(|member| member.place).collect();
    places.sort_unstable();
    places.dedup();
    places
}

/// Devices along the chain: place by place, those with one port at the two ends. `None` if that cannot be.
fn ordered(draft: &Draft, jacks: &[Jack]) -> Option<Vec<Member>> {
    let mut members: Vec<Member> = jacks.iter().map(|jack| member(draft, jack)).collect();
    members.sort_by_key(|member| (member.place, member.device));
    let ends: Vec<usize> = (0..members.len()).filter(|at| members[*at].ports.len() < 2).collect();
    let last_place = members.last().map(|member| member.place);
    match ends[..] {
        [] => {}
        [one] if Some(members[one].place) == last_place => {
            let end = members.remove(one);
            members.push(end);
        }
        [one] => {
            let end = members.remove(one);
            members.insert(0, end);
        }
        [one, other] => {
            let last = members.remove(other);
            let first = members.remove(one);
            members.insert(0, first);
            members.push(last);
        }
        _ => return None,
    }
    Some(members)
}

fn member(draft: &Draft, jack: &Jack) -> Member {
    let device = &draft.plan.devices[jack.device];
    let gear = draft.plan.gear_of(device);
    let chained = gear.is_some_and(|gear| draft.done.wiring.pairing_of(draft.device(jack.device), device, gear) == Some(Pairing::Chained));
    let is_switching = gear.is_some_and(Gear::is_switching);
    let specs = gear.map_or(Vec::new(), Gear::port_specs);
    let usable = specs.iter().filter(|port| chained && matches!(port.role, PortRole::Audio(0 | 1)) || is_switching);
    let mut ports: Vec<(Id, Medium)> = usable.map(|port| (port.name.clone(), port.medium)).take(2).collect();
    if ports.len() < 2 {
        ports = vec![(jack.port.clone(), jack.medium)];
    }
    Member { device: jack.device, place: jack.place, ports }
}

/// A cable from the last port of `from` to the first of `to`.
fn join(draft: &Draft, from: &Member, to: &Member, network: &Id) -> Option<Run> {
    let ((out, one), (into, other)) = (from.ports.last()?, to.ports.first()?);
    let medium = cable_for(*one, *other)?;
    let way = draft.ways.shortest(medium, from.place, to.place)?;
    if !lengths::within_reach(draft.plan, medium, way.length) {
        return None;
    }
    let end = |member: &Member, port: &Id| PortRef::new(draft.device(member.device).clone(), port.clone());
    Some(Run {
        ends: [end(from, out), end(to, into)],
        places: [from.place, to.place],
        networks: vec![network.clone()],
        group: 0,
        medium,
        way: if from.place <= to.place { way } else { reversed(way) },
        trunk: false,
        second_way: false,
    })
}

fn reversed(mut way: Way) -> Way {
    way.edges.reverse();
    way
}
