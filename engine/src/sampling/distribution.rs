//! Distributions of uncertain quantities.

use super::error::SamplingError;
use statrs::function::erf::erfc_inv;
use std::f64::consts::SQRT_2;

/// How an uncertain quantity is distributed. Numbers carry whatever unit the
/// quantity has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Distribution {
    /// Any value between two limits is as likely as any other.
    Uniform {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Any ratio between two limits above zero is as likely as any other.
    LogUniform {
        /// Lower limit, above zero.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Gauss's bell.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation, above zero.
        deviation: f64,
    },
    /// The logarithm is normal: 68 % lie between median/factor and median·factor.
    LogNormal {
        /// Median, above zero.
        median: f64,
        /// One standard deviation as a factor, above 1.
        factor: f64,
    },
    /// Likelihood rises from `low` to `mode` and falls to `high`, both in straight lines.
    Triangular {
        /// Lower limit.
        low: f64,
        /// Likeliest value, between or at the limits.
        mode: f64,
        /// Upper limit.
        high: f64,
    },
}

/// Next to 0 and 1, as near as a coordinate of a draw can come.
const EDGE: f64 = 0.5 * f64::EPSILON;

impl Distribution {
    /// Whether the parameters make a distribution all of whose draws are finite.
    ///
    /// # Errors
    /// The first parameter that does not, with its value.
    pub fn check(&self) -> Result<(), SamplingError> {
        let above_zero = match *self {
            Distribution::Uniform { low, high } => {
                finite("low", low)?;
                finite("high", high)?;
                ordered("low", low, "high", high)?;
                false
            }
            Distribution::LogUniform { low, high } => {
                above("low", low, 0.0)?;
                finite("high", high)?;
                ordered("low", low, "high", high)?;
                true
            }
            Distribution::Normal { mean, deviation } => {
                finite("mean", mean)?;
                above("deviation", deviation, 0.0)?;
                false
            }
            Distribution::LogNormal { median, factor } => {
                above("median", median, 0.0)?;
                above("factor", factor, 1.0)?;
                true
            }
            Distribution::Triangular { low, mode, high } => {
                finite("low", low)?;
                finite("mode", mode)?;
                finite("high", high)?;
                ordered("low", low, "high", high)?;
                if mode < low {
                    ordered("low", low, "mode", mode)?;
                }
                if mode > high {
                    ordered("mode", mode, "high", high)?;
                }
                false
            }
        };
        for value in [self.quantile(EDGE), self.quantile(1.0 - EDGE)] {
            if !value.is_finite() || (above_zero && value <= 0.0) {
                return Err(SamplingError::Overflow { value });
            }
        }
        Ok(())
    }

    /// The value that a share `p` of all draws stays below; 0 < p < 1.
    ///
    /// Beyond, `p` counts as the nearest it may be: a draw is never infinite.
    /// No number gives no number.
    pub fn quantile(&self, p: f64) -> f64 {
        let p = p.clamp(EDGE, 1.0 - EDGE);
        match *self {
            Distribution::Uniform { low, high } => between(low, high, p),
            Distribution::LogUniform { low, high } => {
                between(low.ln(), high.ln(), p).exp().clamp(low.min(high), high.max(low))
            }
            Distribution::Normal { mean, deviation } => mean + deviation * standard_normal(p),
            Distribution::LogNormal { median, factor } => median * (factor.ln() * standard_normal(p)).exp(),
            Distribution::Triangular { low, mode, high } => {
                // as shares of the width: squares of large numbers would overflow
                let width = high - low;
                let peak = (mode - low) / width;
                if p < peak {
                    low + width * (peak * p).sqrt()
                } else {
                    high - width * ((1.0 - peak) * (1.0 - p)).sqrt()
                }
            }
        }
    }

    /// The distribution in words, numbers without unit.
    pub fn describe(&self) -> String {
        match *self {
            Distribution::Uniform { low, high } => format!("uniform from {low} to {high}"),
            Distribution::LogUniform { low, high } => format!("log-uniform from {low} to {high}"),
            Distribution::Normal { mean, deviation } => {
                format!("normal with mean {mean} and standard deviation {deviation}")
            }
            Distribution::LogNormal { median, factor } => {
                format!("log-normal with median {median}, 68 % within a factor of {factor}")
            }
            Distribution::Triangular { low, mode, high } => {
                format!("triangular from {low} over {mode} to {high}")
            }
        }
    }
}

/// Quantile of the standard normal distribution, 0 < p < 1.
fn standard_normal(p: f64) -> f64 {
    -SQRT_2 * erfc_inv(2.0 * p)
}

/// From `low` (p = 0) to `high` (p = 1); the width itself could overflow.
fn between(low: f64, high: f64, p: f64) -> f64 {
    (1.0 - p) * low + p * high
}

fn finite(parameter: &'static str, value: f64) -> Result<(), SamplingError> {
    if value.is_finite() { Ok(()) } else { Err(SamplingError::NotFinite { parameter, value }) }
}

fn above(parameter: &'static str, value: f64, limit: f64) -> Result<(), SamplingError> {
    finite(parameter, value)?;
    if value > limit { Ok(()) } else { Err(SamplingError::TooSmall { parameter, value, limit }) }
}

fn ordered(smaller: &'static str, low: f64, larger: &'static str, high: f64) -> Result<(), SamplingError> {
    if low < high { Ok(()) } else { Err(SamplingError::Order { smaller, low, larger, high }) }
}

