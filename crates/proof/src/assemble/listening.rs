//! Queue memory, groups that play in step, and whole ways of sound.

use crate::analysis::Analysis;
use crate::listening::{Group, Needs, Part, Spent, Way, air, groups, ways};
use crate::memory::memories;
use crate::report::{InPhaseLine, JourneyLine, JourneyPart, MemoryLine, PlayerLine};
use loomwright_model::{ByteCount, Id, Time};

/// Every box that forwards a stream.
pub(super) fn memory(analysis: &Analysis) -> Vec<MemoryLine> {
    let line = |memory: crate::memory::Memory<'_>| MemoryLine {
        item: memory.item.to_string(),
        gear: memory.gear.to_string(),
        needed_bytes: memory.needed.map(ByteCount::bytes),
        fullest_port: format!("port:{}", analysis.fabric.from_port(memory.fullest.0)),
        fullest_bytes: memory.fullest.1.bytes(),
        stated_bytes: memory.stated.map(ByteCount::bytes),
    };
    memories(analysis).into_iter().map(line).collect()
}

/// Every group that plays in step.
pub(super) fn in_phase(analysis: &Analysis, needs: &Needs) -> Vec<InPhaseLine> {
    let player = |player: &crate::listening::Player<'_>| PlayerLine {
        stream: player.stream.into(),
        to: player.to.into(),
        receive_delay_ns: player.need.map(|need| need.receive_delay().nanoseconds_up()),
    };
    let line = |group: Group<'_>| InPhaseLine {
        name: group.name.to_string(),
        declared: group.is_declared,
        players: group.players.iter().map(player).collect(),
        needed_ns: group.needed().map(Time::nanoseconds_up),
        setting_ns: group.setting(analysis).map(Time::nanoseconds_up),
        spread_ns: group.spread().map(Time::nanoseconds_up),
        spread_mm: group.spread().map(|spread| air(spread).millimetres()),
    };
    groups(analysis, needs).into_iter().map(line).collect()
}

/// Every way of sound.
pub(super) fn journeys(analysis: &Analysis, needs: &Needs) -> Vec<JourneyLine> {
    ways(analysis, needs).iter().map(journey).collect()
}

fn journey(way: &Way<'_>) -> JourneyLine {
    let names = |ids: &[&Id]| ids.iter().map(ToString::to_string).collect();
    let mut so_far = Time::ZERO;
    JourneyLine {
        name: way.name.to_string(),
        to: way.to.to_string(),
        whole_ns: way.whole().map(Time::nanoseconds_up),
        air_mm: way.whole().map(|whole| air(whole).millimetres()),
        limit_ns: way.limit.map(Time::nanoseconds_up),
        parts: way.parts.iter().map(|part| journey_part(part, &mut so_far)).collect(),
        not_stated: names(&way.silent_about),
        unset: names(&way.unset),
    }
}

/// Rounds the running sum, so that the printed parts add up to the printed whole.
fn journey_part(part: &Part<'_>, so_far: &mut Time) -> JourneyPart {
    let before = so_far.nanoseconds_up();
    *so_far = *so_far + part.time;
    let on = match part.on {
        Spent::Inside => "inside",
        Spent::Packet => "packet",
        Spent::Network => "network",
        Spent::Held => "held",
    };
    JourneyPart { on: on.to_owned(), at: part.at.to_string(), ns: so_far.nanoseconds_up() - before }
}
