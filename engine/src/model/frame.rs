//! The numbers of one evaluation, and the handles that reach them.

use std::ops::{Index, IndexMut, Range};
use std::sync::Arc;

/// Place of a quantity in a frame.
pub(crate) type Slot = u32;

/// Handle to a quantity that may be read.
#[derive(Debug, Clone, Copy)]
pub struct In(pub(crate) Slot);

/// Handle to a quantity that its owner writes.
#[derive(Debug, Clone, Copy)]
pub struct Out(pub(crate) Slot);

/// Handle to a published function of one variable.
#[derive(Debug, Clone, Copy)]
pub struct Law(pub(crate) u32);

pub(crate) type LawFn = Arc<dyn Fn(&Frame, f64) -> f64 + Send + Sync>;

/// What the running equation may touch; checked only in an audit, and only in debug builds.
#[cfg(debug_assertions)]
pub(crate) struct Guard<'a> {
    pub reads: &'a [Slot],
    pub writes: &'a [Slot],
    pub name: &'a str,
}

/// All quantities at one instant. Indexed with handles: `at[force] = 0.5 * at[mass]`.
pub struct Frame<'a> {
    slots: &'a mut [f64],
    laws: &'a [LawFn],
    #[cfg(debug_assertions)]
    guard: Option<&'a Guard<'a>>,
}

impl<'a> Frame<'a> {
    pub(crate) fn new(slots: &'a mut [f64], laws: &'a [LawFn]) -> Frame<'a> {
        Frame {
            slots,
            laws,
            #[cfg(debug_assertions)]
            guard: None,
        }
    }

    #[cfg(debug_assertions)]
    pub(crate) fn guarded(slots: &'a mut [f64], laws: &'a [LawFn], guard: &'a Guard<'a>) -> Frame<'a> {
        Frame { slots, laws, guard: Some(guard) }
    }

    /// Value at `x` of a law that another part publishes.
    pub fn call(&self, law: Law, x: f64) -> f64 {
        // a law has declared its own reads, so the caller's guard does not apply inside it
        (self.laws[law.0 as usize])(self, x)
    }

    /// Adds neighbouring slots to `sum`, one after the other.
    pub(crate) fn add_up(&self, sum: f64, slots: Range<usize>) -> f64 {
        #[cfg(debug_assertions)]
        slots.clone().for_each(|slot| self.may_read(slot as Slot));
        self.slots[slots].iter().fold(sum, |sum, value| sum + value)
    }

    #[cfg(debug_assertions)]
    fn may_read(&self, slot: Slot) {
        if let Some(guard) = self.guard {
            assert!(
                guard.reads.contains(&slot) || guard.writes.contains(&slot),
                "{} reads a quantity that it has not declared",
                guard.name
            );
        }
    }

    #[cfg(debug_assertions)]
    fn may_write(&self, slot: Slot) {
        if let Some(guard) = self.guard {
            assert!(
                guard.writes.contains(&slot),
                "{} writes a quantity that it has not declared",
                guard.name
            );
        }
    }
}

impl Index<In> for Frame<'_> {
    type Output = f64;
    #[inline]
    fn index(&self, handle: In) -> &f64 {
        #[cfg(debug_assertions)]
        self.may_read(handle.0);
        &self.slots[handle.0 as usize]
    }
}

impl Index<Out> for Frame<'_> {
    type Output = f64;
    #[inline]
    fn index(&self, handle: Out) -> &f64 {
        #[cfg(debug_assertions)]
        self.may_read(handle.0);
        &self.slots[handle.0 as usize]
    }
}

impl IndexMut<Out> for Frame<'_> {
    #[inline]
    fn index_mut(&mut self, handle: Out) -> &mut f64 {
        #[cfg(debug_assertions)]
        self.may_write(handle.0);
        &mut self.slots[handle.0 as usize]
    }
}
