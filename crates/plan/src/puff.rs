//! puff

use crate::given::Given;
use crate::sheet::OfKind;

/// Everything about this kind.
pub fn puff(_given: &Given<'_>) -> OfKind {
    OfKind::default()
}
