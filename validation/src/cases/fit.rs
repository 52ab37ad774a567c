//! Large swings measured and then fitted: surface tension and viscosity where free decay alone is biased.

use std::f64::consts::TAU;
use std::ops::ControlFlow;

use serde::{Deserialize, Serialize};

use tremolet_clip::painted::body::{PaintedBody, Table};
use tremolet_clip::painted::noise::PaintedNoise;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;
use tremolet_numerics::statistics::binomial_bounds;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_simulate::driver::Drivers;
use tremolet_simulate::liquid::{Gas, Liquid};
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::resolution::Resolution;
use tremolet_simulate::potential::boundary::setup::{Filling, Piece};
use tremolet_simulate::potential::modal::{Modal, Settings};
use tremolet_simulate::run::{Course, begin, run as solve};
use tremolet_simulate::solver::Solver;
use tremolet_simulate::start::Start;
use tremolet_study::fit::told::{LAYER, ROUTE};
use tremolet_study::fit::{self, fit};
use tremolet_study::measure::{Request, measure};
use tremolet_study::recorded::findings;

use crate::bench::Bench;
use crate::binomial::bounds;
use crate::case::{Case, Failure, Outcome};
use crate::ledger::Ledger;
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "fit",
    question: "The simulation fitted to outlines of large swings",
    method: "Painted back-lit runs (180 px, R about 50 px, 30 frames a swing, usual noise) of drops in air let go at an aspect ratio of 1.3 to 1.8 with some degree 3 and 4, \
             their axis up to 0.3 rad out of the picture; liquid, size, noise and the error of the stated scale (0.05 %) drawn anew. They are measured, then fitted by the verb `fit`. The motion \
             is computed with 20 degrees and finer steps than the fit's 12 or 16, but by the same method; that of a few, in a vacuum and of little viscosity, is computed by boundary integrals, \
             which share no flow code with the fit; they tell surface tension only.",
    version: 3,
    run,
};

const SEEDS: u64 = 9000;
const FRAMES: u64 = 160;
/// Relative standard uncertainty of the stated scale, whose error is drawn.
const SCALE: f64 = 5e-4;

/// What computes the motion that is filmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum By {
    /// The solver that the fit adjusts, finer.
    Modal,
    /// Boundary integrals, with little viscosity and no gas.
    Inviscid,
    /// Boundary integrals with the viscosity of the others, and no gas: theirs has no viscosity.
    Boundary,
}

/// A quantity of one run: error in per cent by the fit and by free decay, and whether the fit's interval holds the truth; and error and standard
/// uncertainty of the fit alone, the scale known.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Hit {
    fit: f64,
    alone: [f64; 2],
    relative: f64,
    inside: bool,
    /// The same without what stands for the theory of the layer, which runs of the fit's own solver do not exercise.
    inside_drawn: bool,
    free: Option<f64>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Fitted {
    aspect: f64,
    pub tension: Option<Hit>,
    pub viscosity: Option<Hit>,
    seconds: f64,
    cautions: String,
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let runs = bench.pick(3, 200);
    let mut ledger = Ledger::open(bench, &CASE, "runs")?;
    ledger.fill(bench, runs, &mut |run| one_run(bench, run, By::Modal))?;
    let all: Vec<&Fitted> = ledger.done(runs).collect();
    let clip = format!("{} runs", all.len());
    rows(&mut outcome, &clip, "surface tension", (0.3, true), &all, |f| {
        f.tension.as_ref()
    });
    rows(
        &mut outcome,
        &clip,
        "kinematic viscosity",
        (5.0, true),
        &all,
        |f| f.viscosity.as_ref(),
    );
    let longest = all.iter().map(|f| f.seconds).fold(0.0, f64::max);
    outcome.within(&clip, "longest fit, s", Some(longest), 120.0, " s");
    if let Some(first) = all.first() {
        outcome.tell(&clip, "cautions of the first", first.cautions.clone());
    }
    let others = bench.pick(1, 6);
    let mut ledger = Ledger::open(bench, &CASE, "boundary")?;
    ledger.fill(bench, others, &mut |run| one_run(bench, run, By::Inviscid))?;
    let all: Vec<&Fitted> = ledger.done(others).collect();
    let clip = format!("{} runs by boundary integrals", all.len());
    rows(&mut outcome, &clip, "surface tension", (0.3, false), &all, |f| {
        f.tension.as_ref()
    });
    Ok(outcome)
}

