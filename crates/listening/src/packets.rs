//! Frames from a Linux interface, by a packet socket.
//!
//! **Source**: packet(7) of the Linux manual pages, kernel header `if_packet.h`.

use crate::{CannotListen, Interface, Tap};
use loomwright_evidence::{Moment, WireFrame};
use nix::errno::Errno;
use nix::libc;
use nix::poll::{PollFd, PollFlags, PollTimeout, poll};
use nix::sys::socket::{
    AddressFamily, ControlMessageOwned, GetSockOpt, LinkAddr, MsgFlags, SetSockOpt, SockFlag, SockProtocol, SockType, UnknownCmsg, bind,
    recvmsg, send, socket, sockopt,
};
use nix::{getsockopt_impl, setsockopt_impl};
use std::io::{self, IoSliceMut};
use std::os::fd::{AsFd, AsRawFd, OwnedFd};
use std::time::Duration;

/// Most octets kept of a frame. **Source**: own choice: as capture files do.
const LONGEST: usize = 262_144;
/// What the kernel may hold back for us. **Unit**: octet. **Source**: measured: no frame lost at 69,000 frames a second.
const HELD: usize = 8 * 1024 * 1024;
/// Room for the words that come beside a frame: time and tag.
const BESIDE: usize = 256;
/// Two hardware addresses stand before the tag. **Source**: IEEE 802.1Q.
const BEFORE_TAG: usize = 12;
/// Customer tag, where the kernel does not say which. **Source**: IEEE 802.1Q.
const CUSTOMER_TAG: u16 = 0x8100;

/// Also take frames that are for others.
#[derive(Debug, Clone, Copy)]
struct Membership;
setsockopt_impl!(Membership, libc::SOL_PACKET, libc::PACKET_ADD_MEMBERSHIP, libc::packet_mreq, sockopt::SetStruct<libc::packet_mreq>);
/// Say the VLAN tag, which the kernel takes out of the frame.
#[derive(Debug, Clone, Copy)]
struct TagBeside;
setsockopt_impl!(TagBeside, libc::SOL_PACKET, libc::PACKET_AUXDATA, bool, sockopt::SetBool);
/// Frames that came and were dropped since the last question.
#[derive(Debug, Clone, Copy)]
struct Statistics;
getsockopt_impl!(Statistics, libc::SOL_PACKET, libc::PACKET_STATISTICS, libc::tpacket_stats, sockopt::GetStruct<libc::tpacket_stats>);

/// One interface, every frame that it hears. Frames that this computer sends are left out.
#[derive(Debug)]
pub struct PacketTap {
    socket: OwnedFd,
    interface: Interface,
    frame: Vec<u8>,
    beside: Vec<u8>,
}

impl PacketTap {
    /// Begins to hear an interface, frames for others too.
    ///
    /// **Errors**: the right is missing (on Linux `cap_net_raw`), or the interface is down.
    pub fn open(interface: &Interface) -> Result<Self, CannotListen> {
        let socket = socket(AddressFamily::Packet, SockType::Raw, SockFlag::SOCK_CLOEXEC | SockFlag::SOCK_NONBLOCK, SockProtocol::EthAll)
            .map_err(|error| match error {
            Errno::EPERM | Errno::EACCES => CannotListen::NotAllowed,
            other => CannotListen::Other(other.into()),
        })?;
        bind(socket.as_raw_fd(), &interface.link).map_err(io::Error::from)?;
        let all = libc::packet_mreq {
            mr_ifindex: i32::try_from(interface.index).unwrap_or_default(),
            mr_type: u16::try_from(libc::PACKET_MR_PROMISC).unwrap_or_default(),
            mr_alen: 0,
            mr_address: [0; 8],
        };
        Membership.set(&socket, &all).map_err(io::Error::from)?;
        TagBeside.set(&socket, &true).map_err(io::Error::from)?;
        nix::sys::socket::setsockopt(&socket, sockopt::ReceiveTimestampns, &true).map_err(io::Error::from)?;
        // More than the usual room needs more rights; less room only means earlier drops, which are told.
        if nix::sys::socket::setsockopt(&socket, sockopt::RcvBufForce, &HELD).is_err() {
            let _ = nix::sys::socket::setsockopt(&socket, sockopt::RcvBuf, &HELD);
        }
        let mut tap = Self { socket, interface: interface.clone(), frame: vec![0; LONGEST], beside: vec![0; BESIDE] };
        // What came from other interfaces before the socket was bound, and whether this one is down.
        match tap.receive() {
            Err(Errno::ENETDOWN) => Err(CannotListen::IsDown),
            Err(error) if error != Errno::EAGAIN => Err(CannotListen::Other(error.into())),
            _ => Ok(tap),
        }
    }

    /// The interface.
    pub const fn interface(&self) -> &Interface {
        &self.interface
    }

