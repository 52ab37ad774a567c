//! A bright transparent drop over clutter, without a frame of the empty scene.

use tremolet_clip::painted::recipe::Recipe;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::cases::exact_roots::{Medium, SEED, compare, film};
use crate::ringing::Ringing;

/// See the module.
pub const CASE: Case = Case {
    name: "bright_drop",
    question: "A bright drop over clutter, without an empty frame",
    method: "A transparent drop with dark rim and glints before a cluttered wall, painted with exact roots in air; no frame \
             without the drop is given. A frame counts as lost in silence when it is neither measured nor named by a caution.",
    version: 3,
    run,
};

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let drop = Ringing::in_air(0.009, 1099.0, 0.0690, 3.68e-3, 9.0e-5, 120.0);
    let frames = bench.pick(150, 400);
    let found = film(bench, &drop, frames, Recipe::bright, (Medium::Stills, SEED))?;
    compare(
        &mut outcome,
        "18 mm glycerol-water",
        &found,
        &drop,
        [0.3, 1.0, 10.0],
    )?;
    let seen = found.findings.clip.frames;
    outcome.must(
        "18 mm glycerol-water",
        "frames read",
        seen.to_string(),
        "all",
        seen == frames,
    );
    let lost = found.lost_in_silence();
    outcome.must(
        "18 mm glycerol-water",
        "frames lost in silence",
        lost.to_string(),
        "none",
        lost == 0,
    );
    Ok(outcome)
}
