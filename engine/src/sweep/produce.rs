//! Rows made on many threads, taken in order on one.

use std::any::Any;
use std::io;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

use super::desk::{Desk, Halt, Ready, Shared};
use super::error::Broken;
use super::stop::Stop;

/// So many rows for each thread may be begun and not yet taken: enough that one slow row holds nobody up for
/// long, few enough that rows which wait for it take no memory to speak of.
pub const AHEAD: usize = 64;

/// The writer looks up this often while no row comes: to flush, and to see a stop that was asked for.
const PATIENCE: Duration = Duration::from_millis(100);

/// As deep a stack as the main thread of a program commonly has: what runs there runs here.
const STACK: usize = 8 << 20;

/// What has been produced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Rows taken, without a gap from the first.
    pub rows: u64,
    /// Rows that were asked for.
    pub of: u64,
    /// Most rows that were begun and not yet taken at any time.
    pub most_ahead: usize,
}

impl Progress {
    /// Whether no row is missing.
    pub fn whole(&self) -> bool {
        self.rows == self.of
    }
}

/// Where rows go, on the calling thread.
pub(super) trait Taker {
    /// Takes one row; they come in order.
    fn take(&mut self, number: u64, row: &[u8]) -> io::Result<()>;
    /// Called often, also while no row comes.
    fn idle(&mut self, stopping: bool) -> io::Result<()>;
}

struct Take<'a>(&'a mut dyn FnMut(u64, &[u8]) -> io::Result<()>);

impl Taker for Take<'_> {
    fn take(&mut self, number: u64, row: &[u8]) -> io::Result<()> {
        (self.0)(number, row)
    }
    fn idle(&mut self, _stopping: bool) -> io::Result<()> {
        Ok(())
    }
}

/// Runs `worker` once on each of `threads` threads (at least one, and no more than there are rows) and hands
/// the rows it makes to `take`, in order, on the calling thread. With no rows nothing is run.
///
/// The threads are its own and not those of a pool: they wait for one another, which must not stall work of
/// others in the same pool, and each has the stack of a main thread, since scripts recurse.
///
/// # Errors
/// A worker fails or panics, or `take` refuses a row: no row is begun any more, and all rows before the first
/// one that failed have been taken. Of several failures that of the lowest row is told.
pub fn produce<E: Send>(
    rows: Range<u64>,
    threads: usize,
    stop: &Stop,
    worker: &(dyn Fn(&Desk) -> Result<(), E> + Sync),
    take: &mut dyn FnMut(u64, &[u8]) -> io::Result<()>,
) -> Result<Progress, Broken<E>> {
    produce_for(rows, threads, stop, worker, &mut Take(take))
}

/// How one worker ended, and the row it held then.
struct Ended<E> {
    row: Option<u64>,
    thread: usize,
    result: Result<Result<(), E>, Box<dyn Any + Send>>,
}

pub(super) fn produce_for<E: Send>(
    rows: Range<u64>,
    threads: usize,
    stop: &Stop,
    worker: &(dyn Fn(&Desk) -> Result<(), E> + Sync),
    taker: &mut dyn Taker,
) -> Result<Progress, Broken<E>> {
    let of = rows.end.saturating_sub(rows.start);
    if of == 0 {
        return Ok(Progress { rows: 0, of, most_ahead: 0 });
    }
    let threads = threads.clamp(1, usize::try_from(of).unwrap_or(usize::MAX));
    let shared = Arc::new(Shared::new(rows.clone(), threads.saturating_mul(AHEAD), threads, stop));
    let ended = Mutex::new(Vec::new());
    let job = |thread: usize| {
        let desk = Desk::new(&shared);
        let result = catch_unwind(AssertUnwindSafe(|| worker(&desk)));
        let row = desk.held();
        if row.is_some() || !matches!(result, Ok(Ok(()))) {
            shared.halt();
        }
        ended.lock().unwrap_or_else(|broken| broken.into_inner()).push(Ended { row, thread, result });
        shared.leave();
    };
    let job = &job;
    let taken = thread::scope(|scope| {
        // should this thread leave early, for whatever reason, the workers must not wait for it
        let _halt = Halt(&shared);
        for i in 0..threads {
            let thread = thread::Builder::new().name(format!("row maker {}", i + 1)).stack_size(STACK);
            if let Err(error) = thread.spawn_scoped(scope, move || job(i)) {
                return Err(Broken::Threads { wanted: threads, error });
            }
        }
        take_all(&shared, rows.start, taker)
    })?;
    let ended = ended.into_inner().unwrap_or_else(|broken| broken.into_inner());
    if let Some(broken) = first_failure(ended) {
        return Err(broken);
    }
    if taken < of && !shared.stopped() {
        return Err(Broken::Unserved { rows: taken, of });
    }
    Ok(Progress { rows: taken, of, most_ahead: shared.most() })
}

/// Takes rows until no more can come; how many there were.
fn take_all<E>(shared: &Shared, start: u64, taker: &mut dyn Taker) -> Result<u64, Broken<E>> {
    let mut batch = Vec::new();
    let mut next = start;
    loop {
        match shared.collect(&mut batch, PATIENCE) {
            Ready::End => return Ok(next - start),
            Ready::Wait => {}
            Ready::Rows(first) => {
                next = first;
                for row in batch.drain(..) {
                    taker.take(next, &row).map_err(|error| Broken::Taking { row: next, error })?;
                    next += 1;
                }
            }
        }
        taker.idle(shared.stopped()).map_err(|error| Broken::Taking { row: next, error })?;
    }
}

/// Numbers are given out in order and rows in flight are finished, so the lowest row that fails is the same on
/// any number of threads. What fails outside of any row comes last: it is often only a consequence.
fn first_failure<E>(mut ended: Vec<Ended<E>>) -> Option<Broken<E>> {
    ended.sort_by_key(|e| (e.row.unwrap_or(u64::MAX), e.thread));
    ended.into_iter().find_map(|Ended { row, result, .. }| match (result, row) {
        (Err(panic), row) => Some(Broken::Panic { row, message: said(panic.as_ref()) }),
        (Ok(Err(error)), row) => Some(Broken::Worker { row, error }),
        (Ok(Ok(())), Some(row)) => Some(Broken::Lost { row }),
        (Ok(Ok(())), None) => None,
    })
}

fn said(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| text.to_string());
    text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "no message".into())
}
