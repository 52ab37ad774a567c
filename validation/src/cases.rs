//! The cases, one file each.

mod boundary;
mod bright_drop;
mod camera;
mod clean_clips;
mod coverage;
mod efficiency;
mod exact_roots;
mod fit;
mod fit_apart;
mod foreseen;
mod frame_filling;
mod hard_scenes;
mod independent;
mod large_swings;
mod nothing_rings;
mod scenes;
mod solver;
mod speed;
mod surface_film;
mod traced;

use crate::case::Case;

/// All cases in the order of the table.
pub fn all() -> [Case; 20] {
    [
        clean_clips::CASE,
        exact_roots::CASE,
        independent::CASE,
        scenes::CASE,
        frame_filling::CASE,
        bright_drop::CASE,
        efficiency::CASE,
        coverage::CASE,
        foreseen::CASE,
        nothing_rings::CASE,
        hard_scenes::CASE,
        large_swings::CASE,
        surface_film::CASE,
        camera::CASE,
        solver::CASE,
        boundary::CASE,
        fit::CASE,
        fit_apart::CASE,
        traced::CASE,
        speed::CASE,
    ]
}
