//! Clips of a camera that shakes, zooms, and changes its focus and its exposure.

use std::f64::consts::TAU;
use std::sync::Arc;

use tremolet_clip::painted::recipe::Mark;

use crate::bench::Bench;
use crate::case::{Failure, Outcome};
use crate::cases::camera::clip::{Clip, Figure, compare, raised};

/// Places of the marks, px, and half the side of a mask over one.
const PLACES: [[f64; 2]; 4] = [[21.0, 24.0], [297.0, 20.0], [24.0, 299.0], [300.0, 296.0]];
const HIDDEN: f64 = 20.0;

/// Dots in the corners.
pub fn marks() -> Vec<Mark> {
    let dot = |centre: [f64; 2]| Mark::Dot {
        centre,
        radius_px: 4.0,
        light: 0.3,
    };
    PLACES.map(dot).to_vec()
}

fn masks() -> [[f64; 4]; 4] {
    PLACES.map(|[x, y]| [x - HIDDEN, y - HIDDEN, x + HIDDEN, y + HIDDEN].map(|v| v.clamp(0.0, 319.0)))
}

/// A hand-held camera, also one that reads its rows one after the other.
pub fn shake(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    for (name, share) in [("shake", 0.0), ("shake and rows read down", 0.85)] {
        let readout = share / clip.drop.rate_fps;
        let painted = clip.painted(bench, |recipe| {
            recipe.marks = marks();
            recipe.camera.readout = readout;
            recipe.handling.shake = Some(Arc::new(|t: f64| {
                [
                    2.0 * (TAU * 5.3 * t).sin() + 0.4 * (TAU * 13.0 * t).sin(),
                    1.5 * (TAU * 3.1 * t).sin(),
                ]
            }));
        })?;
        let stated = if share > 0.0 {
            format!("readout_time = \"{:.6} ms\"\n", 1e3 * readout)
        } else {
            String::new()
        };
        let bounds = [
            (Figure::Path, 0.02),
            (Figure::Tension, 0.1),
            (Figure::Viscosity, 1.0),
            (Figure::Amplitude(2), 1e-4),
            (Figure::Amplitude(3), 1e-4),
        ];
        let name = format!("{name}, seed {}", clip.seed);
        let with = painted.measured(&stated)?;
        compare(
            outcome,
            &name,
            [&with, &painted.masked("", &masks())?],
            &painted,
            &bounds,
        )?;
        raised(outcome, &name, &with, "camera_moved");
    }
    Ok(())
}

/// A zoom that creeps by one per cent and back.
pub fn zoom(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    let duration = clip.frames as f64 / clip.drop.rate_fps;
    let painted = clip.painted(bench, |recipe| {
        recipe.marks = marks();
        recipe.handling.zoom = Some(Arc::new(move |t: f64| {
            1.0 + 0.01 * (0.5 * TAU * t / duration).sin()
        }));
    })?;
    let bounds = [
        (Figure::Radius, 0.02),
        (Figure::RadiusOverItsUncertainty, 3.0),
        (Figure::Tension, 0.1),
        (Figure::Amplitude(2), 1e-4),
        (Figure::Path, 0.02),
    ];
    let name = format!("zoom by 1 %, seed {}", clip.seed);
    let (with, without) = (painted.measured("")?, painted.masked("", &masks())?);
    compare(outcome, &name, [&with, &without], &painted, &bounds)?;
    raised(outcome, &name, &with, "zoom_changed");
    raised(outcome, &format!("{name}, no marks"), &without, "size_drifts");
    Ok(())
}

/// A focus that breathes: the edge from 1.25 to 2 px wide.
pub fn focus(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    let painted = clip.painted(bench, |recipe| {
        recipe.handling.blur_px = Some(Arc::new(|t: f64| 1.25 + 0.75 * (TAU * 0.2 * t).sin().powi(2)));
    })?;
    let bounds = [
        (Figure::Radius, 0.02),
        (Figure::Tension, 0.1),
        (Figure::Amplitude(2), 1e-4),
        (Figure::Amplitude(3), 1e-4),
    ];
    let name = format!("focus breathes, seed {}", clip.seed);
    let found = painted.measured("")?;
    compare(outcome, &name, [&found, &found], &painted, &bounds)?;
    raised(outcome, &name, &found, "focus_changed");
    Ok(())
}

/// An exposure that steps down to 70 % and up again.
pub fn exposure(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    let painted = clip.painted(bench, |recipe| {
        recipe.handling.exposure_steps = vec![[0.8, 0.7], [1.6, 0.9]];
    })?;
    let bounds = [
        (Figure::Radius, 0.02),
        (Figure::Tension, 0.1),
        (Figure::Amplitude(2), 1e-4),
        (Figure::Amplitude(3), 1e-4),
    ];
    let name = format!("exposure steps, seed {}", clip.seed);
    let found = painted.measured("")?;
    compare(outcome, &name, [&found, &found], &painted, &bounds)?;
    raised(outcome, &name, &found, "exposure_changed");
    Ok(())
}
