//! How close a measurement comes to what the pixels hold: many realisations of one clean back-lit clip against the bound of Cramer
//! and Rao.
//!
//! The noise-free frames are painted once and the noise is drawn anew for each realisation. Efficiency is the bound over the variance
//! that is seen. The stated uncertainty is held against the true standard deviation by that part of it which noise causes; what is
//! stated beside noise (shape of the blur, scale, density) does not change from realisation to realisation.

use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use tremolet_clip::painted::recipe::{PaintedScene, Recipe, Silhouette};
use tremolet_numerics::dense::{DenseError, Matrix};
use tremolet_numerics::statistics::normal_quantile;
use tremolet_theory::modes::host::{Pair, root};

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::door::{Answer, measure};
use crate::ledger::Ledger;
use crate::limit::{Pixels, of_clip, of_degrees, of_frame};
use crate::noise::Clean;
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "efficiency",
    question: "How close to the bound of Cramer and Rao?",
    method: "256x256 px, R = 75 px, 250 frames at 250 frames/s, an 18 mm drop (1150 kg/m^3, 0.067 N/m, 8.7 mm^2/s) in air whose modes \
             2 to 6 ring by exact roots, uneven light, 10 000 electrons, 8 bit. Frames painted once, noise drawn anew for each of the \
             realisations. The bound is computed from the pixels of this very clip: of amplitudes frame by frame, the levels known; of the rest over the \
             clip, with radius, levels and blur free: `by degree` where each frame may have any shape and each degree is fitted by \
             itself with an offset, `whole` where nothing but the ringing modes may move and all pixels are fitted at once. `stated / true`: that part of the stated uncertainty which noise causes \
             over the standard deviation of what was found.",
    version: 2,
    run,
};

const SIZE: usize = 256;
const FRAMES: u64 = 250;
const RATE_FPS: f64 = 250.0;
const RADIUS_PX: f64 = 75.0;
/// Light that the body lets through.
const DARK: f64 = 0.2;
const CENTRE: [f64; 2] = [127.87, 127.29];
const DRIFT: [f64; 2] = [6.0, -4.0];
/// Amplitude over R and phase from degree 2: so small that what is open of the shift of the frequency by the size of the swing
/// is far below the noise, for the bound knows nothing of that shift.
const SWINGS: [[f64; 2]; 5] = [
    [0.0050, 0.0],
    [0.0025, 0.7],
    [0.0015, 1.9],
    [0.0010, -0.8],
    [0.0008, 2.6],
];
/// Budget lines that stand for noise.
const OF_NOISE: [&str; 2] = [
    "frequencies and decay rates (fit)",
    "radius of the outline (scatter)",
];
/// Amplitudes are kept in this unit.
const UNIT: f64 = 1e-8;

/// One quantity of one realisation: value and the part of its standard uncertainty that noise causes, SI; `None` when absent.
type Found = Option<[f64; 2]>;

/// What one realisation gave.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Realisation {
    radius: Found,
    tension: Found,
    viscosity: Found,
    /// Frequency (Hz) and decay (1/s) from degree 2.
    modes: Vec<[Found; 2]>,
    /// Amplitude less the truth of degrees 2 to 6, frame by frame, in [`UNIT`]; empty for a frame that is absent.
    amplitudes: Vec<Vec<i32>>,
}

/// A bound for each thing that is held against one.
struct Bounds {
    /// Mean variance over the frames of `a_2` to `a_6`.
    amplitudes: [f64; 5],
    whole: Properties,
    by_degree: Properties,
}

/// Bounds of what the whole clip says.
struct Properties {
    radius: f64,
    tension: f64,
    viscosity: f64,
    /// Frequency and decay from degree 2.
    modes: [[f64; 2]; 5],
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let drop = drop();
    let recipe = recipe(&drop)?;
    let bounds = bounds(&drop, &recipe)?;
    let mut outcome = Outcome::default();
    let runs = bench.pick(12, 1000);
    let mut clean = None;
    for seed in 1..=bench.pick(1, 2) {
        let mut ledger = Ledger::open(bench, &CASE, &format!("seed{seed}"))?;
        ledger.fill(bench, runs, &mut |run| {
            let clean = match &clean {
                Some(clean) => clean,
                None => clean.insert(Clean::paint(recipe.clone())?),
            };
            realisation(bench, &drop, clean, 1_000_000 * seed + run)
        })?;
        let all: Vec<&Realisation> = ledger.done(runs).collect();
        if all.len() > 2 {
            report(
                &mut outcome,
                &format!("seed {seed}, {} realisations", all.len()),
                &all,
                &bounds,
                &drop,
            );
        }
    }
    outcome.notes.push(
        "Bounds hold for the sampling of so many realisations: `lower` is the end of a one-sided 95 % interval; in the coarse run ratios \
         may stray by what 99.9 % of honest ones do."
            .into(),
    );
    Ok(outcome)
}

