//! Prints a quantity in a chosen unit, its uncertainty with two significant digits.
//!
//! The value is rounded to the last digit of the uncertainty, \[JCGM100\] 7.2.6 (number from memory). What is
//! printed can be read back by [`crate::quantity::parse::parse`].

use crate::quantity::dimension::Dimension;
use crate::quantity::parse::{Problem, QuantityError};
use crate::quantity::unit::Unit;

/// Prints `value` with standard uncertainty `u` (both SI) in `unit`, as `24.00 +- 0.50 mm`.
///
/// ```
/// use tremolet_matter::quantity::{dimension::Dimension, print::print};
/// assert_eq!(print(0.024, Some(0.0005), "mm", Dimension::Length).unwrap(), "24.00 +- 0.50 mm");
/// assert_eq!(print(295.15, None, "degC", Dimension::Temperature).unwrap(), "22 degC");
/// ```
///
/// # Errors
/// When the unit is unknown or of another dimension, or a number is not finite.
pub fn print(value: f64, u: Option<f64>, unit: &str, dimension: Dimension) -> Result<String, QuantityError> {
    let wrong = |problem| QuantityError {
        text: format!("{value} {unit}"),
        dimension,
        problem,
    };
    let read = Unit::read(unit).ok_or_else(|| wrong(Problem::UnknownUnit { unit: unit.into() }))?;
    if read.exponents != dimension.exponents() {
        let found = Dimension::of(read.exponents)
            .map_or("another dimension", Dimension::name)
            .into();
        return Err(wrong(Problem::WrongDimension {
            unit: unit.into(),
            found,
        }));
    }
    let offset = if dimension == Dimension::Temperature {
        read.offset
    } else {
        0.0
    };
    let x = (value - offset) / read.scale;
    let u = u.map(|u| u / read.scale);
    if !x.is_finite() || u.is_some_and(|u| !u.is_finite()) {
        return Err(wrong(Problem::NotFinite));
    }
    let number = match u {
        Some(u) if u > 0.0 && unit == "%" => {
            let (x, u) = rounded(x, u);
            return Ok(format!("{x} % +- {u} %"));
        }
        Some(u) if u > 0.0 => {
            let (x, u) = rounded(x, u);
            format!("{x} +- {u}")
        }
        _ => shortest(x),
    };
    Ok(if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    })
}

/// Value and uncertainty, both to the second significant digit of the uncertainty.
fn rounded(x: f64, u: f64) -> (String, String) {
    let scientific = format!("{u:.1e}");
    let exponent = scientific
        .split_once('e')
        .and_then(|(_, e)| e.parse::<i32>().ok())
        .unwrap_or(0);
    match usize::try_from(1 - exponent) {
        Ok(decimals) if decimals <= 9 && x.abs() < 1e9 => {
            (format!("{x:.decimals$}"), format!("{u:.decimals$}"))
        }
        _ => (format!("{x:e}"), scientific),
    }
}

/// The shortest text that reads back as `x`: plain for ordinary sizes, else with an exponent.
fn shortest(x: f64) -> String {
    if x == 0.0 || (1e-4..1e9).contains(&x.abs()) {
        format!("{x}")
    } else {
        format!("{x:e}")
    }
}
