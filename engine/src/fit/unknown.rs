//! Parameters to be found.

/// What is known of a parameter beside the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Mean; of a log-normal prior the median.
    pub mean: f64,
    /// Standard deviation; of a log-normal prior that of the natural logarithm, 0.1 for about 10 %.
    pub sd: f64,
    /// Whether the logarithm is normal. The parameter is then above zero.
    pub log: bool,
}

impl Prior {
    /// The value so many standard deviations off the middle.
    pub fn at(&self, off: f64) -> f64 {
        if self.log { self.mean * (off * self.sd).exp() } else { self.mean + off * self.sd }
    }

    /// How many standard deviations a value is off the middle.
    pub fn off(&self, value: f64) -> f64 {
        if self.log { (value / self.mean).ln() / self.sd } else { (value - self.mean) / self.sd }
    }
}

/// A parameter to be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Unknown {
    /// Name, one of a kind.
    pub name: String,
    /// Where the search begins, within the bounds.
    pub start: f64,
    /// Lower bound; may be infinite.
    pub low: f64,
    /// Upper bound; may be infinite.
    pub high: f64,
    /// What is known beside the readings.
    pub prior: Option<Prior>,
    /// A usual size, above zero: differences for slopes are a share of it, or of the value if that is larger.
    pub scale: f64,
}

impl Unknown {
    /// A parameter without bounds or prior; its usual size is that of the start, or 1.
    pub fn new(name: impl Into<String>, start: f64) -> Unknown {
        let scale = if start == 0.0 { 1.0 } else { start.abs() };
        let (low, high) = (f64::NEG_INFINITY, f64::INFINITY);
        Unknown { name: name.into(), start, low, high, prior: None, scale }
    }

    /// The same between two bounds.
    pub fn between(self, low: f64, high: f64) -> Unknown {
        Unknown { low, high, ..self }
    }

    /// The same with a normal prior.
    pub fn about(self, mean: f64, sd: f64) -> Unknown {
        Unknown { prior: Some(Prior { mean, sd, log: false }), ..self }
    }

    /// The same with a log-normal prior: 68 % within e^±`sd` times the `median`.
    pub fn near(self, median: f64, sd: f64) -> Unknown {
        Unknown { prior: Some(Prior { mean: median, sd, log: true }), ..self }
    }
}
