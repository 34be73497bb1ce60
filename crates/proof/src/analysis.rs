//! Everything computed about one plan and wiring, once.

use crate::assemble::PAIRS_KEPT;
use crate::beside::{Beside, both, in_turn};
use crate::clock::{Clock, Leading};
use crate::layout::Layout;
use loomwright_delay::{Assumptions, Delays, DirectionLoad, System};
use loomwright_forwarding::{Direction, Fabric, Flow, Forwarding, forward};
use loomwright_model::{BitRate, Hours, Id, Plan, Stream, Wiring};
use loomwright_physical::{Physical, inspect};
use loomwright_survival::{Availability, Doubles, Importance, Mission, Pairing, Singles, Survival};
use std::sync::{Arc, OnceLock};

/// How long a show lasts for its availability: 4 hours. Own choice: get-in to last note; the report says it.
pub const SHOW: Hours = Hours::from_seconds(4 * 3_600);

/// Plan and wiring with what every engine makes of them. Findings and the report read it; what-if asks it again.
#[derive(Clone)]
pub struct Analysis {
    /// What was asked.
    pub plan: Plan,
    /// What was decided.
    pub wiring: Wiring,
    /// Who plugs in where.
    pub layout: Layout,
    /// Plan and wiring compiled into indexes.
    pub fabric: Fabric,
    /// Where every packet stream goes.
    pub forwarding: Forwarding,
    /// Lengths, media, power over Ethernet and feeds.
    pub physical: Physical,
    /// What fails with what.
    pub survival: Survival,
    /// Every single failure.
    pub singles: Singles,
    /// Pairs of failures, and what completes one with each failure, once somebody asked.
    pairs: OnceLock<(Doubles, Pairing)>,
    /// How likely streams stay up, once somebody asked.
    availability: OnceLock<Availability>,
    /// Worst delay of every packet stream, and the load of every direction.
    pub delays: Arc<Delays>,
    /// Who leads and who follows.
    pub clock: Clock,
}

impl Analysis {
    /// Runs every engine. Never fails: trouble becomes findings.
    pub fn new(plan: &Plan, wiring: &Wiring) -> Self {
        Self::new_beside(plan, wiring, in_turn)
    }

    /// The same, with delays and clock beside failures.
    pub fn new_beside(plan: &Plan, wiring: &Wiring, beside: Beside) -> Self {
        let fabric = Fabric::new(plan, wiring);
        let forwarding = forward(plan, wiring, &fabric);
        let timing = || {
            let leading = Leading::new(plan, wiring, &fabric, &forwarding);
            let leaders = leading.nodes();
            let system = System { plan, fabric: &fabric, forwarding: &forwarding, leaders: &leaders };
            let delays = Delays::new(&system, &Assumptions::default());
            let clock = Clock::new(&system, wiring, &delays, leading);
            (delays, clock)
        };
        let failing = || {
            let survival = Survival::new(plan, wiring, &fabric, &forwarding.blocked).with_tree(&fabric, &forwarding.tree);
            (survival.single_failures(), survival, Layout::new(plan, wiring), inspect(plan, wiring))
        };
        let ((delays, clock), (singles, survival, layout, physical)) = both(beside, timing, failing);
        Self {
            layout,
            physical,
            plan: plan.clone(),
            wiring: wiring.clone(),
            fabric,
            forwarding,
            singles,
            survival,
            pairs: OnceLock::new(),
            availability: OnceLock::new(),
            clock,
            delays: Arc::new(delays),
        }
    }

    /// Every flow with its stream and the packet stream's number within it.
    pub fn flows(&self) -> impl Iterator<Item = (&Flow, (&Id, &Stream), u32)> {
        self.forwarding.flows.iter().filter_map(|flow| {
            let packet = self.forwarding.packets.all.get(flow.packet_stream as usize)?;
            Some((flow, self.plan.streams.get_index(packet.stream as usize)?, packet.number))
        })
    }

    /// Pairs of failures that silence an essential stream though neither does alone; computed when first asked for.
    pub fn pairs(&self) -> &Doubles {
        &self.paired().0
    }

    fn paired(&self) -> &(Doubles, Pairing) {
        self.pairs.get_or_init(|| {
            let weight = self.survival.weights((&self.plan, &self.wiring), &self.singles, Mission::Show(SHOW));
            self.survival.weighed_double_failures(&self.singles, PAIRS_KEPT, weight)
        })
    }

    /// How much each single failure but frozen switches matters to the essential streams of one show; empty where there are
    /// none.
    pub fn importance(&self) -> Vec<Importance> {
        let whole = self.availability().essential;
        whole.map_or_else(Vec::new, |whole| self.survival.importance(&self.singles, &self.paired().1, whole))
    }

    /// How likely every stream stays up through one show; computed when first asked for.
    pub fn availability(&self) -> &Availability {
        let compute = || self.survival.availability((&self.plan, &self.wiring), &self.singles, Mission::Show(SHOW));
        self.availability.get_or_init(compute)
    }

    /// Every direction that carries a stream, with its load, in the order of the cables.
    pub fn loads(&self) -> impl Iterator<Item = (Direction, DirectionLoad)> {
        let directions = (0..self.fabric.cables.len() as u32 * 2).map(Direction);
        directions.map(|direction| (direction, self.delays.load(direction))).filter(|(_, load)| load.streams > 0)
    }

    /// Most that streams may use of a direction, by the plan's target.
    pub fn load_limit(&self, direction: Direction) -> BitRate {
        let speed = self.fabric.cables[direction.cable().0 as usize].speed;
        BitRate::from_bits_per_second(self.plan.targets.link_load.of(speed.bits_per_second()))
    }

    /// Rate of a flow on the wire of a cable: a tag where the cable carries several networks.
    pub fn wire_rate(&self, flow: &Flow, direction: Direction) -> BitRate {
        wire_rate(&self.plan, &self.fabric, &self.forwarding, (flow, direction))
    }
}

fn wire_rate(plan: &Plan, fabric: &Fabric, forwarding: &Forwarding, (flow, direction): (&Flow, Direction)) -> BitRate {
    let tags = u32::from(fabric.cables[direction.cable().0 as usize].is_tagged());
    let packet = &forwarding.packets.all[flow.packet_stream as usize];
    let stream = plan.streams.get_index(packet.stream as usize);
    stream.map_or(BitRate::ZERO, |(_, stream)| packet.wire_rate(tags, stream.format.sample_rate))
}
