//! Where frames come from.

use loomwright_evidence::WireFrame;
use std::io;
use std::time::Duration;

/// A wire that is listened to, and that can be spoken on.
pub trait Tap {
    /// The next frame, waiting for it as long as `patience`; `None` if none came.
    fn next(&mut self, patience: Duration) -> io::Result<Option<WireFrame<'_>>>;

    /// Puts one Ethernet frame on the wire.
    fn send(&mut self, octets: &[u8]) -> io::Result<()>;

    /// Frames that came and could not be taken in time, since this was last asked.
    fn dropped(&mut self) -> u64;

    /// Whether no frame can come any more.
    fn has_ended(&self) -> bool;
}

impl<T: Tap + ?Sized> Tap for &mut T {
    fn next(&mut self, patience: Duration) -> io::Result<Option<WireFrame<'_>>> {
        (**self).next(patience)
    }

    fn send(&mut self, octets: &[u8]) -> io::Result<()> {
        (**self).send(octets)
    }

    fn dropped(&mut self) -> u64 {
        (**self).dropped()
    }

    fn has_ended(&self) -> bool {
        (**self).has_ended()
    }
}

impl<T: Tap + ?Sized> Tap for Box<T> {
    fn next(&mut self, patience: Duration) -> io::Result<Option<WireFrame<'_>>> {
        (**self).next(patience)
    }

    fn send(&mut self, octets: &[u8]) -> io::Result<()> {
        (**self).send(octets)
    }

    fn dropped(&mut self) -> u64 {
        (**self).dropped()
    }

    fn has_ended(&self) -> bool {
        (**self).has_ended()
    }
}
