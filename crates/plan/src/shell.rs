//! shell

use crate::given::Given;
use crate::sheet::OfKind;

/// Everything about this kind.
pub fn shell(_given: &Given<'_>) -> OfKind {
    OfKind::default()
}
