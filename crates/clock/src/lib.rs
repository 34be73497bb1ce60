//! Who leads the clock, who follows, through what, with what error.
