//! Who looks on while a design is made, and may stop it.

use loomwright_placement::Progress;
use std::cell::{Cell, RefCell};

/// What the design is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Looking for the places of switches, or proving how cheap they can be.
    Places(Progress),
    /// Wiring in full and proving: so many done, at most so many.
    Wirings {
        /// Done so far.
        done: usize,
        /// At most so many.
        of: usize,
    },
    /// Trying which plugged cables may move: so many sets done, at most so many.
    Moves {
        /// Done so far.
        done: usize,
        /// At most so many.
        of: usize,
    },
}

/// Told how far a design is; says whether to go on. Once it says no it is not asked again, and the best so far is finished.
pub type Watch<'w> = &'w mut dyn FnMut(Stage) -> bool;

/// A [`Watch`] that many may ask.
pub(crate) struct Watched<'w> {
    watch: RefCell<Watch<'w>>,
    goes_on: Cell<bool>,
}

impl<'w> Watched<'w> {
    /// Asks `watch`.
    pub fn new(watch: Watch<'w>) -> Self {
        Self { watch: RefCell::new(watch), goes_on: Cell::new(true) }
    }

    /// Tells the stage; whether to go on.
    pub fn goes_on(&self, stage: Stage) -> bool {
        if self.goes_on.get() {
            self.goes_on.set((self.watch.borrow_mut())(stage));
        }
        self.goes_on.get()
    }

    /// Whether it was stopped.
    pub fn is_stopped(&self) -> bool {
        !self.goes_on.get()
    }
}
