//! Reads a quantity with unit and uncertainty, such as `24 +- 0.5 mm (k=2)`.
//!
//! ```text
//! text = number [unit] [ ("+-" | "+/-" | plus-minus sign) number [unit | "%"] [ "(k=" number ")" | "(limits)" ] ]
//! u = stated        (standard),      u = stated / k     (expanded),      u = stated / sqrt 3   (limits)
//! ```
//!
//! A unit that stands only at the end counts for both numbers; a percentage counts relative to the value,
//! except for fractions, where it is a unit and both numbers need it. Source: \[JCGM100\] 4.3.3 (expanded),
//! 4.3.7 (rectangular limits); section numbers from memory. Checks the dimension, not whether the value makes
//! sense for its place.

use crate::quantity::dimension::Dimension;
use crate::quantity::unit::Unit;
use crate::uncertain::{Input, Uncertain};

/// How an uncertainty was stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum How {
    /// As a standard uncertainty (k = 1), or none was stated.
    Standard,
    /// As an expanded uncertainty with coverage factor `k`.
    Coverage {
        /// The coverage factor.
        k: f64,
    },
    /// As half the width of a rectangular distribution.
    Limits,
}

/// A quantity as stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated {
    /// Value in SI units (K for temperatures, 1 for fractions, px and m/px for pixels).
    pub value: f64,
    /// Standard uncertainty in the unit of `value`; `None` when none was stated.
    pub standard_uncertainty: Option<f64>,
    /// Unit of the value as written; empty for a plain number.
    pub unit: String,
    /// SI units in one such unit.
    pub scale: f64,
    /// The whole text as written.
    pub text: String,
    /// How the uncertainty was stated.
    pub how: How,
}

impl Stated {
    /// The value as an uncertain value with one input, whose uncertainty is listed in the unit as written.
    /// Exact when no uncertainty was stated; whether that is right is for the caller to say.
    pub fn uncertain(&self, key: &str, source: &str) -> Uncertain {
        let u = self.standard_uncertainty.unwrap_or(0.0);
        let input = Input {
            key: key.into(),
            unit: if self.unit.is_empty() {
                "1".into()
            } else {
                self.unit.clone()
            },
            standard_uncertainty: u / self.scale,
            degrees_of_freedom: f64::INFINITY,
            source: source.into(),
        };
        Uncertain::of_input(self.value, u, input)
    }
}

/// What is wrong in a text that should be a quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("\"{text}\" is no {dimension}: {problem}; write it like \"{}\"", dimension.example())]
pub struct QuantityError {
    /// The text as found.
    pub text: String,
    /// What was expected.
    pub dimension: Dimension,
    /// What is wrong.
    pub problem: Problem,
}

/// The ways in which a text fails to be a quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Problem {
    /// No number where one is due.
    #[error("found \"{found}\" where a number is due")]
    NoNumber {
        /// What stands there.
        found: String,
    },
    /// A number too large to hold.
    #[error("the number is not finite")]
    NotFinite,
    /// A second number, or a second uncertainty.
    #[error("found more than one number: \"{found}\"")]
    TwoNumbers {
        /// The text after the first number.
        found: String,
    },
    /// A bare number.
    #[error("a unit is missing")]
    MissingUnit,
    /// A unit that is not known.
    #[error("the unit \"{unit}\" is not known")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
    },
    /// A unit of something else.
    #[error("the unit \"{unit}\" is one of {found}")]
    WrongDimension {
        /// The unit as written.
        unit: String,
        /// What it measures.
        found: String,
    },
    /// An uncertainty below zero.
    #[error("the uncertainty is negative")]
    NegativeUncertainty,
    /// A note in parentheses that is not understood.
    #[error("found \"({found})\", expected \"(k=2)\" or \"(limits)\" after an uncertainty")]
    Note {
        /// The note as written.
        found: String,
    },
    /// A bare fraction with an uncertainty in percent.
    #[error("it is not clear what the percentage is of; give value and uncertainty the same unit")]
    AmbiguousPercent,
    /// A temperature below absolute zero.
    #[error("it lies below absolute zero")]
    BelowAbsoluteZero,
}

/// Reads `text` as a quantity of `dimension`.
///
/// ```
/// use tremolet_matter::quantity::{dimension::Dimension, parse::parse};
/// let d = parse("24 +- 0.5 mm (k=2)", Dimension::Length).unwrap();
/// assert!((d.value - 0.024).abs() < 1e-15 && (d.standard_uncertainty.unwrap() - 0.00025).abs() < 1e-15);
/// assert!(parse("24", Dimension::Length).is_err());
/// ```
///
/// # Errors
/// When the text is not a quantity of that dimension: see [`Problem`].
pub fn parse(text: &str, dimension: Dimension) -> Result<Stated, QuantityError> {
    read(text, dimension).map_err(|problem| QuantityError {
        text: text.into(),
        dimension,
        problem,
    })
}

