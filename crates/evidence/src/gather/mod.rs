//! Adds frames up as they pass: each kind of observation keeps its own sums, with a limit on how many it keeps.

mod addresses;
mod announcements;
mod bridges;
mod carried;
mod clocks;
mod complaints;
mod floods;
mod flows;
mod groups;
mod limited;
mod neighbours;
mod rtp;
mod trouble;

use crate::container::Stored;
use crate::evidence::{Capture, CaptureInterface, Evidence};
use crate::frame::{Frame, Inside, Packet, Udp, ipv4, ipv6, link, udp};
use crate::protocol::{bpdu, dhcp, dns, ptp, sap};
use crate::seen::{Seen, Spot, Trust};
use carried::{Carried, Counts};
use complaints::Complaints;

/// EtherTypes. **Source**: IEEE registration authority's list (from memory).
const LLDP: u16 = 0x88cc;
const PRECISION_TIME: u16 = 0x88f7;
const ADDRESS_RESOLUTION: u16 = 0x0806;
const IPV4: u16 = 0x0800;
const IPV6: u16 = 0x86dd;
const MAC_CONTROL: u16 = 0x8808;
/// What IP carries. **Source**: IANA protocol numbers.
const IGMP: u8 = 2;
const UDP: u8 = 17;

/// The sums of one capture.
#[derive(Clone, Default)]
pub struct Gatherer {
    capture: Capture,
    carried: Counts,
    complaints: Complaints,
    neighbours: neighbours::Neighbours,
    bridges: bridges::Bridges,
    addresses: addresses::Addresses,
    groups: groups::Groups,
    clocks: clocks::Clocks,
    announcements: announcements::Announcements,
    flows: flows::Flows,
    pauses: trouble::Pauses,
    repeats: trouble::Repeats,
    floods: floods::Floods,
}

impl Gatherer {
    /// Adds one frame.
    pub fn frame(&mut self, stored: &Stored<'_>) {
        self.count(stored);
        match link(stored) {
            Some(frame) => self.inside(&frame),
            None => self.complaints.add(stored, "a frame is too short, or of a kind that is not read here"),
        }
    }

    fn count(&mut self, stored: &Stored<'_>) {
        let capture = &mut self.capture;
        capture.frames = capture.frames.saturating_add(1);
        capture.octets = capture.octets.saturating_add(stored.length.into());
        let is_shortened = usize::try_from(stored.length).is_ok_and(|length| length > stored.octets.len());
        capture.shortened = capture.shortened.saturating_add(is_shortened.into());
        if let Some(time) = stored.time {
            let (first, last) = capture.time.unwrap_or((time, time));
            capture.time = Some((first.min(time), last.max(time)));
        }
    }

    fn inside(&mut self, frame: &Frame<'_>) {
        if frame.tags > 0 {
            self.carried.add(Carried::Vlan);
        }
        if frame.inside != Inside::Type(MAC_CONTROL) {
            self.repeats.add(frame);
            self.floods.add(frame);
        }
        match frame.inside {
            Inside::Type(IPV4) => self.ipv4(frame),
            Inside::Type(IPV6) => self.ipv6(frame),
            Inside::Type(LLDP) => {
                self.carried.add(Carried::Lldp);
                self.neighbours.add(frame, &mut self.complaints);
            }
            Inside::Type(PRECISION_TIME) => {
                self.carried.add(Carried::Ptp);
                self.clocks.add(frame, &clocks::Way::ethernet(frame), &mut self.complaints);
            }
            Inside::Type(ADDRESS_RESOLUTION) => {
                self.carried.add(Carried::Arp);
                self.addresses.arp(frame, &mut self.complaints);
            }
            Inside::Type(MAC_CONTROL) => {
                self.carried.add(Carried::MacControl);
                self.pauses.add(frame);
            }
            Inside::Length(_) if frame.payload.starts_with(&bpdu::LINK) => self.tree(frame, false),
            Inside::Organisation(organisation, kind) if (organisation, kind) == bpdu::PER_VLAN => self.tree(frame, true),
            _ => {}
        }
    }

    fn tree(&mut self, frame: &Frame<'_>, is_per_vlan: bool) {
        self.carried.add(Carried::Stp);
        self.bridges.add(frame, is_per_vlan, &mut self.complaints);
    }

