//! The pages beside listening: what is heard stands in them as it comes in.

use super::Place;
use crate::arguments;
use crate::commands::{PORT, open};
use crate::files::PlanPaths;
use crate::outcome::Failure;
use crate::output;
use loomwright_evidence::Evidence;
use loomwright_listening::Ear;
use loomwright_workbench::{Options, Workbench, serve};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

/// Shortest time between two pictures. Own choice: what a reader can follow.
const SHORTEST: Duration = Duration::from_secs(1);
/// How many times as long as a picture takes nobody makes the next. Own choice: frames must not wait for pages.
const REST: u32 = 9;

/// The open pages.
pub struct Pages {
    bench: Workbench,
    next: Instant,
}

impl Pages {
    /// Opens them if they are wished for. They end with the program.
    ///
    /// **Errors**: the plan cannot be opened, or the port is taken.
    pub fn open(arguments: &arguments::Listen) -> Result<Option<Self>, Failure> {
        let Some(port) = arguments.pages else { return Ok(None) };
        let plan = PlanPaths::find(&arguments.plan)?.plan;
        let (tell, hear) = mpsc::channel();
        let opened = tell.clone();
        let on_open = |address: &str| output::talk(&format!("Open {address}linecheck/seen in a browser: what is heard stands there."));
        let options = Options {
            port: port.unwrap_or(PORT),
            on_bench: Box::new(move |bench| drop(opened.send(Ok(bench)))),
            on_open: Box::new(on_open),
            ..Options::for_plan(plan)
        };
        thread::spawn(move || {
            if let Err(failure) = serve(options) {
                let _ = tell.send(Err(open::told(&failure)));
            }
        });
        let bench = hear.recv().map_err(|_| Failure::new("the pages did not open", ""))??;
        Ok(Some(Self { bench, next: Instant::now() }))
    }

    /// Gives them what was heard so far, if it is time to.
    pub fn show(&mut self, place: &Place, ear: &Ear<'_>, polled: &[Evidence]) {
        let begun = Instant::now();
        if begun < self.next {
            return;
        }
        let seen = Evidence::merged([ear.so_far()].into_iter().chain(polled.iter().cloned()));
        self.bench.hear(&place.name, &place.networks, seen);
        self.next = Instant::now() + SHORTEST.max(begun.elapsed() * REST);
    }
}