fn read(text: &str, dimension: Dimension) -> Result<Stated, Problem> {
    let (body, note) = split_note(text.trim());
    let (left, right) = split_uncertainty(body)?;
    let (number, own_unit) = number_and_unit(left)?;
    let spread = right.map(number_and_unit).transpose()?;
    let unit_text = match spread {
        _ if !own_unit.is_empty() => own_unit,
        Some((_, "%")) if dimension == Dimension::Fraction => return Err(Problem::AmbiguousPercent),
        Some((_, "%")) => "",
        Some((_, shared)) => shared,
        None => "",
    };
    let unit = unit_of(unit_text, dimension)?;
    let offset = if dimension == Dimension::Temperature {
        unit.offset
    } else {
        0.0
    };
    let value = finite(number * unit.scale + offset)?;
    if dimension == Dimension::Temperature && value < 0.0 {
        return Err(Problem::BelowAbsoluteZero);
    }
    let (standard_uncertainty, how) = match spread {
        None => (None, no_note(note)?),
        Some((width, its_unit)) => {
            let half = half_width(width, its_unit, own_unit, value, unit, dimension)?;
            let (divisor, how) = coverage(note)?;
            (Some(finite(half / divisor)?), how)
        }
    };
    let unit_text = unit_text.to_owned();
    Ok(Stated {
        value,
        standard_uncertainty,
        unit: unit_text,
        scale: unit.scale,
        text: text.into(),
        how,
    })
}

/// The stated half-width in SI units.
fn half_width(
    width: f64,
    its_unit: &str,
    own_unit: &str,
    value: f64,
    unit: Unit,
    dimension: Dimension,
) -> Result<f64, Problem> {
    if width < 0.0 {
        return Err(Problem::NegativeUncertainty);
    }
    let factor = match its_unit {
        "%" if dimension != Dimension::Fraction => 0.01 * value.abs(),
        "" if !own_unit.is_empty() => return Err(Problem::MissingUnit),
        _ if own_unit.is_empty() => unit.scale,
        other => unit_of(other, dimension)?.scale,
    };
    finite(width * factor)
}

fn finite(x: f64) -> Result<f64, Problem> {
    if x.is_finite() {
        Ok(x)
    } else {
        Err(Problem::NotFinite)
    }
}

fn split_note(text: &str) -> (&str, Option<&str>) {
    match text.strip_suffix(')').and_then(|inner| inner.rsplit_once('(')) {
        Some((body, note)) => (body, Some(note.trim())),
        None => (text, None),
    }
}

fn no_note(note: Option<&str>) -> Result<How, Problem> {
    note.map_or(Ok(How::Standard), |found| {
        Err(Problem::Note { found: found.into() })
    })
}

fn coverage(note: Option<&str>) -> Result<(f64, How), Problem> {
    let Some(note) = note else {
        return Ok((1.0, How::Standard));
    };
    if note == "limits" {
        return Ok((3.0_f64.sqrt(), How::Limits));
    }
    let wrong = || Problem::Note { found: note.into() };
    let k = note
        .strip_prefix('k')
        .and_then(|rest| rest.trim_start().strip_prefix('='))
        .ok_or_else(wrong)?;
    let k: f64 = k.trim().parse().map_err(|_| wrong())?;
    if k > 0.0 && k.is_finite() {
        Ok((k, How::Coverage { k }))
    } else {
        Err(wrong())
    }
}

fn split_uncertainty(body: &str) -> Result<(&str, Option<&str>), Problem> {
    let mark = ["+-", "+/-", "\u{b1}"]
        .into_iter()
        .filter_map(|m| body.find(m).map(|at| (at, m.len())))
        .min();
    let Some((at, len)) = mark else {
        return Ok((body, None));
    };
    let right = &body[at + len..];
    if ["+-", "+/-", "\u{b1}"].iter().any(|m| right.contains(m)) {
        return Err(Problem::TwoNumbers {
            found: right.trim().into(),
        });
    }
    Ok((&body[..at], Some(right)))
}

/// Splits `24 mm` into 24 and `mm`.
fn number_and_unit(text: &str) -> Result<(f64, &str), Problem> {
    let text = text.trim();
    let (digits, rest) = text.split_at(number_length(text));
    let number: f64 = digits
        .parse()
        .map_err(|_| Problem::NoNumber { found: text.into() })?;
    let number = finite(number)?;
    let rest = rest.trim();
    let second =
        |word: &str| word != "1" && word.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c));
    if rest.starts_with(',') || rest.split_whitespace().any(second) {
        return Err(Problem::TwoNumbers { found: rest.into() });
    }
    Ok((number, rest))
}

/// Length in bytes of the decimal number at the start of `text`; zero when there is none.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
    let sign = |at: usize| usize::from(matches!(bytes.get(at), Some(b'+' | b'-')));
    let start = sign(0);
    let mut end = start + digits(start);
    let mut count = end - start;
    if bytes.get(end) == Some(&b'.') {
        let after = digits(end + 1);
        count += after;
        end += 1 + after;
    }
    if count == 0 {
        return 0;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let from = end + 1 + sign(end + 1);
        let exponent = if from <= bytes.len() { digits(from) } else { 0 };
        end = if exponent > 0 { from + exponent } else { end };
    }
    end
}

fn unit_of(text: &str, dimension: Dimension) -> Result<Unit, Problem> {
    if text.is_empty() && dimension != Dimension::Fraction {
        return Err(Problem::MissingUnit);
    }
    let unit = Unit::read(text).ok_or_else(|| Problem::UnknownUnit { unit: text.into() })?;
    if unit.exponents == dimension.exponents() {
        return Ok(unit);
    }
    let found = Dimension::of(unit.exponents).map_or("another dimension", Dimension::name);
    Err(Problem::WrongDimension {
        unit: text.into(),
        found: found.into(),
    })
}

#[cfg(test)]
mod tests;