fn drop() -> Ringing {
    let scale = 9e-3 / RADIUS_PX;
    let mut drop = Ringing::in_air(9e-3, 1150.0, 0.067, 1150.0 * 8.7e-6, scale, RATE_FPS);
    drop.swings = SWINGS.to_vec();
    drop
}

fn recipe(drop: &Ringing) -> Result<Recipe, Failure> {
    let mut recipe = Recipe::silhouette(SIZE, SIZE, FRAMES, RATE_FPS, drop.scale);
    recipe.lamp.level = 200.0 / 255.0;
    recipe.scene = PaintedScene::Silhouette(Silhouette {
        dark: DARK,
        ..Silhouette::default()
    });
    recipe.bodies = vec![drop.body(CENTRE, DRIFT)?];
    Ok(recipe)
}

/// One realisation through the front door.
fn realisation(bench: &Bench, drop: &Ringing, clean: &Clean, seed: u64) -> Result<Realisation, Failure> {
    let scratch = bench.scratch()?;
    clean.realise(seed, &scratch.path().join("clip.y4m"))?;
    let found = measure(
        scratch.path(),
        "clip.y4m",
        &Stated::exactly(drop, "clip.y4m").experiment(),
    )?;
    let mode = |degree: u32| {
        let mode = found.mode(degree);
        [
            mode.map(|mode| &mode.frequency),
            mode.map(|mode| &mode.decay_rate),
        ]
        .map(|quantity| quantity.and_then(|q| Some([q.value, q.standard_uncertainty?])))
    };
    Ok(Realisation {
        radius: of_noise(&found, "equivalent_radius"),
        tension: of_noise(&found, "surface_tension"),
        viscosity: of_noise(&found, "kinematic_viscosity"),
        modes: (2..=6).map(mode).collect(),
        amplitudes: amplitudes(&found, drop)?,
    })
}

/// Value, and the part of the standard uncertainty from the lines of the budget that stand for noise.
fn of_noise(found: &Answer, quantity: &str) -> Found {
    let estimate = found.estimate(quantity)?;
    let lines = estimate.budget.iter();
    let share: f64 = lines
        .filter(|line| OF_NOISE.contains(&line.input.as_str()))
        .map(|line| line.share)
        .sum();
    Some([estimate.value, share.sqrt() * estimate.standard_uncertainty])
}

fn amplitudes(found: &Answer, drop: &Ringing) -> Result<Vec<Vec<i32>>, Failure> {
    let roots = drop.roots()?;
    let mut all = vec![Vec::new(); FRAMES as usize];
    for shape in found.bodies.first().iter().flat_map(|body| &body.shapes) {
        let time = shape.frame as f64 / RATE_FPS;
        let off = |n: usize| {
            let ([amplitude, phase], root) = (drop.swings[n], roots[n]);
            let truth =
                amplitude * (-root.decay * time).exp() * (root.angular_frequency * time + phase).cos();
            ((shape.amplitude.get(n).copied().unwrap_or(0.0) - truth) / UNIT).round() as i32
        };
        if let Some(frame) = usize::try_from(shape.frame).ok().and_then(|k| all.get_mut(k)) {
            *frame = (0..SWINGS.len()).map(off).collect();
        }
    }
    Ok(all)
}

