//! The built-in scenario, invented: a drop of glycerol and water let go by a split cup on a parabolic flight, painted by the
//! synthetic camera, then measured as if nothing were known but what the crew wrote down.
//!
//! ```text
//! a_n(t) = A_n exp(-g_n t) cos(phi_n(t)),     phi_n(t) = w_n [t + k_n A_n^2 (1 - exp(-2 g_n t)) / (2 g_n)] + phi_n(0)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A_n` | amplitude of degree n at the start, in units of R | 1 |
//! | `w_n`, `g_n` | exact viscous mode in its gas | rad/s, 1/s |
//! | `k_n` | slowing of large swings | 1 |
//!
//! Source: roots \[MillerScriven1968\], slowing \[TsamopoulosBrown1983\]. What the crew wrote down differs from the truth by
//! about one standard uncertainty each, as it does in life.

use std::f64::consts::PI;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::space::Space;
use tremolet_clip::painted::stills::write_stills_whole;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::store::{make_folder, write_whole};
use tremolet_theory::modes::host::{Pair, Root, root};

use crate::error::StudyError;
use crate::look::Progress;
use crate::measure::{Request, measure};
use crate::plan::page;

/// The true drop. No row here is known to the measurement.
mod truth {
    pub const RADIUS: f64 = 8.02e-3;
    pub const DENSITY: f64 = 1098.3;
    pub const TENSION: f64 = 0.06945;
    pub const KINEMATIC_VISCOSITY: f64 = 3.21e-6;
    pub const AIR_DENSITY: f64 = 0.985;
    pub const AIR_VISCOSITY: f64 = 1.83e-5;
    pub const DISTANCE: f64 = 0.605;
    pub const SCALE: f64 = 6.012e-5;
    pub const AXIS: f64 = 0.10;
    /// Degree, amplitude, phase, slowing.
    pub const MODES: [(u32, f64, f64, f64); 4] = [
        (2, 0.060, 0.0, -0.585),
        (3, 0.022, 0.9, -0.989),
        (4, 0.012, 2.1, -1.399),
        (5, 0.006, -0.7, 0.0),
    ];
}

const WIDTH: usize = 384;
const FRAMES: u64 = 528;
const RATE: f64 = 240.0;

/// What the crew wrote down.
const EXPERIMENT: &str = r#"# Invented scenario: the Heron campaign, flight 3, parabola 11.
format = 1
title  = "Split-cup release, Heron campaign, parabola 11"
kind   = "release"

[liquid]
name = "glycerol-water"
mass_fraction = "0.40 +- 0.005"
temperature = "22 +- 0.5 degC"

[gas]
name = "air"
temperature = "22 +- 1 degC"
pressure = "84 +- 1 kPa"
relative_humidity = "40 % +- 10 %"

[body]
mass = "2.360 +- 0.015 g"           # weighed syringe, less what stayed in the cup

[surroundings]
place = "parabolic-flight"
residual_acceleration = "0.0002 m/s^2"   # the rig floats free in the cabin
available_time = "2.2 s"

[camera]
capture_rate = "240 fps"
scale = "0.0600 +- 0.0002 mm/px"
calibration = "heron-3"
distance = "0.60 +- 0.01 m"
depth = "0 +- 3 mm"
exposure = "0.3 ms"
held = ["focus", "zoom", "exposure"]
picture = [384, 384]

[release]
support = "cup"
aspect_ratio = "1.09"

[wanted]
surface_tension = "1 %"
viscosity = "2 %"

[clip]
path = "clip"
"#;

fn lines() -> Vec<(u32, Root)> {
    let pair = Pair {
        radius: truth::RADIUS,
        tension: truth::TENSION,
        density: truth::DENSITY,
        viscosity: truth::KINEMATIC_VISCOSITY * truth::DENSITY,
        host_density: truth::AIR_DENSITY,
        host_viscosity: truth::AIR_VISCOSITY,
    };
    truth::MODES
        .iter()
        .map(|mode| (mode.0, root(mode.0, &pair).expect("a drop of this size rings")))
        .collect()
}

