//! Whether the uncertainty that a plan foresees is the scatter that repeats of the run then show.
//!
//! Each of the invented runs is drawn from a seed, painted once, and its noise drawn anew for each repeat. What is foreseen rests on the
//! experiment file alone, by the same functions as `tremolet plan`; the file tells of the picture what somebody knows who has recorded
//! the light and something dark before it. Inputs are exact, so that the scatter is that of noise, and the foreseen part by noise is
//! what it is held against; the rest of the budget is the business of the case `coverage`. Nothing was fitted to these runs: the
//! prediction is what the estimator does, written down.

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};

use tremolet_clip::painted::film::write_mp4;
use tremolet_clip::painted::noise::PaintedNoise;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{Dust, PaintedScene, Recipe, Silhouette};
use tremolet_numerics::statistics::{chi_square_tail, median};
use tremolet_plan::given::Given;
use tremolet_plan::prospect::{Begin, Run};
use tremolet_record::experiment::file::Experiment;

use crate::bench::Bench;
use crate::binomial::bounds;
use crate::case::{Case, Failure, Outcome};
use crate::door::measure;
use crate::ledger::Ledger;
use crate::noise::Clean;
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "foreseen",
    question: "Is the foreseen uncertainty the scatter of repeats?",
    method: "Invented back-lit runs of `release`, drawn from seeds: radius 2 to 24 mm and 24 to 64 px, density 780 to 1260 kg/m^3, surface tension \
             20 to 73 mN/m, Ohnesorge number 0.002 to 0.03, 12 to 45 frames in a swing, 80 to 180 frames, swings 0.3 to 3 % of R in degree 2 and less in \
             3 and 4, 22 500 to 1 500 electrons, 8 bit, level, unevenness, blur, darkness, drift and axis drawn. Foreseen: standard uncertainty by noise, \
             relative, as the plan gives it from the experiment file; a span where a mode may or may not be found. Scatter: \
             standard deviation over the repeats, over what was foreseen (over the nearest end of a span). A ratio outside 0.8 to 1.25 is an \
             exception; as many are allowed as honest predictions give 999 times in 1000 (chi-square for each ratio, binomial over all). Stated: \
             median of what the measurements state, the whole budget, over the foreseen whole. The full run also has a dozen of them coded as H.264, told only.",
    version: 1,
    run,
};

/// Quantities that are held against the plan.
const QUANTITIES: [&str; 3] = ["surface_tension", "kinematic_viscosity", "equivalent_radius"];

/// Ends of the ratio of scatter to what was foreseen.
const LEAST: f64 = 0.8;
const MOST: f64 = 1.25;

/// What one repeat gave.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Repeat {
    scene: u64,
    /// Value and standard uncertainty of each of [`QUANTITIES`].
    found: [Option<[f64; 2]>; 3],
    /// Degree, frequency (Hz), decay (1/s).
    modes: Vec<(u32, f64, f64)>,
}

/// An invented run.
struct Scene {
    drop: Ringing,
    recipe: Recipe,
    /// The experiment file, by which it is planned and measured.
    experiment: String,
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let (scenes, repeats) = bench.pick((4_u64, 12_u64), (24, 200));
    let all: Vec<Scene> = (0..scenes).map(scene).collect::<Result<_, _>>()?;
    let mut clean: Vec<Option<Clean>> = all.iter().map(|_| None).collect();
    let mut ledger = Ledger::open(bench, &CASE, "repeats")?;
    ledger.fill(bench, scenes * repeats, &mut |number| {
        let place = (number % scenes) as usize;
        let clean = match &mut clean[place] {
            Some(clean) => clean,
            empty => empty.insert(Clean::paint(all[place].recipe.clone())?),
        };
        repeat(bench, &all[place], clean, number, number % scenes)
    })?;
    let done: Vec<&Repeat> = ledger.done(scenes * repeats).collect();
    let (mut checks, mut outside, mut chance) = (0, 0, 0.0);
    for (k, scene) in all.iter().enumerate() {
        let of: Vec<&Repeat> = done.iter().copied().filter(|one| one.scene == k as u64).collect();
        let (n, off, p) = report(&mut outcome, scene, k, &of)?;
        checks += n;
        outside += off;
        chance += p;
    }
    coded(bench, &mut outcome, &all)?;
    let p = chance / (checks as f64).max(1.0);
    let (_, most) = bounds(checks, p, 0.001);
    outcome.must(
        "all runs",
        "scatter over foreseen outside 0.8 to 1.25",
        format!("{outside} of {checks}"),
        &format!("{most} at most"),
        outside <= most && checks > 0,
    );
    Ok(outcome)
}