/// The bounds of this clip.
fn bounds(drop: &Ringing, recipe: &Recipe) -> Result<Bounds, Failure> {
    let pixels = Pixels::of(recipe, DARK);
    let states: Vec<State> = (0..FRAMES)
        .map(|k| State::at(drop, k as f64 / RATE_FPS))
        .collect::<Result<_, _>>()?;
    let frames: Vec<Matrix> = states
        .iter()
        .map(|state| pixels.information(state.centre, &state.shape()))
        .collect();
    let refused = |why: DenseError| Failure::Refused(format!("the bound: {why}"));
    let mut amplitudes = [0.0; 5];
    for frame in &frames {
        let one = of_frame(frame).map_err(refused)?;
        for (n, sum) in amplitudes.iter_mut().enumerate() {
            *sum += (one[n + 1] / RADIUS_PX).powi(2) / frames.len() as f64;
        }
    }
    let changes = Changes::of(drop)?;
    let clip = Motion {
        drop,
        states: &states,
        changes: &changes,
    };
    Ok(Bounds {
        amplitudes,
        whole: clip
            .bounds(&|globals, slopes| of_clip(&frames, globals, slopes))
            .map_err(refused)?,
        by_degree: clip
            .bounds(&|globals, slopes| of_degrees(&frames, globals, slopes))
            .map_err(refused)?,
    })
}

/// The covariance of so many unknowns by which the frames change as told.
type Bound<'a> = dyn Fn(usize, &dyn Fn(usize) -> Matrix) -> Result<Matrix, DenseError> + 'a;

/// How the frames follow from what they share.
struct Motion<'a> {
    drop: &'a Ringing,
    states: &'a [State],
    changes: &'a Changes,
}

impl Motion<'_> {
    fn bounds(&self, of: &Bound<'_>) -> Result<Properties, DenseError> {
        // Radius, then frequency, decay, amplitude, phase of each degree.
        let by_line = of(21, &|k| self.states[k].by_lines())?;
        // Radius, logarithms of tension and viscosity, then amplitude and phase of each degree.
        let by_property = of(13, &|k| self.states[k].by_properties(self.changes))?;
        let [line, property] = [by_line, by_property].map(|of| move |j: usize| of[(j, j)].sqrt());
        Ok(Properties {
            radius: property(0) * self.drop.scale,
            tension: property(1) * self.drop.pair.tension,
            viscosity: property(2) * self.drop.kinematic_viscosity(),
            modes: std::array::from_fn(|n| [line(1 + 4 * n) / TAU, line(2 + 4 * n)]),
        })
    }
}

/// Where the drop is in one frame.
struct State {
    time: f64,
    centre: [f64; 2],
    /// Angular frequency, decay, amplitude, phase of each degree.
    lines: [[f64; 4]; 5],
}

impl State {
    fn at(drop: &Ringing, time: f64) -> Result<Self, Failure> {
        let roots = drop.roots()?;
        Ok(Self {
            time,
            centre: [CENTRE[0] + DRIFT[0] * time, CENTRE[1] + DRIFT[1] * time],
            lines: std::array::from_fn(|n| {
                [
                    roots[n].angular_frequency,
                    roots[n].decay,
                    drop.swings[n][0],
                    drop.swings[n][1],
                ]
            }),
        })
    }

    /// `a_n` and its changes by angular frequency, decay, amplitude and phase.
    fn swing(&self, n: usize) -> (f64, [f64; 4]) {
        let [w, g, amplitude, phase] = self.lines[n];
        let (sin, cos) = (w * self.time + phase).sin_cos();
        let size = (-g * self.time).exp();
        let (value, by_phase) = (amplitude * size * cos, -amplitude * size * sin);
        (
            value,
            [self.time * by_phase, -self.time * value, size * cos, by_phase],
        )
    }

    /// `c_0` to `c_8`, px; `c_0` as the volume asks to second order.
    fn shape(&self) -> [f64; 9] {
        let mut shape = [0.0; 9];
        shape[0] = RADIUS_PX;
        for n in 0..5 {
            let (value, _) = self.swing(n);
            shape[0] -= RADIUS_PX * value * value / (2.0 * n as f64 + 5.0);
            shape[n + 2] = RADIUS_PX * value;
        }
        shape
    }

    /// Changes of `c_0`, `c_2` to `c_6` by the radius and then by what `of_swing` says of each degree.
    fn by(&self, globals: usize, of_swing: &dyn Fn(usize, usize, [f64; 4]) -> f64) -> Matrix {
        let shape = self.shape();
        Matrix::from_fn(6, globals, |i, j| {
            let of_degree = |n: usize| RADIUS_PX * of_swing(n, j, self.swing(n).1);
            match (i, j) {
                (0, 0) => 1.0,
                // What the volume takes from c_0.
                (0, _) => (0..5)
                    .map(|n| -2.0 * self.swing(n).0 / (2.0 * n as f64 + 5.0) * of_degree(n))
                    .sum(),
                (i, 0) => shape[i + 1] / RADIUS_PX + of_degree(i - 1),
                (i, _) => of_degree(i - 1),
            }
        })
    }