    /// Takes one frame; `None` if it is not one to be heard.
    fn receive(&mut self) -> Result<Option<(Moment, usize, u32)>, Errno> {
        let mut into = [IoSliceMut::new(&mut self.frame)];
        let got =
            recvmsg::<LinkAddr>(self.socket.as_raw_fd(), &mut into, Some(&mut self.beside), MsgFlags::MSG_TRUNC | MsgFlags::MSG_DONTWAIT)?;
        let (mut time, mut tag) = (Moment(0), None);
        for word in got.cmsgs()? {
            match word {
                ControlMessageOwned::ScmTimestampns(at) => time = moment(at.tv_sec(), at.tv_nsec()),
                ControlMessageOwned::Unknown(word) => tag = tag.or_else(|| tag_of(&word)),
                _ => {}
            }
        }
        let length = got.bytes;
        let is_ours =
            got.address.is_some_and(|from| from.ifindex() == self.interface.link.ifindex() && from.pkttype() != libc::PACKET_OUTGOING);
        if !is_ours {
            return Ok(None);
        }
        let stored = length.min(LONGEST);
        let (stored, length) = tag.map_or((stored, length), |tag| (self.put_back(tag, stored), length + 4));
        Ok(Some((time, stored, u32::try_from(length).unwrap_or(u32::MAX))))
    }

    /// Puts a tag back where it stood; how long the frame is then.
    fn put_back(&mut self, tag: [u8; 4], stored: usize) -> usize {
        let end = (stored + tag.len()).min(self.frame.len());
        if stored < BEFORE_TAG || end < BEFORE_TAG + tag.len() {
            return stored;
        }
        self.frame.copy_within(BEFORE_TAG..end - tag.len(), BEFORE_TAG + tag.len());
        if let Some(place) = self.frame.get_mut(BEFORE_TAG..BEFORE_TAG + tag.len()) {
            place.copy_from_slice(&tag);
        }
        end
    }
}

fn moment(seconds: i64, nanoseconds: i64) -> Moment {
    let whole = i128::from(seconds) * 1_000_000_000 + i128::from(nanoseconds);
    Moment(u64::try_from(whole.max(0)).unwrap_or(u64::MAX))
}

/// The VLAN tag beside a frame: status, lengths and offsets, then control information and type. **Source**: `if_packet.h`,
/// `struct tpacket_auxdata`.
fn tag_of(word: &UnknownCmsg) -> Option<[u8; 4]> {
    let header = &word.cmsg_header;
    if (header.cmsg_level, header.cmsg_type) != (libc::SOL_PACKET, libc::PACKET_AUXDATA) {
        return None;
    }
    let octets = word.data_bytes.first_chunk::<20>()?;
    let [s0, s1, s2, s3, ..] = *octets;
    let [.., c0, c1, t0, t1] = *octets;
    let status = u32::from_ne_bytes([s0, s1, s2, s3]);
    if status & libc::TP_STATUS_VLAN_VALID == 0 {
        return None;
    }
    let says_type = status & libc::TP_STATUS_VLAN_TPID_VALID != 0;
    let kind = if says_type { u16::from_ne_bytes([t0, t1]) } else { CUSTOMER_TAG };
    let ([a, b], [c, d]) = (kind.to_be_bytes(), u16::from_ne_bytes([c0, c1]).to_be_bytes());
    Some([a, b, c, d])
}

impl Tap for PacketTap {
    fn next(&mut self, patience: Duration) -> io::Result<Option<WireFrame<'_>>> {
        let end = std::time::Instant::now() + patience;
        loop {
            match self.receive() {
                Ok(Some((time, stored, length))) => {
                    return Ok(Some(WireFrame { time, octets: self.frame.get(..stored).unwrap_or_default(), length }));
                }
                Ok(None) | Err(Errno::EINTR) => {}
                Err(Errno::EAGAIN) => {
                    let left = end.saturating_duration_since(std::time::Instant::now());
                    if left.is_zero() {
                        return Ok(None);
                    }
                    let wait = PollTimeout::try_from(left.min(Duration::from_secs(60))).unwrap_or(PollTimeout::ZERO);
                    match poll(&mut [PollFd::new(self.socket.as_fd(), PollFlags::POLLIN)], wait) {
                        Ok(_) | Err(Errno::EINTR) => {}
                        Err(error) => return Err(error.into()),
                    }
                }
                Err(error) => return Err(error.into()),
            }
        }
    }

    fn send(&mut self, octets: &[u8]) -> io::Result<()> {
        send(self.socket.as_raw_fd(), octets, MsgFlags::empty())?;
        Ok(())
    }

    fn dropped(&mut self) -> u64 {
        Statistics.get(&self.socket).map_or(0, |counts| counts.tp_drops.into())
    }

    fn has_ended(&self) -> bool {
        false
    }
}
