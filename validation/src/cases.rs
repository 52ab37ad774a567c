//! The cases, one file each.

mod bright_drop;
mod clean_clips;
mod coverage;
mod exact_roots;
mod frame_filling;
mod independent;
mod nothing_rings;
mod speed;

use crate::case::Case;

/// All cases in the order of the table.
pub fn all() -> [Case; 8] {
    [
        clean_clips::CASE,
        exact_roots::CASE,
        independent::CASE,
        frame_filling::CASE,
        bright_drop::CASE,
        coverage::CASE,
        nothing_rings::CASE,
        speed::CASE,
    ]
}
