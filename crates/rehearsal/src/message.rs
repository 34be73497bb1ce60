//! The kernel's words for links and addresses (rtnetlink), as octets. Pure.
//!
//! **Source**: RFC 3549 for the frame of the messages; numbers of attributes from `linux/if_link.h`, `linux/if_addr.h`,
//! `linux/rtnetlink.h` and `linux/veth.h` of Linux 6.

use loomwright_model::InterfaceAddress;

const NEW_LINK: u16 = 16;
const GET_LINK: u16 = 18;
const SET_LINK: u16 = 19;
const NEW_ADDRESS: u16 = 20;
const ERROR: u16 = 2;
const DONE: u16 = 3;

const REQUEST: u16 = 0x1;
const ACKNOWLEDGE: u16 = 0x4;
const DUMP: u16 = 0x300;
const EXCLUSIVE: u16 = 0x200;
const CREATE: u16 = 0x400;

const UP: u32 = 1;
const NO_ARP: u32 = 0x80;
const FAMILY_INET: u8 = 2;
const FAMILY_BRIDGE: u8 = 7;

const IFLA_ADDRESS: u16 = 1;
const IFLA_IFNAME: u16 = 3;
const IFLA_MASTER: u16 = 10;
const IFLA_PROTINFO: u16 = 12;
const IFLA_OPERSTATE: u16 = 16;
const IFLA_LINKINFO: u16 = 18;
const IFLA_NET_NS_FD: u16 = 28;
const INFO_KIND: u16 = 1;
const INFO_DATA: u16 = 2;
const INFO_SLAVE_KIND: u16 = 4;
const INFO_SLAVE_DATA: u16 = 5;
const PORT_STATE: u16 = 1;
const PORT_COST: u16 = 3;
const VETH_PEER: u16 = 1;
const ADDRESS_LOCAL: u16 = 2;
const ADDRESS_BROADCAST: u16 = 4;
const ADDRESS: u16 = 1;

/// Octets of the header of every message.
const HEADER: usize = 16;
/// Octets of the header of a link message, after the first.
const LINK_HEADER: usize = 16;
/// Batches are sent at this size. Own choice: half of the smallest usual receive buffer of a kernel socket.
const FULL: usize = 16 * 1024;

/// Settings of a bridge, as numbers of `linux/if_link.h`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u16)]
pub enum BridgeSetting {
    /// Hundredths of a second in each of listening and learning.
    ForwardDelay = 1,
    /// Hundredths of a second between hellos.
    HelloTime = 2,
    /// Hundredths of a second that a hello is believed.
    MaxAge = 3,
    /// Hundredths of a second until an address that is no longer heard is forgotten.
    Ageing = 4,
    /// Whether spanning tree runs.
    TreeIsOn = 5,
    /// Bridge priority.
    Priority = 6,
    /// Whether multicast goes only where it was asked for.
    Snooping = 23,
    /// Whether questions carry the bridge's own address.
    AskWithAddress = 24,
    /// Whether it asks.
    Querier = 25,
    /// How many quick questions after start.
    StartupCount = 29,
    /// Hundredths of a second that a member is believed.
    MembershipInterval = 31,
    /// Hundredths of a second that another querier is believed.
    QuerierInterval = 32,
    /// Hundredths of a second between questions.
    QueryInterval = 33,
    /// Hundredths of a second in which members answer.
    ResponseInterval = 34,
    /// Hundredths of a second between the first questions.
    StartupInterval = 35,
    /// Version of the questions.
    IgmpVersion = 43,
}

impl BridgeSetting {
    fn write(self, to: &mut Message, value: u64) {
        let code = self as u16;
        match self {
            Self::Snooping | Self::AskWithAddress | Self::Querier | Self::IgmpVersion => to.attribute(code, &[value as u8]),
            Self::Priority => to.attribute(code, &(value as u16).to_ne_bytes()),
            Self::ForwardDelay | Self::HelloTime | Self::MaxAge | Self::Ageing | Self::TreeIsOn | Self::StartupCount => {
                to.attribute(code, &(value as u32).to_ne_bytes());
            }
            _ => to.attribute(code, &value.to_ne_bytes()),
        }
    }
}

/// An interface to make.
#[derive(Debug, Clone, Copy)]
pub struct NewInterface<'a> {
    /// Its number.
    pub index: u32,
    /// Its name.
    pub name: &'a str,
    /// Its hardware address.
    pub mac: [u8; 6],
}

