//! Whether a formula may be believed for what it was asked: the range that a caller can show beside the number.
//!
//! ```text
//! holds = all of (least <= value <= most)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | value | the quantity on which the range of a formula is set, mostly a ratio | as its name says |
//! | least, most | ends of the range; infinite where there is none | the same |
//!
//! A formula outside its range still gives its number: the number is an orientation, and the broken conditions say why. Input
//! that cannot be at all is an error instead. Not here: how large the error is outside the range.

/// One condition of a formula: a quantity and the range in which the formula holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condition {
    /// Name of the quantity, with its unit if it has one.
    pub name: &'static str,
    /// Value it has.
    pub value: f64,
    /// Least value for which the formula holds; minus infinity if there is none.
    pub least: f64,
    /// Greatest value for which the formula holds; infinity if there is none.
    pub most: f64,
}

impl Condition {
    /// Whether the value is within the range; what is not a number is not.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.least <= self.value && self.value <= self.most
    }
}

impl std::fmt::Display for Condition {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Condition {
            name,
            value,
            least,
            most,
        } = *self;
        write!(f, "{name} is {}; the formula holds ", Short(value))?;
        match (least.is_finite(), most.is_finite()) {
            (true, true) => write!(f, "from {} to {}", Short(least), Short(most)),
            (true, false) => write!(f, "from {}", Short(least)),
            (false, true) => write!(f, "up to {}", Short(most)),
            (false, false) => write!(f, "everywhere"),
        }
    }
}

/// A number in three digits.
struct Short(f64);

impl std::fmt::Display for Short {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let size = self.0.abs();
        if size != 0.0 && !(1e-3..1e5).contains(&size) {
            return write!(f, "{:.2e}", self.0);
        }
        let whole = if size >= 1.0 {
            size.log10().floor() as usize
        } else {
            0
        };
        let text = format!(
            "{:.*}",
            3usize.saturating_sub(whole + usize::from(size >= 1.0)),
            self.0
        );
        let text = if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.')
        } else {
            &text
        };
        write!(f, "{text}")
    }
}

/// The conditions of a formula for one question.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Validity {
    conditions: Vec<Condition>,
}

impl Validity {
    /// A formula that holds for every input that it accepts.
    #[must_use]
    pub fn always() -> Self {
        Validity::default()
    }

    /// With one more condition: `name` has `value`, the formula holds from `least` to `most`.
    ///
    /// ```
    /// use tremolet_theory::validity::Validity;
    /// let slow = Validity::always().with("capillary number", 0.3, 0.0, 0.1);
    /// assert!(!slow.holds());
    /// assert_eq!(slow.why(), "capillary number is 0.3; the formula holds from 0 to 0.1");
    /// ```
    #[must_use]
    pub fn with(mut self, name: &'static str, value: f64, least: f64, most: f64) -> Self {
        self.conditions.push(Condition {
            name,
            value,
            least,
            most,
        });
        self
    }

    /// Both sets of conditions.
    #[must_use]
    pub fn and(mut self, other: Validity) -> Self {
        self.conditions.extend(other.conditions);
        self
    }

    /// All conditions, in the order in which they were set.
    #[must_use]
    pub fn conditions(&self) -> &[Condition] {
        &self.conditions
    }

    /// Whether every condition holds.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.conditions.iter().all(Condition::holds)
    }

    /// Names of the broken conditions, in order.
    #[must_use]
    pub fn broken(&self) -> Vec<&'static str> {
        let broken = self.conditions.iter().filter(|condition| !condition.holds());
        broken.map(|condition| condition.name).collect()
    }

    /// The broken conditions as one sentence fragment; empty when all hold.
    #[must_use]
    pub fn why(&self) -> String {
        let broken = self.conditions.iter().filter(|condition| !condition.holds());
        broken.map(ToString::to_string).collect::<Vec<_>>().join("; ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_broken_is_named() {
        let both = Validity::always()
            .with("offset", 0.2, 0.0, 1.0)
            .and(Validity::always().with("Reynolds number", 2.5e6, 1000.0, f64::INFINITY));
        assert!(both.holds() && both.why().is_empty() && both.conditions().len() == 2);
        let slow = both.with("Ohnesorge number", 4.0, f64::NEG_INFINITY, 0.01);
        assert!(!slow.holds());
        assert_eq!(slow.broken(), ["Ohnesorge number"]);
        assert_eq!(slow.why(), "Ohnesorge number is 4; the formula holds up to 0.01");
    }

    #[test]
    fn ends_count_as_inside_and_no_number_as_outside() {
        let at = |value| Validity::always().with("x", value, 1.0, 2.0);
        assert!(at(1.0).holds() && at(2.0).holds());
        assert!(!at(0.999).holds() && !at(2.001).holds() && !at(f64::NAN).holds());
    }

    #[test]
    fn numbers_are_short() {
        let text = |x: f64| Short(x).to_string();
        let short = [0.0, 1.0, 0.12345, 12.345, 123.45, 1234.5, 4.0e-7, 2.0e9].map(text);
        assert_eq!(
            short,
            ["0", "1", "0.123", "12.3", "123", "1234", "4.00e-7", "2.00e9"]
        );
        assert_eq!(text(f64::NAN), "NaN");
    }
}
