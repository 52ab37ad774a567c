//! Units: symbols, prefixes, products and quotients, read into a factor to SI and exponents.
//!
//! ```text
//! unit   = factor { (" " | "*" | "." middle dot | "/") factor }        a "/" divides by the one factor after it
//! factor = [prefix] symbol [ "^" power | power | superscript ]
//! ```
//!
//! `x_SI = scale x + offset`; only a lone degree Celsius has an offset (273.15 K). A product after a slash
//! (`J/kg K`) is ambiguous and refused; write `J/kg/K`. Sources: \[SIBrochure9\] tables 4, 7 and 8; standard
//! gravity 9.80665 m/s^2 and atmosphere 101325 Pa are exact by convention, 1 psi = 6894.757 Pa. Table numbers
//! are from memory.

use crate::quantity::dimension::Exponents;

/// A unit: `SI = scale * x + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// SI units in one of this unit.
    pub scale: f64,
    /// Added after scaling, for a temperature in degrees Celsius; else zero.
    pub offset: f64,
    /// Powers of the base units.
    pub exponents: Exponents,
}

/// Symbol, SI value, exponents (m, kg, s, K, mol, px, rad), whether prefixes may stand before it.
const SYMBOLS: &[(&str, f64, Exponents, bool)] = &[
    ("m", 1.0, [1, 0, 0, 0, 0, 0, 0], true),
    ("g", 1e-3, [0, 1, 0, 0, 0, 0, 0], true),
    ("s", 1.0, [0, 0, 1, 0, 0, 0, 0], true),
    ("min", 60.0, [0, 0, 1, 0, 0, 0, 0], false),
    ("h", 3600.0, [0, 0, 1, 0, 0, 0, 0], false),
    ("K", 1.0, [0, 0, 0, 1, 0, 0, 0], true),
    ("degC", 1.0, [0, 0, 0, 1, 0, 0, 0], false),
    ("°C", 1.0, [0, 0, 0, 1, 0, 0, 0], false),
    ("mol", 1.0, [0, 0, 0, 0, 1, 0, 0], true),
    ("px", 1.0, [0, 0, 0, 0, 0, 1, 0], false),
    ("rad", 1.0, [0, 0, 0, 0, 0, 0, 1], true),
    ("deg", std::f64::consts::PI / 180.0, [0, 0, 0, 0, 0, 0, 1], false),
    ("°", std::f64::consts::PI / 180.0, [0, 0, 0, 0, 0, 0, 1], false),
    ("Hz", 1.0, [0, 0, -1, 0, 0, 0, 0], true),
    ("fps", 1.0, [0, 0, -1, 0, 0, 0, 0], false),
    ("gn", 9.80665, [1, 0, -2, 0, 0, 0, 0], true),
    ("N", 1.0, [1, 1, -2, 0, 0, 0, 0], true),
    ("dyn", 1e-5, [1, 1, -2, 0, 0, 0, 0], false),
    ("J", 1.0, [2, 1, -2, 0, 0, 0, 0], true),
    ("Pa", 1.0, [-1, 1, -2, 0, 0, 0, 0], true),
    ("bar", 1e5, [-1, 1, -2, 0, 0, 0, 0], true),
    ("atm", 101_325.0, [-1, 1, -2, 0, 0, 0, 0], false),
    ("Torr", 101_325.0 / 760.0, [-1, 1, -2, 0, 0, 0, 0], false),
    ("psi", 6894.757, [-1, 1, -2, 0, 0, 0, 0], false),
    ("P", 0.1, [-1, 1, -1, 0, 0, 0, 0], true),
    ("St", 1e-4, [2, 0, -1, 0, 0, 0, 0], true),
    ("L", 1e-3, [3, 0, 0, 0, 0, 0, 0], true),
    ("l", 1e-3, [3, 0, 0, 0, 0, 0, 0], true),
    ("1", 1.0, [0; 7], false),
    ("%", 0.01, [0; 7], false),
    ("ppm", 1e-6, [0; 7], false),
];

const PREFIXES: &[(char, f64)] = &[
    ('p', 1e-12),
    ('n', 1e-9),
    ('u', 1e-6),
    ('\u{b5}', 1e-6),
    ('\u{3bc}', 1e-6),
    ('m', 1e-3),
    ('c', 1e-2),
    ('d', 1e-1),
    ('h', 1e2),
    ('k', 1e3),
    ('M', 1e6),
    ('G', 1e9),
];

impl Unit {
    /// Reads a unit; the empty text is the unit one. `None` when a symbol is unknown or the form is wrong.
    ///
    /// ```
    /// use tremolet_matter::quantity::unit::Unit;
    /// assert!((Unit::read("mPa s").unwrap().scale - 1e-3).abs() < 1e-18);
    /// assert!(Unit::read("J/kg K").is_none());
    /// ```
    pub fn read(text: &str) -> Option<Unit> {
        let text = text.trim();
        let mut unit = Unit {
            scale: 1.0,
            offset: 0.0,
            exponents: [0; 7],
        };
        if text.is_empty() {
            return Some(unit);
        }
        if matches!(text, "degC" | "°C") {
            unit.offset = 273.15;
        }
        let mut divided = false;
        for (i, quotient) in text.split('/').enumerate() {
            let mut factors = quotient
                .split([' ', '*', '\u{b7}'])
                .filter(|f| !f.is_empty())
                .peekable();
            factors.peek()?;
            for (j, factor) in factors.enumerate() {
                if divided && j > 0 {
                    return None;
                }
                unit = unit.times(factor, if i == 0 { 1 } else { -1 })?;
            }
            divided = true;
        }
        Some(unit)
    }

    fn times(self, factor: &str, sign: i32) -> Option<Unit> {
        let (symbol, power) = split_power(factor)?;
        let (scale, exponents) = symbol_value(symbol)?;
        let power = sign * power;
        let mut product = Unit {
            scale: self.scale * scale.powi(power),
            ..self
        };
        for (sum, e) in product.exponents.iter_mut().zip(exponents) {
            *sum = i8::try_from(i32::from(*sum) + power * i32::from(e)).ok()?;
        }
        Some(product)
    }
}

/// Splits `m^2`, `m2`, `s^-1` or `m` with a superscript into symbol and power (of magnitude 1 to 9).
fn split_power(factor: &str) -> Option<(&str, i32)> {
    if factor == "1" {
        return Some((factor, 1));
    }
    let plain = |c: char| c.is_ascii_digit() || c == '-' || c == '^' || "²³⁻¹".contains(c);
    let symbol = factor.trim_end_matches(plain);
    let power: String = factor[symbol.len()..]
        .trim_start_matches('^')
        .chars()
        .map(|c| match c {
            '¹' => '1',
            '²' => '2',
            '³' => '3',
            '⁻' => '-',
            other => other,
        })
        .collect();
    if power.is_empty() {
        return (symbol.len() == factor.len()).then_some((symbol, 1));
    }
    let power: i32 = power.parse().ok()?;
    (1..=9).contains(&power.abs()).then_some((symbol, power))
}

fn symbol_value(symbol: &str) -> Option<(f64, Exponents)> {
    let find = |name: &str| SYMBOLS.iter().find(|row| row.0 == name);
    if let Some(row) = find(symbol) {
        return Some((row.1, row.2));
    }
    let first = symbol.chars().next()?;
    let prefix = PREFIXES.iter().find(|p| p.0 == first)?;
    let row = find(&symbol[first.len_utf8()..]).filter(|row| row.3)?;
    Some((prefix.1 * row.1, row.2))
}
