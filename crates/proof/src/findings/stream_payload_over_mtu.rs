//! `stream/payload-over-mtu`.

use super::*;
use loomwright_forwarding::packets::MOST_PAYLOAD;

rule! {
    /// One packet of a stream holds more audio than a packet may.
    ///
    /// Samples of even one channel do not fit. Receivers refuse such packets or the network cuts them up, and
    /// audio gear does not put them together again.
    ///
    /// **Example:** 16 ms of one channel at 24 bit and 48 kHz: 2304 bytes.
    ///
    /// **Source**: 1440 bytes of audio in AES67 (from memory; agrees with its 120 channels of 16 bit at 125 us); MTU 1500 from RFC 894.
    "stream/payload-over-mtu", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut worst: IndexMap<&Id, u64> = IndexMap::new();
    for packet in all.forwarding.packets.all.iter().filter(|packet| !packet.fits()) {
        if let Some((id, _)) = all.plan.streams.get_index(packet.stream as usize) {
            worst.insert(id, packet.payload.bytes());
        }
    }
    worst.into_iter().map(|(id, bytes)| too_large(all, id, bytes)).collect()
}

fn too_large(all: &Analysis, id: &Id, bytes: u64) -> Finding {
    let format = &all.plan.streams[id].format;
    let says = format!("{id} puts {bytes} bytes of audio into a packet ({} of {} bit at {}).", format.packet_time, format.bits, format.sample_rate);
    let remedy = format!("Choose a shorter packet time for {id}, 1 ms or less.");
    let limit = format!("{MOST_PAYLOAD} bytes");
    let items = vec![Item::Stream(id.clone())];
    Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(format!("{bytes} bytes"), limit).with_source("AES67 (from memory)")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams["mics"].format.packet_time = loomwright_model::Time::from_milliseconds(16);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
