//! A measured value with the inputs its uncertainty comes from.
//!
//! A value `y` depends to first order on inputs `x_i`, each with standard uncertainty `u(x_i)`:
//!
//! ```text
//! y - <y> = sum_i  c_i (x_i - <x_i>),        u^2(y) = sum_i (c_i u(x_i))^2,
//! cov(y, z) = sum_i (c_i u(x_i)) (d_i u(x_i))       over the inputs that y and z share
//! ```
//!
//! Inputs are independent of each other and known by a key, so what two values share stays correlated
//! however they were computed. The signed product `c_i u(x_i)` is kept and called a *part*.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y`, `z` | values | any (SI) |
//! | `c_i`, `d_i` | sensitivities, dy/dx_i, dz/dx_i | unit of y per unit of x_i |
//! | `u` | standard uncertainty (k = 1) | unit of the value |
//!
//! Source: \[JCGM100\] sections 5.1.2 and 5.2 (law of propagation of uncertainty), G.4.1
//! (Welch-Satterthwaite); section and equation numbers are from memory. Valid while the dependence is close to linear over one `u`; larger ones belong to a
//! Monte Carlo propagation, which this room does not do.

use std::sync::Arc;

/// One independent source of uncertainty, shared by every value that depends on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Identity: two inputs with the same key are the same input, e.g. `scale [cal-A]`.
    pub key: String,
    /// Unit in which `standard_uncertainty` is stated (SI or the unit of the experiment file), for the budget.
    pub unit: String,
    /// Standard uncertainty of the input itself, in `unit`.
    pub standard_uncertainty: f64,
    /// Degrees of freedom behind the standard uncertainty; infinite when it is taken as known.
    pub degrees_of_freedom: f64,
    /// How the input was obtained, in plain words, e.g. `stated in experiment.toml`.
    pub source: String,
}

/// The share of one input in a value: sensitivity times standard uncertainty, with its sign.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The input.
    pub input: Arc<Input>,
    /// `c_i u(x_i)`, in the unit of the value.
    pub contribution: f64,
}

/// A value with standard uncertainty, known by the inputs it depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncertain {
    value: f64,
    parts: Vec<Part>,
}

impl Uncertain {
    /// A value without uncertainty (a definition, a count).
    pub fn exact(value: f64) -> Self {
        Self {
            value,
            parts: Vec::new(),
        }
    }

    /// A value with one input of its own: `value` and the standard uncertainty in the unit of the value.
    ///
    /// `input.standard_uncertainty` may be in another unit (the one of the file); `standard_uncertainty` counts.
    ///
    /// ```
    /// use tremolet_matter::uncertain::{Input, Uncertain};
    /// let input = Input {
    ///     key: "diameter".into(), unit: "mm".into(), standard_uncertainty: 0.5,
    ///     degrees_of_freedom: f64::INFINITY, source: "calliper".into(),
    /// };
    /// let d = Uncertain::of_input(0.024, 0.0005, input);
    /// assert!((d.standard_uncertainty() - 0.0005).abs() < 1e-18);
    /// ```
    pub fn of_input(value: f64, standard_uncertainty: f64, input: Input) -> Self {
        let part = Part {
            input: Arc::new(input),
            contribution: standard_uncertainty,
        };
        Self {
            value,
            parts: if standard_uncertainty == 0.0 {
                Vec::new()
            } else {
                vec![part]
            },
        }
    }

    /// A value computed elsewhere, with its partial derivatives by the values it was computed from.
    ///
    /// ```
    /// use tremolet_matter::uncertain::{Input, Uncertain};
    /// let input = |key: &str| Input {
    ///     key: key.into(), unit: "1".into(), standard_uncertainty: 0.1,
    ///     degrees_of_freedom: f64::INFINITY, source: "example".into(),
    /// };
    /// let a = Uncertain::of_input(2.0, 0.1, input("a"));
    /// let b = Uncertain::of_input(3.0, 0.1, input("b"));
    /// let product = Uncertain::combine(6.0, &[(&a, 3.0), (&b, 2.0)]);
    /// assert!((product.standard_uncertainty() - 0.13_f64.sqrt()).abs() < 1e-12);
    /// ```
    pub fn combine(value: f64, terms: &[(&Uncertain, f64)]) -> Self {
        let mut parts: Vec<Part> = Vec::new();
        for (term, partial) in terms {
            for part in &term.parts {
                let contribution = partial * part.contribution;
                match parts.iter_mut().find(|known| known.input.key == part.input.key) {
                    Some(known) => known.contribution += contribution,
                    None => parts.push(Part {
                        input: part.input.clone(),
                        contribution,
                    }),
                }
            }
        }
        parts.retain(|part| part.contribution != 0.0);
        Self { value, parts }
    }

