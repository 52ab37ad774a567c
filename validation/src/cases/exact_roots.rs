//! Clips painted with exact viscous roots in air: surface tension, viscosity, radius, frequencies and decays.

use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::door::{Answer, measure};
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "exact_roots",
    question: "Back-lit clips painted with exact viscous roots in air",
    method: "Drops of known surface tension and viscosity ring in air by the exact roots of the viscous two-fluid problem; \
             modes 2 to 4, swings of 0.02 R and less, drift, uneven light, shot noise, 8-bit PNG.",
    version: 1,
    run,
};

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let full: &[(&str, Ringing, u64)] = &[
        (
            "18 mm glycerol-water, 40 %",
            Ringing::in_air(0.009, 1099.0, 0.0690, 3.68e-3, 9.0e-5, 120.0),
            500,
        ),
        (
            "10 mm water",
            Ringing::in_air(0.005, 998.2, 0.0727, 1.002e-3, 5.0e-5, 250.0),
            600,
        ),
        (
            "16 mm oil of 10 mm^2/s",
            Ringing::in_air(0.008, 935.0, 0.0201, 9.35e-3, 8.0e-5, 100.0),
            400,
        ),
    ];
    for (name, ringing, frames) in &full[..bench.pick(1, full.len())] {
        let found = film(bench, ringing, *frames, Recipe::silhouette)?;
        compare(&mut outcome, name, &found, ringing, [0.02, 0.1, 1.0])?;
    }
    Ok(outcome)
}

/// Paints the drop on 320 x 320 px with the recipe of a scene and measures the stills.
///
/// # Errors
/// As painting, writing and measuring do.
pub fn film(
    bench: &Bench,
    ringing: &Ringing,
    frames: u64,
    scene: fn(usize, usize, u64, f64, f64) -> Recipe,
) -> Result<Answer, Failure> {
    let scratch = bench.scratch()?;
    let mut recipe = scene(320, 320, frames, ringing.rate_fps, ringing.scale);
    recipe.bodies = vec![ringing.body([160.4, 158.7], [1.5, -1.0])?];
    recipe.seed = 11;
    let stills = scratch.path().join("stills");
    write_stills(&mut Painter::new(recipe)?, &stills).map_err(Failure::file(&stills))?;
    measure(
        scratch.path(),
        "stills",
        &Stated::exactly(ringing, "stills").experiment(),
    )
}

/// Adds the differences from the truth; bounds for the radius (px), surface tension (%) and viscosity (%).
///
/// # Errors
/// When theory gives no root.
pub fn compare(
    outcome: &mut Outcome,
    clip: &str,
    found: &Answer,
    ringing: &Ringing,
    [radius, tension, viscosity]: [f64; 3],
) -> Result<(), Failure> {
    let off = found.error_percent("equivalent_radius", ringing.pair.radius);
    outcome.within(
        clip,
        "radius",
        off.map(|off| 0.01 * off * ringing.radius_px()),
        radius,
        " px",
    );
    outcome.within(
        clip,
        "surface tension",
        found.error_percent("surface_tension", ringing.pair.tension),
        tension,
        " %",
    );
    let truth = ringing.kinematic_viscosity();
    outcome.within(
        clip,
        "kinematic viscosity",
        found.error_percent("kinematic_viscosity", truth),
        viscosity,
        " %",
    );
    for (degree, root) in (2_u32..).zip(ringing.roots()?).take(2) {
        let mode = found.mode(degree);
        let share = |value: Option<f64>, truth: f64| value.map(|value| 100.0 * (value / truth - 1.0));
        let frequency = share(
            mode.map(|m| m.frequency.value),
            root.angular_frequency / std::f64::consts::TAU,
        );
        outcome.within(clip, &format!("frequency of mode {degree}"), frequency, 0.1, " %");
        outcome.within(
            clip,
            &format!("decay of mode {degree}"),
            share(mode.map(|m| m.decay_rate.value), root.decay),
            3.0,
            " %",
        );
    }
    outcome.tell(clip, "cautions", found.cautions());
    Ok(())
}