    fn ipv4(&mut self, frame: &Frame<'_>) {
        self.carried.add(Carried::Ipv4);
        let Some(packet) = ipv4(frame.payload) else {
            self.complaints.add(&frame.stored, "an IPv4 header is cut off or makes no sense");
            return;
        };
        if packet.is_piece {
            self.carried.add(Carried::Fragment);
        }
        if packet.is_later_piece {
            self.flows.piece(frame, &packet);
            return;
        }
        match packet.protocol {
            UDP => self.udp(frame, &packet),
            IGMP => {
                self.carried.add(Carried::Igmp);
                self.groups.add(frame, &packet, &mut self.complaints);
            }
            _ => {}
        }
    }

    fn ipv6(&mut self, frame: &Frame<'_>) {
        self.carried.add(Carried::Ipv6);
        let Some(packet) = ipv6(frame.payload) else {
            self.complaints.add(&frame.stored, "an IPv6 header is cut off or makes no sense");
            return;
        };
        if packet.protocol == UDP && !packet.is_later_piece {
            self.udp(frame, &packet);
        }
    }

    fn udp(&mut self, frame: &Frame<'_>, packet: &Packet<'_>) {
        self.carried.add(Carried::Udp);
        let Some(datagram) = udp(packet) else {
            self.complaints.add(&frame.stored, "a UDP header is cut off or makes no sense");
            return;
        };
        let is_special = self.by_port(frame, packet, &datagram);
        self.flows.add(frame, packet, &datagram, is_special);
    }

    /// Protocols that are known by their port; whether it was one.
    fn by_port(&mut self, frame: &Frame<'_>, packet: &Packet<'_>, datagram: &Udp<'_>) -> bool {
        let complaints = &mut self.complaints;
        match (datagram.from, datagram.to) {
            (_, ptp::EVENT | ptp::GENERAL) => {
                self.carried.add(Carried::Ptp);
                self.clocks.add(frame, &clocks::Way::udp(packet, datagram), complaints);
            }
            (from, to) if dhcp::PORTS.contains(&from) && dhcp::PORTS.contains(&to) => {
                self.carried.add(Carried::Dhcp);
                self.addresses.dhcp(frame, packet, datagram.payload, complaints);
            }
            (dns::PORT, _) | (_, dns::PORT) => {
                self.carried.add(Carried::Mdns);
                self.addresses.dns(frame, packet, datagram, complaints);
            }
            (_, sap::PORT) => {
                self.carried.add(Carried::Sap);
                self.announcements.add(frame, datagram, complaints);
            }
            // Names, time, management: nothing to take from them, but no media either.
            (from, to) => return [53, 123, 137, 138, 161, 162, 1900, 5355].iter().any(|port| from == *port || to == *port),
        }
        true
    }

    /// What was seen.
    pub fn finish(mut self, interfaces: &[CaptureInterface]) -> (Capture, Evidence) {
        let mut evidence = Evidence {
            neighbours: self.neighbours.finish(interfaces),
            bridges: self.bridges.finish(),
            clocks: self.clocks.finish(),
            announcements: self.announcements.finish(),
            pauses: self.pauses.finish(),
            repeats: self.repeats.finish(),
            floods: self.floods.finish(),
            ..Evidence::default()
        };
        (evidence.queriers, evidence.memberships) = self.groups.finish();
        self.addresses.finish(&mut evidence);
        let left_out = self.flows.left_out();
        if left_out > 0 {
            self.complaints.many(Spot::Whole, "more flows than are kept: the later ones are left out", left_out);
        }
        evidence.flows = self.flows.finish(&evidence.announcements);
        evidence.complaints = self.complaints.finish();
        self.capture.carried = self.carried.finish();
        (self.capture, evidence)
    }
}

/// Seen in this frame.
fn seen(frame: &Frame<'_>, trust: Trust) -> Seen {
    Seen::in_frame(frame.stored.number, frame.stored.time, trust)
}

/// Keeps a value once, in rising order, up to a limit.
fn keep<T: Ord>(values: &mut Vec<T>, value: T, most: usize) {
    if let Err(at) = values.binary_search(&value)
        && values.len() < most
    {
        values.insert(at, value);
    }
}