#[cfg(test)]
mod tests {
    use super::Distribution::{self, LogNormal, LogUniform, Normal, Triangular, Uniform};
    use super::SamplingError;

    /// Mean and variance by the midpoint rule over the quantile function.
    fn moments(distribution: Distribution) -> (f64, f64) {
        distribution.check().unwrap();
        let n = 200_000;
        let values = (0..n).map(|i| distribution.quantile((f64::from(i) + 0.5) / f64::from(n)));
        let (sum, squares) = values.fold((0.0, 0.0), |(s, q), x| (s + x, q + x * x));
        let mean = sum / f64::from(n);
        (mean, squares / f64::from(n) - mean * mean)
    }

    #[track_caller]
    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found / expected - 1.0).abs() <= relative, "found {found}, expected {expected}");
    }

    #[test]
    fn moments_are_those_of_the_closed_forms() {
        // the rule misses only what the tails hold beyond 1/(2n): about 1e-4 of a normal variance
        let (mean, variance) = moments(Uniform { low: 2.0, high: 5.0 });
        near(mean, 3.5, 1e-9);
        near(variance, 9.0 / 12.0, 1e-8);
        let (mean, variance) = moments(Triangular { low: 1.0, mode: 2.0, high: 6.0 });
        near(mean, 3.0, 1e-8);
        near(variance, (1.0 + 4.0 + 36.0 - 2.0 - 6.0 - 12.0) / 18.0, 1e-6);
        let (mean, variance) = moments(Normal { mean: 3.0, deviation: 0.5 });
        near(mean, 3.0, 1e-9);
        near(variance, 0.25, 1e-4);
        let (mean, variance) = moments(LogUniform { low: 1.0, high: 10.0 });
        near(mean, 9.0 / 10f64.ln(), 1e-8);
        near(variance, 99.0 / (2.0 * 10f64.ln()) - (9.0 / 10f64.ln()).powi(2), 1e-7);
        let s = 1.5f64.ln();
        let (mean, variance) = moments(LogNormal { median: 2.0, factor: 1.5 });
        near(mean, 2.0 * (0.5 * s * s).exp(), 1e-4);
        near(variance, 4.0 * (s * s).exp() * ((s * s).exp() - 1.0), 2e-3);
    }

    #[test]
    fn medians_and_one_deviation_are_where_the_names_say() {
        // Φ(1), from the definition of one standard deviation
        let one = 0.841_344_746_068_543;
        near(LogNormal { median: 2.0, factor: 1.5 }.quantile(one), 3.0, 1e-12);
        near(LogNormal { median: 2.0, factor: 1.5 }.quantile(1.0 - one), 2.0 / 1.5, 1e-12);
        near(Normal { mean: 10.0, deviation: 2.0 }.quantile(one), 12.0, 1e-12);
        near(Triangular { low: 0.0, mode: 1.0, high: 2.0 }.quantile(0.5), 1.0, 1e-15);
        near(LogUniform { low: 1.0, high: 100.0 }.quantile(0.5), 10.0, 1e-14);
    }

    #[test]
    fn quantiles_rise_and_stay_within_the_limits() {
        let all = [
            Uniform { low: -1.0, high: 1e-3 },
            LogUniform { low: 1e-3, high: 7.0 },
            Normal { mean: 0.0, deviation: 1.0 },
            LogNormal { median: 1.0, factor: 3.0 },
            Triangular { low: 0.0, mode: 0.0, high: 1.0 },
            Triangular { low: 0.0, mode: 1.0, high: 1.0 },
        ];
        for distribution in all {
            distribution.check().unwrap();
            let values: Vec<f64> = (0..=1000).map(|i| distribution.quantile(f64::from(i) / 1000.0)).collect();
            assert!(values.iter().all(|x| x.is_finite()), "{distribution:?}");
            assert!(values.windows(2).all(|w| w[0] < w[1]), "{distribution:?}");
        }
        assert!(LogUniform { low: 1e-3, high: 7.0 }.quantile(1.0) <= 7.0);
        assert!(Uniform { low: -1.0, high: 1.0 }.quantile(f64::NAN).is_nan());
    }

    #[test]
    fn senseless_parameters_are_refused_with_their_numbers() {
        let order = Uniform { low: 2.0, high: 1.0 }.check().unwrap_err();
        assert_eq!(order, SamplingError::Order { smaller: "low", low: 2.0, larger: "high", high: 1.0 });
        for distribution in [
            Uniform { low: 1.0, high: 1.0 },
            Uniform { low: f64::NAN, high: 1.0 },
            LogUniform { low: 0.0, high: 1.0 },
            Normal { mean: 0.0, deviation: 0.0 },
            Normal { mean: f64::INFINITY, deviation: 1.0 },
            Normal { mean: 0.0, deviation: 1e308 },
            LogNormal { median: -1.0, factor: 2.0 },
            LogNormal { median: 1.0, factor: 1.0 },
            LogNormal { median: 1.0, factor: 1e300 },
            Triangular { low: 0.0, mode: 2.0, high: 1.0 },
            Triangular { low: 0.0, mode: -1.0, high: 1.0 },
            Triangular { low: 0.0, mode: f64::NAN, high: 1.0 },
            Triangular { low: -1e308, mode: 0.0, high: 1e308 },
        ] {
            assert!(distribution.check().is_err(), "{distribution:?}");
        }
    }
}
