//! Whether the 95 % intervals hold the truth 95 times in a hundred.
//!
//! In every run liquid, size and swings are drawn from broad ranges, and the noise anew. In the first group the true density and
//! scale are drawn from the distributions stated in the experiment file; in the others they are stated exactly, so that the
//! intervals have to come from the picture alone: of stills, and of a coarsely coded film. The count of intervals that hold the truth is compared with the binomial
//! distribution: a count that honest intervals would give less often than once in 500 fails.

use serde::{Deserialize, Serialize};

use tremolet_clip::painted::film::write_mp4;
use tremolet_clip::painted::noise::PaintedNoise;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;

use crate::bench::Bench;
use crate::binomial::{at_most, bounds};
use crate::cache::{part, place};
use crate::case::{Case, Failure, Outcome};
use crate::door::{Answer, measure};
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "coverage",
    question: "Do the 95 % intervals hold the truth?",
    method: "Painted back-lit runs (160 px, 120 frames, R about 45 px) with exact roots in air; tension, viscosity, size, swings and \
             noise drawn anew for each. `inputs drawn`: true scale and density drawn from their stated distributions (0.3 % and \
             0.1 %). `picture alone`: both stated exactly. `coded`: as before, as H.264 of a common camera (quantiser 22). A count \
             that honest intervals would give less often than once in 500 fails.",
    version: 2,
    run,
};

/// Quantities whose intervals are counted.
const QUANTITIES: [&str; 3] = ["surface_tension", "kinematic_viscosity", "equivalent_radius"];

/// What one run gave for one quantity.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Hit {
    quantity: String,
    /// Deviation over standard uncertainty; `None` when the quantity is absent.
    deviation: Option<f64>,
    inside: bool,
}

/// A kind of run.
#[derive(Debug, Clone, Copy)]
struct Group {
    name: &'static str,
    /// Relative standard uncertainties of scale and density.
    doubts: [f64; 2],
    /// Coded as a film of this quantiser.
    coded: Option<u8>,
    /// Runs in the coarse and in the full validation.
    runs: [u64; 2],
}

const GROUPS: [Group; 3] = [
    Group {
        name: "inputs drawn",
        doubts: [3e-3, 1e-3],
        coded: None,
        runs: [16, 200],
    },
    Group {
        name: "picture alone",
        doubts: [1e-7, 1e-7],
        coded: None,
        runs: [8, 100],
    },
    Group {
        name: "coded",
        doubts: [1e-7, 1e-7],
        coded: Some(22),
        runs: [8, 100],
    },
];

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    for (number, group) in (1..).zip(&GROUPS) {
        let [few, many] = group.runs;
        let mut hits = Vec::new();
        for seed in 1..=bench.pick(few, many) {
            let path = place(bench, CASE.name, CASE.version, &format!("{number}-seed-{seed}"))?;
            hits.push(part(bench, &path, || {
                one_run(bench, group, 1000 * number + seed)
            })?);
        }
        for quantity in QUANTITIES {
            count(&mut outcome, group.name, quantity, &hits);
        }
    }
    Ok(outcome)
}

fn count(outcome: &mut Outcome, group: &str, quantity: &str, hits: &[Vec<Hit>]) {
    let of: Vec<&Hit> = hits
        .iter()
        .flatten()
        .filter(|hit| hit.quantity == quantity && hit.deviation.is_some())
        .collect();
    let (all, given) = (hits.len() as u64, of.len() as u64);
    let inside = of.iter().filter(|hit| hit.inside).count() as u64;
    let (low, high) = bounds(given, 0.95, 0.002);
    let clip = format!("{group}, {all} runs");
    let bound = format!("{low} to {high}");
    let held = given > 0 && (low..=high).contains(&inside);
    outcome.must(
        &clip,
        &format!("{quantity}: intervals with the truth"),
        format!("{inside} of {given}"),
        &bound,
        held,
    );
    outcome.must(
        &clip,
        &format!("{quantity}: given at all"),
        format!("{given} of {all}"),
        "9 of 10",
        10 * given >= 9 * all,
    );
    let squares: f64 = of.iter().filter_map(|hit| hit.deviation).map(|z| z * z).sum();
    outcome.tell(
        &clip,
        &format!("{quantity}: rms deviation / uncertainty"),
        format!("{:.2}", (squares / given.max(1) as f64).sqrt()),
    );
    outcome.tell(
        &clip,
        &format!("{quantity}: chance of so few"),
        format!("{:.3}", at_most(inside, given, 0.95)),
    );
}

fn one_run(bench: &Bench, group: &Group, seed: u64) -> Result<Vec<Hit>, Failure> {
    let mut draw = PaintedNoise::new(seed, 0xC0FE, 0);
    let (scale, density) = (draw.between(1.0e-4, 2.0e-4), draw.between(950.0, 1150.0));
    let (scale_doubt, density_doubt) = (group.doubts[0] * scale, group.doubts[1] * density);
    let true_scale = scale + scale_doubt * draw.gauss();
    let true_density = density + density_doubt * draw.gauss();
    let radius = true_scale * draw.between(40.0, 50.0);
    let tension = draw.between(0.03, 0.073);
    // Thick enough to decay within the clip, thin enough to ring.
    let ohnesorge = draw.between(0.006, 0.02);
    let viscosity = ohnesorge * (true_density * tension * radius).sqrt();
    // About four swings of mode 2 in the clip, 30 frames each.
    let swing = std::f64::consts::TAU * (true_density * radius.powi(3) / (8.0 * tension)).sqrt();
    let rate_fps = (30.0 / swing * 100.0).round() / 100.0;
    let mut drop = Ringing::in_air(radius, true_density, tension, viscosity, true_scale, rate_fps);
    drop.swings = [0.02, 0.012, 0.006]
        .map(|a| [a * draw.between(0.7, 1.3), draw.between(0.0, 6.2)])
        .to_vec();
    let clip = if group.coded.is_some() {
        "clip.mp4"
    } else {
        "stills"
    };
    let stated = Stated {
        scale: [scale, scale_doubt],
        density: [density, density_doubt],
        ..Stated::exactly(&drop, clip)
    };
    let scratch = bench.scratch()?;
    let mut recipe = Recipe::silhouette(160, 160, 120, rate_fps, true_scale);
    recipe.seed = seed;
    recipe.bodies = vec![drop.body([79.0 + draw.even(), 79.0 + draw.even()], [1.0, -1.0])?];
    let (path, mut painter) = (scratch.path().join(clip), Painter::new(recipe)?);
    match group.coded {
        Some(coarseness) => write_mp4(&mut painter, &path, coarseness)?,
        None => write_stills(&mut painter, &path).map_err(Failure::file(&path))?,
    }
    let found = measure(scratch.path(), clip, &stated.experiment())?;
    let truths = [tension, drop.kinematic_viscosity(), radius];
    Ok(QUANTITIES
        .iter()
        .zip(truths)
        .map(|(quantity, truth)| hit(&found, quantity, truth))
        .collect())
}

fn hit(found: &Answer, quantity: &str, truth: f64) -> Hit {
    let estimate = found.estimate(quantity);
    Hit {
        quantity: quantity.into(),
        deviation: estimate.map(|e| (e.value - truth) / e.standard_uncertainty),
        inside: estimate.is_some_and(|e| (e.interval_95[0]..=e.interval_95[1]).contains(&truth)),
    }
}
