//! fizz

use crate::given::Given;
use crate::sheet::OfKind;

/// Everything about this kind.
pub fn fizz(_given: &Given<'_>) -> OfKind {
    OfKind::default()
}
