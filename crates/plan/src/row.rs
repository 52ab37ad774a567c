//! One expectation: a formula applied to what is given, with the uncertainty that the inputs leave it.
//!
//! ```text
//! y = f(x_1, x_2, ...)        u(y)^2 = sum (over inputs) (df/dx_i u(x_i))^2, correlated inputs once
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | x_i, u(x_i) | inputs and their standard uncertainties | SI |
//! | y, u(y) | expectation, its standard uncertainty | SI |
//!
//! Source: \[JCGM100\] 5.1, through [`Uncertain::propagate`]. A formula that refuses its input gives a row without a number that says why. The error of the
//! formula itself is not in the uncertainty: whether it holds is said by its conditions.

use std::fmt::Display;

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::print::print;
use tremolet_matter::quantity::unit::Unit;
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::sheet::{Group, Mark, Row};
use tremolet_theory::validity::Validity;

/// Significant digits of a number without uncertainty.
const DIGITS: i32 = 3;

/// Relative uncertainty below which none is told.
const SURE: f64 = 1e-4;

/// In which unit a row is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Told {
    /// What it is of.
    pub dimension: Dimension,
    /// SI unit for machines.
    pub si: &'static str,
    /// Unit for people.
    pub unit: &'static str,
}

/// Told as a plain number.
pub const NUMBER: Told = told(Dimension::Fraction, "1", "");
/// Told in per cent.
pub const PERCENT: Told = told(Dimension::Fraction, "1", "%");
/// Told in millimetres.
pub const MM: Told = told(Dimension::Length, "m", "mm");
/// Told in micrometres.
pub const UM: Told = told(Dimension::Length, "m", "um");
/// Told in seconds.
pub const S: Told = told(Dimension::Time, "s", "s");
/// Told in milliseconds.
pub const MS: Told = told(Dimension::Time, "s", "ms");
/// Told in hertz.
pub const HZ: Told = told(Dimension::Rate, "Hz", "Hz");
/// Told as a rate.
pub const PER_S: Told = told(Dimension::Rate, "1/s", "1/s");
/// Told in metres a second.
pub const M_S: Told = told(Dimension::Speed, "m/s", "m/s");
/// Told in millimetres a second.
pub const MM_S: Told = told(Dimension::Speed, "m/s", "mm/s");
/// Told in metres per second squared.
pub const M_S2: Told = told(Dimension::Acceleration, "m/s^2", "m/s^2");
/// Told in pixels.
pub const PX: Told = told(Dimension::Pixel, "px", "px");
/// Told in pascals.
pub const PA: Told = told(Dimension::Pressure, "Pa", "Pa");
/// Told in kilopascals.
pub const KPA: Told = told(Dimension::Pressure, "Pa", "kPa");
/// Told in millilitres.
pub const ML: Told = told(Dimension::Volume, "m^3", "mL");
/// Told in microjoules.
pub const UJ: Told = told(Dimension::Energy, "J", "uJ");
/// Told in millinewton seconds.
pub const MN_S: Told = told(Dimension::Impulse, "N s", "mN s");
/// Told in degrees.
pub const DEG: Told = told(Dimension::Angle, "rad", "deg");
/// Told in degrees a second.
pub const DEG_S: Told = told(Dimension::AngularRate, "rad/s", "deg/s");
/// Told in degrees Celsius.
pub const CELSIUS: Told = told(Dimension::Temperature, "K", "degC");
/// Told in millimoles.
pub const MMOL: Told = told(Dimension::Amount, "mol", "mmol");

/// Told in milligrams.
pub const MG: Told = told(Dimension::Mass, "kg", "mg");
/// Told in square metres a second.
pub const M2_S: Told = told(Dimension::KinematicViscosity, "m^2/s", "m^2/s");
/// Told in millimetres per pixel.
pub const MM_PX: Told = told(Dimension::LengthPerPixel, "m/px", "mm/px");
/// Told in kelvin.
pub const K: Told = told(Dimension::TemperatureDifference, "K", "K");

/// Times from which on hours are told, s.
const LONG: f64 = 7200.0;
const HOURS: Told = told(Dimension::Time, "s", "h");

const fn told(dimension: Dimension, si: &'static str, unit: &'static str) -> Told {
    Told { dimension, si, unit }
}

/// A row that is being written.
#[derive(Debug, Clone)]
pub struct Draft {
    row: Row,
    told: Told,
}

/// Begins a row: name, words, formula, source.
pub fn row(key: impl Into<String>, quantity: impl Into<String>, formula: &str, source: &str) -> Draft {
    Draft {
        row: Row {
            key: key.into(),
            quantity: quantity.into(),
            value: None,
            standard_uncertainty: None,
            range: None,
            unit: String::new(),
            text: String::new(),
            mostly: None,
            formula: formula.into(),
            source: source.into(),
            holds: true,
            why: String::new(),
            mark: None,
        },
        told: NUMBER,
    }
}

