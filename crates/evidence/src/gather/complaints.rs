//! Says each thing that is wrong once, with its first place and how often.

use super::limited::Limited;
use crate::container::Stored;
use crate::seen::{Complaint, Spot};

/// Most different complaints of one capture. **Source**: own choice.
const MOST: usize = 256;

/// What is wrong with a capture's frames.
#[derive(Clone)]
pub struct Complaints(Limited<&'static str, Complaint>);

impl Default for Complaints {
    fn default() -> Self {
        Self(Limited::new(MOST))
    }
}

impl Complaints {
    /// One more frame with this wrong.
    pub fn add(&mut self, stored: &Stored<'_>, says: &'static str) {
        self.at(Spot::Frame(stored.number), says);
    }

    /// One more place with this wrong.
    pub fn at(&mut self, spot: Spot, says: &'static str) {
        self.many(spot, says, 1);
    }

    /// So many places with this wrong.
    pub fn many(&mut self, spot: Spot, says: &'static str, times: u64) {
        let complaint = self.0.get_or(says, || Complaint { source: 0, spot, says: says.to_owned(), times: 0 });
        if let Some(complaint) = complaint {
            complaint.times = complaint.times.saturating_add(times);
        }
    }

    /// All of them.
    pub fn finish(self) -> Vec<Complaint> {
        self.0.into_values().collect()
    }
}
