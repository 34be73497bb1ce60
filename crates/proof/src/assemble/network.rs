//! Streams and links of the report.

use crate::analysis::Analysis;
use crate::report::{LinkLine, StreamLine};
use loomwright_forwarding::{Delivery, Flow};
use loomwright_model::{Id, Stream};

/// Every packet stream at every receiver in every network.
pub(super) fn streams(analysis: &Analysis) -> Vec<StreamLine> {
    let flows = analysis.flows().enumerate();
    let arrivals = flows.flat_map(|(at, (flow, stream, number))| {
        let line = move |delivery: &Delivery| {
            let line = line(analysis, (flow, *delivery), stream, number)?;
            let receiver = stream.1.to.get(delivery.receiver as usize)?;
            Some(StreamLine { delay: super::delay::line(analysis, (at, delivery.hop), receiver), ..line })
        };
        flow.deliveries.iter().filter_map(line)
    });
    arrivals.collect()
}

fn line(analysis: &Analysis, (flow, delivery): (&Flow, Delivery), (id, stream): (&Id, &Stream), number: u32) -> Option<StreamLine> {
    let hops = flow.path(delivery);
    Some(StreamLine {
        id: id.to_string(),
        packet_stream: number,
        from: stream.from.to_string(),
        to: stream.to.get(delivery.receiver as usize)?.to_string(),
        network: analysis.fabric.networks[flow.network.0 as usize].to_string(),
        path: flow.items_to(&analysis.fabric, delivery).iter().map(ToString::to_string).collect(),
        hops: hops.len() as u32,
        wire_bps: analysis.wire_rate(flow, *hops.first()?).bits_per_second(),
        delay: None,
    })
}

/// Every cable in every direction that carries a stream.
pub(super) fn links(analysis: &Analysis) -> Vec<LinkLine> {
    let line = |(direction, load): (loomwright_forwarding::Direction, loomwright_delay::DirectionLoad)| {
        let cable = &analysis.fabric.cables[direction.cable().0 as usize];
        LinkLine {
            from: format!("port:{}", analysis.fabric.from_port(direction)),
            to: format!("port:{}", analysis.fabric.to_port(direction)),
            cable: cable.id.to_string(),
            speed_bps: cable.speed.bits_per_second(),
            load_bps: load.load.bits_per_second(),
            streams: load.streams,
            unwanted_bps: load.unwanted.bits_per_second(),
            backlog_bytes: analysis.delays.backlog(direction).map(loomwright_model::ByteCount::bytes),
        }
    };
    analysis.loads().map(line).collect()
}
