//! column

use crate::given::Given;
use crate::sheet::OfKind;

/// Everything about this kind.
pub fn column(_given: &Given<'_>) -> OfKind {
    OfKind::default()
}
