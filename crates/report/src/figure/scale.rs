//! From a value to a place on the drawing, even or by powers of ten.
//!
//! ```text
//! place = start + (end - start) (g(v) - g(low)) / (g(high) - g(low)),      g(v) = v or log10 v
//! ```
//!
//! Places are in the drawing's own units (CSS pixels at full size). Does not know what is drawn.

/// How an axis runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Run {
    /// Equal differences are equal lengths.
    #[default]
    Even,
    /// Equal ratios are equal lengths; values must be positive.
    Decades,
}

/// A range of values and the stretch of the drawing that it fills.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Value at `start`.
    pub low: f64,
    /// Value at `end`.
    pub high: f64,
    /// Place of `low`.
    pub start: f64,
    /// Place of `high`.
    pub end: f64,
    /// How it runs.
    pub run: Run,
}

impl Scale {
    /// Where a value lies; NaN for what cannot be placed.
    pub fn place(&self, value: f64) -> f64 {
        let g = |v: f64| match self.run {
            Run::Even => v,
            Run::Decades => v.log10(),
        };
        let part = (g(value) - g(self.low)) / (g(self.high) - g(self.low));
        let place = self.start + (self.end - self.start) * part;
        if place.is_finite() { place } else { f64::NAN }
    }
}

/// Least and greatest of the finite values; `None` without any.
pub fn extent(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .into_iter()
        .filter(|v| v.is_finite())
        .fold(None, |known, v| match known {
            None => Some((v, v)),
            Some((low, high)) => Some((low.min(v), high.max(v))),
        })
}

/// A range widened by `share` of itself at each end; a single value gets room around it.
///
/// ```
/// use tremolet_report::figure::scale::widened;
/// assert_eq!(widened((0.0, 10.0), 0.1), (-1.0, 11.0));
/// assert!(widened((3.0, 3.0), 0.1).0 < 3.0);
/// ```
pub fn widened((low, high): (f64, f64), share: f64) -> (f64, f64) {
    let span = high - low;
    if span > 1e-12 * high.abs().max(low.abs()) {
        (low - share * span, high + share * span)
    } else {
        let room = if low == 0.0 { 1.0 } else { 0.01 * low.abs() };
        (low - room, high + room)
    }
}

#[cfg(test)]
mod tests {
    use super::{Run, Scale, extent};

    #[test]
    fn ends_and_middle() {
        let scale = Scale {
            low: 1e-4,
            high: 1.0,
            start: 200.0,
            end: 0.0,
            run: Run::Decades,
        };
        assert!((scale.place(1e-2) - 100.0).abs() < 1e-9);
        assert!((scale.place(1.0)).abs() < 1e-9);
        assert!(scale.place(0.0).is_nan() && scale.place(-1.0).is_nan());
    }

    #[test]
    fn what_is_not_a_number_has_no_extent() {
        assert_eq!(extent([f64::NAN, f64::INFINITY]), None);
        assert_eq!(extent([2.0, f64::NAN, -1.0]), Some((-1.0, 2.0)));
    }
}
