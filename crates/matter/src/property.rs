//! One property of one substance, as it is used: value, origin, and whether the user stated it.

use crate::uncertain::Uncertain;

/// A property with where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Property {
    /// The value in SI units, with its inputs.
    pub value: Uncertain,
    /// Formula, table or statement it comes from; says "from memory" where the source was not at hand.
    pub source: String,
    /// Whether the user stated it, as against a formula or table here.
    pub stated: bool,
}

impl Property {
    /// A value that the user stated; the source is that of its first input.
    pub fn stated(value: &Uncertain) -> Self {
        let source = value.parts().first().map(|part| part.input.source.clone());
        Self {
            value: value.clone(),
            source: source.unwrap_or_else(|| "stated".into()),
            stated: true,
        }
    }
}
