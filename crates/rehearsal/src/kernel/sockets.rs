//! Real senders and receivers: one socket for each, opened inside its device's namespace.

use super::Trouble;
use super::rig::Rig;
use crate::blueprint::Blueprint;
use crate::cast::Cast;
use crate::verdict::{Hearing, Missing, OUTAGE_PACKETS};
use nix::sys::epoll::{Epoll, EpollCreateFlags, EpollEvent, EpollFlags, EpollTimeout};
use socket2::{Domain, InterfaceIndexOrAddress, Protocol, Socket, Type};
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, SocketAddrV4, UdpSocket};
use std::time::{Duration, Instant};

/// How many routers a packet may pass: there are none. Own choice, that of AES67 senders (common practice, no source).
const TIME_TO_LIVE: u32 = 16;
/// Payload type of what is agreed elsewhere. **Source**: RFC 3551 section 6, 96 to 127.
const PAYLOAD_TYPE: u8 = 98;
/// Octets of the header. **Source**: RFC 3550 section 5.1.
const HEADER: usize = 12;
/// Events taken at once. Own choice.
const EVENTS: usize = 256;

struct Voice {
    socket: UdpSocket,
    to: SocketAddrV4,
    packet: Vec<u8>,
    /// Steps of the media clock between two packets.
    step: u32,
}

struct Ear {
    socket: UdpSocket,
    from: Ipv4Addr,
    mark: u32,
    last: Option<u32>,
    missing: Vec<Missing>,
}

/// All sockets of one copy, and the loop that keeps them going.
pub(super) struct Sockets {
    voices: Vec<Voice>,
    ears: Vec<Ear>,
    epoll: Epoll,
    period: Duration,
    next: Instant,
    /// Number of the latest packet of every stream.
    now: u32,
    /// Packets heard since the latest tick: more than could be right means that frames circle.
    heard: usize,
    /// Packets that came to a group from somebody else than the stream's sender.
    pub(super) strangers: u64,
}

impl Sockets {
    /// Opens them all. The calling thread is in one of the spaces afterwards.
    pub(super) fn open(blueprint: &Blueprint, cast: &Cast, rig: &Rig, period: Duration) -> Result<Self, Trouble> {
        let epoll = Epoll::new(EpollCreateFlags::EPOLL_CLOEXEC).map_err(|error| Trouble::of("watch sockets", error))?;
        let mut sockets =
            Self { voices: Vec::new(), ears: Vec::new(), epoll, period, next: Instant::now(), now: 0, heard: 0, strangers: 0 };
        let mut inside = None;
        let mut enter = |space: u32| -> Result<(), Trouble> {
            if inside.replace(space) != Some(space) {
                rig.spaces[space as usize].enter().map_err(|error| Trouble::of("enter a network namespace", error))?;
            }
            Ok(())
        };
        for (at, sender) in (1u32..).zip(&cast.senders) {
            let host = &blueprint.hosts[sender.host as usize];
            enter(host.space)?;
            let socket = voice(&host.port.name, sender.from, sender.tos).map_err(|error| Trouble::of("open a sender", error))?;
            let step = u64::from(sender.sample_rate) * period.as_millis() as u64 / 1_000;
            let to = SocketAddrV4::new(sender.to, sender.udp_port);
            sockets.voices.push(Voice { socket, to, packet: packet(at, sender.payload), step: step as u32 });
        }
        for (at, listener) in (0u64..).zip(&cast.listeners) {
            let (host, sender) = (&blueprint.hosts[listener.host as usize], &cast.senders[listener.sender as usize]);
            enter(host.space)?;
            let to = SocketAddrV4::new(sender.to, sender.udp_port);
            let socket = ear((&host.port.name, host.port.index), to).map_err(|error| Trouble::of("open a receiver", error))?;
            let event = EpollEvent::new(EpollFlags::EPOLLIN, at);
            sockets.epoll.add(&socket, event).map_err(|error| Trouble::of("watch a receiver", error))?;
            sockets.ears.push(Ear { socket, from: sender.from, mark: listener.sender + 1, last: None, missing: Vec::new() });
        }
        Ok(sockets)
    }

