//! What was seen on the network while the plan is open: files in `NAME.evidence/` beside the plan, and what is heard live.
//!
//! The folder is the truth: a file put there by hand counts like one dropped on the page, and `loomwright compare PLAN NAME.evidence`
//! reads the same. Nothing is deleted: a file that no longer counts moves into `set-aside` below it.

mod folder;

pub use folder::{Incoming, LARGEST};

use folder::Folder;
use loomwright_evidence::Evidence;
use loomwright_linecheck::Comparison;
use loomwright_model::{Id, Plan, Wiring};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

/// One source of evidence: a file, or something that listens.
#[derive(Debug, Clone)]
pub struct Source {
    /// Its name.
    pub name: String,
    /// Its size. **Unit**: octet; 0 for what listens.
    pub octets: u64,
    /// Its SHA-256; empty for what listens.
    pub sha256: String,
    /// What was read from it.
    pub evidence: Arc<Evidence>,
    /// The networks that something that listens is plugged into; empty for files.
    pub networks: Vec<Id>,
    /// Whether it is no file but something that listens.
    pub is_live: bool,
}

/// A comparison with the digest of the state that it holds for.
type Compared = (String, Arc<Comparison>);

/// What the pages show of the evidence, at one moment. Cheap to clone.
#[derive(Debug, Clone, Default)]
pub struct Seen {
    /// Everything, files first, by name.
    pub sources: Arc<[Source]>,
    /// Files that were set aside.
    pub aside: Arc<[String]>,
    /// The folder's own name.
    pub folder: String,
    /// Why the folder cannot be read, if it cannot.
    pub trouble: Option<String>,
    /// Counts its changes.
    pub changes: u64,
    /// The last comparison, by the digest of the plan's state.
    compared: Arc<Mutex<Option<Compared>>>,
}

impl Seen {
    /// Holds it against the state called `digest`; worked out once for each state.
    pub fn against(&self, digest: &str, (plan, wiring): (&Plan, &Wiring)) -> Arc<Comparison> {
        let mut kept = self.compared.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, comparison)) = kept.as_ref().filter(|(name, _)| name == digest) {
            return Arc::clone(comparison);
        }
        let all = Evidence::merged(self.sources.iter().map(|source| source.evidence.as_ref().clone()));
        let comparison = Arc::new(loomwright_linecheck::compare(plan, wiring, &all));
        *kept = Some((digest.to_owned(), Arc::clone(&comparison)));
        comparison
    }
}

/// The evidence while the plan is open.
#[derive(Debug)]
pub struct SeenStore {
    folder: Folder,
    live: BTreeMap<String, (Vec<Id>, Arc<Evidence>)>,
    view: Seen,
}

impl SeenStore {
    /// What lies beside `plan`. Files are read at the first [`Self::refresh`].
    pub fn beside(plan: &Path) -> Self {
        let plan = plan.canonicalize().unwrap_or_else(|_| plan.to_owned());
        let folder = Folder::at(plan.with_extension("evidence"));
        let view = Seen { folder: folder.name(), ..Seen::default() };
        Self { folder, live: BTreeMap::new(), view }
    }

    /// What the pages show.
    pub fn view(&self) -> Seen {
        self.view.clone()
    }

    /// Looks at the folder and reads what is new; true if anything changed.
    pub fn refresh(&mut self) -> bool {
        let changed = self.folder.refresh();
        if changed {
            self.publish();
        }
        changed
    }

    /// Takes what something that listens has seen so far, in place of what it saw before.
    pub fn hear(&mut self, name: &str, networks: &[Id], evidence: Evidence) {
        self.live.insert(name.to_owned(), (networks.to_vec(), Arc::new(evidence)));
        self.publish();
    }

    /// Where a file that comes in is collected.
    ///
    /// **Errors**: a sentence when the disk refuses.
    pub fn incoming(&self, name: &str) -> Result<Incoming, String> {
        self.folder.incoming(name)
    }

    /// Puts a file aside: it no longer counts, and is kept.
    ///
    /// **Errors**: a sentence when there is no such file or the disk refuses.
    pub fn set_aside(&mut self, name: &str) -> Result<(), String> {
        self.folder.set_aside(name)
    }

    /// Takes a file back that was set aside.
    ///
    /// **Errors**: as for [`Self::set_aside`].
    pub fn take_back(&mut self, name: &str) -> Result<(), String> {
        self.folder.take_back(name)
    }

    fn publish(&mut self) {
        let live = self.live.iter().map(|(name, (networks, evidence))| Source {
            name: name.clone(),
            octets: 0,
            sha256: String::new(),
            evidence: Arc::clone(evidence),
            networks: networks.clone(),
            is_live: true,
        });
        self.view = Seen {
            sources: self.folder.sources().chain(live).collect(),
            aside: self.folder.aside().into(),
            folder: self.folder.name(),
            trouble: self.folder.trouble(),
            changes: self.view.changes + 1,
            compared: Arc::default(),
        };
    }
}

#[cfg(test)]
mod tests;
