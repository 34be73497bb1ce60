//! A sign of life for work that takes longer than half a second.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

/// Work that is done by then shows nothing. Own choice: below it a sign only flickers.
const PATIENCE: Duration = Duration::from_millis(500);
/// Between two pictures of the sign.
const TICK: Duration = Duration::from_millis(120);

/// Does `work`; where standard error is a terminal and it takes long, shows what is being done and for how long.
pub fn during<T>(doing: &'static str, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    let (done, waiting) = mpsc::channel::<()>();
    let sign = thread::spawn(move || {
        if waiting.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
            let bar = shown(doing);
            let _ = waiting.recv();
            bar.finish_and_clear();
        }
    });
    let result = work();
    drop(done);
    let _ = sign.join();
    result
}

fn shown(doing: &'static str) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    bar.set_style(ProgressStyle::with_template("{spinner} {msg} {elapsed}").unwrap_or_else(|_| ProgressStyle::default_spinner()));
    bar.set_message(doing);
    bar.enable_steady_tick(TICK);
    bar
}
