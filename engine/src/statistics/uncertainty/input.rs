//! What a measured value is computed from.

use super::{UncertaintyError, finite, moments, positive};

/// One quantity that a result is computed from.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Name.
    pub name: String,
    /// Best estimate, in whatever unit.
    pub value: f64,
    /// Standard uncertainty, in the same unit; 0 for an exact number.
    pub u: f64,
    /// Degrees of freedom of `u`; infinite where `u` itself is certain.
    pub freedom: f64,
}

impl Input {
    /// Known standard uncertainty, such as that of a certificate with its freedom.
    ///
    /// # Errors
    /// A number that is none, `u` below zero, no freedom.
    pub fn standard(name: &str, value: f64, u: f64, freedom: f64) -> Result<Input, UncertaintyError> {
        finite(name, value)?;
        if u != 0.0 {
            positive(format!("standard uncertainty of {name}"), u)?;
        }
        let expected = "degrees of freedom above zero";
        if freedom.is_nan() || freedom <= 0.0 {
            return Err(UncertaintyError::Number {
                what: format!("freedom of {name}"),
                value: freedom,
                expected,
            });
        }
        Ok(Input { name: name.into(), value, u, freedom })
    }

    /// Mean of repeated readings: u = s/√n with n − 1 degrees of freedom (GUM 4.2, type A).
    ///
    /// # Errors
    /// Fewer than two readings, or one that is not finite.
    pub fn repeated(name: &str, readings: &[f64]) -> Result<Input, UncertaintyError> {
        let (mean, s) = moments(name, readings)?;
        let n = readings.len() as f64;
        Input::standard(name, mean, s / n.sqrt(), n - 1.0)
    }

    /// Anywhere within ± `half_width`, all values alike: u = a/√3 (GUM 4.3.7).
    ///
    /// # Errors
    /// As [`Input::standard`].
    pub fn rectangular(name: &str, value: f64, half_width: f64) -> Result<Input, UncertaintyError> {
        positive(format!("half-width of {name}"), half_width)?;
        Input::standard(name, value, half_width / 3f64.sqrt(), f64::INFINITY)
    }

    /// Within ± `half_width`, the middle the likeliest: u = a/√6 (GUM 4.3.9).
    ///
    /// # Errors
    /// As [`Input::standard`].
    pub fn triangular(name: &str, value: f64, half_width: f64) -> Result<Input, UncertaintyError> {
        positive(format!("half-width of {name}"), half_width)?;
        Input::standard(name, value, half_width / 6f64.sqrt(), f64::INFINITY)
    }

    /// Swings as a sine within ± `half_width`: u = a/√2 (GUM H.1.3.4).
    ///
    /// # Errors
    /// As [`Input::standard`].
    pub fn arcsine(name: &str, value: f64, half_width: f64) -> Result<Input, UncertaintyError> {
        positive(format!("half-width of {name}"), half_width)?;
        Input::standard(name, value, half_width / 2f64.sqrt(), f64::INFINITY)
    }

    /// An expanded uncertainty U = k·u as certificates give it, usually k = 2 (GUM 4.3.3).
    ///
    /// # Errors
    /// As [`Input::standard`], and for a factor not above zero.
    pub fn expanded(name: &str, value: f64, expanded: f64, k: f64) -> Result<Input, UncertaintyError> {
        positive(format!("expanded uncertainty of {name}"), expanded)?;
        positive(format!("coverage factor of {name}"), k)?;
        Input::standard(name, value, expanded / k, f64::INFINITY)
    }

    /// The same with these degrees of freedom. From how unreliable `u` is:
    /// ½ (u/Δu)², so 50 where it is known to 10 % (GUM G.4.2).
    ///
    /// # Errors
    /// A freedom not above zero.
    pub fn with_freedom(self, freedom: f64) -> Result<Input, UncertaintyError> {
        Input::standard(&self.name, self.value, self.u, freedom)
    }
}
