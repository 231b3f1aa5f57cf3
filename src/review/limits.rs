//! Control limits and when a point is a signal.
//!
//! A point on a limit is none: the handbook's rule is "beyond", and a count meets its limit exactly.

/// Mean moving range of two over the standard deviation, for independent normal values.
///
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2.
pub const D2: f64 = 1.128;
/// Upper limit of the moving range over its mean. Source: as [`D2`].
pub const D4: f64 = 3.267;
/// Standard deviations between centre and limit. Source: as [`D2`].
pub const SIGMAS: f64 = 3.0;
/// A difference below this part of the limit is rounding, not a signal.
const ROUNDING: f64 = 1e-9;

/// Which limit a point lies beyond.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beyond {
    Above,
    Below,
}

/// Two limits around a centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    pub lower: f64,
    pub centre: f64,
    pub upper: f64,
}

impl Limits {
    /// Beyond which limit the value lies, if it does; on the limit is within.
    #[must_use]
    pub fn beyond(&self, value: f64) -> Option<Beyond> {
        let slack = |limit: f64| ROUNDING * limit.abs().max(1.0);
        if value - self.upper > slack(self.upper) {
            Some(Beyond::Above)
        } else if self.lower - value > slack(self.lower) {
            Some(Beyond::Below)
        } else {
            None
        }
    }
}

/// Mean of the absolute differences between neighbours; nothing below two values.
#[must_use]
pub fn mean_moving_range(values: &[f64]) -> Option<f64> {
    let ranges = values.windows(2).map(|pair| (pair[1] - pair[0]).abs());
    (values.len() > 1).then(|| ranges.sum::<f64>() / super::quantile::count(values.len() - 1))
}