/// Amplitudes `a_0, a_1, ...` at a time; the painter sets `a_0`.
fn amplitudes(lines: &[(u32, Root)], time: f64) -> Vec<f64> {
    let mut all = vec![0.0; 6];
    for ((degree, line), (_, amplitude, start, slowing)) in lines.iter().zip(truth::MODES) {
        let (w, g) = (line.angular_frequency, line.decay);
        let slowed = time + slowing * amplitude * amplitude * (1.0 - (-2.0 * g * time).exp()) / (2.0 * g);
        all[*degree as usize] = amplitude * (-g * time).exp() * (w * slowed + start).cos();
    }
    all
}

fn recipe() -> Recipe {
    let mut recipe = Recipe::silhouette(WIDTH, WIDTH, FRAMES, RATE, truth::SCALE);
    recipe.distance_m = Some(truth::DISTANCE);
    recipe.seed = 311;
    let lines = lines();
    let middle = WIDTH as f64 / 2.0;
    recipe.bodies.push(PaintedBody {
        radius_px: truth::RADIUS / truth::SCALE,
        centre: Arc::new(move |t: f64| {
            [
                middle - 3.3 + 5.0 * t - 1.1 * t * t,
                middle + 2.7 - 4.0 * t + 0.8 * t * t,
            ]
        }),
        axis: truth::AXIS,
        motion: Arc::new(move |t: f64| amplitudes(&lines, t)),
        present: [f64::NEG_INFINITY, f64::INFINITY],
        space: Space::default(),
    });
    recipe
}

/// The true values by name and unit.
fn true_values() -> Vec<(String, String, f64)> {
    let volume = 4.0 / 3.0 * PI * truth::RADIUS.powi(3);
    let mut rows = vec![
        ("surface_tension".into(), "N/m".into(), truth::TENSION),
        (
            "kinematic_viscosity".into(),
            "m^2/s".into(),
            truth::KINEMATIC_VISCOSITY,
        ),
        ("equivalent_radius".into(), "m".into(), truth::RADIUS),
        ("volume".into(), "m^3".into(), volume),
    ];
    for (degree, line) in lines() {
        rows.push((
            format!("frequency {degree}"),
            "Hz".into(),
            line.angular_frequency / (2.0 * PI),
        ));
        rows.push((format!("decay rate {degree}"), "1/s".into(), line.decay));
    }
    rows
}

/// Paints the clip and writes the experiment file into `folder`.
///
/// # Errors
/// When a file cannot be written or `progress` asked to stop; no part of a clip is then left.
pub fn paint(folder: &Path, progress: &mut Progress<'_>) -> Result<PathBuf, StudyError> {
    make_folder(folder)?;
    let mut painter = Painter::new(recipe()).map_err(|why| StudyError::Paint(why.to_string()))?;
    let mut told = |done| progress(done, Some(FRAMES));
    let whole = write_stills_whole(&mut painter, &folder.join("clip"), &mut told);
    if !whole.map_err(|why| StudyError::Paint(why.to_string()))? {
        return Err(StudyError::Stopped);
    }
    let file = folder.join("experiment.toml");
    write_whole(&file, EXPERIMENT.as_bytes())?;
    Ok(file)
}

/// Paints, plans, measures and reports the scenario; returns the run folder. A second run moves the first run's result aside.
///
/// # Errors
/// When a file cannot be written or `progress` asked to stop.
pub fn demo(folder: &Path, command: Vec<String>, progress: &mut Progress<'_>) -> Result<PathBuf, StudyError> {
    let file = paint(folder, progress)?;
    let experiment = Experiment::read(&file)?;
    let sheet = tremolet_plan::sheet::sheet(&experiment)?;
    page(&sheet, &folder.join("plan.html"), true)?;
    let request = Request {
        experiment: &experiment,
        clip: folder.join("clip"),
        out: folder.join("run"),
        replace: true,
        threads: 0,
        overlay: true,
        truth: true_values(),
        command,
    };
    measure(&request, progress)
}
