//! What the delays mean to listeners: the setting of each receiver, groups that play in step, and the whole way
//! of sound through several devices.
//!
//! A receiver that plays every sample the same time after its entry at the sender needs a receive delay of packet
//! time, release jitter and worst network delay, over all its packet streams and legs: with one leg gone it must
//! still be right.

use crate::analysis::Analysis;
use loomwright_delay::{Hold, next_setting};
use loomwright_model::{Gear, Id, Length, Stream, Time};
use std::collections::BTreeMap;

/// Speed of sound, millimetres a second: 343 m/s. **Source**: dry air at 20 °C, 343.2 m/s, ISO 9613-1 (from memory).
const SOUND: u128 = 343_000;

/// How far sound goes through air in `time`.
pub fn air(time: Time) -> Length {
    let millimetres = u128::from(time.picoseconds()) * SOUND / 1_000_000_000_000;
    Length::from_millimetres(u64::try_from(millimetres).unwrap_or(u64::MAX))
}

/// What one stream asks of one receiver, over all packet streams and legs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Need {
    /// Soonest in the network.
    pub least: Time,
    /// Latest in the network.
    pub worst: Time,
    /// Release jitter of the sender.
    pub jitter: Time,
    /// Audio time in one packet.
    pub packet: Time,
    /// Audio to hold ready; see [`Hold::buffer`].
    pub buffer: Time,
}

impl Need {
    fn of(hold: Hold) -> Self {
        let (least, worst) = (hold.network.least, hold.network.worst);
        Self { least, worst, jitter: hold.jitter, packet: hold.packet, buffer: hold.buffer() }
    }

    fn with(self, other: Self) -> Self {
        Self {
            least: self.least.min(other.least),
            worst: self.worst.max(other.worst),
            jitter: self.jitter.max(other.jitter),
            packet: self.packet.max(other.packet),
            buffer: self.buffer.max(other.buffer),
        }
    }

    /// Least receive delay; see [`Hold::receive_delay`].
    pub fn receive_delay(&self) -> Time {
        self.packet + self.jitter + self.worst
    }
}

/// Needs by stream and receiver, as indexes; `None` where some packet has no bound.
pub type Needs = BTreeMap<(u32, u32), Option<Need>>;

/// Every need. O(deliveries).
pub fn needs(all: &Analysis) -> Needs {
    let mut needs = Needs::new();
    for (at, flow) in all.forwarding.flows.iter().enumerate() {
        let Some(packet) = all.forwarding.packets.all.get(flow.packet_stream as usize) else { continue };
        for delivery in &flow.deliveries {
            let need = all.delays.hold(at, delivery.hop).ok().map(Need::of);
            let slot = needs.entry((packet.stream, delivery.receiver)).or_insert(need);
            *slot = slot.zip(need).map(|(slot, need)| slot.with(need));
        }
    }
    needs
}

/// The settings of a receiver; empty where its gear says nothing.
pub fn settings<'a>(all: &'a Analysis, receiver: &Id) -> &'a [Time] {
    gear(all, receiver).map_or(&[], |gear| &gear.receive_delays)
}

fn gear<'a>(all: &'a Analysis, device: &Id) -> Option<&'a Gear> {
    all.plan.gear_of(all.plan.devices.get(device)?)
}

/// One receiver of a group that plays in step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Player<'a> {
    /// Stream.
    pub stream: &'a Id,
    /// Receiver.
    pub to: &'a Id,
    /// What it asks for; `None` without a bound.
    pub need: Option<Need>,
}

/// Receivers that play in step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group<'a> {
    /// Its name: as written in the plan, else the stream whose receivers it holds.
    pub name: &'a Id,
    /// Whether the plan asks for it.
    pub is_declared: bool,
    /// Who plays.
    pub players: Vec<Player<'a>>,
}

impl Group<'_> {
    /// Least receive delay that suits all; `None` where one has no bound.
    pub fn needed(&self) -> Option<Time> {
        self.players.iter().map(|player| player.need.map(|need| need.receive_delay())).max()?.filter(|_| self.is_bounded())
    }

    fn is_bounded(&self) -> bool {
        self.players.iter().all(|player| player.need.is_some())
    }

    /// Settings that every receiver has whose gear says which it has; `None` if none says.
    pub fn common_settings(&self, all: &Analysis) -> Option<Vec<Time>> {
        let mut known = self.players.iter().map(|player| settings(all, player.to)).filter(|settings| !settings.is_empty());
        let first = known.next()?.to_vec();
        Some(known.fold(first, |common, settings| common.into_iter().filter(|time| settings.contains(time)).collect()))
    }

    /// The setting for all: the first common one that is long enough.
    pub fn setting(&self, all: &Analysis) -> Option<Time> {
        next_setting(self.needed()?, &self.common_settings(all)?)
    }

    /// How far apart the receivers can play if each starts its own buffer with the first packet that comes, be it
    /// early or late: then it plays what it holds back, its delay's variation and the sender's jitter, later.
    pub fn spread(&self) -> Option<Time> {
        let needs: Vec<Need> = self.players.iter().map(|player| player.need).collect::<Option<_>>()?;
        let first = needs.iter().map(|need| need.least + need.buffer).min()?;
        let last = needs.iter().map(|need| need.worst + need.jitter + need.buffer).max()?;
        Some(last - first)
    }
}

