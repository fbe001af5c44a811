//! Clamps and blends with a continuous first derivative.
//!
//! A right-hand side built from these has no corners, so an adaptive
//! integrator keeps its order where a regime begins or ends.

/// Smoothstep `x² (3 − 2x)` on [0, 1], 0 below and 1 above; slope 0 at both ends.
pub fn smoothstep(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * (3.0 - 2.0 * x)
}

/// A smoothstep whose slope has no corner either: `x⁴ (35 − 84x + 70x² − 20x³)` on [0, 1], 0 below
/// and 1 above; the first three derivatives are 0 at both ends.
///
/// For what moves with a body fast or is differentiated, such as an added mass whose rate is a
/// force: there the corners in the slope of [`smoothstep`] would pass under the error control of
/// an integrator.
pub fn smootherstep(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    let x2 = x * x;
    x2 * x2 * (35.0 + x * (x * (70.0 - 20.0 * x) - 84.0))
}

/// Slope of [`smootherstep`], `140 x³ (1 − x)³`.
pub fn smootherstep_slope(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    let y = x * (1.0 - x);
    140.0 * y * y * y
}

/// Positive part of `x`, rounded over ±`width`: exactly 0 below `−width`,
/// exactly `x` above `width`, a parabola between. Same unit as `x`.
pub fn positive(x: f64, width: f64) -> f64 {
    if x <= -width {
        0.0
    } else if x >= width {
        x
    } else {
        (x + width) * (x + width) / (4.0 * width)
    }
}

/// `x` held between `low` and `high`, each corner rounded over ±`width`.
/// Needs `high − low ≥ 2 width`.
pub fn clamp(x: f64, low: f64, high: f64, width: f64) -> f64 {
    low + positive(x - low, width) - positive(x - high, width)
}

/// The larger of `a` and `b`, rounded where they differ by less than `width`.
pub fn max(a: f64, b: f64, width: f64) -> f64 {
    b + positive(a - b, width)
}

/// The smaller of `a` and `b`, rounded where they differ by less than `width`.
pub fn min(a: f64, b: f64, width: f64) -> f64 {
    a - positive(a - b, width)
}

/// `x` while small, approaching ±`limit` smoothly: `limit · tanh(x / limit)`.
pub fn saturate(x: f64, limit: f64) -> f64 {
    limit * (x / limit).tanh()
}

/// |x| with its corner at 0 rounded over ±`width`: even, exactly |x| beyond.
pub fn magnitude(x: f64, width: f64) -> f64 {
    positive(x, width) + positive(-x, width)
}

/// Sign of `x` that passes through 0 linearly over ±`width`, as a smoothstep from −1 to 1.
pub fn sign(x: f64, width: f64) -> f64 {
    2.0 * smoothstep(0.5 + 0.5 * x / width) - 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Largest jump of the numerical slope on a fine grid around the corners.
    fn slope_jump(f: impl Fn(f64) -> f64) -> f64 {
        let h = 1e-5;
        let slope = |x: f64| (f(x + h) - f(x - h)) / (2.0 * h);
        (0..40_000)
            .map(|i| -2.0 + i as f64 * 1e-4)
            .map(|x| (slope(x + 1e-4) - slope(x)).abs())
            .fold(0.0, f64::max)
    }

    #[test]
    fn slopes_are_continuous() {
        // A C1 function's slope moves by (second derivative) × 1e-4 ≤ 1e-3 here.
        assert!(slope_jump(smoothstep) < 1e-3);
        assert!(slope_jump(smootherstep) < 1e-3);
        // the slope's own second derivative is at most 52.5, in the middle
        assert!(slope_jump(smootherstep_slope) < 6e-3);
        assert!(slope_jump(|x| positive(x, 0.1)) < 1e-3);
        assert!(slope_jump(|x| clamp(x, -1.0, 1.0, 0.1)) < 1e-3);
        assert!(slope_jump(|x| max(x, 0.3, 0.1)) < 1e-3);
        assert!(slope_jump(|x| min(x, 0.3, 0.1)) < 1e-3);
        assert!(slope_jump(|x| magnitude(x, 0.1)) < 2e-3);
        assert!(slope_jump(|x| sign(x, 0.5)) < 3e-3);
    }

    #[test]
    fn the_slope_of_the_smoother_step_is_its_derivative() {
        for x in [-0.1, 0.0, 0.2, 0.5, 0.9, 1.0, 1.3] {
            let h = 1e-5;
            let slope = (smootherstep(x + h) - smootherstep(x - h)) / (2.0 * h);
            // central difference: third derivative (at most 53) times h²/6
            assert!((slope - smootherstep_slope(x)).abs() < 1e-8, "{x}");
        }
        assert_eq!((smootherstep(0.0), smootherstep(0.5), smootherstep(1.0)), (0.0, 0.5, 1.0));
    }

    #[test]
    fn exact_away_from_corners() {
        assert_eq!(positive(0.2, 0.1), 0.2);
        assert_eq!(positive(-0.2, 0.1), 0.0);
        assert_eq!(clamp(0.5, 0.0, 1.0, 0.1), 0.5);
        assert_eq!(clamp(3.0, 0.0, 1.0, 0.1), 1.0);
        assert_eq!(max(2.0, 1.0, 0.1), 2.0);
        assert_eq!(min(2.0, 1.0, 0.1), 1.0);
        assert_eq!(magnitude(-2.0, 0.1), 2.0);
    }
}