/// Quantiser of a common camera.
const COMMON: u8 = 22;

/// The same runs coded with loss, one clip of each: stated over foreseen; told, for the plan takes the scatter of coding from such films.
fn coded(bench: &Bench, outcome: &mut Outcome, all: &[Scene]) -> Result<(), Failure> {
    let mut ledger = Ledger::open(bench, &CASE, "coded")?;
    let runs = bench.pick(0, 12);
    ledger.fill(bench, runs, &mut |number| {
        let scene = &all[number as usize];
        let scratch = bench.scratch()?;
        let mut painter = Painter::new(scene.recipe.clone())?;
        write_mp4(&mut painter, &scratch.path().join("clip.mp4"), COMMON)?;
        let experiment = scene.experiment.replace("clip.y4m", "clip.mp4");
        let found = measure(scratch.path(), "clip.mp4", &experiment)?;
        let found = QUANTITIES.map(|quantity| {
            let estimate = found.estimate(quantity)?;
            Some([estimate.value, estimate.standard_uncertainty])
        });
        Ok(Repeat {
            scene: number,
            found,
            modes: Vec::new(),
        })
    })?;
    let done: Vec<&Repeat> = ledger.done(runs).collect();
    for one in done {
        let prediction = predict(&all[one.scene as usize], Some(COMMON))?;
        let ratio = |k: usize| match (one.found[k], prediction.whole[k]) {
            (Some([_, u]), Some([least, most])) => format!("{:.2}", u / u.clamp(least, most)),
            (None, None) => "neither".into(),
            (Some(_), None) => "not foreseen".into(),
            (None, Some(_)) => "not given".into(),
        };
        let clip = format!("run {}, quantiser {COMMON}", one.scene + 1);
        let said = [0, 1, 2].map(ratio).join(", ");
        outcome.tell(
            &clip,
            "stated over foreseen: surface tension, viscosity, radius",
            said,
        );
    }
    Ok(())
}

fn scene(seed: u64) -> Result<Scene, Failure> {
    let mut dice = PaintedNoise::new(seed + 1, 0x9_1A4, 3);
    let radius_px = 24.0 * (64.0_f64 / 24.0).powf(dice.even());
    let radius = 2e-3 * 12.0_f64.powf(dice.even());
    let scale = radius / radius_px;
    let density = dice.between(780.0, 1260.0);
    let tension = dice.between(0.02, 0.073);
    let ohnesorge = 0.002 * 15.0_f64.powf(dice.even());
    let viscosity = ohnesorge * (density * tension * radius).sqrt();
    let swing = TAU * (density * radius.powi(3) / (8.0 * tension)).sqrt();
    let rate_fps = (dice.between(12.0, 45.0) / swing * 1e3).round() / 1e3;
    let mut drop = Ringing::in_air(radius, density, tension, viscosity, scale, rate_fps);
    let largest = 0.003 * 10.0_f64.powf(dice.even());
    drop.swings = [1.0, 0.5, 0.3]
        .map(|share| [largest * share * dice.between(0.6, 1.4), dice.between(0.0, 6.2)])
        .to_vec();
    let frames = dice.between(80.0, 180.0) as u64;
    let side = (2.0 * (1.15 * radius_px + 12.0) / 16.0).ceil() as usize * 16;
    let mut recipe = Recipe::silhouette(side, side, frames, rate_fps, scale);
    recipe.lamp.level = dice.between(0.4, 0.85);
    recipe.lamp.falloff = dice.between(0.0, 0.15);
    recipe.lamp.slope = [dice.between(-0.06, 0.06), dice.between(-0.06, 0.06)];
    recipe.camera.full_well = Some(1_500.0 * 15.0_f64.powf(dice.even()));
    recipe.camera.blur_px = dice.between(0.8, 2.0);
    let dark = dice.between(0.03, 0.35);
    recipe.scene = PaintedScene::Silhouette(Silhouette {
        dark,
        ..Silhouette::default()
    });
    recipe.dust = Dust::default();
    let middle = side as f64 / 2.0 - 0.5;
    let from = [middle + dice.even(), middle + dice.even()];
    let way = dice.between(0.0, 5.0) * rate_fps / frames as f64;
    let body = drop.body(from, [0.6 * way, -0.8 * way])?;
    recipe.bodies = vec![body.turned(dice.between(-0.6, 0.6))];
    let experiment = stated(&drop, &recipe, dark);
    Ok(Scene {
        drop,
        recipe,
        experiment,
    })
}

