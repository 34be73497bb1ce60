//! The wish to stop: Ctrl-C, or the system asking for it.

#[cfg(target_os = "linux")]
pub use linux::Stop;

#[cfg(target_os = "linux")]
mod linux {
    use nix::sys::signal::{SigSet, Signal};
    use nix::sys::signalfd::{SfdFlags, SignalFd};
    use std::io;

    /// Waits for the wish to stop; while it lives, Ctrl-C does not end the program.
    #[derive(Debug)]
    pub struct Stop {
        signals: SigSet,
        wishes: SignalFd,
    }

    impl Stop {
        /// From now on wishes to stop are kept for [`Stop::is_wished`]. Threads that are begun later keep them too.
        ///
        /// **Errors**: the system refuses.
        pub fn new() -> io::Result<Self> {
            let mut signals = SigSet::empty();
            signals.add(Signal::SIGINT);
            signals.add(Signal::SIGTERM);
            signals.thread_block()?;
            let wishes = SignalFd::with_flags(&signals, SfdFlags::SFD_NONBLOCK | SfdFlags::SFD_CLOEXEC)?;
            Ok(Self { signals, wishes })
        }

        /// Whether somebody wished to stop since this was last asked.
        pub fn is_wished(&mut self) -> bool {
            matches!(self.wishes.read_signal(), Ok(Some(_)))
        }
    }

    impl Drop for Stop {
        fn drop(&mut self) {
            let _ = self.signals.thread_unblock();
        }
    }
}

/// On other systems Ctrl-C ends the program.
#[cfg(not(target_os = "linux"))]
#[derive(Debug)]
pub struct Stop;

#[cfg(not(target_os = "linux"))]
impl Stop {
    /// Nothing to wait for.
    ///
    /// **Errors**: none.
    pub fn new() -> std::io::Result<Self> {
        Ok(Self)
    }

    /// Never.
    pub fn is_wished(&mut self) -> bool {
        false
    }
}