/// Groups of the plan, then every stream with several receivers.
pub fn groups<'a>(all: &'a Analysis, needs: &Needs) -> Vec<Group<'a>> {
    let plan = &all.plan;
    let declared = plan.listening.in_phase.iter().map(|(name, group)| {
        let wanted = |to: &&Id| group.to.is_empty() || group.to.contains(to);
        let streams = group.streams.iter().filter_map(|stream| plan.streams.get_key_value(stream));
        let players = streams.flat_map(|(id, stream)| stream.to.iter().filter(wanted).map(move |to| player(all, needs, (id, stream, to))));
        Group { name, is_declared: true, players: players.collect() }
    });
    let several = plan.streams.iter().filter(|(_, stream)| stream.to.len() > 1).map(|(name, stream)| {
        let players = stream.to.iter().map(|to| player(all, needs, (name, stream, to)));
        Group { name, is_declared: false, players: players.collect() }
    });
    declared.chain(several).collect()
}

fn player<'a>(all: &Analysis, needs: &Needs, (id, stream, to): (&'a Id, &Stream, &'a Id)) -> Player<'a> {
    Player { stream: id, to, need: need_of(all, needs, (id, stream, to)) }
}

fn need_of(all: &Analysis, needs: &Needs, (id, stream, to): (&Id, &Stream, &Id)) -> Option<Need> {
    let at = all.plan.streams.get_index_of(id)? as u32;
    let receiver = stream.to.iter().position(|other| other == to)? as u32;
    needs.get(&(at, receiver)).copied().flatten()
}

/// What a part of a journey is spent on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spent {
    /// Converters and processing inside a device.
    Inside,
    /// Filling a packet.
    Packet,
    /// In the network, release jitter included.
    Network,
    /// Waiting in the receiver until its setting is over.
    Held,
}

/// One part of a journey.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part<'a> {
    /// What it is spent on.
    pub on: Spent,
    /// The device, or the stream.
    pub at: &'a Id,
    /// How long.
    pub time: Time,
}

/// One way of sound from the first device to the last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way<'a> {
    /// Its name in the plan.
    pub name: &'a Id,
    /// The last device.
    pub to: &'a Id,
    /// Its parts in order.
    pub parts: Vec<Part<'a>>,
    /// Its limit.
    pub limit: Option<Time>,
    /// Devices whose gear does not say how long they take: counted as nothing.
    pub silent_about: Vec<&'a Id>,
    /// Streams without a bound: then there is none for the whole.
    pub unbounded: Vec<&'a Id>,
    /// Receivers whose settings are not known, or all too short: counted with what they need.
    pub unset: Vec<&'a Id>,
}

impl Way<'_> {
    /// The whole; `None` where a stream has no bound.
    pub fn whole(&self) -> Option<Time> {
        self.unbounded.is_empty().then(|| self.parts.iter().map(|part| part.time).sum())
    }
}

/// Every journey of the plan to each of its ends.
pub fn ways<'a>(all: &'a Analysis, needs: &Needs) -> Vec<Way<'a>> {
    let journeys = all.plan.listening.journeys.iter();
    let ways = journeys.flat_map(|(name, journey)| {
        let streams: Vec<(&Id, &Stream)> = journey.through.iter().filter_map(|stream| all.plan.streams.get_key_value(stream)).collect();
        let last = streams.last().map_or(&[][..], |(_, stream)| &stream.to);
        let ends: Vec<&Id> = last.iter().filter(|to| journey.to.as_ref().is_none_or(|end| end == *to)).collect();
        let limit = journey.limit.or(all.plan.targets.mouth_to_ear);
        ends.into_iter().map(move |to| way(all, needs, (name, &streams, to), limit)).collect::<Vec<_>>()
    });
    ways.collect()
}

