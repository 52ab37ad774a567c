//! Numbers as a reader wants them: in handy units, rounded to two significant digits of their uncertainty.
//!
//! ```text
//! x = 0.068712 N/m, u = 0.00061 N/m   ->   68.71 +- 0.61 mN/m
//! ```
//!
//! Rounding follows \[JCGM100\] 7.2.6. Units are read by the units of `matter`; one that it does not know is printed
//! as it stands, unconverted.

use tremolet_matter::quantity::unit::Unit;

use crate::text::superscript;

/// SI units, with the units a reader uses from the smallest to the largest.
const HANDY: &[(&str, &[&str])] = &[
    ("N/m", &["mN/m"]),
    ("m^2/s", &["mm^2/s"]),
    ("Pa s", &["mPa s"]),
    ("m", &["um", "mm"]),
    ("m^3", &["uL", "mL"]),
    ("kg", &["mg", "g"]),
    ("m/s", &["mm/s", "m/s"]),
    ("m/s^2", &["mm/s^2", "m/s^2"]),
    ("J", &["uJ", "mJ"]),
    ("N s", &["uN s", "mN s"]),
    ("Pa", &["Pa", "kPa"]),
    ("K", &["degC"]),
];

/// A number with its uncertainty, both as text and both to be multiplied by ten to the power `exponent`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The value.
    pub value: String,
    /// The standard uncertainty, when there is one.
    pub u: Option<String>,
    /// The unit with real signs, empty for a plain number.
    pub unit: String,
    /// Power of ten taken out of both; 0 for ordinary sizes.
    pub exponent: i32,
}

/// A unit to print in and what to do to the number.
#[derive(Debug, Clone, PartialEq)]
pub struct Handy {
    /// The unit as `matter` writes it.
    pub unit: String,
    factor: f64,
    offset: f64,
}

impl Handy {
    /// The handy unit for values of about `size` (absolute) in `unit`.
    pub fn of(unit: &str, size: f64) -> Self {
        let choices = HANDY
            .iter()
            .find(|(si, _)| *si == unit)
            .map_or(&[][..], |(_, choices)| choices);
        let fits = |name: &&&str| Unit::read(name).is_some_and(|u| size.abs() >= 0.1 * u.scale);
        let best = choices.iter().rev().find(fits).or(choices.first());
        best.and_then(|name| Self::between(unit, name)).unwrap_or(Self {
            unit: unit.to_owned(),
            factor: 1.0,
            offset: 0.0,
        })
    }

    fn between(from: &str, to: &str) -> Option<Self> {
        let (from, read) = (Unit::read(from)?, Unit::read(to)?);
        Some(Self {
            unit: to.to_owned(),
            factor: from.scale / read.scale,
            offset: (from.offset - read.offset) / read.scale,
        })
    }

    /// A value in this unit.
    pub fn value(&self, x: f64) -> f64 {
        // Dividing by the inverse keeps 0.0687 N/m from becoming 68.70000000000001 mN/m.
        if self.factor > 1.0 {
            x / (1.0 / self.factor) + self.offset
        } else {
            x * self.factor + self.offset
        }
    }

    /// A difference or an uncertainty in this unit.
    pub fn difference(&self, dx: f64) -> f64 {
        dx * self.factor
    }

    /// The unit with real signs: `mm^2/s` gives "mm²/s".
    pub fn sign(&self) -> String {
        signs(&self.unit)
    }
}

/// A unit with real signs for powers, micro and degrees; the unit one gives nothing.
pub fn signs(unit: &str) -> String {
    if unit == "1" {
        return String::new();
    }
    let unit = if unit.starts_with("um")
        || unit.starts_with("uL")
        || unit.starts_with("uN")
        || unit.starts_with("uJ")
    {
        unit.replacen('u', "µ", 1)
    } else {
        unit.to_owned()
    };
    let unit = unit.replace("degC", "°C").replace("deg", "°");
    unit.replace("^2", "²")
        .replace("^3", "³")
        .replace("^-1", "⁻¹")
        .replace(' ', "\u{a0}")
}

