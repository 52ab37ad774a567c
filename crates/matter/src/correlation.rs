//! A formula for a property, with its range, its own standard uncertainty and its source.
//!
//! ```text
//! y = f(x_1, x_2, ...) + e,      u^2(y) = sum_i (df/dx_i u(x_i))^2 + u^2(e)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y` | the property | SI |
//! | `x_i` | what it depends on: temperature, mass fraction, pressure, relative humidity | K, 1, Pa, 1 |
//! | `e` | how far the formula is from the true value; one input for each property and substance | unit of y |
//!
//! Propagation as in [`crate::uncertain`]. The error `e` is taken as one unknown offset, the same wherever the
//! formula is used for that substance: two runs with one liquid share it. How `e` changes along the temperature is not known here.

use crate::error::MatterError;
use crate::property::Property;
use crate::uncertain::{Input, Uncertain};

/// The range of one input of a formula, ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// What it is, e.g. `temperature`.
    pub input: &'static str,
    /// Unit of the numbers (SI).
    pub unit: &'static str,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Limit {
    /// A range of temperature, K.
    pub fn temperature(low: f64, high: f64) -> Self {
        Self {
            input: "temperature",
            unit: "K",
            low,
            high,
        }
    }

    /// A range of mass fraction, 1.
    pub fn mass_fraction(low: f64, high: f64) -> Self {
        Self {
            input: "mass fraction",
            unit: "",
            low,
            high,
        }
    }

    /// A range of pressure, Pa.
    pub fn pressure(low: f64, high: f64) -> Self {
        Self {
            input: "pressure",
            unit: "Pa",
            low,
            high,
        }
    }

    /// A range of relative humidity, 1.
    pub fn relative_humidity(low: f64, high: f64) -> Self {
        Self {
            input: "relative humidity",
            unit: "",
            low,
            high,
        }
    }
}

type Formula = Box<dyn Fn(&[f64]) -> f64>;
type Spread = Box<dyn Fn(&[f64], f64) -> f64>;

/// A formula for one property of one substance.
pub struct Correlation {
    quantity: &'static str,
    unit: &'static str,
    source: String,
    limits: Vec<Limit>,
    formula: Formula,
    spread: Spread,
}

impl Correlation {
    /// A formula of the inputs named by `limits`, in that order, in SI units; without uncertainty of its own until told.
    pub fn new(
        quantity: &'static str,
        unit: &'static str,
        source: impl Into<String>,
        limits: Vec<Limit>,
        formula: impl Fn(&[f64]) -> f64 + 'static,
    ) -> Self {
        Self {
            quantity,
            unit,
            source: source.into(),
            limits,
            formula: Box::new(formula),
            spread: Box::new(|_, _| 0.0),
        }
    }

    /// The same with a standard uncertainty proportional to the value.
    pub fn relative(self, fraction: f64) -> Self {
        self.spread(move |_, value| fraction * value.abs())
    }

    /// The same with a constant standard uncertainty, in the unit of the property.
    pub fn absolute(self, standard_uncertainty: f64) -> Self {
        self.spread(move |_, _| standard_uncertainty)
    }

    /// The same with a standard uncertainty computed from the inputs and the value.
    pub fn spread(mut self, spread: impl Fn(&[f64], f64) -> f64 + 'static) -> Self {
        self.spread = Box::new(spread);
        self
    }

    /// Where the formula comes from.
    pub fn source(&self) -> &str {
        &self.source
    }

    /// The quantity, e.g. `surface tension`.
    pub fn quantity(&self) -> &'static str {
        self.quantity
    }

    /// Unit of the property (SI).
    pub fn unit(&self) -> &'static str {
        self.unit
    }

    /// What the formula depends on and how far it goes.
    pub fn limits(&self) -> &[Limit] {
        &self.limits
    }

    /// The property of the substance called `of` at `inputs`, in the order of the limits; more inputs are left aside.
    ///
    /// # Errors
    /// [`MatterError::OutOfRange`] when the value of an input is outside its range, or no number.
    ///
    /// # Panics
    /// When there are fewer inputs than limits: a mistake of this crate.
    pub fn at(&self, of: &str, inputs: &[&Uncertain]) -> Result<Property, MatterError> {
        let inputs = &inputs[..self.limits.len()];
        for (limit, input) in self.limits.iter().zip(inputs) {
            self.check(of, limit, input.value())?;
        }
        let point: Vec<f64> = inputs.iter().map(|x| x.value()).collect();
        let value = Uncertain::propagate(inputs, |x| (self.formula)(x));
        let spread = (self.spread)(&point, value.value());
        Ok(Property {
            value: value.with_input(spread, self.input(of, spread)),
            source: self.source.clone(),
            stated: false,
        })
    }

    fn check(&self, of: &str, limit: &Limit, found: f64) -> Result<(), MatterError> {
        if (limit.low..=limit.high).contains(&found) {
            return Ok(());
        }
        Err(MatterError::OutOfRange {
            quantity: self.quantity,
            of: of.into(),
            input: limit.input,
            found,
            unit: limit.unit,
            low: limit.low,
            high: limit.high,
        })
    }

    fn input(&self, of: &str, standard_uncertainty: f64) -> Input {
        Input {
            key: format!("{} of {of} (formula)", self.quantity),
            unit: self.unit.into(),
            standard_uncertainty,
            degrees_of_freedom: f64::INFINITY,
            source: self.source.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kelvin(value: f64, u: f64) -> Uncertain {
        let input = Input {
            key: "temperature".into(),
            unit: "K".into(),
            standard_uncertainty: u,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        Uncertain::of_input(value, u, input)
    }

    fn line() -> Correlation {
        let limits = vec![Limit::temperature(280.0, 300.0)];
        Correlation::new("density", "kg/m^3", "a line", limits, |x| 2.0 * x[0]).absolute(0.3)
    }

    #[test]
    fn input_and_formula_add_in_squares_and_keep_their_names() {
        let found = line().at("broth", &[&kelvin(290.0, 0.2)]).expect("in range");
        assert!((found.value.value() - 580.0).abs() < 1e-12);
        assert!((found.value.standard_uncertainty() - 0.5).abs() < 1e-9);
        let keys: Vec<&str> = found.value.parts().iter().map(|p| p.input.key.as_str()).collect();
        assert_eq!(keys, ["temperature", "density of broth (formula)"]);
        assert!(!found.stated);
    }

    #[test]
    fn the_range_includes_its_ends_and_excludes_what_is_no_number() {
        assert!(line().at("broth", &[&kelvin(280.0, 0.1)]).is_ok());
        assert!(line().at("broth", &[&kelvin(300.0, 0.1)]).is_ok());
        assert!(line().at("broth", &[&kelvin(f64::NAN, 0.1)]).is_err());
        let error = line().at("broth", &[&kelvin(300.5, 0.1)]).expect_err("too warm");
        assert_eq!(
            error.to_string(),
            "density of broth is known for a temperature of 280 to 300 K, found 300.5 K; stay inside, or state the value where a liquid may"
        );
    }
}
