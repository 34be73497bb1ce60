//! From each leader to all who follow it.

use crate::dataset::Dataset;
use crate::error::{Passing, Terms};
use crate::leaders::ClockDomain;
use loomwright_forwarding::{CableIx, DeviceIx, Direction, Fabric, NodeIx, NodeKind};
use loomwright_model::{ClockSupport, Medium, Plan, Time, Wiring};

/// What a device does about its leader.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// It follows.
    Follows,
    /// Its class never follows another: it runs on its own clock, silently.
    Passive,
}

/// One device that does not lead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Follower {
    /// The device.
    pub device: DeviceIx,
    /// Where it listens.
    pub node: NodeIx,
    /// What it does.
    pub role: Role,
    /// Boxes on the way and what adds up; `None` if no open way leads to it.
    pub terms: Option<Terms>,
}

impl Follower {
    /// The guaranteed bound of its error; `None` if there is none.
    pub fn error(&self) -> Option<Time> {
        match self.role {
            Role::Follows => self.terms.as_ref()?.bound(),
            Role::Passive => None,
        }
    }
}

/// What the walk needs to know.
struct Ground<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    fabric: &'a Fabric,
    waits: &'a dyn Fn(Direction) -> Option<Time>,
}

/// Everyone who does not lead in `here`, in the order of the plan. `is_open` says whether a link passes frames
/// (not blocked, not gone); `waits` gives the longest wait of a clock message at a queue, `None` without bound.
/// O(links of the domain).
pub fn follow(
    (plan, wiring, fabric): (&Plan, &Wiring, &Fabric),
    (here, datasets): (&ClockDomain, &[Option<Dataset>]),
    is_open: &dyn Fn(u32) -> bool,
    waits: &dyn Fn(Direction) -> Option<Time>,
) -> Vec<Follower> {
    let ground = Ground { plan, wiring, fabric, waits };
    let Some(leader) = here.leader else { return Vec::new() };
    let start = here.members.iter().filter(|(device, _)| *device == leader).map(|(_, node)| *node);
    let reached = ground.spread(&start.collect::<Vec<_>>(), is_open);
    let others = here.members.iter().filter(|(device, _)| *device != leader);
    let one = |&(device, node): &(DeviceIx, NodeIx)| {
        let passive = datasets.get(device.0 as usize).and_then(Option::as_ref).is_some_and(Dataset::never_follows);
        let role = if passive { Role::Passive } else { Role::Follows };
        Follower { device, node, role, terms: reached[node.0 as usize] }
    };
    others.map(one).collect()
}

impl Ground<'_> {
    /// Terms at every node that an open way reaches, as if its way ended there.
    fn spread(&self, start: &[NodeIx], is_open: &dyn Fn(u32) -> bool) -> Vec<Option<Terms>> {
        let mut reached: Vec<Option<Terms>> = vec![None; self.fabric.nodes.len()];
        let mut todo: std::collections::VecDeque<(NodeIx, Option<u32>)> = std::collections::VecDeque::new();
        for &node in start {
            reached[node.0 as usize] = Some(Terms::default());
            todo.push_back((node, None));
        }
        while let Some((node, came_by)) = todo.pop_front() {
            let Some(terms) = reached[node.0 as usize] else { continue };
            if came_by.is_some() && matches!(self.fabric.nodes[node.0 as usize].kind, NodeKind::Interface(..)) {
                continue;
            }
            for &(link, next) in self.fabric.neighbours(node).iter().filter(|(link, _)| is_open(*link)) {
                if reached[next.0 as usize].is_none() {
                    let passed = came_by.map_or(terms, |near| terms.through(self.fabric, &self.passing(node, near, link)));
                    reached[next.0 as usize] = Some(self.along(passed, link));
                    todo.push_back((next, Some(link)));
                }
            }
        }
        reached
    }

    fn along(&self, terms: Terms, link: u32) -> Terms {
        let cable = &self.fabric.cables[self.fabric.links[link as usize].cable.0 as usize];
        match self.wiring.cables.get(&cable.id) {
            Some(cable) if cable.medium == Medium::Copper => terms.along_copper(cable.length.millimetres()),
            _ => terms,
        }
    }

    /// A box between the cable a message came by and the one it goes on by.
    fn passing(&self, node: NodeIx, near: u32, far: u32) -> Passing {
        let out = [self.leaving(node, far), self.leaving(node, near)];
        let gear = self.wiring.gear_at(self.plan, self.fabric.owner(node));
        Passing {
            support: gear.map_or(ClockSupport::Unaware, |gear| gear.clock_support),
            latency: self.fabric.latency[node.0 as usize],
            out,
            waits: out.map(|direction| (self.waits)(direction)),
        }
    }

    fn leaving(&self, node: NodeIx, link: u32) -> Direction {
        let link = &self.fabric.links[link as usize];
        Direction::new(CableIx(link.cable.0), usize::from(link.nodes[0] != node))
    }
}
