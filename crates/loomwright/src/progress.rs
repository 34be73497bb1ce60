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
    during_steps(doing, |_| work())
}

/// Like [`during`], for work that says its steps.
pub fn during_steps<T>(doing: &'static str, work: impl FnOnce(&mut dyn FnMut(&str)) -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work(&mut |_| {});
    }
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    bar.set_style(ProgressStyle::with_template("{spinner} {msg} {elapsed}").unwrap_or_else(|_| ProgressStyle::default_spinner()));
    bar.set_message(doing);
    let shown = bar.clone();
    let (done, waiting) = mpsc::channel::<()>();
    let sign = thread::spawn(move || {
        if waiting.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
            shown.set_draw_target(ProgressDrawTarget::stderr());
            shown.enable_steady_tick(TICK);
            let _ = waiting.recv();
            shown.finish_and_clear();
        }
    });
    let result = work(&mut |step| bar.set_message(format!("{doing}: {step}")));
    drop(done);
    let _ = sign.join();
    result
}
