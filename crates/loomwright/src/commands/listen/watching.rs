//! The picture while it is listened: planned against heard.

use crate::{output, text};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use loomwright_evidence::Evidence;
use loomwright_linecheck::{compare, heard};
use loomwright_listening::Ear;
use loomwright_model::{Id, Plan, Wiring};
use std::io::IsTerminal;
use std::time::{Duration, Instant};

/// Between two pictures on a terminal. Own choice.
const PICTURE: Duration = Duration::from_secs(1);
/// Between two lines where nobody watches a terminal. Own choice.
const LINE: Duration = Duration::from_secs(10);

/// Draws what was heard so far.
pub struct Watching<'a> {
    documents: (&'a Plan, &'a Wiring),
    networks: &'a [Id],
    bar: Option<ProgressBar>,
    next: Instant,
}

impl<'a> Watching<'a> {
    /// Nothing drawn yet.
    pub fn new(documents: (&'a Plan, &'a Wiring), networks: &'a [Id]) -> Self {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
            bar.set_style(ProgressStyle::with_template("{msg}").unwrap_or_else(|_| ProgressStyle::default_spinner()));
            bar
        });
        let patience = if bar.is_some() { PICTURE } else { LINE };
        Self { documents, networks, bar, next: Instant::now() + patience }
    }

    /// Draws, if it is time to.
    pub fn show(&mut self, ear: &Ear<'_>, polled: &[Evidence]) {
        if Instant::now() < self.next {
            return;
        }
        let seen = Evidence::merged([ear.so_far()].into_iter().chain(polled.iter().cloned()));
        let (plan, wiring) = self.documents;
        let so_far = heard((plan, wiring), &seen, self.networks);
        let comparison = compare(plan, wiring, &seen);
        match &self.bar {
            Some(bar) => bar.set_message(text::heard::picture(&so_far, &comparison)),
            None => output::talk(&text::heard::line(&so_far, &comparison)),
        }
        // Counted from the end: a picture that takes long must not keep frames waiting.
        self.next = Instant::now() + if self.bar.is_some() { PICTURE } else { LINE };
    }

    /// Takes the picture away.
    pub fn end(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