fn way<'a>(
    all: &'a Analysis,
    needs: &Needs,
    (name, streams, to): (&'a Id, &[(&'a Id, &'a Stream)], &'a Id),
    limit: Option<Time>,
) -> Way<'a> {
    let mut way = Way { name, to, parts: Vec::new(), limit, silent_about: Vec::new(), unbounded: Vec::new(), unset: Vec::new() };
    for (n, (id, stream)) in streams.iter().enumerate() {
        way.inside(all, &stream.from);
        let receiver = streams.get(n + 1).map_or(to, |(_, next)| &next.from);
        way.along(all, (id, receiver), need_of(all, needs, (id, stream, receiver)));
    }
    way.inside(all, to);
    way
}

impl<'a> Way<'a> {
    fn inside(&mut self, all: &Analysis, device: &'a Id) {
        match gear(all, device).and_then(|gear| gear.processing_delay) {
            Some(time) => self.parts.push(Part { on: Spent::Inside, at: device, time }),
            None => self.silent_about.push(device),
        }
    }

    fn along(&mut self, all: &Analysis, (stream, receiver): (&'a Id, &'a Id), need: Option<Need>) {
        let Some(need) = need else {
            self.unbounded.push(stream);
            return;
        };
        let needed = need.receive_delay();
        let set = next_setting(needed, settings(all, receiver));
        if set.is_none() && !self.unset.contains(&receiver) {
            self.unset.push(receiver);
        }
        let held = set.map_or(Time::ZERO, |set| set - needed);
        let parts =
            [(Spent::Packet, stream, need.packet), (Spent::Network, stream, need.worst + need.jitter), (Spent::Held, receiver, held)];
        self.parts.extend(parts.map(|(on, at, time)| Part { on, at, time }));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, id};
    use loomwright_model::plan::{InPhase, Journey};

    fn us(microseconds: u64) -> Time {
        Time::from_microseconds(microseconds)
    }

    /// Stage box to desk to speaker, with figures that can be added up by hand.
    fn trial() -> Trial {
        let mut trial = Trial::good();
        trial.device("speaker", "mono", "stage").cable("A-003", ["speaker/1", "sw-a/3"], "a");
        trial.stream("mix", "desk", &["speaker"], 8);
        trial.plan.gear["box"].processing_delay = Some(us(500));
        trial.plan.gear["box"].receive_delays = [250, 1_000, 2_000].map(us).into();
        trial
    }

    #[test]
    fn sound_goes_343_metres_a_second() {
        assert_eq!(air(Time::from_milliseconds(1_000)), Length::from_millimetres(343_000));
        assert_eq!(air(us(1_000)), Length::from_millimetres(343));
    }

    #[test]
    fn a_way_adds_up_device_by_device() {
        let mut trial = trial();
        let through = vec![id("mics"), id("mix")];
        trial.plan.listening.journeys.insert(id("voice"), Journey { through, to: None, limit: Some(us(5_000)) });
        let all = Analysis::new(&trial.plan, &trial.wiring);
        let needs = needs(&all);
        let ways = ways(&all, &needs);
        let [way] = ways.as_slice() else { panic!("{ways:?}") };
        let mix = need_of(&all, &needs, (&id("mix"), &trial.plan.streams["mix"], &id("speaker"))).expect("a bound");
        // Box 0.5 ms; 2 ms of setting; desk 0.5 ms; what the speaker needs, as its settings are not known.
        assert_eq!(way.whole(), Some(us(500 + 2_000 + 500) + mix.receive_delay()));
        assert_eq!((way.silent_about.as_slice(), way.unset.as_slice()), (&[&id("speaker")][..], &[&id("speaker")][..]));
        assert_eq!(way.parts.len(), 2 + 2 * 3);
        assert_eq!(way.limit, Some(us(5_000)));
    }

    #[test]
    fn a_group_takes_the_first_setting_long_enough_for_all() {
        let mut trial = trial();
        trial.chain("sw-a/4", 3).stream("relay", "box-1", &["desk", "c3"], 8);
        trial.plan.listening.in_phase.insert(id("hall"), InPhase { streams: vec![id("mics"), id("relay")], to: vec![id("desk")] });
        let all = Analysis::new(&trial.plan, &trial.wiring);
        let needs = needs(&all);
        let groups = groups(&all, &needs);
        let names: Vec<(&str, usize)> = groups.iter().map(|group| (group.name.as_str(), group.players.len())).collect();
        assert_eq!(names, [("hall", 2), ("relay", 2)]);
        let relay = &groups[1];
        let [near, far] = [0, 1].map(|n| relay.players[n].need.expect("a bound"));
        assert!(far.worst > near.worst);
        assert_eq!(relay.needed(), Some(far.receive_delay()));
        assert_eq!(relay.setting(&all), Some(us(2_000)));
        // Without a common setting: the far one late, with its longer hold, against the near one early.
        let held = |need: Need| need.packet + (need.worst - need.least);
        assert_eq!(relay.spread(), Some(far.worst + held(far) - near.least - held(near)));
    }
}