/// Value and standard uncertainty, in `unit`, as a reader wants them.
///
/// ```
/// use tremolet_report::number::shown;
/// assert_eq!(shown(0.0687, Some(0.0006), "N/m").text(), "68.70 ± 0.60 mN/m".replace(' ', "\u{a0}"));
/// ```
pub fn shown(value: f64, u: Option<f64>, unit: &str) -> Shown {
    let handy = Handy::of(unit, value);
    let u = u
        .map(|u| handy.difference(u))
        .filter(|u| *u > 0.0 && u.is_finite());
    let x = handy.value(value);
    let places = u.map_or_else(|| places_of(x), decimals);
    let exponent = taken_out(x, places);
    let ten = 10f64.powi(exponent);
    Shown {
        value: fixed(x / ten, places + exponent),
        u: u.map(|u| fixed(u / ten, places + exponent)),
        unit: handy.sign(),
        exponent,
    }
}

/// An interval, in `unit`, its ends to the last digit of the uncertainty `u`: "67.50 to 69.90 mN/m".
pub fn interval(low: f64, high: f64, u: f64, unit: &str) -> String {
    let handy = Handy::of(unit, low.abs().max(high.abs()));
    let (low, high) = (handy.value(low), handy.value(high));
    let places = decimals(handy.difference(u));
    let exponent = taken_out(low.abs().max(high.abs()), places);
    let ten = 10f64.powi(exponent);
    let ends = format!(
        "{} to {}",
        fixed(low / ten, places + exponent),
        fixed(high / ten, places + exponent)
    );
    after(&ends, exponent, &handy.sign(), true)
}

impl Shown {
    /// Value, uncertainty and unit in one line that does not break.
    pub fn text(&self) -> String {
        let number = match &self.u {
            Some(u) => format!("{}\u{a0}±\u{a0}{u}", self.value),
            None => self.value.clone(),
        };
        after(&number, self.exponent, &self.unit, self.u.is_some())
    }

    /// The value with its unit alone.
    pub fn value_text(&self) -> String {
        after(&self.value, self.exponent, &self.unit, false)
    }

    /// The uncertainty with its unit alone, empty without one.
    pub fn u_text(&self) -> String {
        self.u
            .as_ref()
            .map_or_else(String::new, |u| after(u, self.exponent, &self.unit, false))
    }
}

fn after(number: &str, exponent: i32, unit: &str, bracket: bool) -> String {
    let mut text = match exponent {
        0 => number.to_owned(),
        e if bracket => format!("({number})\u{a0}×\u{a0}10{}", superscript(e)),
        e => format!("{number}\u{a0}×\u{a0}10{}", superscript(e)),
    };
    if !unit.is_empty() {
        text.push('\u{a0}');
        text.push_str(unit);
    }
    text
}

/// Decimals that show two significant digits of `u`; negative when even the tens are not known.
pub fn decimals(u: f64) -> i32 {
    let scientific = format!("{:.1e}", u.abs());
    let exponent = scientific
        .split_once('e')
        .and_then(|(_, e)| e.parse::<i32>().ok());
    1 - exponent.unwrap_or(0)
}

/// Decimals of a number without uncertainty: as many of five significant digits as are not zeros.
fn places_of(x: f64) -> i32 {
    let scientific = format!("{x:.4e}");
    let Some((digits, exponent)) = scientific.split_once('e') else {
        return 0;
    };
    let kept = digits
        .trim_end_matches('0')
        .split_once('.')
        .map_or(0, |(_, d)| d.len());
    let exponent = exponent.parse::<i32>().unwrap_or(0);
    (i32::try_from(kept).unwrap_or(0) - exponent).max(0)
}

/// Power of ten to take out of a number of size `x` with that many decimals: 0 for ordinary sizes.
fn taken_out(x: f64, places: i32) -> i32 {
    if x == 0.0 || !x.is_finite() {
        return 0;
    }
    let size = x.abs().log10().floor() as i32;
    if places > 6 && size < -3 || size >= 7 {
        size
    } else {
        0
    }
}

