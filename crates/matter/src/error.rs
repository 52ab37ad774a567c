//! What can go wrong when a substance is looked up.

/// A substance that cannot be given its properties.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MatterError {
    /// No substance of this name.
    #[error("no {kind} is called \"{name}\"; nearest known: {nearest}")]
    UnknownName {
        /// `liquid` or `gas`.
        kind: &'static str,
        /// The name as asked for.
        name: String,
        /// The nearest known names, comma-separated.
        nearest: String,
    },
    /// A formula asked for outside the range in which it is known.
    #[error(
        "{quantity} of {of} is known for a {input} of {low} to {high} {unit}, found {found} {unit}; stay inside, or state the value where a liquid may"
    )]
    OutOfRange {
        /// The quantity, e.g. `density`.
        quantity: &'static str,
        /// The substance.
        of: String,
        /// What is out of range, e.g. `temperature`.
        input: &'static str,
        /// The value found, in `unit`.
        found: f64,
        /// Unit of the three numbers (SI).
        unit: &'static str,
        /// Lower end of the range, in `unit`.
        low: f64,
        /// Upper end of the range, in `unit`.
        high: f64,
    },
    /// A mixture without its composition.
    #[error("{name} needs the mass fraction of {solute} (0 to 1)")]
    MissingMassFraction {
        /// The liquid.
        name: String,
        /// What is dissolved in it.
        solute: &'static str,
    },
    /// A pure liquid with a composition.
    #[error("{name} is no mixture, yet a mass fraction is given; leave it out or name the mixture")]
    NeedlessMassFraction {
        /// The liquid.
        name: String,
    },
    /// A stated value that no liquid can have.
    #[error("the stated {quantity} must be above zero, found {found} {unit}")]
    NotPositive {
        /// The quantity, e.g. `density`.
        quantity: &'static str,
        /// The value found, in `unit`.
        found: f64,
        /// Unit of the value (SI).
        unit: &'static str,
    },
    /// A liquid known only by what is stated, without a density.
    #[error("a liquid of one's own needs a stated density")]
    MissingDensity,
}