    /// Applies `function` to the values of `inputs`, with partial derivatives by central differences.
    ///
    /// The step of each input is a tenth of its standard uncertainty, or none when that is zero, so the
    /// error of the derivative is of third order in the uncertainty, below what linear propagation neglects.
    ///
    /// ```
    /// use tremolet_matter::uncertain::{Input, Uncertain};
    /// let r = Uncertain::of_input(0.012, 1e-5, Input {
    ///     key: "radius".into(), unit: "m".into(), standard_uncertainty: 1e-5,
    ///     degrees_of_freedom: f64::INFINITY, source: "example".into(),
    /// });
    /// let cube = Uncertain::propagate(&[&r], |x| x[0].powi(3));
    /// assert!((cube.relative() - 3.0 * 1e-5 / 0.012).abs() < 1e-9);
    /// ```
    pub fn propagate(inputs: &[&Uncertain], function: impl Fn(&[f64]) -> f64) -> Self {
        let mut point: Vec<f64> = inputs.iter().map(|x| x.value).collect();
        let value = function(&point);
        let mut terms = Vec::new();
        for (i, input) in inputs.iter().enumerate() {
            let step = 0.1 * input.standard_uncertainty();
            if step == 0.0 {
                continue;
            }
            let middle = point[i];
            point[i] = middle + step;
            let above = function(&point);
            point[i] = middle - step;
            let below = function(&point);
            point[i] = middle;
            terms.push((*input, (above - below) / (2.0 * step)));
        }
        Self::combine(value, &terms)
    }

    /// Adds an independent input with a standard uncertainty in the unit of this value.
    pub fn with_input(&self, standard_uncertainty: f64, input: Input) -> Self {
        let extra = Self::of_input(0.0, standard_uncertainty, input);
        Self::combine(self.value, &[(self, 1.0), (&extra, 1.0)])
    }

    /// The best estimate.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// The inputs and their signed parts, in the order in which they came in.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// The combined standard uncertainty (k = 1), in the unit of the value.
    pub fn standard_uncertainty(&self) -> f64 {
        self.parts
            .iter()
            .map(|part| part.contribution.powi(2))
            .sum::<f64>()
            .sqrt()
    }

    /// Standard uncertainty over the absolute value; infinite for a value of zero with uncertainty.
    pub fn relative(&self) -> f64 {
        let u = self.standard_uncertainty();
        if u == 0.0 { 0.0 } else { u / self.value.abs() }
    }

    /// Covariance with another value, from the inputs that both depend on.
    pub fn covariance(&self, other: &Uncertain) -> f64 {
        self.parts
            .iter()
            .map(|part| {
                let same = other
                    .parts
                    .iter()
                    .find(|theirs| theirs.input.key == part.input.key);
                same.map_or(0.0, |theirs| part.contribution * theirs.contribution)
            })
            .sum()
    }

    /// Correlation coefficient with another value; zero when either is exact.
    pub fn correlation(&self, other: &Uncertain) -> f64 {
        let scale = self.standard_uncertainty() * other.standard_uncertainty();
        if scale == 0.0 {
            0.0
        } else {
            self.covariance(other) / scale
        }
    }

    /// Effective degrees of freedom by Welch-Satterthwaite, \[JCGM100\] equation G.2b; infinite when every
    /// input is taken as known.
    pub fn degrees_of_freedom(&self) -> f64 {
        let u4 = self.standard_uncertainty().powi(4);
        let sum: f64 = self
            .parts
            .iter()
            .map(|part| part.contribution.powi(4) / part.input.degrees_of_freedom)
            .sum();
        if sum == 0.0 { f64::INFINITY } else { u4 / sum }
    }

    /// The same value in another unit: value and parts times `factor`.
    pub fn scaled(&self, factor: f64) -> Self {
        Self::combine(self.value * factor, &[(self, factor)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn input(key: &str, degrees_of_freedom: f64) -> Input {
        Input {
            key: key.into(),
            unit: "1".into(),
            standard_uncertainty: 1.0,
            degrees_of_freedom,
            source: "test".into(),
        }
    }

    #[test]
    fn what_is_shared_stays_correlated() {
        let x = Uncertain::of_input(5.0, 0.2, input("x", f64::INFINITY));
        let same = Uncertain::propagate(&[&x], |v| 2.0 * v[0]);
        let difference = Uncertain::combine(0.0, &[(&x, 2.0), (&same, -1.0)]);
        assert!(difference.standard_uncertainty() < 1e-12);
        assert!((x.correlation(&same) - 1.0).abs() < 1e-12);
    }

    // JCGM 100:2008 section H.1 (end-gauge calibration): u_c = 32 nm with effective degrees of freedom 16,
    // from parts 25 nm (18), 9.7 nm (25.6), 2.9 nm (50), 16.6 nm (2). Provenance: from memory, H.1.6.
    #[test]
    fn welch_satterthwaite_of_the_end_gauge_example() {
        let zero = Uncertain::exact(0.0);
        let y = zero
            .with_input(25.0, input("standard", 18.0))
            .with_input(9.7, input("comparator", 25.6))
            .with_input(2.9, input("expansion", 50.0))
            .with_input(16.6, input("temperature", 2.0));
        assert!((y.standard_uncertainty() - 31.7).abs() < 0.1);
        assert!(
            (y.degrees_of_freedom() - 16.7).abs() < 0.1,
            "{}",
            y.degrees_of_freedom()
        );
    }

    #[test]
    fn an_exact_value_has_no_parts() {
        let one = Uncertain::exact(1.0);
        assert_eq!(one.standard_uncertainty(), 0.0);
        assert_eq!(one.relative(), 0.0);
        assert_eq!(one.degrees_of_freedom(), f64::INFINITY);
    }
}
