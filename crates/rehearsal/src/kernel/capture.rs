//! Captures of what runs through cables between boxes, as evidence.

use super::Trouble;
use super::rig::Rig;
use crate::blueprint::Blueprint;
use loomwright_evidence::{Moment, write};
use nix::cmsg_space;
use nix::sys::socket::{
    AddressFamily, ControlMessageOwned, LinkAddr, MsgFlags, SockFlag, SockProtocol, SockType, recvmsg, setsockopt, socket, sockopt,
};
use nix::sys::time::TimeSpec;
use std::collections::BTreeMap;
use std::io::IoSliceMut;
use std::os::fd::{AsRawFd, OwnedFd};

/// Octets kept of each frame: all headers and the beginning of the audio. Own choice.
const KEPT: usize = 160;
/// Room for frames that wait to be read. Own choice: a second of a busy trunk. **Unit**: octet.
const ROOM: usize = 16 * 1024 * 1024;

/// One listening space: everything that passes its interfaces comes through one socket, told apart by interface.
struct Tap {
    socket: OwnedFd,
    /// File name and content by interface.
    files: BTreeMap<usize, (String, Vec<u8>)>,
}

/// All of them.
pub(super) struct Captures {
    taps: Vec<Tap>,
}

impl Captures {
    /// Opens captures of every cable between two bridges. The calling thread is in one of the spaces afterwards.
    pub(super) fn open(blueprint: &Blueprint, rig: &Rig) -> Result<Self, Trouble> {
        let mut wanted: BTreeMap<u32, BTreeMap<usize, (String, Vec<u8>)>> = BTreeMap::new();
        for lead in blueprint.leads.iter().filter(|lead| lead.ends.iter().all(|end| end.bridge.is_some())) {
            let end = lead.ends.iter().find(|end| wanted.contains_key(&end.space)).unwrap_or(&lead.ends[0]);
            let is_shared = blueprint.leads.iter().filter(|other| other.cable == lead.cable).count() > 1;
            let network = if is_shared { format!("-{}", blueprint.networks[lead.network.0 as usize]) } else { String::new() };
            let name = format!("{}{network}.pcap", blueprint.cables[lead.cable.0 as usize]);
            wanted.entry(end.space).or_default().insert(end.port.index as usize, (name, write::header().to_vec()));
        }
        let open = |(space, files): (u32, _)| -> Result<Tap, Trouble> {
            rig.spaces[space as usize].enter().map_err(|error| Trouble::of("enter a network namespace", error))?;
            let socket = tap().map_err(|error| Trouble::of("open a capture", error))?;
            Ok(Tap { socket, files })
        };
        Ok(Self { taps: wanted.into_iter().map(open).collect::<Result<_, _>>()? })
    }

    /// Takes what has come.
    pub(super) fn take(&mut self) {
        self.taps.iter_mut().for_each(Tap::take);
    }

    /// One file for each cable and network: its name and what it holds.
    pub(super) fn files(self) -> Vec<(String, Vec<u8>)> {
        self.taps.into_iter().flat_map(|tap| tap.files.into_values()).collect()
    }
}

fn tap() -> nix::Result<OwnedFd> {
    let flags = SockFlag::SOCK_CLOEXEC | SockFlag::SOCK_NONBLOCK;
    let socket = socket(AddressFamily::Packet, SockType::Raw, flags, SockProtocol::EthAll)?;
    setsockopt(&socket, sockopt::ReceiveTimestampns, &true)?;
    // Without root the usual room has to do.
    let _ = setsockopt(&socket, sockopt::RcvBufForce, &ROOM);
    Ok(socket)
}

impl Tap {
    fn take(&mut self) {
        let mut octets = [0; 2_048];
        let mut control = cmsg_space!(TimeSpec);
        loop {
            let mut room = [IoSliceMut::new(&mut octets)];
            let Ok(message) = recvmsg::<LinkAddr>(self.socket.as_raw_fd(), &mut room, Some(&mut control), MsgFlags::empty()) else {
                return;
            };
            let (read, from) = (message.bytes, message.address.map(|address| address.ifindex()));
            let mut times = message.cmsgs().into_iter().flatten();
            let time = times.find_map(|part| if let ControlMessageOwned::ScmTimestampns(time) = part { Some(time) } else { None });
            let Some((_, file)) = from.and_then(|interface| self.files.get_mut(&interface)) else { continue };
            let time = time.map_or(0, |time| time.tv_sec() as u64 * 1_000_000_000 + time.tv_nsec() as u64);
            write::frame(file, Moment(time), &octets[..read.min(KEPT)], Some(read as u32));
        }
    }
}
