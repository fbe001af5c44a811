//! Tails of the distributions that intervals are made of.

use crate::root::bracketed;
use statrs::function::beta::checked_beta_reg;

/// Share of a beta distribution with parameters `a` and `b`, both above zero,
/// that lies below `x`; NaN for parameters that make none.
pub fn beta_below(a: f64, b: f64, x: f64) -> f64 {
    checked_beta_reg(a, b, x).unwrap_or(f64::NAN)
}

/// The value that a share `p` of a beta distribution lies below; `None` for
/// parameters that make none.
///
/// The root is bracketed: the library's own inverse is a Newton search that
/// never ends where its first guess overflows, as with 1 of 10⁸.
pub fn beta_quantile(a: f64, b: f64, p: f64) -> Option<f64> {
    bracketed(|x| beta_below(a, b, x) - p, 0.0, 1.0)
}

/// Half-width, in standard errors, of Student's interval with `freedom`
/// degrees of freedom.
///
/// From t² / (ν + t²), which is beta distributed with ½ and ν/2. `None` for a
/// freedom or confidence that makes none.
pub fn student_t(confidence: f64, freedom: f64) -> Option<f64> {
    let share = beta_quantile(0.5, 0.5 * freedom, confidence)?;
    Some((freedom * share / (1.0 - share)).sqrt()).filter(|t| t.is_finite())
}

/// Probability of at least `k` hits in `n` tries at `p` each.
pub fn binomial_at_least(k: u64, n: u64, p: f64) -> f64 {
    match k {
        0 => 1.0,
        k if k > n => 0.0,
        k => beta_below(k as f64, (n - k) as f64 + 1.0, p),
    }
}

#[cfg(test)]
mod tests {
    use super::{beta_below, beta_quantile, binomial_at_least, student_t};

    #[test]
    fn beta_quantiles_follow_the_closed_form_to_a_hundred_million() {
        // Beta(1, n) lies below 1 − (1 − p)^(1/n). The library's tail subtracts log-gammas of size n ln n:
        // 2e9 at n = 1e8, known to 2e-16 of it. Its absolute error passes into the tail.
        for (n, tolerance) in [(1.0, 1e-13), (20.0, 1e-13), (1e3, 1e-11), (1e6, 1e-8), (1e8, 1e-6)] {
            for p in [0.0005, 0.025, 0.5, 0.975, 0.9995] {
                let expected = -f64::exp_m1(f64::ln_1p(-p) / n);
                let found = beta_quantile(1.0, n, p).unwrap();
                assert!((found / expected - 1.0).abs() < tolerance, "{n} {p}: {found} {expected}");
            }
        }
    }

    #[test]
    fn student_t_follows_its_closed_forms() {
        for confidence in [0.5, 0.9, 0.95, 0.99, 0.9999] {
            // ν = 1: tan(π c/2); ν = 2: c √(2/(1 − c²)); round-off of 1 − share near 1
            let one = student_t(confidence, 1.0).unwrap();
            let cauchy = (0.5 * std::f64::consts::PI * confidence).tan();
            assert!((one / cauchy - 1.0).abs() < 1e-7, "{confidence}: {one} {cauchy}");
            let two = student_t(confidence, 2.0).unwrap();
            let closed = confidence * (2.0 / (1.0 - confidence * confidence)).sqrt();
            assert!((two / closed - 1.0).abs() < 1e-9, "{confidence}: {two} {closed}");
        }
    }

    #[test]
    fn binomial_tails_are_sums() {
        // 5 tries at 0.3: 1 − 0.7⁵; ten products at most, so round-off
        assert!((binomial_at_least(1, 5, 0.3) - (1.0 - 0.7f64.powi(5))).abs() < 1e-14);
        assert!((binomial_at_least(5, 5, 0.3) - 0.3f64.powi(5)).abs() < 1e-14);
        assert_eq!((binomial_at_least(0, 5, 0.3), binomial_at_least(6, 5, 0.3)), (1.0, 0.0));
    }

    #[test]
    fn nonsense_gives_none_and_always_ends() {
        assert_eq!(beta_quantile(-1.0, 2.0, 0.5), None);
        assert_eq!(beta_quantile(1.0, f64::NAN, 0.5), None);
        assert_eq!(student_t(f64::NAN, 3.0), None);
        assert_eq!(student_t(0.95, 0.0), None);
        assert!(beta_below(0.0, 0.0, 0.5).is_nan());
    }
}
