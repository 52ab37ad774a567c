//! Why no plan could be made.

/// Why no plan could be made at all; what only spoils a part of it stands in that part.
#[derive(Debug, thiserror::Error)]
pub enum PlanError {
    /// The liquid or the gas is unknown, or outside the range of what is known of it.
    #[error(transparent)]
    Matter(#[from] tremolet_matter::error::MatterError),
}