/// The file that somebody writes who has looked at a recording of the light and of something dark before it.
fn stated(drop: &Ringing, recipe: &Recipe, dark: f64) -> String {
    let share = drop.radius_px() / (0.5 * recipe.width as f64);
    let light = recipe.lamp.level * (1.0 - recipe.lamp.falloff * share * share);
    let camera = &recipe.camera;
    let noise = |level: f64| {
        let shot = camera.full_well.map_or(0.0, |well| level / well);
        (shot + camera.read_noise.powi(2) + camera.largest_code().powi(-2) / 12.0).sqrt()
    };
    let seen = format!(
        "[camera]\npicture = [{}, {}]\nblur = \"{} px\"\ncontrast = \"{}\"\nnoise = \"{}\"\nnoise_dark = \"{}\"\n",
        recipe.width,
        recipe.height,
        (camera.blur_px.powi(2) + 1.0 / 12.0).sqrt(),
        light * (1.0 - dark),
        noise(light),
        noise(dark * light)
    );
    let liquid = format!(
        "[liquid]\nsurface_tension = \"{} mN/m\"\nviscosity = \"{} mPa s\"\n",
        1e3 * drop.pair.tension,
        1e3 * drop.pair.viscosity
    );
    let time = (recipe.clock.slots as f64 + 0.5) / drop.rate_fps;
    let more = format!(
        "\n[body]\ndiameter = \"{} mm\"\n[surroundings]\navailable_time = \"{time} s\"\n",
        2e3 * drop.pair.radius
    );
    let plain = Stated::exactly(drop, "clip.y4m").experiment();
    plain.replace("[camera]\n", &seen).replace("[liquid]\n", &liquid) + &more
}

fn repeat(bench: &Bench, scene: &Scene, clean: &Clean, number: u64, place: u64) -> Result<Repeat, Failure> {
    let scratch = bench.scratch()?;
    clean.realise(7_000_000 + number, &scratch.path().join("clip.y4m"))?;
    let found = measure(scratch.path(), "clip.y4m", &scene.experiment)?;
    let modes = (2..=8).filter_map(|degree| {
        let mode = found.mode(degree)?;
        Some((degree, mode.frequency.value, mode.decay_rate.value))
    });
    Ok(Repeat {
        scene: place,
        found: QUANTITIES.map(|quantity| {
            let estimate = found.estimate(quantity)?;
            Some([estimate.value, estimate.standard_uncertainty])
        }),
        modes: modes.collect(),
    })
}

/// What the plan says of a run.
struct Prediction {
    /// Least and largest standard uncertainty by noise of each of [`QUANTITIES`].
    of: [Option<[f64; 2]>; 3],
    /// Least and largest of the whole of it, inputs included.
    whole: [Option<[f64; 2]>; 3],
    /// Degree, and that by noise of frequency (Hz) and decay (1/s).
    modes: Vec<(u32, f64, f64)>,
    told: String,
}

