//! Names of ports, cables and packet streams, written once.

use crate::analysis::Analysis;
use crate::report::Name;
use loomwright_forwarding::{CableIx, Direction};

/// Names by index.
pub(super) struct Names {
    /// `port:..` that each direction leaves from.
    ports: Vec<Name>,
    /// `cable:..` of each cable.
    cables: Vec<Name>,
    /// `stream.number` of each packet stream.
    packets: Vec<Name>,
}

impl Names {
    pub(super) fn new(analysis: &Analysis) -> Self {
        let (fabric, plan) = (&analysis.fabric, &analysis.plan);
        let directions = (0..fabric.cables.len() as u32 * 2).map(Direction);
        let packet = |packet: &loomwright_forwarding::PacketStream| {
            let stream = plan.streams.get_index(packet.stream as usize);
            stream.map_or_else(String::new, |(id, _)| format!("{id}.{}", packet.number)).into()
        };
        Self {
            ports: directions.map(|direction| format!("port:{}", fabric.from_port(direction)).into()).collect(),
            cables: fabric.cables.iter().map(|cable| format!("cable:{}", cable.id).into()).collect(),
            packets: analysis.forwarding.packets.all.iter().map(packet).collect(),
        }
    }

    /// The port that frames in `direction` leave from.
    pub(super) fn leaving_port(&self, direction: Direction) -> Name {
        self.ports[direction.0 as usize].clone()
    }

    /// The port that they arrive at.
    pub(super) fn arriving_port(&self, direction: Direction) -> Name {
        self.leaving_port(direction.reversed())
    }

    pub(super) fn cable(&self, cable: CableIx) -> Name {
        self.cables[cable.0 as usize].clone()
    }

    pub(super) fn packet(&self, packet: u32) -> Name {
        self.packets[packet as usize].clone()
    }
}