/// One message under construction.
struct Message {
    octets: Vec<u8>,
}

impl Message {
    fn new(kind: u16, flags: u16, sequence: u32) -> Self {
        let mut octets = vec![0; HEADER];
        octets[4..6].copy_from_slice(&kind.to_ne_bytes());
        octets[6..8].copy_from_slice(&flags.to_ne_bytes());
        octets[8..12].copy_from_slice(&sequence.to_ne_bytes());
        Self { octets }
    }

    fn link(&mut self, family: u8, index: u32, [flags, change]: [u32; 2]) {
        self.octets.extend_from_slice(&[family, 0, 0, 0]);
        [index, flags, change].iter().for_each(|number| self.octets.extend_from_slice(&number.to_ne_bytes()));
    }

    fn attribute(&mut self, kind: u16, value: &[u8]) {
        let length = (4 + value.len()) as u16;
        self.octets.extend_from_slice(&length.to_ne_bytes());
        self.octets.extend_from_slice(&kind.to_ne_bytes());
        self.octets.extend_from_slice(value);
        self.octets.resize(self.octets.len().next_multiple_of(4), 0);
    }

    fn nested(&mut self, kind: u16, fill: impl FnOnce(&mut Self)) {
        let start = self.octets.len();
        self.attribute(kind, &[]);
        fill(self);
        let length = (self.octets.len() - start) as u16;
        self.octets[start..start + 2].copy_from_slice(&length.to_ne_bytes());
    }

    fn interface(&mut self, new: NewInterface<'_>) {
        self.attribute(IFLA_IFNAME, &[new.name.as_bytes(), &[0]].concat());
        self.attribute(IFLA_ADDRESS, &new.mac);
    }

    fn finish(mut self) -> Vec<u8> {
        let length = self.octets.len() as u32;
        self.octets[..4].copy_from_slice(&length.to_ne_bytes());
        self.octets
    }
}

/// Messages to send together, each with words for what it does.
#[derive(Debug, Clone, Default)]
pub struct Batch {
    /// Octets of whole messages, in portions to send one by one.
    portions: Vec<Vec<u8>>,
    /// What each message does, in order.
    does: Vec<String>,
}

impl Batch {
    /// Portions to send, each with the number of its first message and how many it has.
    pub fn portions(&self) -> impl Iterator<Item = &[u8]> {
        self.portions.iter().map(Vec::as_slice)
    }

    /// What the message with this number does.
    pub fn does(&self, sequence: u32) -> &str {
        self.does.get(sequence as usize).map_or("something", String::as_str)
    }

    /// How many messages there are.
    pub fn len(&self) -> usize {
        self.does.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.does.is_empty()
    }

    fn add(&mut self, (kind, flags): (u16, u16), does: String, fill: impl FnOnce(&mut Message)) {
        let mut message = Message::new(kind, REQUEST | ACKNOWLEDGE | flags, self.does.len() as u32);
        fill(&mut message);
        let octets = message.finish();
        match self.portions.last_mut().filter(|last| last.len() + octets.len() <= FULL) {
            Some(last) => last.extend(octets),
            None => self.portions.push(octets),
        }
        self.does.push(does);
    }

    /// A cable's two ends: one here, the other in the namespace behind the file descriptor `there`.
    pub fn new_pair(&mut self, here: NewInterface<'_>, there: NewInterface<'_>, descriptor: Option<i32>) {
        self.add((NEW_LINK, CREATE | EXCLUSIVE), format!("make cable {}", here.name), |message| {
            message.link(0, here.index, [0, 0]);
            message.interface(here);
            message.nested(IFLA_LINKINFO, |message| {
                message.attribute(INFO_KIND, b"veth\0");
                message.nested(INFO_DATA, |message| {
                    message.nested(VETH_PEER, |message| {
                        message.link(0, there.index, [0, 0]);
                        message.interface(there);
                        if let Some(descriptor) = descriptor {
                            message.attribute(IFLA_NET_NS_FD, &descriptor.to_ne_bytes());
                        }
                    });
                });
            });
        });
    }

