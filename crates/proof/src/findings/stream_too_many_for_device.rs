//! `stream/too-many-for-device`.

use super::*;

rule! {
    /// A device has to send or receive more packet streams than it can.
    ///
    /// The last ones that are patched simply do not start, and which ones those are depends on who was first.
    ///
    /// **Example:** a stage box that sends 16 packet streams at most, and 5 streams of 32 channels from it.
    ///
    /// **Source**: the gear type in the plan.
    "stream/too-many-for-device", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut load: IndexMap<&Id, [u32; 2]> = IndexMap::new();
    for packet in &all.forwarding.packets.all {
        let Some((_, stream)) = all.plan.streams.get_index(packet.stream as usize) else { continue };
        let copies = if stream.mode == Mode::Unicast { stream.to.len() as u32 } else { 1 };
        load.entry(&stream.from).or_default()[0] += copies;
        stream.to.iter().for_each(|to| load.entry(to).or_default()[1] += 1);
    }
    load.into_iter().flat_map(|(id, load)| over(all, id, load)).collect()
}

fn over(all: &Analysis, id: &Id, [sends, receives]: [u32; 2]) -> Vec<Finding> {
    let capacity = all.plan.devices.get(id).and_then(|device| all.plan.gear_of(device)?.streams);
    let Some(capacity) = capacity else { return Vec::new() };
    let both = [("send", sends, capacity.send), ("receive", receives, capacity.receive)];
    both.into_iter()
        .filter(|(_, load, most)| load > most)
        .map(|(verb, load, most)| {
            let says = format!("{id} has to {verb} {load} packet streams, but it can {verb} {most}.");
            let remedy = format!("Put more channels into one packet stream, or move some of the streams that {id} has to {verb} to another device.");
            Finding::new((RULE.code, Severity::Stop), vec![device(id)], says, remedy).with_figures(load, most).with_source("the gear type in the plan")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams["mics"].channels = 17 * 8;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
