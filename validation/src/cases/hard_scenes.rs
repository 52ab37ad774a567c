//! Scenes in which a careful script fails in silence: each must be right, or say that it is not.

mod judge;
mod scenes;

use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::stills::write_stills;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::door::measure;
use crate::overlaid::drawn;
use crate::ringing::Stated;

use judge::judge;
use scenes::{Scene, scenes};

/// See the module.
pub const CASE: Case = Case {
    name: "hard_scenes",
    question: "Glints, supports, necks, parting and overlapping bodies: right, or said",
    method: "Painted back-lit clips (320 px, R about 60 px, 8 bit, shot noise): a glint on the rim, rods and loops that touch, a body that \
             leaves the picture, a rolled camera, a flickering lamp, necks, a pinch-off, an elongated body, two bodies that overlap in view. \
             Frame by frame and body by body the outline is held against the truth: amplitudes within 1e-3 R or the frame does not count as \
             free; volumes within the bound of the scene; nothing that is not flagged is off by more than its stated uncertainty allows; no \
             property from a body that something touches. A picture of each scene with what was drawn on it lies in \
             `target/validation/hard_scenes/`.",
    version: 1,
    run,
};

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let folder = bench.kept.join("hard_scenes");
    std::fs::create_dir_all(&folder).map_err(Failure::file(&folder))?;
    for scene in scenes(bench.pick(60, 150))? {
        for seed in 1..=bench.pick(1, 5) {
            one(bench, &mut outcome, &scene, seed, &folder)?;
        }
    }
    Ok(outcome)
}

fn one(
    bench: &Bench,
    outcome: &mut Outcome,
    scene: &Scene,
    seed: u64,
    folder: &std::path::Path,
) -> Result<(), Failure> {
    let scratch = bench.scratch()?;
    let mut recipe = scene.recipe.clone();
    recipe.seed = seed;
    let mut painter = Painter::new(recipe)?;
    let path = scratch.path().join("stills");
    write_stills(&mut painter, &path).map_err(Failure::file(&path))?;
    let experiment = Stated::exactly(&scene.drop, "stills").experiment();
    let found = measure(scratch.path(), "stills", &experiment)?;
    let clip = if seed == 1 {
        scene.name.to_string()
    } else {
        format!("{}, seed {seed}", scene.name)
    };
    judge(outcome, &clip, scene, &painter.truth(), &found);
    if seed == 1 {
        for frame in &scene.shown {
            let name = format!("{}-{frame:03}.png", scene.name.replace([' ', ','], "_"));
            drawn(&mut painter, *frame, &found.bodies, &folder.join(name))?;
        }
    }
    Ok(())
}
