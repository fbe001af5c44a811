//! How far it is, for whoever watches a terminal.

use std::io::IsTerminal;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressFinish, ProgressStyle};

/// A line on standard error with rows done, rows a second and time left; nothing if that is no terminal.
pub(super) struct Bar(Option<ProgressBar>);

const LINE: &str = "{wide_bar} {pos}/{len} rows, {per_sec:1}, {eta} left{msg}";

impl Bar {
    /// `done` of `rows` are there already.
    pub fn new(wanted: bool, done: u64, rows: u64) -> Bar {
        if !wanted || !std::io::stderr().is_terminal() {
            return Bar(None);
        }
        // drawn by the thread that writes rows, five times a second at most
        let bar = ProgressBar::with_draw_target(Some(rows), ProgressDrawTarget::stderr_with_hz(5));
        let style = ProgressStyle::with_template(LINE).unwrap_or_else(|_| ProgressStyle::default_bar());
        let bar = bar.with_style(style).with_finish(ProgressFinish::AndClear).with_position(done);
        // rows made earlier say nothing about the speed of today
        bar.reset_eta();
        Bar(Some(bar))
    }

    /// One row more.
    pub fn row(&self) {
        if let Some(bar) = &self.0 {
            bar.inc(1);
        }
    }

    /// Time has passed.
    pub fn idle(&self, stopping: bool) {
        if let Some(bar) = &self.0 {
            if stopping {
                bar.set_message(", finishing what was begun");
            }
            bar.tick();
        }
    }
}
