//! Clips in which nothing rings give no modes and no surface tension, and say so.

use tremolet_clip::painted::body::{PaintedBody, Still};
use tremolet_clip::painted::film::write_mp4;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::door::measure;
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "nothing_rings",
    question: "Rigid sphere, still drop, empty frames: no modes, no surface tension",
    method: "Painted back-lit clips (192 px) with noise: a drifting rigid sphere, a drop of a fixed shape that is not round, and no \
             body at all; as PNG and as H.264 of a common camera (quantiser 22), whose key frames make outlines pulse. The program must end well, give neither modes nor surface tension nor viscosity, and say why.",
    version: 3,
    run,
};

/// Quantiser of a common camera.
const COARSE: u8 = 22;

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let sphere = || PaintedBody::sphere(60.0, [95.0, 96.0]).along(|t| [95.0 + 2.0 * t, 96.0 - t]);
    let still = || PaintedBody::moving(60.0, [95.3, 96.1], Still(vec![0.0, 0.0, 0.03, 0.01])).turned(0.3);
    let kinds: [(&str, Vec<PaintedBody>); 3] = [
        ("rigid sphere", vec![sphere()]),
        ("still drop", vec![still()]),
        ("empty frames", Vec::new()),
    ];
    for (name, bodies) in kinds {
        for (kind, coarseness) in [("PNG", None), ("MP4", Some(COARSE))] {
            let seeds = bench.pick(1, 8);
            let told: Vec<Told> = (1..=seeds)
                .map(|seed| one(bench, (bodies.clone(), coarseness, seed)))
                .collect::<Result<_, _>>()?;
            summary(&mut outcome, &format!("{name}, {kind}, {seeds} seeds"), &told);
        }
    }
    Ok(outcome)
}

/// What one clip gave.
struct Told {
    modes: usize,
    claims: usize,
    cautions: String,
}

fn one(
    bench: &Bench,
    (bodies, coarseness, seed): (Vec<PaintedBody>, Option<u8>, u64),
) -> Result<Told, Failure> {
    let scratch = bench.scratch()?;
    let stand_in = Ringing::in_air(0.006, 998.2, 0.0727, 1.0e-3, 1.0e-4, 120.0);
    let mut recipe = Recipe::silhouette(192, 192, bench.pick(100, 200), stand_in.rate_fps, stand_in.scale);
    (recipe.bodies, recipe.seed) = (bodies, seed);
    let clip = if coarseness.is_some() {
        "clip.mp4"
    } else {
        "stills"
    };
    let (path, mut painter) = (scratch.path().join(clip), Painter::new(recipe)?);
    match coarseness {
        Some(coarseness) => write_mp4(&mut painter, &path, coarseness)?,
        None => write_stills(&mut painter, &path).map_err(Failure::file(&path))?,
    }
    let experiment = Stated::exactly(&stand_in, clip).experiment();
    let found = measure(scratch.path(), clip, &experiment)?;
    let claims = ["surface_tension", "kinematic_viscosity", "dynamic_viscosity"];
    Ok(Told {
        modes: found.findings.modes.len(),
        claims: claims
            .into_iter()
            .filter(|quantity| found.estimate(quantity).is_some())
            .count(),
        cautions: found.cautions(),
    })
}

/// One row for all seeds: how many gave what they must not, and what they said.
fn summary(outcome: &mut Outcome, name: &str, told: &[Told]) {
    let count = |wrong: &dyn Fn(&Told) -> bool| told.iter().filter(|one| wrong(one)).count();
    let (modes, claims) = (count(&|one| one.modes > 0), count(&|one| one.claims > 0));
    let silent = count(&|one| one.cautions.is_empty());
    let mut words: Vec<&str> = told.iter().flat_map(|one| one.cautions.split(", ")).collect();
    words.sort_unstable();
    words.dedup();
    outcome.must(
        name,
        "clips with modes, with properties, without a caution",
        format!("{modes}, {claims}, {silent}"),
        "0, 0, 0",
        modes + claims + silent == 0,
    );
    outcome.tell(name, "cautions", words.join(", "));
}