impl Draft {
    /// The value of `formula` at the `inputs`; an absent input or a formula that refuses gives a row without a number.
    pub fn of<E: Display>(
        mut self,
        told: Told,
        inputs: &[(&str, Option<&Uncertain>)],
        formula: impl Fn(&[f64]) -> Result<f64, E>,
    ) -> Self {
        self.told = told;
        self.row.unit = told.si.into();
        let absent: Vec<&str> = inputs
            .iter()
            .filter(|(_, x)| x.is_none())
            .map(|(key, _)| *key)
            .collect();
        if !absent.is_empty() {
            return self.silent(&format!("not stated: {}", absent.join(", ")));
        }
        let inputs: Vec<&Uncertain> = inputs.iter().filter_map(|(_, x)| *x).collect();
        let middle: Vec<f64> = inputs.iter().map(|x| x.value()).collect();
        match formula(&middle) {
            Err(why) => self.silent(&why.to_string()),
            Ok(value) if !value.is_finite() => self.silent("without end"),
            Ok(_) => {
                let found = Uncertain::propagate(&inputs, |x| formula(x).unwrap_or(f64::NAN));
                self.uncertain(told, &found)
            }
        }
    }

    /// A value that is there already.
    pub fn uncertain(mut self, told: Told, found: &Uncertain) -> Self {
        self.told = told;
        self.row.unit = told.si.into();
        let u = found.standard_uncertainty();
        self.row.value = Some(found.value());
        self.row.standard_uncertainty = (u.is_finite() && u > 0.0).then_some(u);
        let parts = found.parts().iter();
        let largest = parts.max_by(|a, b| a.contribution.abs().total_cmp(&b.contribution.abs()));
        self.row.mostly = largest.map(|part| part.input.key.clone());
        self.row.text = text(found.value(), self.row.standard_uncertainty, told);
        self
    }

    /// A number without uncertainty, such as a count.
    pub fn number(self, told: Told, value: f64) -> Self {
        if value.is_finite() {
            self.uncertain(told, &Uncertain::exact(value))
        } else {
            self.silent("without end")
        }
    }

    /// A number if the formula gives one.
    pub fn fallible<E: Display>(self, told: Told, value: Result<f64, E>) -> Self {
        match value {
            Ok(value) => self.number(told, value),
            Err(why) => self.silent(&why.to_string()),
        }
    }

    /// Least and greatest value where authors or models differ.
    pub fn range(mut self, told: Told, [least, most]: [f64; 2]) -> Self {
        self.told = told;
        self.row.unit = told.si.into();
        if !(least.is_finite() && most.is_finite()) {
            return self.silent("without end");
        }
        self.row.value = Some((least + most) / 2.0);
        self.row.range = Some([least, most]);
        let unit = told.unit;
        let (low, high) = (plain(least, told), plain(most, told));
        self.row.text = if low == high {
            format!("{low} {unit}").trim_end().to_owned()
        } else {
            format!("{low} to {high} {unit}").trim_end().to_owned()
        };
        self
    }

    /// Words in place of a number.
    pub fn words(mut self, words: impl Into<String>) -> Self {
        self.row.text = words.into();
        self
    }

    /// Conditions of the formula.
    pub fn valid(mut self, validity: &Validity) -> Self {
        if !validity.holds() {
            self.row.holds = false;
            self.row.why = joined(&self.row.why, &validity.why());
        }
        self
    }

    /// Conditions that may themselves be refused.
    pub fn valid_if<E: Display>(self, validity: Result<Validity, E>) -> Self {
        match validity {
            Ok(validity) => self.valid(&validity),
            Err(why) => self.doubted(&why.to_string()),
        }
    }

    /// With a mark.
    pub fn marked(mut self, mark: Mark, why: &str) -> Self {
        self.row.mark = Some(mark);
        self.row.why = joined(&self.row.why, why);
        self
    }

    /// With a remark that does not touch the validity.
    pub fn noted(mut self, note: &str) -> Self {
        self.row.why = joined(&self.row.why, note);
        self
    }

    fn doubted(mut self, why: &str) -> Self {
        self.row.holds = false;
        self.row.why = joined(&self.row.why, why);
        self
    }

    fn silent(mut self, why: &str) -> Self {
        self.row.text = "cannot be said".into();
        self.doubted(why)
    }

    /// The row.
    pub fn done(self) -> Row {
        self.row
    }

    /// The value, SI, if there is one.
    pub fn value(&self) -> Option<f64> {
        self.row.value
    }
}

fn joined(before: &str, more: &str) -> String {
    [before, more]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join("; ")
}

/// A group of rows.
pub fn group(title: &str, rows: Vec<Draft>) -> Group {
    Group {
        title: title.into(),
        rows: rows.into_iter().map(Draft::done).collect(),
    }
}