    /// A bridge, down.
    pub fn new_bridge(&mut self, new: NewInterface<'_>, settings: &[(BridgeSetting, u64)]) {
        self.add((NEW_LINK, CREATE | EXCLUSIVE), format!("make bridge {}", new.name), |message| {
            message.link(0, new.index, [0, 0]);
            message.interface(new);
            message.nested(IFLA_LINKINFO, |message| {
                message.attribute(INFO_KIND, b"bridge\0");
                message.nested(INFO_DATA, |message| settings.iter().for_each(|(setting, value)| setting.write(message, *value)));
            });
        });
    }

    /// Sets a bridge.
    pub fn set_bridge(&mut self, index: u32, settings: &[(BridgeSetting, u64)]) {
        self.add((NEW_LINK, 0), format!("set bridge {index}"), |message| {
            message.link(0, index, [0, 0]);
            message.nested(IFLA_LINKINFO, |message| {
                message.attribute(INFO_KIND, b"bridge\0");
                message.nested(INFO_DATA, |message| settings.iter().for_each(|(setting, value)| setting.write(message, *value)));
            });
        });
    }

    /// Makes an interface a port of a bridge; it is next in the bridge's own numbering.
    pub fn join(&mut self, index: u32, bridge: u32) {
        self.add((SET_LINK, 0), format!("put port {index} into bridge {bridge}"), |message| {
            message.link(0, index, [0, 0]);
            message.attribute(IFLA_MASTER, &bridge.to_ne_bytes());
        });
    }

    /// Sets what a path through a port costs.
    pub fn cost(&mut self, index: u32, cost: u32) {
        self.add((NEW_LINK, 0), format!("set the path cost of port {index}"), |message| {
            message.link(0, index, [0, 0]);
            message.nested(IFLA_LINKINFO, |message| {
                message.attribute(INFO_SLAVE_KIND, b"bridge\0");
                message.nested(INFO_SLAVE_DATA, |message| message.attribute(PORT_COST, &cost.to_ne_bytes()));
            });
        });
    }

    /// Switches an interface on or off.
    pub fn switch(&mut self, index: u32, on: bool) {
        let word = if on { "up" } else { "down" };
        self.add((SET_LINK, 0), format!("take interface {index} {word}"), |message| {
            message.link(0, index, [if on { UP } else { 0 }, UP]);
        });
    }

    /// Keeps an interface without address from answering for the others of its space.
    pub fn hush(&mut self, index: u32) {
        self.add((SET_LINK, 0), format!("hush interface {index}"), |message| message.link(0, index, [NO_ARP, NO_ARP]));
    }

    /// Gives an interface an address.
    pub fn address(&mut self, index: u32, address: InterfaceAddress) {
        self.add((NEW_ADDRESS, CREATE), format!("give interface {index} the address {address}"), |message| {
            message.octets.extend_from_slice(&[FAMILY_INET, address.subnet.prefix(), 0, 0]);
            message.octets.extend_from_slice(&index.to_ne_bytes());
            message.attribute(ADDRESS, &address.address.octets());
            message.attribute(ADDRESS_LOCAL, &address.address.octets());
            message.attribute(ADDRESS_BROADCAST, &address.subnet.broadcast().octets());
        });
    }
}

/// What the kernel answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Message done, or refused with an error number.
    Done {
        /// Number of the message in its batch.
        sequence: u32,
        /// 0, or the number of the error.
        error: i32,
    },
    /// The end of a list.
    End,
    /// A port of a bridge.
    Port(PortState),
}

/// A port of a bridge as the kernel sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct PortState {
    /// Its interface.
    pub index: u32,
    /// 0 disabled, 1 listening, 2 learning, 3 forwarding, 4 blocking. **Source**: `linux/if_bridge.h`.
    pub state: u8,
    /// Whether it has a link. **Source**: IF_OPER_UP is 6, RFC 2863.
    pub has_link: bool,
}

impl PortState {
    /// Whether it is shut by the tree for good.
    pub const fn is_blocking(self) -> bool {
        self.state == 4
    }

    /// Whether it is on its way to forward.
    pub const fn is_waking(self) -> bool {
        matches!(self.state, 1 | 2)
    }
}

/// Asks for all ports of all bridges.
pub fn ask_ports() -> Vec<u8> {
    let mut message = Message::new(GET_LINK, REQUEST | DUMP, 0);
    message.link(FAMILY_BRIDGE, 0, [0, 0]);
    message.finish()
}

