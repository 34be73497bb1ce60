//! One socket to the kernel's routing messages, in the namespace in which it was opened, whoever uses it later.

use super::Trouble;
use crate::message::{Answer, Batch, PortState, answers, ask_ports};
use nix::sys::socket::{AddressFamily, MsgFlags, SockFlag, SockProtocol, SockType, recv, send, socket};
use std::io;
use std::os::fd::{AsRawFd, OwnedFd};

/// Room for one receive. **Source**: the kernel sends lists in pieces of at most 32 kB (`NLMSG_GOODSIZE`, from memory).
const ROOM: usize = 64 * 1024;

/// The socket.
pub(super) struct Netlink {
    socket: OwnedFd,
    room: Vec<u8>,
}

impl Netlink {
    /// Opens it in the namespace that the calling thread is in.
    pub(super) fn open() -> io::Result<Self> {
        let socket = socket(AddressFamily::Netlink, SockType::Raw, SockFlag::SOCK_CLOEXEC, SockProtocol::NetlinkRoute)?;
        Ok(Self { socket, room: Vec::new() })
    }

    fn receive(&mut self) -> io::Result<Vec<Answer>> {
        self.room.resize(ROOM, 0);
        let read = recv(self.socket.as_raw_fd(), &mut self.room, MsgFlags::empty())?;
        Ok(answers(&self.room[..read]))
    }

    /// Sends a batch and waits until the kernel has done all of it.
    pub(super) fn do_all(&mut self, batch: &Batch) -> Result<(), Trouble> {
        let mut done = 0;
        for portion in batch.portions() {
            send(self.socket.as_raw_fd(), portion, MsgFlags::empty()).map_err(|error| Trouble::of("speak to the kernel", error))?;
            let last = done + messages(portion);
            while done < last {
                for answer in self.receive().map_err(|error| Trouble::of("hear the kernel", error))? {
                    let Answer::Done { sequence, error } = answer else { continue };
                    done += 1;
                    if error != 0 {
                        return Err(Trouble::of(batch.does(sequence), io::Error::from_raw_os_error(error)));
                    }
                }
            }
        }
        Ok(())
    }

    /// All ports of all bridges in the namespace, by interface.
    pub(super) fn ports(&mut self) -> Result<Vec<PortState>, Trouble> {
        let ask = ask_ports();
        send(self.socket.as_raw_fd(), &ask, MsgFlags::empty()).map_err(|error| Trouble::of("ask the kernel", error))?;
        let mut found = Vec::new();
        loop {
            for answer in self.receive().map_err(|error| Trouble::of("hear the kernel", error))? {
                match answer {
                    Answer::Port(port) => found.push(port),
                    Answer::End => {
                        found.sort_unstable();
                        return Ok(found);
                    }
                    Answer::Done { error, .. } => {
                        return Err(Trouble::of("list the ports of bridges", io::Error::from_raw_os_error(error)));
                    }
                }
            }
        }
    }
}

/// How many messages a portion has.
fn messages(mut portion: &[u8]) -> usize {
    let mut count = 0;
    while let Some(length) = portion.first_chunk::<4>().map(|length| u32::from_ne_bytes(*length) as usize).filter(|length| *length > 0) {
        count += 1;
        portion = portion.get(length..).unwrap_or_default();
    }
    count
}
