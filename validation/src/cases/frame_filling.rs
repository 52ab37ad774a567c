//! A drop that leaves little of an uneven light to see: its radius, and whether its uncertainty is honest.

use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{Lamp, Recipe};
use tremolet_clip::painted::stills::write_stills;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::door::measure;
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "frame_filling",
    question: "A drop that fills the frame in uneven light",
    method: "Painted back-lit drops of R 100 and 115 px ring in frames of 256 px before a light that falls off by 20 % \
             to the middle of the sides and slopes by 10 % across; nothing else is stated of the light. The error of the \
             radius is bound in pixels and in its own standard uncertainty.",
    version: 1,
    run,
};

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    for radius_px in [100.0, 115.0] {
        for seed in 1..=bench.pick(1, 6) {
            one(bench, &mut outcome, radius_px, seed)?;
        }
    }
    Ok(outcome)
}

fn one(bench: &Bench, outcome: &mut Outcome, radius_px: f64, seed: u64) -> Result<(), Failure> {
    let radius = 0.009;
    let drop = Ringing::in_air(radius, 1099.0, 0.0690, 3.68e-3, radius / radius_px, 120.0);
    let scratch = bench.scratch()?;
    let mut recipe = Recipe::silhouette(256, 256, bench.pick(60, 120), drop.rate_fps, drop.scale);
    recipe.lamp = Lamp {
        falloff: 0.2,
        slope: [0.1, -0.05],
        ..Lamp::default()
    };
    recipe.bodies = vec![drop.body([127.8, 126.9], [1.5, -1.0])?];
    recipe.seed = seed;
    let stills = scratch.path().join("stills");
    write_stills(&mut Painter::new(recipe)?, &stills).map_err(Failure::file(&stills))?;
    let found = measure(
        scratch.path(),
        "stills",
        &Stated::exactly(&drop, "stills").experiment(),
    )?;
    let clip = format!("R {radius_px} px, seed {seed}");
    let estimate = found.estimate("equivalent_radius");
    let off = estimate.map(|e| (e.value / radius - 1.0) * radius_px);
    outcome.within(&clip, "radius", off, 0.02, " px");
    let deviation = estimate.map(|e| (e.value - radius) / e.standard_uncertainty);
    outcome.within(&clip, "radius over its uncertainty", deviation, 3.0, "");
    outcome.tell(&clip, "cautions", found.cautions());
    Ok(())
}