/// A value for a person, in the unit in which it is told.
pub fn text(value: f64, u: Option<f64>, told: Told) -> String {
    let told = if told.si == "s" && told.unit == "s" && value.abs() >= LONG {
        HOURS
    } else {
        told
    };
    // What is known to a part in ten thousand is told in four digits; nobody reads more.
    let u = u.filter(|u| *u > SURE * value.abs());
    if let Some(u) = u
        && let Ok(text) = print(value, Some(u), told.unit, told.dimension)
        && !text.contains('e')
    {
        return text;
    }
    let unit = told.unit;
    let number = plain(value, told);
    let u = u
        .map(|u| format!(" +- {}", digits(u / scale(told).0, 2)))
        .unwrap_or_default();
    format!("{number}{u} {unit}").trim_end().to_owned()
}

fn scale(told: Told) -> (f64, f64) {
    Unit::read(told.unit).map_or((1.0, 0.0), |unit| {
        let celsius = told.dimension == Dimension::Temperature;
        (unit.scale, if celsius { unit.offset } else { 0.0 })
    })
}

/// A value in the unit in which it is told, in few digits.
fn plain(value: f64, told: Told) -> String {
    let (scale, offset) = scale(told);
    digits((value - offset) / scale, DIGITS)
}

/// A number in so many significant digits; whole ones below 1e5 as they are.
fn digits(x: f64, count: i32) -> String {
    if x == 0.0 || (x.fract() == 0.0 && x.abs() < 1e5) {
        return format!("{x}");
    }
    let size = x.abs().log10().floor() as i32;
    if !(-4..6).contains(&size) {
        return format!("{x:.*e}", (count - 1) as usize);
    }
    format!("{x:.*}", (count - 1 - size).max(0) as usize)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_matter::uncertain::Input;

    fn length(value: f64, u: f64) -> Uncertain {
        let input = Input {
            key: "body.diameter".into(),
            unit: "m".into(),
            standard_uncertainty: u,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        Uncertain::of_input(value, u, input)
    }

    // V = d^3: 1 % of d is 3 % of V.
    #[test]
    fn a_formula_carries_the_uncertainty_of_its_inputs() {
        let d = length(0.02, 0.0002);
        let cube = row("cube", "volume of the cube", "V = d^3", "by hand");
        let cube = cube
            .of(ML, &[("body.diameter", Some(&d))], |x| {
                Ok::<_, String>(x[0].powi(3))
            })
            .done();
        assert!(
            (cube.value.unwrap() - 8e-6).abs() < 1e-18
                && (cube.standard_uncertainty.unwrap() / 0.24e-6 - 1.0).abs() < 1e-3
        );
        assert_eq!(
            (cube.text.as_str(), cube.mostly.as_deref()),
            ("8.00 +- 0.24 mL", Some("body.diameter"))
        );
        assert!(cube.holds && cube.why.is_empty());
    }

    #[test]
    fn what_is_absent_or_refused_gives_no_number_and_says_why() {
        let begin = || row("x", "x", "x", "x");
        let absent = begin()
            .of(MM, &[("camera.scale", None)], |x| Ok::<_, String>(x[0]))
            .done();
        assert!(absent.value.is_none() && !absent.holds && absent.why == "not stated: camera.scale");
        let d = length(0.02, 0.0);
        let refused = begin()
            .of(MM, &[("d", Some(&d))], |_| Err::<f64, _>("too thick"))
            .done();
        assert!(refused.value.is_none() && refused.why == "too thick");
        let endless = begin()
            .of(MM, &[("d", Some(&d))], |_| Ok::<_, String>(f64::INFINITY))
            .done();
        assert!(endless.value.is_none() && endless.why == "without end");
    }

    #[test]
    fn broken_conditions_and_marks_stand_beside_the_number() {
        let broken = Validity::always().with("Ohnesorge number", 4.0, 0.0, 0.03);
        let said = row("x", "x", "x", "x")
            .number(S, 2.0)
            .valid(&broken)
            .marked(Mark::Marginal, "slow")
            .done();
        assert!(said.value == Some(2.0) && !said.holds && said.mark == Some(Mark::Marginal));
        assert!(
            said.why.starts_with("Ohnesorge number is 4") && said.why.ends_with("; slow"),
            "{}",
            said.why
        );
    }

    #[test]
    fn numbers_are_told_in_few_digits() {
        // 190 087 s are 52.80 h, 921 s are 0.256 h.
        assert_eq!(text(190_087.0, Some(921.0), S), "52.80 +- 0.26 h");
        assert_eq!(text(7000.0, None, S), "7000 s");
        assert_eq!(text(0.012_345, None, MM), "12.3 mm");
        assert_eq!(text(1234.5, None, HZ), "1234 Hz");
        assert_eq!(text(295.15, None, CELSIUS), "22 degC");
        assert_eq!(text(3.2e-9, None, M_S), "3.20e-9 m/s");
        assert_eq!(text(0.35, Some(0.002), PERCENT), "35.00 % +- 0.20 %");
        let range = row("x", "x", "x", "x").range(MM, [1e-3, 2.5e-3]).done();
        assert_eq!(
            (range.text.as_str(), range.value),
            ("1 to 2.50 mm", Some(1.75e-3))
        );
    }
}