/// Reads what came in one receive.
pub fn answers(mut octets: &[u8]) -> Vec<Answer> {
    let mut found = Vec::new();
    while let Some(length) = word(octets, 0).map(|length| length as usize).filter(|length| (HEADER..=octets.len()).contains(length)) {
        let (message, rest) = octets.split_at(length);
        let kind = u16::from_ne_bytes([message[4], message[5]]);
        match kind {
            ERROR => {
                let error = word(message, HEADER).map_or(0, |error| error as i32).saturating_neg();
                found.push(Answer::Done { sequence: word(message, 8).unwrap_or_default(), error });
            }
            DONE => found.push(Answer::End),
            NEW_LINK => found.extend(port(message).map(Answer::Port)),
            _ => {}
        }
        octets = rest.get(length.next_multiple_of(4) - length..).unwrap_or_default();
    }
    found
}

fn word(octets: &[u8], at: usize) -> Option<u32> {
    octets.get(at..at + 4)?.try_into().ok().map(u32::from_ne_bytes)
}

fn port(message: &[u8]) -> Option<PortState> {
    let index = word(message, HEADER + 4)?;
    let attributes = message.get(HEADER + LINK_HEADER..)?;
    let state = attribute(attribute(attributes, IFLA_PROTINFO)?, PORT_STATE)?.first().copied()?;
    let has_link = attribute(attributes, IFLA_OPERSTATE).and_then(<[u8]>::first).is_some_and(|state| *state == 6);
    Some(PortState { index, state, has_link })
}

/// The value of the first attribute of a kind; the upper two bits of a kind are flags.
fn attribute(mut octets: &[u8], kind: u16) -> Option<&[u8]> {
    loop {
        let head: [u8; 4] = octets.get(..4)?.try_into().ok()?;
        let length = usize::from(u16::from_ne_bytes([head[0], head[1]]));
        let value = octets.get(4..length)?;
        if u16::from_ne_bytes([head[2], head[3]]) & 0x3fff == kind {
            return Some(value);
        }
        octets = octets.get(length.next_multiple_of(4)..)?;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_count_what_is_there() {
        let mut batch = Batch::default();
        let end = |name| NewInterface { index: 100, name, mac: [2, 0, 0, 0, 0, 1] };
        batch.new_pair(end("l0a"), end("l0b"), Some(7));
        batch.new_bridge(end("br100"), &[(BridgeSetting::TreeIsOn, 1), (BridgeSetting::Priority, 4_096)]);
        batch.switch(100, true);
        let octets = batch.portions().next().expect("one portion");
        let (mut at, mut kinds) = (0, Vec::new());
        while at < octets.len() {
            let length = word(octets, at).expect("a length") as usize;
            assert!(length >= HEADER && length.is_multiple_of(4), "{length}");
            kinds.push((u16::from_ne_bytes([octets[at + 4], octets[at + 5]]), word(octets, at + 8)));
            at += length;
        }
        assert_eq!((at, kinds), (octets.len(), vec![(NEW_LINK, Some(0)), (NEW_LINK, Some(1)), (SET_LINK, Some(2))]));
        let name = attribute(&octets[HEADER + LINK_HEADER..], IFLA_IFNAME);
        assert_eq!(name, Some(&b"l0a\0"[..]));
        assert_eq!(batch.does(1), "make bridge br100");
    }

    #[test]
    fn answers_are_read_and_rubbish_is_not() {
        let mut refused = Message::new(ERROR, 0, 5);
        refused.octets.extend_from_slice(&(-17i32).to_ne_bytes());
        let mut port = Message::new(NEW_LINK, 0, 0);
        port.link(FAMILY_BRIDGE, 104, [0, 0]);
        port.attribute(IFLA_OPERSTATE, &[6]);
        port.nested(IFLA_PROTINFO | 0x8000, |message| message.attribute(PORT_STATE, &[4]));
        let octets = [refused.finish(), port.finish(), Message::new(DONE, 0, 0).finish()].concat();
        let blocking = PortState { index: 104, state: 4, has_link: true };
        assert_eq!(answers(&octets), [Answer::Done { sequence: 5, error: 17 }, Answer::Port(blocking), Answer::End]);
        for cut in 0..octets.len() {
            answers(&octets[..cut]);
        }
        assert_eq!(answers(&[0; 64]), []);
    }
}
