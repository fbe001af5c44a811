//! Where workers get numbers and hand in rows, and the writer takes them in order.
//!
//! One lock around a ring of places does what a counter, a bounded channel and a reorder buffer would do
//! together, and its bound is plain to see: a place is given out with a number and is free again when the
//! writer has taken the row. Whoever holds the lowest number never waits, so there is always progress.

use std::cell::Cell;
use std::collections::VecDeque;
use std::ops::Range;
use std::rc::Rc;
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::time::Duration;

use super::stop::Stop;

/// The work as all threads see it.
pub(super) struct Shared {
    ring: Mutex<Ring>,
    /// The first row has come in, or a worker has left.
    ready: Condvar,
    /// A place has become free, or there is no more work.
    room: Condvar,
    stop: Stop,
    rows: Range<u64>,
    window: usize,
}

struct Ring {
    /// Rows given out and not yet taken, from number `base` on; `None` while a worker is at it.
    places: VecDeque<Option<Vec<u8>>>,
    base: u64,
    /// No more numbers are given out.
    halted: bool,
    /// Workers that have not returned.
    working: usize,
    /// Most rows that ever were in the ring at once.
    most: usize,
}

/// What the writer finds.
pub(super) enum Ready {
    /// The next rows in order, the first with this number.
    Rows(u64),
    /// Nothing yet.
    Wait,
    /// All workers have left, and no further row can come.
    End,
}

impl Shared {
    pub fn new(rows: Range<u64>, window: usize, working: usize, stop: &Stop) -> Shared {
        let ring = Ring { places: VecDeque::new(), base: rows.start, halted: false, working, most: 0 };
        let stop = stop.clone();
        Shared { ring: Mutex::new(ring), ready: Condvar::new(), room: Condvar::new(), stop, rows, window }
    }

    fn ring(&self) -> MutexGuard<'_, Ring> {
        // no foreign code runs under the lock, so what it guards is whole even if a thread died
        self.ring.lock().unwrap_or_else(|broken| broken.into_inner())
    }

    /// A number that nobody has; waits for room. `None` when there is nothing left.
    fn number(&self) -> Option<u64> {
        let mut ring = self.ring();
        loop {
            let next = ring.base + ring.places.len() as u64;
            if self.stop.now(next - self.rows.start) && !ring.halted {
                ring.halted = true;
                self.room.notify_all();
            }
            if ring.halted || next >= self.rows.end {
                return None;
            }
            if ring.places.len() < self.window {
                ring.places.push_back(None);
                ring.most = ring.most.max(ring.places.len());
                return Some(next);
            }
            ring = self.room.wait(ring).unwrap_or_else(|broken| broken.into_inner());
        }
    }

    fn hand_in(&self, number: u64, row: Vec<u8>) {
        let mut ring = self.ring();
        let place = number.checked_sub(ring.base).and_then(|i| usize::try_from(i).ok());
        if let Some(place) = place.and_then(|i| ring.places.get_mut(i)) {
            *place = Some(row);
        }
        if number == ring.base {
            self.ready.notify_one();
        }
    }

    /// No more numbers; who waits for one is told.
    pub fn halt(&self) {
        self.ring().halted = true;
        self.room.notify_all();
    }

    /// A worker has returned.
    pub fn leave(&self) {
        self.ring().working -= 1;
        self.ready.notify_one();
    }

    /// Moves the rows that are next in order to `out`; waits at most `patience` for the first.
    pub fn collect(&self, out: &mut Vec<Vec<u8>>, patience: Duration) -> Ready {
        let mut ring = self.ring();
        if !matches!(ring.places.front(), Some(Some(_))) {
            if ring.working == 0 {
                return Ready::End;
            }
            // a flag that a signal sets wakes nobody: whoever waits for room learns of it here
            if !ring.halted && self.stop.now(ring.base + ring.places.len() as u64 - self.rows.start) {
                ring.halted = true;
                self.room.notify_all();
            }
            let waited = self.ready.wait_timeout(ring, patience);
            ring = waited.unwrap_or_else(|broken| broken.into_inner()).0;
        }
        let first = ring.base;
        while let Some(Some(_)) = ring.places.front() {
            out.extend(ring.places.pop_front().flatten());
            ring.base += 1;
        }
        if out.is_empty() {
            return Ready::Wait;
        }
        self.room.notify_all();
        Ready::Rows(first)
    }

    /// Whether the end was asked for.
    pub fn stopped(&self) -> bool {
        let ring = self.ring();
        self.stop.now(ring.base + ring.places.len() as u64 - self.rows.start)
    }

    /// Most rows that ever were given out and not yet taken.
    pub fn most(&self) -> usize {
        self.ring().most
    }
}

/// One worker's place: numbers come from here, rows go back here.
///
/// It borrows nothing, and copies of it are the same place, so that functions which a script calls can hold one.
/// A copy that outlives the work finds nothing left to do.
#[derive(Clone)]
pub struct Desk {
    shared: Arc<Shared>,
    /// The number this worker has been given and not handed in.
    held: Rc<Cell<Option<u64>>>,
}

impl Desk {
    pub(super) fn new(shared: &Arc<Shared>) -> Desk {
        Desk { shared: shared.clone(), held: Rc::default() }
    }

    /// Calls `row` with one number after the other until there is nothing left or the work stops.
    ///
    /// `row` gives the whole row with its line end. If it gives nothing at all, this worker gives up: `serve`
    /// returns, no further rows are begun anywhere, and the error that the worker then returns is told as that
    /// of this row. A panic in `row` passes through and ends the work of the others in the same way.
    pub fn serve(&self, row: &mut dyn FnMut(u64) -> Vec<u8>) {
        let halt = Halt(&self.shared);
        while let Some(number) = self.shared.number() {
            self.held.set(Some(number));
            let made = row(number);
            if made.is_empty() {
                return;
            }
            self.held.set(None);
            self.shared.hand_in(number, made);
        }
        // ends as it should: the others still have rows in flight, which are not disturbed
        std::mem::forget(halt);
    }

    /// The number given out and never handed in.
    pub(super) fn held(&self) -> Option<u64> {
        self.held.get()
    }
}

/// Halts the work when dropped: also while a panic passes through.
pub(super) struct Halt<'a>(pub &'a Shared);

impl Drop for Halt<'_> {
    fn drop(&mut self) {
        self.0.halt();
    }
}
