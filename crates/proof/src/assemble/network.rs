//! Streams and links of the report.

use super::names::Names;
use crate::analysis::Analysis;
use crate::report::{LinkLine, StreamLine};
use loomwright_forwarding::{Delivery, Flow};
use loomwright_model::{Id, Stream};

/// Every packet stream at every receiver in every network.
pub(super) fn streams(analysis: &Analysis, names: &Names) -> Vec<StreamLine> {
    let flows = analysis.flows().enumerate();
    let arrivals = flows.flat_map(|(at, (flow, stream, number))| {
        let line = move |delivery: &Delivery| {
            let line = line((analysis, names), (flow, *delivery), stream, number)?;
            let receiver = stream.1.to.get(delivery.receiver as usize)?;
            Some(StreamLine { delay: super::delay::line((analysis, names), (at, delivery.hop), receiver), ..line })
        };
        flow.deliveries.iter().filter_map(line)
    });
    arrivals.collect()
}

fn line(
    (analysis, names): (&Analysis, &Names),
    (flow, delivery): (&Flow, Delivery),
    (id, stream): (&Id, &Stream),
    number: u32,
) -> Option<StreamLine> {
    let hops = flow.path(delivery);
    let items = hops.iter().flat_map(|&hop| [names.leaving_port(hop), names.cable(hop.cable()), names.arriving_port(hop)]);
    Some(StreamLine {
        id: id.into(),
        packet_stream: number,
        from: (&stream.from).into(),
        to: stream.to.get(delivery.receiver as usize)?.into(),
        network: (&analysis.fabric.networks[flow.network.0 as usize]).into(),
        path: items.collect(),
        hops: hops.len() as u32,
        wire_bps: analysis.wire_rate(flow, *hops.first()?).bits_per_second(),
        delay: None,
    })
}

/// Every cable in every direction that carries a stream.
pub(super) fn links(analysis: &Analysis, names: &Names) -> Vec<LinkLine> {
    let line = |(direction, load): (loomwright_forwarding::Direction, loomwright_delay::DirectionLoad)| {
        let cable = &analysis.fabric.cables[direction.cable().0 as usize];
        LinkLine {
            from: names.leaving_port(direction).to_string(),
            to: names.arriving_port(direction).to_string(),
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