/// What the plan says, for a coding of this quantiser or none.
fn predict(scene: &Scene, quantiser: Option<u8>) -> Result<Prediction, Failure> {
    let experiment = Experiment::parse(&scene.experiment, "planned.toml")
        .map_err(|faults| Failure::Refused(faults.to_string()))?;
    let refused = |why: String| Failure::Refused(why);
    let given = Given::new(&experiment).map_err(|why| refused(why.to_string()))?;
    let (mut run, _) = Run::of(&given).map_err(refused)?;
    let swings = (2..).zip(&scene.drop.swings);
    run.begin = Begin::Swinging(swings.map(|(n, [a, phase])| (n, *a, *phase)).collect());
    run.sight.quantiser = quantiser;
    let outlook = run.outlook().map_err(refused)?;
    let span = |a: f64, b: f64| Some([a.min(b), a.max(b)]);
    let of = |quantity: &str| {
        let found = outlook.of(quantity)?;
        span(
            found.u_noise,
            found.hopeful.map_or(found.u_noise, |[_, noise]| noise),
        )
    };
    let whole = |quantity: &str| {
        let found = outlook.of(quantity)?;
        let u = found.value.standard_uncertainty();
        span(u, found.hopeful.map_or(u, |[better, _]| better))
    };
    Ok(Prediction {
        of: QUANTITIES.map(of),
        whole: QUANTITIES.map(whole),
        modes: outlook
            .modes
            .iter()
            .map(|m| (m.expected.degree, m.u_noise[2] / TAU, m.u_noise[3]))
            .collect(),
        told: outlook
            .modes
            .iter()
            .map(|m| format!("{}: {:?}", m.expected.degree, m.standing).to_lowercase())
            .collect::<Vec<_>>()
            .join(", "),
    })
}

fn deviation(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
}

fn report(
    outcome: &mut Outcome,
    scene: &Scene,
    place: usize,
    all: &[&Repeat],
) -> Result<(u64, u64, f64), Failure> {
    let prediction = predict(scene, None)?;
    let clip = format!("run {}", place + 1);
    outcome.tell(&clip, "modes, foreseen", prediction.told.clone());
    let (mut checks, mut outside, mut chance) = (0, 0, 0.0);
    let radius = scene.drop.pair.radius;
    let truth = [scene.drop.pair.tension, scene.drop.kinematic_viscosity(), radius];
    for (k, quantity) in QUANTITIES.iter().enumerate() {
        let values: Vec<f64> = all
            .iter()
            .filter_map(|one| one.found[k].map(|found| found[0]))
            .collect();
        let given = format!("given {} of {}", values.len(), all.len());
        let (Some([least, most]), true) = (prediction.of[k], values.len() > 5) else {
            let foreseen = prediction.of[k].map_or("not foreseen", |_| "foreseen");
            outcome.tell(&clip, quantity, format!("{foreseen}, {given}"));
            continue;
        };
        let scatter = deviation(&values);
        let ratio = scatter / scatter.clamp(least, most);
        let freedom = values.len() as f64 - 1.0;
        checks += 1;
        outside += u64::from(!(LEAST..=MOST).contains(&ratio));
        chance += chi_square_tail(MOST * MOST * freedom, freedom) + 1.0
            - chi_square_tail(LEAST * LEAST * freedom, freedom);
        let share = |u: f64| format!("{:.4}", 100.0 * u / truth[k]);
        let foreseen = if most > 1.01 * least {
            format!("{} to {}", share(least), share(most))
        } else {
            share(most)
        };
        if let Some([least, most]) = prediction.whole[k] {
            let stated: Vec<f64> = all
                .iter()
                .filter_map(|one| one.found[k].map(|found| found[1]))
                .collect();
            let stated = median(&stated);
            let ratio = stated / stated.clamp(least, most);
            outcome.must(
                &clip,
                &format!("{quantity}: stated over foreseen, inputs included"),
                format!("{ratio:.2}"),
                &format!("{LEAST} to {MOST}"),
                (LEAST..=MOST).contains(&ratio),
            );
        }
        outcome.tell(
            &clip,
            &format!("{quantity}: foreseen, scatter over it"),
            format!("{foreseen} %, {ratio:.2}, {given}"),
        );
    }
    for (degree, of_frequency, of_decay) in &prediction.modes {
        let of = |pick: fn(&(u32, f64, f64)) -> f64| -> Vec<f64> {
            let mine = all
                .iter()
                .filter_map(|one| one.modes.iter().find(|mode| mode.0 == *degree));
            mine.map(pick).collect()
        };
        let (frequencies, decays) = (of(|mode| mode.1), of(|mode| mode.2));
        if frequencies.len() > 5 {
            let ratios = [
                deviation(&frequencies) / of_frequency,
                deviation(&decays) / of_decay,
            ];
            let found = format!(
                "{:.2}, {:.2}, found {} of {}",
                ratios[0],
                ratios[1],
                frequencies.len(),
                all.len()
            );
            outcome.tell(
                &clip,
                &format!("mode {degree}: scatter of frequency and decay over foreseen"),
                found,
            );
        }
    }
    Ok((checks, outside, chance))
}
