//! The demo flight behind C functions, so that solvers in other languages can
//! integrate the very same right-hand side, and be timed beside the engine.
//!
//! States and rates are divided by the usual sizes of the states: what the
//! engine's own integrator sees. One tolerance then serves as the relative and
//! as the absolute one, in every solver.

mod demo;
mod explicit;
mod methods;
#[path = "../../monolith/mod.rs"]
mod monolith;

use std::panic::{self, AssertUnwindSafe};
use std::slice;

use demo::{HORIZON, STAGE};
use monolith::rates::{STATES, State};

/// States that feed back; the others are running integrals and move nothing.
const MOVING: [usize; 17] = [0, 1, 2, 3, 4, 5, 6, 7, 62, 63, 64, 65, 66, 67, 68, 69, 70];

/// Number of states.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported: a name that C can link to
pub extern "C" fn flight_size() -> usize {
    STATES
}

/// End of the flight, s.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported
pub extern "C" fn flight_horizon() -> f64 {
    HORIZON
}

/// The engine's tolerance where nobody chooses another.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported
pub extern "C" fn flight_tolerance() -> f64 {
    engine::run::Options::default().tolerance
}

/// Writes the places of the states that feed back to `places`, room for all
/// states; returns how many there are.
///
/// # Safety
/// `places` has room for [`flight_size`] numbers.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported, and C gives no slices
pub unsafe extern "C" fn flight_moving(places: *mut usize) -> usize {
    let places = unsafe { slice::from_raw_parts_mut(places, STATES) };
    places[..MOVING.len()].copy_from_slice(&MOVING);
    MOVING.len()
}

/// Writes the settled states at time 0.
///
/// # Safety
/// `y` has room for [`flight_size`] numbers.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported, and C gives no slices
pub unsafe extern "C" fn flight_start(y: *mut f64) {
    *unsafe { &mut *y.cast::<State>() } = STAGE.start;
}

/// The fused right-hand side; returns 0, or 1 where it has no value, as for states
/// far outside of what can happen, which a solver may try and should take back.
///
/// # Safety
/// `y` and `dy` hold [`flight_size`] numbers each and do not overlap.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported, and C gives no slices
pub unsafe extern "C" fn flight_rate(t: f64, y: *const f64, dy: *mut f64) -> i32 {
    let (y, dy) = unsafe { (&*y.cast::<State>(), &mut *dy.cast::<State>()) };
    // a panic must not reach C; nothing that it could leave half done is read again
    let found = panic::catch_unwind(AssertUnwindSafe(|| STAGE.rates(t, y, dy)));
    i32::from(found.is_err())
}

/// The engine's run; returns its evaluations, 0 where it broke off.
///
/// # Safety
/// `end` has room for [`flight_size`] numbers.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported, and C gives no slices
pub unsafe extern "C" fn flight_engine(tolerance: f64, end: *mut f64) -> usize {
    let Some((evaluations, y)) = STAGE.engine(tolerance) else { return 0 };
    *unsafe { &mut *end.cast::<State>() } = y;
    evaluations
}

/// The fused program's flight at [`flight_tolerance`]; returns its evaluations.
///
/// # Safety
/// `end` has room for [`flight_size`] numbers.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported, and C gives no slices
pub unsafe extern "C" fn flight_fused(end: *mut f64) -> usize {
    let (evaluations, y) = STAGE.fused();
    *unsafe { &mut *end.cast::<State>() } = y;
    evaluations
}

/// A bare explicit method on the fused right-hand side: 0 Dormand–Prince 5(4),
/// 1 Tsitouras 5(4), 2 Dormand–Prince 8(5,3), 3 Cash–Karp 5(4). Returns its
/// evaluations, 0 where it broke off.
///
/// # Safety
/// `end` has room for [`flight_size`] numbers.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported, and C gives no slices
pub unsafe extern "C" fn flight_fast(method: usize, tolerance: f64, end: *mut f64) -> usize {
    let Some(&method) = methods::ALL.get(method) else { return 0 };
    let rates = |t: f64, y: &State, dy: &mut State| STAGE.rates(t, y, dy);
    let Some((evaluations, y)) = explicit::integrate(method, &rates, HORIZON, &STAGE.start, tolerance) else {
        return 0;
    };
    *unsafe { &mut *end.cast::<State>() } = y;
    evaluations
}

/// Coefficients of a method of [`flight_fast`], for solvers that take them: times
/// of the stages, weights of the stages before (row by row), weights in the new
/// state and in the embedded one. Returns the number of stages, 0 for no such method.
///
/// # Safety
/// Room for 13 numbers each, 169 for `a`.
#[unsafe(no_mangle)]
#[allow(unsafe_code)] // exported, and C gives no slices
pub unsafe extern "C" fn flight_method(
    method: usize,
    c: *mut f64,
    a: *mut f64,
    b: *mut f64,
    embedded: *mut f64,
) -> usize {
    let Some(method) = methods::ALL.get(method) else { return 0 };
    let stages = method.error.len();
    let (c, a, b, embedded) = unsafe {
        (
            slice::from_raw_parts_mut(c, stages),
            slice::from_raw_parts_mut(a, stages * stages),
            slice::from_raw_parts_mut(b, stages),
            slice::from_raw_parts_mut(embedded, stages),
        )
    };
    c.fill(1.0);
    c[0] = 0.0;
    c[1..=method.c.len()].copy_from_slice(method.c);
    a.fill(0.0);
    // the rate at the new state, where it counts, is a stage with the weights of that state
    for (i, weights) in method.a.iter().chain([&method.b]).enumerate().take(stages - 1) {
        a[(i + 1) * stages..][..weights.len()].copy_from_slice(weights);
    }
    b.fill(0.0);
    b[..method.b.len()].copy_from_slice(method.b);
    for ((embedded, b), error) in embedded.iter_mut().zip(b.iter()).zip(method.error) {
        *embedded = b - error;
    }
    stages
}

#[cfg(test)]
mod tests {
    use super::{MOVING, STAGE, STATES};

    /// Solvers that set the running integrals apart rely on this.
    #[test]
    fn running_integrals_move_nothing() {
        let rates = |y: &super::State| {
            let mut dy = [0.0; STATES];
            STAGE.rates(2.0, y, &mut dy);
            dy
        };
        let here = rates(&STAGE.start);
        for i in 0..STATES {
            let mut beside = STAGE.start;
            beside[i] += 0.01;
            let moved = rates(&beside) != here;
            assert!(!moved || MOVING.contains(&i), "state {i} feeds back");
        }
    }
}