    /// Sends one packet of every stream and listens until the next is due.
    pub(super) fn tick(&mut self) -> Result<(), Trouble> {
        self.now = self.now.wrapping_add(1);
        self.heard = 0;
        for voice in &mut self.voices {
            voice.packet[2..4].copy_from_slice(&(self.now as u16).to_be_bytes());
            voice.packet[4..8].copy_from_slice(&self.now.wrapping_mul(voice.step).to_be_bytes());
            // A device that is cut off cannot send: that is what is being looked at.
            let _ = voice.socket.send_to(&voice.packet, voice.to);
        }
        let now = Instant::now();
        // A late machine sends late; it does not catch up in a burst.
        self.next = (self.next + self.period).max(now);
        loop {
            let left = self.next.saturating_duration_since(Instant::now());
            self.listen(left)?;
            if left.is_zero() {
                return Ok(());
            }
            if self.heard > 8 * self.ears.len() + 1_000 {
                return Err(Trouble::new("packets come many times over: frames circle", "Look for a loop: `loomwright check PLAN`."));
            }
        }
    }

    fn listen(&mut self, left: Duration) -> Result<(), Trouble> {
        let mut events = [EpollEvent::empty(); EVENTS];
        let timeout = EpollTimeout::try_from(left.as_micros().div_ceil(1_000) as u32).unwrap_or(EpollTimeout::ZERO);
        let ready = match self.epoll.wait(&mut events, timeout) {
            Err(nix::errno::Errno::EINTR) => 0,
            other => other.map_err(|error| Trouble::of("listen", error))?,
        };
        for event in &events[..ready] {
            self.hear(event.data() as usize);
        }
        Ok(())
    }

    fn hear(&mut self, at: usize) {
        let ear = &mut self.ears[at];
        let mut header = [0; HEADER];
        while let Ok((read, from)) = ear.socket.recv_from(&mut header) {
            self.heard += 1;
            let mark = u32::from_be_bytes([header[8], header[9], header[10], header[11]]);
            if read < HEADER || mark != ear.mark || from.ip() != IpAddr::V4(ear.from) {
                self.strangers += 1;
                continue;
            }
            let behind = (self.now as u16).wrapping_sub(u16::from_be_bytes([header[2], header[3]]));
            let number = self.now.wrapping_sub(u32::from(behind));
            let last = ear.last.unwrap_or(number.wrapping_sub(1));
            if number > last.saturating_add(1) {
                ear.missing.push(Missing { from: last + 1, to: number });
            }
            ear.last = Some(last.max(number));
        }
    }

    /// Whether the listener hears its stream at this moment.
    pub(super) fn hears_now(&self, listener: usize) -> bool {
        self.ears[listener].last.is_some_and(|last| last.saturating_add(OUTAGE_PACKETS) > self.now)
    }

    /// Forgets what was missing until now.
    pub(super) fn start_over(&mut self) {
        self.ears.iter_mut().for_each(|ear| ear.missing.clear());
    }

    /// What every listener heard since [`Self::start_over`].
    pub(super) fn hearing(&self) -> Vec<Hearing> {
        let one = |(at, ear): (usize, &Ear)| {
            let hears_now = self.hears_now(at);
            let mut missing = ear.missing.clone();
            if !hears_now {
                missing.push(Missing { from: ear.last.map_or(0, |last| last + 1), to: self.now.saturating_add(1) });
            }
            Hearing { hears_now, missing }
        };
        self.ears.iter().enumerate().map(one).collect()
    }
}

/// The first packet of a stream: silence.
fn packet(mark: u32, payload: usize) -> Vec<u8> {
    let mut packet = vec![0; HEADER + payload];
    packet[0] = 0x80;
    packet[1] = PAYLOAD_TYPE;
    packet[8..12].copy_from_slice(&mark.to_be_bytes());
    packet
}

fn plain() -> io::Result<Socket> {
    let socket = Socket::new(Domain::IPV4, Type::DGRAM, Some(Protocol::UDP))?;
    socket.set_nonblocking(true)?;
    Ok(socket)
}

fn voice(interface: &str, from: Ipv4Addr, tos: u8) -> io::Result<UdpSocket> {
    let socket = plain()?;
    socket.bind_device(Some(interface.as_bytes()))?;
    socket.set_tos_v4(u32::from(tos))?;
    socket.set_multicast_ttl_v4(TIME_TO_LIVE)?;
    socket.set_multicast_loop_v4(false)?;
    socket.bind(&SocketAddr::from((from, 0)).into())?;
    Ok(socket.into())
}

fn ear((interface, index): (&str, u32), to: SocketAddrV4) -> io::Result<UdpSocket> {
    let socket = plain()?;
    socket.set_reuse_address(true)?;
    socket.bind_device(Some(interface.as_bytes()))?;
    socket.bind(&SocketAddr::V4(to).into())?;
    if to.ip().is_multicast() {
        socket.join_multicast_v4_n(to.ip(), &InterfaceIndexOrAddress::Index(index))?;
    }
    Ok(socket.into())
}
