//! Addresses, the servers that give them out, names and services of a capture.

use super::complaints::Complaints;
use super::limited::Limited;
use super::seen;
use crate::evidence::Evidence;
use crate::facts::{Binding, BindingSource, DhcpMessage, DhcpSaid, Service};
use crate::frame::{Frame, Packet, Udp};
use crate::mac::Mac;
use crate::protocol::dns::{self, Record, Says};
use crate::protocol::{arp, dhcp};
use crate::seen::Trust;
use std::net::{IpAddr, Ipv4Addr};

/// Most rows of each kind. **Source**: own choice; many times a campus.
const MOST: usize = 32_768;

type BindingKey = (u32, BindingSource, IpAddr, Option<Mac>, Option<String>, Option<u16>);
type DhcpKey = (u32, DhcpMessage, Option<Ipv4Addr>, Option<Mac>, Option<Mac>, Option<Ipv4Addr>, Option<u16>);

/// What was learned so far.
#[derive(Clone)]
pub struct Addresses {
    bindings: Limited<BindingKey, Binding>,
    dhcp: Limited<DhcpKey, DhcpSaid>,
    services: Limited<(IpAddr, String), Service>,
}

impl Default for Addresses {
    fn default() -> Self {
        Self { bindings: Limited::new(MOST), dhcp: Limited::new(MOST), services: Limited::new(MOST) }
    }
}

impl Addresses {
    /// Adds a question or answer about an address.
    pub fn arp(&mut self, frame: &Frame<'_>, complaints: &mut Complaints) {
        let Some(arp) = arp::read(frame.payload) else {
            complaints.add(&frame.stored, "an address question is not about IPv4 on Ethernet, or cut off");
            return;
        };
        let (by, address) = if arp.is_probe() { (BindingSource::ArpProbe, arp.target) } else { (BindingSource::Arp, arp.address) };
        if !address.is_unspecified() {
            self.bind(frame, by, (address.into(), Some(arp.mac)), None);
        }
    }

    fn bind(&mut self, frame: &Frame<'_>, by: BindingSource, who: (IpAddr, Option<Mac>), name: Option<String>) {
        let (address, mac) = who;
        let trust = if by == BindingSource::Name { Trust::Announced } else { Trust::Measured };
        let key = (frame.stored.interface, by, address, mac, name.clone(), frame.vlan);
        let row = self.bindings.get_or(key, || {
            let mut seen = seen(frame, trust);
            seen.times = 0;
            Binding { seen, by, address, mac, name, system: None, port: None, vlan: frame.vlan }
        });
        if let Some(row) = row {
            row.seen.again(frame.stored.time);
        }
    }

    /// Adds a message of a server or client.
    pub fn dhcp(&mut self, frame: &Frame<'_>, packet: &Packet<'_>, payload: &[u8], complaints: &mut Complaints) {
        let Some(said) = dhcp::read(payload) else {
            complaints.add(&frame.stored, "a DHCP message is cut off or makes no sense");
            return;
        };
        let sender = match packet.from {
            IpAddr::V4(address) if !said.is_from_client && !address.is_unspecified() => Some(address),
            _ => None,
        };
        let server = said.server.or(sender);
        let server_mac = frame.from.filter(|_| !said.is_from_client);
        let key = (frame.stored.interface, said.message, server, server_mac, said.client, said.address, frame.vlan);
        let row = self.dhcp.get_or(key, || {
            let mut seen = seen(frame, Trust::Measured);
            seen.times = 0;
            DhcpSaid {
                seen,
                message: said.message,
                server,
                server_mac,
                client: said.client,
                client_name: None,
                address: said.address,
                mask: said.mask,
                router: said.router,
                lease: said.lease,
                vlan: frame.vlan,
            }
        });
        if let Some(row) = row {
            row.seen.again(frame.stored.time);
            row.client_name = said.client_name.or(row.client_name.take());
        }
    }

    /// Adds names and services.
    pub fn dns(&mut self, frame: &Frame<'_>, packet: &Packet<'_>, datagram: &Udp<'_>, complaints: &mut Complaints) {
        let Some(records) = dns::read(datagram.payload) else {
            complaints.add(&frame.stored, "a name message is cut off or makes no sense");
            return;
        };
        for record in records.into_iter().filter(|record| record.time_to_live > 0) {
            self.record(frame, packet.from, record);
        }
    }

    fn record(&mut self, frame: &Frame<'_>, from: IpAddr, record: Record) {
        match record.says {
            Says::Address(address) => {
                let mac = frame.from.filter(|_| address == from);
                self.bind(frame, BindingSource::Name, (address, mac), Some(host_name(&record.name)));
            }
            Says::Pointer(instance) => {
                self.service(frame, from, &instance, |_| {});
            }
            Says::Service(port, host) => self.service(frame, from, &record.name, |service| {
                service.port = Some(port);
                service.host = Some(host_name(&host));
            }),
            Says::Text(text) => self.service(frame, from, &record.name, |service| service.text = text),
        }
    }

    /// `Desk 1._http._tcp.local`: instance, kind, transport, domain.
    fn service(&mut self, frame: &Frame<'_>, from: IpAddr, labels: &[String], set: impl FnOnce(&mut Service)) {
        let kind = labels.iter().position(|label| label.starts_with('_'));
        let Some(at) = kind.filter(|&at| at > 0) else { return };
        let instance = labels.get(..at).unwrap_or_default().join(".");
        let kind = labels.get(at..).unwrap_or_default().iter().take(2).map(String::as_str).collect::<Vec<_>>().join(".");
        let row = self.services.get_or((from, format!("{instance}.{kind}")), || {
            let mut seen = seen(frame, Trust::Announced);
            seen.times = 0;
            Service { seen, from: Some(from), instance, kind, host: None, port: None, text: Vec::new() }
        });
        if let Some(row) = row {
            row.seen.again(frame.stored.time);
            set(row);
        }
    }

    /// All of them.
    pub fn finish(self, evidence: &mut Evidence) {
        evidence.bindings = self.bindings.into_values().collect();
        evidence.dhcp = self.dhcp.into_values().collect();
        evidence.services = self.services.into_values().collect();
    }
}

/// `desk-1.local` as `desk-1`: the domain is the same for all. **Source**: RFC 6762 section 3.
fn host_name(labels: &[String]) -> String {
    let own = labels.split_last().map_or(labels, |(last, rest)| if last == "local" { rest } else { labels });
    own.join(".")
}
