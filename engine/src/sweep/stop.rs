//! When to stop before all rows are made.

use std::io;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

/// What asks the work to end early. Rows in flight are finished and written; no new ones are begun.
#[derive(Debug, Clone)]
pub struct Stop(Reason);

#[derive(Debug, Clone)]
enum Reason {
    Never,
    After(u64),
    Asked(&'static AtomicBool),
}

/// A signal belongs to the process, and so does what it sets.
static ASKED: AtomicBool = AtomicBool::new(false);
static LISTENING: Mutex<bool> = Mutex::new(false);

impl Stop {
    /// Nothing stops the work.
    pub fn never() -> Stop {
        Stop(Reason::Never)
    }

    /// Stops when `rows` rows have been begun.
    pub fn after(rows: u64) -> Stop {
        Stop(Reason::After(rows))
    }

    /// Stops at the first Ctrl-C; the second one leaves the process at once with exit code 130.
    ///
    /// Only the interrupt from the keyboard is caught: a hang-up that `nohup` silenced must stay silent.
    ///
    /// # Errors
    /// The system refuses the handler.
    pub fn on_ctrl_c() -> io::Result<Stop> {
        let mut listening = LISTENING.lock().unwrap_or_else(|broken| broken.into_inner());
        if !*listening {
            ctrlc::set_handler(|| {
                if ASKED.swap(true, Ordering::SeqCst) {
                    std::process::exit(130);
                }
            })
            .map_err(io::Error::other)?;
            *listening = true;
        }
        Ok(Stop(Reason::Asked(&ASKED)))
    }

    /// Whether to stop, given how many rows have been begun.
    pub(super) fn now(&self, begun: u64) -> bool {
        match &self.0 {
            Reason::Never => false,
            Reason::After(rows) => begun >= *rows,
            Reason::Asked(flag) => flag.load(Ordering::SeqCst),
        }
    }
}