/// Bias and coverage; `own` says whether the motion was computed by the solver that is fitted.
pub(super) fn rows(
    outcome: &mut Outcome,
    clip: &str,
    name: &str,
    (bound, own): (f64, bool),
    all: &[&Fitted],
    of: impl Fn(&Fitted) -> Option<&Hit>,
) {
    let hits: Vec<&Hit> = all.iter().filter_map(|f| of(f)).collect();
    if all.is_empty() {
        return outcome.tell(clip, name, "not run yet".into());
    }
    let mean = |values: Vec<f64>| values.iter().sum::<f64>() / values.len() as f64;
    let bias = mean(hits.iter().map(|h| h.fit).collect());
    outcome.within(
        clip,
        &format!("{name}: mean error of the fit"),
        Some(bias),
        bound,
        " %",
    );
    let count = hits.len() as u64;
    let told = |inside: u64| {
        let (from, to) = binomial_bounds(inside, count, 0.95);
        format!("{inside} of {count} ({:.0} to {:.0} %)", 100.0 * from, 100.0 * to)
    };
    let (low, high) = bounds(count, 0.95, 0.025);
    let inside = hits.iter().filter(|h| h.inside).count() as u64;
    outcome.must(
        clip,
        &format!("{name}: 95 % intervals with the truth"),
        told(inside),
        &format!("{low} at least"),
        count > 0 && inside >= low,
    );
    let inside = hits.iter().filter(|h| h.inside_drawn).count() as u64;
    let what = format!("{name}: the same, without the doubt of the layer's theory");
    if own {
        let fits = count > 0 && (low..=high).contains(&inside);
        outcome.must(clip, &what, told(inside), &format!("{low} to {high}"), fits);
    } else {
        outcome.tell(clip, &what, told(inside));
    }
    let alone = mean(hits.iter().map(|h| h.alone[0]).collect());
    let square = mean(hits.iter().map(|h| (h.alone[0] / h.alone[1]).powi(2)).collect());
    outcome.tell(
        clip,
        &format!("{name}: error of the fit alone, the scale known"),
        format!(
            "mean {alone:+.4} %, root mean square {:.2} of its own standard uncertainties",
            square.sqrt()
        ),
    );
    let width = mean(hits.iter().map(|h| h.relative).collect());
    outcome.tell(
        clip,
        &format!("{name}: mean standard uncertainty"),
        format!("{width:.3} %"),
    );
    let free: Vec<f64> = hits.iter().filter_map(|h| h.free).collect();
    let told = match free.len() {
        0 => "none was given".into(),
        count => format!("{:+.2} % in {count} runs", mean(free)),
    };
    outcome.tell(clip, &format!("{name}: mean error of free decay"), told);
}

/// What was drawn.
struct Drawn {
    drop: Ringing,
    shape: Vec<f64>,
    aspect: f64,
}

fn drawn(draw: &mut PaintedNoise, by: By) -> Drawn {
    let scale = draw.between(1.0e-4, 2.0e-4);
    let density = draw.between(950.0, 1150.0);
    let radius = scale * draw.between(46.0, 52.0);
    let tension = draw.between(0.03, 0.073);
    let ohnesorge = draw.between(0.004, 0.012) * if by == By::Inviscid { 0.15 } else { 1.0 };
    let viscosity = ohnesorge * (density * tension * radius).sqrt();
    let aspect = draw.between(1.3, 1.8);
    let two = (aspect - 1.0) / (1.0 + aspect / 2.0);
    let shape = vec![
        0.0,
        0.0,
        two,
        draw.between(-0.03, 0.03),
        draw.between(-0.02, 0.02) + 0.35 * two * two,
    ];
    let swing = TAU * (density * radius.powi(3) / (8.0 * tension)).sqrt();
    let rate_fps = (30.0 / swing * 100.0).round() / 100.0;
    let drop = Ringing::in_air(radius, density, tension, viscosity, scale, rate_fps);
    Drawn { drop, shape, aspect }
}

