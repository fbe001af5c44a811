//! Roots of one function of one variable, bracketed.

/// Root of `f` between `a` and `b`, where `f(a)` and `f(b)` differ in sign.
///
/// Brent's method, run down to round-off of `x`, so that the result does not
/// depend on any earlier call. Returns the end nearer to zero where there is
/// no sign change (the caller checks which limit it sits on) and `None` where
/// `f` is not finite.
///
/// # Source
/// R. P. Brent, *Algorithms for Minimization without Derivatives* (1973), ch. 4.
pub fn bracketed(mut f: impl FnMut(f64) -> f64, a: f64, b: f64) -> Option<f64> {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    if !(fa.is_finite() && fb.is_finite()) {
        return None;
    }
    if fa == 0.0 {
        return Some(a);
    }
    if fb == 0.0 {
        return Some(b);
    }
    if fa.signum() == fb.signum() {
        return Some(if fa.abs() < fb.abs() { a } else { b });
    }
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut previous = step;
    for _ in 0..200 {
        // keep b the best guess and c on the other side of the root
        if fb.signum() == fc.signum() {
            (c, fc) = (a, fa);
            step = b - a;
            previous = step;
        }
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let tolerance = 2.0 * f64::EPSILON * b.abs() + f64::MIN_POSITIVE;
        let half = 0.5 * (c - b);
        if half.abs() <= tolerance || fb == 0.0 {
            return Some(b);
        }
        if previous.abs() >= tolerance && fa.abs() > fb.abs() {
            // secant or inverse quadratic step, accepted only if it stays well inside
            let s = fb / fa;
            let (mut p, mut q) = if a == c {
                (2.0 * half * s, 1.0 - s)
            } else {
                let (q, r) = (fa / fc, fb / fc);
                (s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
            };
            if p > 0.0 {
                q = -q;
            } else {
                p = -p;
            }
            if 2.0 * p < (3.0 * half * q - (tolerance * q).abs()).min((previous * q).abs()) {
                previous = step;
                step = p / q;
            } else {
                step = half;
                previous = half;
            }
        } else {
            step = half;
            previous = half;
        }
        (a, fa) = (b, fb);
        b += if step.abs() > tolerance { step } else { tolerance.copysign(half) };
        fb = f(b);
        if !fb.is_finite() {
            return None;
        }
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::bracketed;

    #[test]
    fn finds_known_roots() {
        let root = bracketed(|x| x * x - 2.0, 0.0, 2.0).unwrap();
        // two units in the last place: the stopping rule
        assert!((root - 2f64.sqrt()).abs() < 1e-15);
        let kink = bracketed(|x: f64| (x - 0.3).max(10.0 * (x - 0.3)), -1.0, 1.0).unwrap();
        assert!((kink - 0.3).abs() < 1e-15);
    }

    #[test]
    fn without_a_sign_change_the_nearer_end_is_returned() {
        assert_eq!(bracketed(|x| x + 3.0, 0.0, 1.0), Some(0.0));
    }

    #[test]
    fn a_non_finite_function_is_refused() {
        assert_eq!(bracketed(|x: f64| (x - 0.5).ln(), 0.0, 1.0), None);
    }
}
