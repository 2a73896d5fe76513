//! Long work: a progress line on a terminal, silence in a pipe, and Ctrl-C that keeps what is
//! found so far.

use indicatif::{ProgressBar, ProgressStyle};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A long task's progress and whether the user has had enough.
pub(super) struct Patience {
    bar: ProgressBar,
    stopped: Arc<AtomicBool>,
}

impl Patience {
    /// Starts to show `what`; the first Ctrl-C asks the task to stop, the second ends the program.
    pub(super) fn with(what: &str) -> Self {
        let bar = ProgressBar::new_spinner().with_message(what.to_owned());
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}: {pos} steps, {elapsed}") {
            bar.set_style(style);
        }
        let stopped = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&stopped);
        // Without a handler Ctrl-C simply ends the program, which is no worse.
        let _ = ctrlc::set_handler(move || {
            if flag.swap(true, Ordering::Relaxed) {
                std::process::exit(INTERRUPTED.into());
            }
        });
        Self { bar, stopped }
    }

    /// One step done; whether to go on.
    pub(super) fn step(&self) -> bool {
        self.bar.inc(1);
        !self.stopped.load(Ordering::Relaxed)
    }

    /// Clears the line; whether the task was cut short.
    pub(super) fn end(self) -> bool {
        self.bar.finish_and_clear();
        self.stopped.load(Ordering::Relaxed)
    }
}

/// Exit code after Ctrl-C.
pub(super) const INTERRUPTED: u8 = 130;