    fn by_lines(&self) -> Matrix {
        self.by(21, &|n, j, by| match j.checked_sub(1 + 4 * n) {
            Some(k) if k < 4 => by[k],
            _ => 0.0,
        })
    }

    fn by_properties(&self, changes: &Changes) -> Matrix {
        self.by(13, &|n, j, by| match j {
            0..=2 => changes.0[n][j][0] * by[0] + changes.0[n][j][1] * by[1],
            _ if j == 3 + 2 * n => by[2],
            _ if j == 4 + 2 * n => by[3],
            _ => 0.0,
        })
    }
}

/// Changes of angular frequency and decay of each degree by radius (px), and by the logarithms of tension and viscosity.
struct Changes([[[f64; 2]; 3]; 5]);

impl Changes {
    fn of(drop: &Ringing) -> Result<Self, Failure> {
        let step = 1e-5;
        let mut all = [[[0.0; 2]; 3]; 5];
        for (degree, changes) in (2..).zip(&mut all) {
            for (j, change) in changes.iter_mut().enumerate() {
                let at = |sign: f64| {
                    let mut pair: Pair = drop.pair;
                    let factor = 1.0 + sign * step;
                    match j {
                        0 => pair.radius *= factor,
                        1 => pair.tension *= factor,
                        _ => pair.viscosity *= factor,
                    }
                    root(degree, &pair)
                };
                let (above, below) = (at(1.0)?, at(-1.0)?);
                let per = if j == 0 { RADIUS_PX } else { 1.0 };
                *change = [
                    (above.angular_frequency - below.angular_frequency) / (2.0 * step * per),
                    (above.decay - below.decay) / (2.0 * step * per),
                ];
            }
        }
        Ok(Self(all))
    }
}

fn report(outcome: &mut Outcome, clip: &str, all: &[&Realisation], bounds: &Bounds, drop: &Ringing) {
    for (n, bound) in bounds.amplitudes.iter().enumerate() {
        amplitude(outcome, clip, n, *bound, all);
    }
    let (whole, apart) = (&bounds.whole, &bounds.by_degree);
    let radius: Vec<Found> = all.iter().map(|one| one.radius).collect();
    let mean = Spread::of(&radius).map(|spread| spread.mean / drop.scale - RADIUS_PX);
    outcome.within(clip, "radius: mean error", mean, 0.002, " px");
    quantity(
        outcome,
        clip,
        "radius",
        &radius,
        [apart.radius, whole.radius],
        None,
    );
    let tension: Vec<Found> = all.iter().map(|one| one.tension).collect();
    if let Some(spread) = Spread::of(&tension) {
        let truth = drop.pair.tension;
        let told = format!(
            "{:+.1e}, {:.1e}",
            spread.mean / truth - 1.0,
            spread.deviation / truth
        );
        outcome.tell(clip, "surface tension: mean error, deviation", told);
    }
    quantity(
        outcome,
        clip,
        "surface tension",
        &tension,
        [apart.tension, whole.tension],
        Some(0.8),
    );
    let viscosity: Vec<Found> = all.iter().map(|one| one.viscosity).collect();
    quantity(
        outcome,
        clip,
        "viscosity",
        &viscosity,
        [apart.viscosity, whole.viscosity],
        None,
    );
    for n in 0..bounds.amplitudes.len() {
        for (k, name) in ["frequency", "decay"].into_iter().enumerate() {
            let found: Vec<Found> = all
                .iter()
                .map(|one| one.modes.get(n).and_then(|mode| mode[k]))
                .collect();
            let limits = [apart.modes[n][k], whole.modes[n][k]];
            quantity(
                outcome,
                clip,
                &format!("{name} of mode {}", n + 2),
                &found,
                limits,
                None,
            );
        }
    }
}