pub(super) fn one_run(bench: &Bench, run: u64, by: By) -> Result<Fitted, Failure> {
    let boundary = by != By::Modal;
    let seed = SEEDS + run + if boundary { 500 } else { 0 };
    let mut draw = PaintedNoise::new(seed, 0x51D7, 0);
    let Drawn { drop, shape, aspect } = drawn(&mut draw, by);
    let times: Vec<f64> = (0..FRAMES).map(|k| k as f64 / drop.rate_fps).collect();
    let rows = motion(&drop, &shape, &times, boundary)?;
    let body = PaintedBody::moving(drop.radius_px(), [89.6, 90.3], Table { times, rows });
    let (axis, tilt) = (draw.between(-0.6, 0.6), draw.between(0.0, 0.3));
    let mut recipe = Recipe::silhouette(180, 180, FRAMES, drop.rate_fps, drop.scale);
    recipe.seed = SEEDS + run;
    recipe.bodies = vec![body.turned(axis).tilted(tilt)];
    let scratch = bench.scratch()?;
    let path = scratch.path().join("stills");
    write_stills(&mut Painter::new(recipe)?, &path).map_err(Failure::file(&path))?;
    let file = scratch.path().join("experiment.toml");
    let stated = Stated::exactly(&drop, "stills");
    let scale = drop.scale * (1.0 + SCALE * draw.gauss());
    let mut text = Stated {
        scale: [scale, SCALE * scale],
        ..stated
    }
    .experiment();
    if boundary {
        text = text.replace("name = \"air\"", "name = \"vacuum\"");
    }
    std::fs::write(&file, text).map_err(Failure::file(&file))?;
    let refused = |why: String| Failure::Refused(why);
    let experiment = Experiment::read(&file).map_err(|why| refused(why.to_string()))?;
    let request = Request {
        experiment: &experiment,
        clip: path,
        out: scratch.path().join("run"),
        replace: false,
        threads: 0,
        overlay: false,
        truth: Vec::new(),
        command: Vec::new(),
    };
    let folder =
        measure(&request, &mut |_, _| ControlFlow::Continue(())).map_err(|why| refused(why.to_string()))?;
    let begun = std::time::Instant::now();
    let asked = fit::Request {
        run: &folder,
        command: Vec::new(),
    };
    fit(&asked, &mut |_, _| ControlFlow::Continue(())).map_err(|why| refused(why.to_string()))?;
    let seconds = begun.elapsed().as_secs_f64();
    let found = findings(&folder).map_err(|why| refused(why.to_string()))?;
    let cautions: Vec<&str> = found.cautions.iter().map(|c| c.code.as_str()).collect();
    let stretch = scale / drop.scale;
    let viscosity = hit(
        &found,
        "kinematic_viscosity",
        drop.kinematic_viscosity(),
        stretch.powi(2),
    );
    Ok(Fitted {
        aspect,
        tension: hit(&found, "surface_tension", drop.pair.tension, stretch.powi(3)),
        viscosity: viscosity.filter(|_| by != By::Inviscid),
        seconds,
        cautions: cautions.join(", "),
    })
}

/// What was found of a quantity; `stretch` is what the error of the stated scale makes of it.
fn hit(found: &Findings, quantity: &str, truth: f64, stretch: f64) -> Option<Hit> {
    let all = found.estimates.iter().filter(|e| e.quantity == quantity);
    let fitted = all.clone().find(|e| e.route == ROUTE)?;
    let free = all.clone().find(|e| e.route != ROUTE);
    let [low, high] = fitted.interval_95;
    let relative = 100.0 * fitted.standard_uncertainty / truth;
    let own = fitted.budget.iter().filter(|line| line.input.ends_with("(fit)"));
    let share: f64 = own.map(|line| line.share).sum();
    let layer = fitted.budget.iter().filter(|line| line.input == LAYER);
    let drawn: f64 = 1.0 - layer.map(|line| line.share).sum::<f64>();
    let half = 0.5 * (high - low) * drawn.max(0.0).sqrt();
    Some(Hit {
        fit: 100.0 * (fitted.value / truth - 1.0),
        alone: [
            100.0 * (fitted.value / truth / stretch - 1.0),
            share.sqrt() * relative,
        ],
        relative,
        inside: (low..=high).contains(&truth),
        inside_drawn: (fitted.value - truth).abs() <= half,
        free: free.map(|e| 100.0 * (e.value / truth - 1.0)),
    })
}

/// Amplitudes at the frames by a solver finer than the fit's, or by boundary integrals.
fn motion(drop: &Ringing, shape: &[f64], times: &[f64], boundary: bool) -> Result<Vec<Vec<f64>>, Failure> {
    let refused = |why: String| Failure::Refused(why);
    let liquid = Liquid {
        density: drop.pair.density,
        tension: drop.pair.tension,
        viscosity: drop.pair.viscosity,
    };
    let start = Start::Star {
        radius: drop.pair.radius,
        shape: shape.to_vec(),
        velocity: Vec::new(),
    };
    let mut solver: Box<dyn Solver> = if boundary {
        let resolution = Resolution {
            elements: 48,
            ..Resolution::default()
        };
        let made = Boundary::new(
            &liquid,
            &[Piece::alone(start)],
            Filling::Stiff,
            &Drivers::default(),
            resolution,
        );
        Box::new(made.map_err(|why| refused(why.to_string()))?)
    } else {
        let gas = Gas {
            density: drop.pair.host_density,
            viscosity: drop.pair.host_viscosity,
        };
        let settings = Settings {
            highest: 20,
            step_error: 1e-9,
            shape_error: 1e-2,
            meridian: 0,
        };
        let made = Modal::new(&liquid, Some(&gas), &start, &Drivers::default(), settings);
        Box::new(made.map_err(|why| refused(why.to_string()))?)
    };
    let from = begin(&mut *solver);
    let course = Course {
        volume_drift: 1e-4,
        energy_drift: 1e-2,
        ..Course::along(times.to_vec())
    };
    let done =
        solve(&mut *solver, &from, &course, &mut |_| true).ok_or_else(|| refused("a checkpoint".into()))?;
    if !done.stop.is_end() {
        return Err(refused(done.stop.to_string()));
    }
    Ok(done.samples.into_iter().map(|sample| sample.amplitudes).collect())
}
