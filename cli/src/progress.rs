//! How far a long command has come: a bar with the time left, on standard error, and only where that
//! is a terminal.

use std::io::{IsTerminal, Write, stderr};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// What the bar shows.
const SHAPE: &str = "{bar:40} {pos} of {len} {msg}s, {per_sec}, {eta} left";

/// A bar.
pub struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// A bar over `total` of what is called `one`, of which `done` are done before the start.
    pub fn new(one: &'static str, total: u64, done: u64) -> Self {
        let target = if stderr().is_terminal() {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let bar = ProgressBar::with_draw_target(Some(total), target).with_message(one);
        // The shape is our own and sound; a plain bar would do if it were not.
        if let Ok(style) = ProgressStyle::with_template(SHAPE) {
            bar.set_style(style);
        }
        bar.set_position(done);
        bar.reset_eta();
        Self { bar }
    }

    /// One more is done.
    pub fn one_more(&mut self) {
        self.bar.inc(1);
    }

    /// Takes the bar away.
    pub fn clear(self) {
        self.bar.finish_and_clear();
    }

    /// Takes the bar away and says how it went.
    pub fn finish(self, summary: &str) {
        self.bar.finish_and_clear();
        // Nothing can be done where standard error itself is gone.
        let _ = writeln!(anstream::stderr(), "{summary}");
    }
}