/// Efficiency of an amplitude: the bound over the variance about the mean of each frame.
fn amplitude(outcome: &mut Outcome, clip: &str, n: usize, bound: f64, all: &[&Realisation]) {
    let value = |one: &Realisation, k: usize| one.amplitudes[k].get(n).map(|v| f64::from(*v) * UNIT);
    let frames: Vec<usize> = (0..FRAMES as usize)
        .filter(|k| all.iter().all(|one| value(one, *k).is_some()))
        .collect();
    let count = all.len() as f64;
    let means: Vec<f64> = frames
        .iter()
        .map(|&k| all.iter().filter_map(|one| value(one, k)).sum::<f64>() / count)
        .collect();
    let squares = |one: &&Realisation| {
        let strays = frames
            .iter()
            .zip(&means)
            .filter_map(|(&k, mean)| Some((value(one, k)? - mean).powi(2)));
        strays.sum::<f64>() / frames.len() as f64 * count / (count - 1.0)
    };
    let each: Vec<f64> = all.iter().map(squares).collect();
    let variance = each.iter().sum::<f64>() / count;
    let doubt = (each.iter().map(|v| (v - variance).powi(2)).sum::<f64>() / (count - 1.0) / count).sqrt();
    let (efficiency, lower) = (
        bound / variance,
        bound / (variance + normal_quantile(0.95) * doubt),
    );
    let what = format!("a_{}: efficiency, lower", n + 2);
    let found = format!("{efficiency:.3}, {lower:.3}");
    outcome.must(clip, &what, found, "lower 0.85 at least", lower >= 0.85);
    let off = (means.iter().map(|m| m * m).sum::<f64>() / means.len() as f64 - variance / count)
        .max(0.0)
        .sqrt();
    outcome.tell(
        clip,
        &format!("a_{}: deviation, systematic error", n + 2),
        format!("{:.1}e-6, {:.1}e-6", 1e6 * variance.sqrt(), 1e6 * off),
    );
}

/// Mean, standard deviation and mean stated variance of what was found.
#[derive(Clone, Copy)]
struct Spread {
    count: f64,
    mean: f64,
    deviation: f64,
    stated: f64,
}

impl Spread {
    fn of(found: &[Found]) -> Option<Self> {
        let given: Vec<[f64; 2]> = found.iter().flatten().copied().collect();
        if given.len() < 3 {
            return None;
        }
        let count = given.len() as f64;
        let mean = given.iter().map(|v| v[0]).sum::<f64>() / count;
        let variance = given.iter().map(|v| (v[0] - mean).powi(2)).sum::<f64>() / (count - 1.0);
        let stated = (given.iter().map(|v| v[1] * v[1]).sum::<f64>() / count).sqrt();
        Some(Self {
            count,
            mean,
            deviation: variance.sqrt(),
            stated,
        })
    }

    /// By how much a true ratio of standard deviations may be off in so many realisations, 99.9 %, as a factor.
    fn room(&self) -> f64 {
        (normal_quantile(0.9995) / (2.0 * (self.count - 1.0)).sqrt()).exp()
    }
}

/// Efficiency and stated over true standard deviation of one quantity, against the bounds degree by degree and of all pixels at
/// once; the first efficiency is held against `least` where there is one.
fn quantity(
    outcome: &mut Outcome,
    clip: &str,
    name: &str,
    found: &[Found],
    bounds: [f64; 2],
    least: Option<f64>,
) {
    let Some(spread) = Spread::of(found) else {
        outcome.must(clip, name, "absent".into(), "given", false);
        return;
    };
    let [apart, whole] = bounds.map(|bound| (bound / spread.deviation).powi(2));
    let (what, told) = (
        format!("{name}: efficiency by degree, whole"),
        format!("{apart:.2}, {whole:.2}"),
    );
    // With many realisations the aim itself is the bound; with few, what their scatter allows.
    let room = if spread.count >= 500.0 { 1.0 } else { spread.room() };
    match least {
        Some(least) => {
            let bar = least / (room * room);
            outcome.must(
                clip,
                &what,
                told,
                &format!("by degree {bar:.2} at least"),
                apart >= bar,
            );
        }
        None => outcome.tell(clip, &what, told),
    }
    let ratio = spread.stated / spread.deviation;
    let (low, high) = (0.8 / room, 1.25 * room);
    outcome.must(
        clip,
        &format!("{name}: stated / true"),
        format!("{ratio:.2}"),
        &format!("{low:.2} to {high:.2}"),
        (low..=high).contains(&ratio),
    );
}
