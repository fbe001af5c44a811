//! Numbers a physics function can be evaluated on: plain `f64`, or a dual
//! number that carries an exact derivative along.

use std::fmt::Debug;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// A real number, or something that behaves like one.
///
/// Mixed arithmetic with `f64` on the right keeps formulas readable:
/// `x * 0.5 + 1.0`.
pub trait Real:
    Copy
    + Debug
    + PartialOrd
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
{
    /// A constant: a number whose derivative is zero.
    fn constant(value: f64) -> Self;
    /// The value without its derivative.
    fn value(self) -> f64;
    /// Square root.
    fn sqrt(self) -> Self;
    /// e to the power of `self`.
    fn exp(self) -> Self;
    /// Natural logarithm.
    fn ln(self) -> Self;
    /// Hyperbolic tangent.
    fn tanh(self) -> Self;
    /// `self` to a constant power.
    fn powf(self, power: f64) -> Self;
    /// `self` to a whole power.
    fn powi(self, power: i32) -> Self;
}

impl Real for f64 {
    fn constant(value: f64) -> f64 {
        value
    }
    fn value(self) -> f64 {
        self
    }
    fn sqrt(self) -> f64 {
        f64::sqrt(self)
    }
    fn exp(self) -> f64 {
        f64::exp(self)
    }
    fn ln(self) -> f64 {
        f64::ln(self)
    }
    fn tanh(self) -> f64 {
        f64::tanh(self)
    }
    fn powf(self, power: f64) -> f64 {
        f64::powf(self, power)
    }
    fn powi(self, power: i32) -> f64 {
        f64::powi(self, power)
    }
}

/// A value with its derivative with respect to one chosen variable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dual {
    /// The value.
    pub value: f64,
    /// Its derivative.
    pub slope: f64,
}

impl Dual {
    /// The variable itself: derivative 1.
    pub fn variable(value: f64) -> Dual {
        Dual { value, slope: 1.0 }
    }

    fn chain(self, value: f64, derivative: f64) -> Dual {
        Dual { value, slope: derivative * self.slope }
    }
}

impl PartialOrd for Dual {
    fn partial_cmp(&self, other: &Dual) -> Option<std::cmp::Ordering> {
        self.value.partial_cmp(&other.value)
    }
}

impl Add for Dual {
    type Output = Dual;
    fn add(self, o: Dual) -> Dual {
        Dual { value: self.value + o.value, slope: self.slope + o.slope }
    }
}

impl Sub for Dual {
    type Output = Dual;
    fn sub(self, o: Dual) -> Dual {
        Dual { value: self.value - o.value, slope: self.slope - o.slope }
    }
}

impl Mul for Dual {
    type Output = Dual;
    fn mul(self, o: Dual) -> Dual {
        Dual { value: self.value * o.value, slope: self.slope * o.value + self.value * o.slope }
    }
}

impl Div for Dual {
    type Output = Dual;
    fn div(self, o: Dual) -> Dual {
        let value = self.value / o.value;
        Dual { value, slope: (self.slope - value * o.slope) / o.value }
    }
}

impl Neg for Dual {
    type Output = Dual;
    fn neg(self) -> Dual {
        Dual { value: -self.value, slope: -self.slope }
    }
}

impl Add<f64> for Dual {
    type Output = Dual;
    fn add(self, o: f64) -> Dual {
        self + Dual::constant(o)
    }
}

impl Sub<f64> for Dual {
    type Output = Dual;
    fn sub(self, o: f64) -> Dual {
        self - Dual::constant(o)
    }
}

impl Mul<f64> for Dual {
    type Output = Dual;
    fn mul(self, o: f64) -> Dual {
        self * Dual::constant(o)
    }
}

impl Div<f64> for Dual {
    type Output = Dual;
    fn div(self, o: f64) -> Dual {
        self / Dual::constant(o)
    }
}

impl Real for Dual {
    fn constant(value: f64) -> Dual {
        Dual { value, slope: 0.0 }
    }
    fn value(self) -> f64 {
        self.value
    }
    fn sqrt(self) -> Dual {
        let root = self.value.sqrt();
        self.chain(root, 0.5 / root)
    }
    fn exp(self) -> Dual {
        let e = self.value.exp();
        self.chain(e, e)
    }
    fn ln(self) -> Dual {
        self.chain(self.value.ln(), 1.0 / self.value)
    }
    fn tanh(self) -> Dual {
        let t = self.value.tanh();
        self.chain(t, 1.0 - t * t)
    }
    fn powf(self, power: f64) -> Dual {
        self.chain(self.value.powf(power), power * self.value.powf(power - 1.0))
    }
    fn powi(self, power: i32) -> Dual {
        self.chain(self.value.powi(power), f64::from(power) * self.value.powi(power - 1))
    }
}

#[cfg(test)]
mod tests {
    use super::{Dual, Real};

    fn formula<R: Real>(x: R) -> R {
        ((x * x + 1.0).sqrt() / (x + 2.0) - x.tanh()).exp() + x.powf(1.1) * 3.0 - x.powi(3).ln()
    }

    #[test]
    fn the_exact_slope_agrees_with_a_difference_quotient() {
        let exact = formula(Dual::variable(0.7));
        let h = 1e-6;
        let quotient = (formula(0.7 + h) - formula(0.7 - h)) / (2.0 * h);
        assert_eq!(exact.value, formula(0.7));
        // truncation h² and round-off 1e-16/h, both below 1e-9
        assert!((exact.slope - quotient).abs() < 1e-8);
    }
}
