//! Explicit Runge–Kutta steps without an allocation and without anything beside
//! the steps: no record, no happenings. The least that such a method can cost.

/// Most stages, the rate at the new state among them.
const STAGES: usize = 13;
const MAX_STEPS: usize = 1_000_000;
/// As the engine begins, s.
const FIRST_STEP: f64 = 2e-3;

/// Coefficients of a method.
pub struct Method {
    /// Times of the stages after the first, in steps.
    pub c: &'static [f64],
    /// Weights of the stages before, one row for each entry of `c`.
    pub a: &'static [&'static [f64]],
    /// Weights of the stages in the new state.
    pub b: &'static [f64],
    /// Weights in the error; one more than `b` where the rate at the new state counts.
    pub error: &'static [f64],
    /// Weights in a second, cruder error that tempers the first (8(5,3) only).
    pub second: Option<&'static [f64]>,
    /// Power of the step that the error goes with.
    pub power: f64,
    /// Share of the last error in the choice of the step (Hairer, Nørsett, Wanner 1993, II.4).
    pub beta: f64,
}

/// `h` Σ weights · stages.
fn weighted<const N: usize>(h: f64, weights: &[f64], k: &[[f64; N]; STAGES]) -> [f64; N] {
    let mut sum = [0.0; N];
    for (&weight, k) in weights.iter().zip(k) {
        if weight != 0.0 {
            let weight = h * weight;
            for (sum, k) in sum.iter_mut().zip(k) {
                *sum += weight * k;
            }
        }
    }
    sum
}

fn plus<const N: usize>(y: &[f64; N], change: &[f64; N]) -> [f64; N] {
    std::array::from_fn(|i| y[i] + change[i])
}

/// Mean square of `error` against what is tolerated.
fn mean_square<const N: usize>(error: &[f64; N], y: &[f64; N], new: &[f64; N], tolerance: f64) -> f64 {
    let mut sum = 0.0;
    for i in 0..N {
        let of = error[i] / (tolerance * (1.0 + y[i].abs().max(new[i].abs())));
        sum += of * of;
    }
    sum / N as f64
}

/// From time 0 to `end`; returns evaluations and the states there, or nothing
/// where the steps become too short or too many.
pub fn integrate<const N: usize>(
    method: &Method,
    rates: &impl Fn(f64, &[f64; N], &mut [f64; N]),
    end: f64,
    start: &[f64; N],
    tolerance: f64,
) -> Option<(usize, [f64; N])> {
    let last = method.b.len();
    let needs_new = method.error.len() > last;
    let (mut t, mut y, mut h) = (0.0, *start, FIRST_STEP.min(end));
    let mut k = [[0.0; N]; STAGES];
    rates(t, &y, &mut k[0]);
    let (mut evaluations, mut before, mut rejected) = (1, 1e-4_f64, false);
    for _ in 0..MAX_STEPS {
        let to_end = t + 1.01 * h >= end;
        if to_end {
            h = end - t;
        }
        for (i, (c, a)) in method.c.iter().zip(method.a).enumerate() {
            let at = plus(&y, &weighted(h, a, &k));
            rates(t + c * h, &at, &mut k[i + 1]);
        }
        evaluations += method.c.len();
        let new = plus(&y, &weighted(h, method.b, &k));
        if needs_new {
            rates(t + h, &new, &mut k[last]);
            evaluations += 1;
        }
        let mut error = mean_square(&weighted(h, method.error, &k), &y, &new, tolerance);
        error = match method.second {
            None => error.sqrt(),
            Some(weights) => {
                let crude = mean_square(&weighted(h, weights, &k), &y, &new, tolerance);
                let sum = error + 0.01 * crude;
                if sum > 0.0 { error / sum.sqrt() } else { 0.0 }
            }
        };
        // written so that an error that is no number is a rejection
        let accepted = error <= 1.0;
        let power = 1.0 / method.power - 0.75 * method.beta;
        let factor = if error.is_finite() {
            (0.9 * error.max(1e-10).powf(-power) * before.powf(method.beta)).clamp(0.2, 10.0)
        } else {
            0.2
        };
        if accepted {
            t += h;
            y = new;
            if to_end {
                return Some((evaluations, y));
            }
            if needs_new {
                k[0] = k[last];
            } else {
                rates(t, &y, &mut k[0]);
                evaluations += 1;
            }
            before = error.max(1e-4);
            h *= if rejected { factor.min(1.0) } else { factor };
        } else {
            h *= factor.min(1.0);
        }
        rejected = !accepted;
        if h < 1e-12 {
            return None;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::integrate;
    use crate::methods::ALL;

    /// y' = y cos t: y = exp(sin t), which uses time and state.
    fn error(method: usize, tolerance: f64) -> (usize, f64) {
        let rates = |t: f64, y: &[f64; 1], dy: &mut [f64; 1]| dy[0] = y[0] * t.cos();
        let (evaluations, y) = integrate(ALL[method], &rates, 10.0, &[1.0], tolerance).expect("an end");
        (evaluations, (y[0] - 10f64.sin().exp()).abs())
    }

    #[test]
    fn the_error_at_the_end_follows_the_tolerance() {
        for method in 0..ALL.len() {
            for tolerance in [1e-5, 1e-7, 1e-9] {
                let (_, error) = error(method, tolerance);
                // errors of some tens of steps add up, each below the tolerance
                assert!(error < 50.0 * tolerance, "{method}: {error:e} at {tolerance:e}");
            }
        }
    }

    #[test]
    fn the_work_grows_as_the_order_says() {
        // four decades: evaluations grow tenfold per `power` decades
        for (method, power) in [(0, 5.0), (1, 5.0), (2, 8.0), (3, 5.0)] {
            let (few, _) = error(method, 1e-6);
            let (many, _) = error(method, 1e-10);
            let grown = (many as f64 / few as f64).log10() * power / 4.0;
            // start, end and rejections blur it; one order less would give 1.25
            assert!((grown - 1.0).abs() < 0.2, "{method}: {few} → {many}: {grown}");
        }
    }

    #[test]
    fn what_is_no_number_ends_it() {
        let rates = |_: f64, _: &[f64; 1], dy: &mut [f64; 1]| dy[0] = f64::NAN;
        assert!(integrate(ALL[0], &rates, 1.0, &[1.0], 1e-6).is_none());
    }
}