/// `x` with that many decimals (rounded to tens, hundreds when negative) and a real minus sign.
///
/// ```
/// use tremolet_report::number::fixed;
/// assert_eq!(fixed(-1234.5, -1), "\u{2212}1230");
/// assert_eq!(fixed(-0.001, 1), "0.0");
/// ```
pub fn fixed(x: f64, decimals: i32) -> String {
    let text = match usize::try_from(decimals) {
        Ok(places) => format!("{x:.places$}"),
        Err(_) => {
            let ten = 10f64.powi(-decimals);
            format!("{:.0}", (x / ten).round() * ten)
        }
    };
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

/// The label of an axis or a column: the name over the unit, which is bracketed when it is a quotient.
///
/// ```
/// use tremolet_report::number::labelled;
/// assert_eq!([labelled("time", "s"), labelled("rate", "1/s"), labelled("a", "")], ["time / s", "rate / (1/s)", "a"]);
/// ```
pub fn labelled(name: &str, sign: &str) -> String {
    match sign {
        "" => name.to_owned(),
        sign if sign.contains('/') => format!("{name} / ({sign})"),
        sign => format!("{name} / {sign}"),
    }
}

/// A share of one as whole per cent, "below 1 %" when it would be printed as none.
pub fn per_cent(share: f64) -> String {
    if share > 0.0 && share < 0.005 {
        "below\u{a0}1\u{a0}%".to_owned()
    } else {
        format!("{}\u{a0}%", fixed(100.0 * share, 0))
    }
}

#[cfg(test)]
mod tests {
    use super::{Handy, fixed, interval, per_cent, shown, signs};

    fn plain(text: &str) -> String {
        text.replace('\u{a0}', " ")
    }

    // JCGM 100:2008 7.2.2: m = 100.021 47 g with u = 0.35 mg is written with u to two digits (from memory).
    #[test]
    fn two_digits_of_the_uncertainty() {
        assert_eq!(
            plain(&shown(0.100_021_47, Some(0.35e-6), "kg").text()),
            "100.02147 ± 0.00035 g"
        );
        assert_eq!(
            plain(&shown(8.7e-6, Some(1.04e-7), "m^2/s").text()),
            "8.70 ± 0.10 mm²/s"
        );
        assert_eq!(
            plain(&shown(0.0121, Some(9.96e-6), "m").text()),
            "12.100 ± 0.010 mm"
        );
        assert_eq!(plain(&shown(-0.42, Some(0.031), "1").text()), "−0.420 ± 0.031");
        assert_eq!(
            plain(&shown(12_345.0, Some(240.0), "Hz").text()),
            "12350 ± 240 Hz"
        );
    }

    #[test]
    fn units_of_a_reader() {
        assert_eq!(Handy::of("m", 0.012).unit, "mm");
        assert_eq!(Handy::of("m", 45e-6).unit, "um");
        assert_eq!(Handy::of("m^3", 7.2e-6).sign(), "mL");
        assert_eq!(Handy::of("furlong", 3.0).unit, "furlong");
        assert_eq!(plain(&shown(295.15, None, "K").text()), "22 °C");
        assert_eq!(plain(&shown(0.0687, None, "N/m").text()), "68.7 mN/m");
        assert_eq!(signs("1/s"), "1/s");
        assert_eq!(signs("um"), "µm");
    }

    #[test]
    fn far_from_one_takes_a_power_out() {
        assert_eq!(
            plain(&shown(1.234e-9, Some(1.2e-11), "1").text()),
            "(1.234 ± 0.012) × 10⁻⁹"
        );
        assert_eq!(plain(&shown(5e-8, None, "1").text()), "5 × 10⁻⁸");
        assert_eq!(plain(&shown(0.0, Some(0.002), "1").text()), "0.0000 ± 0.0020");
    }

    #[test]
    fn intervals_and_shares() {
        assert_eq!(
            plain(&interval(0.0675, 0.0699, 0.0006, "N/m")),
            "67.50 to 69.90 mN/m"
        );
        assert_eq!(plain(&per_cent(0.001)), "below 1 %");
        assert_eq!(plain(&per_cent(0.614)), "61 %");
        assert_eq!(fixed(-0.04, 1), "0.0");
    }
}
