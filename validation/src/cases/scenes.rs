//! Drawn scenes by a script that shares nothing with the program, each made hard in one way.
//!
//! `scenes.py` looks at a three-dimensional body: its outline is the farthest of all its points in each direction of the picture, so
//! a tilted axis, modes around the axis and a near camera are geometry there and no formula. Rows may be read one after the
//! other and the camera may shake. Intervals of tension, viscosity and radius that hold the truth are counted over all scenes.

use serde::{Deserialize, Serialize};

use crate::bench::Bench;
use crate::binomial::bounds;
use crate::cache::{part, place};
use crate::case::{Case, Failure, Outcome};
use crate::door::measure;
use crate::python::{self, word};

/// See the module.
pub const CASE: Case = Case {
    name: "scenes",
    question: "Drawn scenes whose painter and roots are not ours, each made hard in one way",
    method: "Drops of 36 to 48 px radius, drawn size, liquid, swings, blur and noise, painted by a script of general libraries from the \
             farthest points of a three-dimensional body on a grid of 6 (coarse) or 16 (full) to a pixel: axis in the picture (plain), 10 to 35 degrees out of \
             it (tilt), modes around the axis too (order), camera at 8 to 14 radii (perspective), rows read during 30 to 80 % of the \
             frame (shutter), a shaking camera before marks (shake). Distance and readout time are stated, scale and density exactly.",
    version: 1,
    run,
};

const EFFECTS: [&str; 6] = ["plain", "tilt", "order", "perspective", "shutter", "shake"];

const QUANTITIES: [&str; 3] = ["surface_tension", "kinematic_viscosity", "equivalent_radius"];

#[derive(Debug, Deserialize)]
struct Truth {
    radius: f64,
    density: f64,
    tension: f64,
    viscosity: f64,
    scale: f64,
    rate: f64,
    distance: Option<f64>,
    readout: Option<f64>,
}

/// Of one quantity of one scene: relative deviation, deviation over standard uncertainty, and whether the interval holds the truth.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Deviation {
    relative: f64,
    normalised: f64,
    inside: bool,
}

/// What one scene gave, in the order of `QUANTITIES`, and the cautions.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Seen {
    deviations: Vec<Option<Deviation>>,
    cautions: String,
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let seeds = bench.pick(1, 4);
    let mut all = Vec::new();
    for effect in EFFECTS {
        let mut scenes = Vec::new();
        for seed in 1..=seeds {
            let path = place(bench, CASE.name, CASE.version, &format!("{effect}-{seed}"))?;
            scenes.push(part(bench, &path, || scene(bench, effect, seed))?);
        }
        tell(&mut outcome, effect, &scenes);
        all.extend(scenes);
    }
    for (index, quantity) in QUANTITIES.iter().enumerate() {
        let of: Vec<&Deviation> = all
            .iter()
            .filter_map(|seen| seen.deviations[index].as_ref())
            .collect();
        let (given, inside) = (of.len() as u64, of.iter().filter(|d| d.inside).count() as u64);
        let (low, high) = bounds(given, 0.95, 0.002);
        let clip = format!("all, {} scenes", all.len());
        outcome.must(
            &clip,
            &format!("{quantity}: intervals with the truth"),
            format!("{inside} of {given}"),
            &format!("{low} to {high}"),
            (low..=high).contains(&inside),
        );
        outcome.must(
            &clip,
            &format!("{quantity}: given at all"),
            format!("{given} of {}", all.len()),
            "9 of 10",
            10 * given >= 9 * all.len() as u64,
        );
    }
    Ok(outcome)
}

fn tell(outcome: &mut Outcome, effect: &str, scenes: &[Seen]) {
    for (index, quantity) in QUANTITIES.iter().enumerate() {
        let text: Vec<String> = scenes
            .iter()
            .map(|seen| {
                seen.deviations[index].as_ref().map_or("absent".into(), |d| {
                    format!("{:+.3} % ({:+.1} u)", 100.0 * d.relative, d.normalised)
                })
            })
            .collect();
        outcome.tell(effect, quantity, text.join(", "));
    }
    let cautions: Vec<&str> = scenes.iter().map(|seen| seen.cautions.as_str()).collect();
    outcome.tell(effect, "cautions", cautions.join("; "));
}

fn scene(bench: &Bench, effect: &str, seed: u64) -> Result<Seen, Failure> {
    let scratch = bench.scratch()?;
    let (frames, fine) = bench.pick(("90", "6"), ("120", "16"));
    let words = [
        effect.into(),
        seed.to_string(),
        frames.into(),
        fine.into(),
        word(scratch.path()),
    ];
    let printed = python::run(bench, "scenes.py", &words)?;
    let truth: Truth =
        serde_json::from_str(printed.lines().last().unwrap_or_default()).map_err(|cause| Failure::Text {
            what: "what scenes.py printed".into(),
            cause: cause.to_string(),
        })?;
    let found = measure(scratch.path(), "stills", &experiment(&truth))?;
    let truths = [truth.tension, truth.viscosity / truth.density, truth.radius];
    let deviations = QUANTITIES
        .iter()
        .zip(truths)
        .map(|(quantity, truth)| {
            found.estimate(quantity).map(|e| Deviation {
                relative: e.value / truth - 1.0,
                normalised: (e.value - truth) / e.standard_uncertainty,
                inside: (e.interval_95[0]..=e.interval_95[1]).contains(&truth),
            })
        })
        .collect();
    Ok(Seen {
        deviations,
        cautions: found.cautions(),
    })
}

fn experiment(truth: &Truth) -> String {
    let distance = truth.distance.map_or(String::new(), |d| {
        format!(
            "distance = \"{:.9} +- {:.9} mm\"\ndepth = \"0 +- 0.0001 mm\"\n",
            1e3 * d,
            1e-3 * d
        )
    });
    let readout = truth.readout.map_or(String::new(), |r| {
        format!("readout_time = \"{:.9} ms\"\n", 1e3 * r)
    });
    format!(
        "format = 1\ntitle = \"drawn scene\"\nkind = \"release\"\n\n[liquid]\ndensity = \"{:.9} +- {:.9} kg/m^3\"\n\n\
         [gas]\nname = \"air\"\ntemperature = \"20 degC\"\npressure = \"101.325 kPa\"\n\n\
         [camera]\ncapture_rate = \"{} fps\"\nscale = \"{:.12} +- {:.12} mm/px\"\n{distance}{readout}\n[clip]\npath = \"stills\"\n",
        truth.density,
        1e-6 * truth.density,
        truth.rate,
        1e3 * truth.scale,
        1e-3 * truth.scale,
    )
}
