//! What a camera does to a clip: rolling shutter, lens and roll, a wide lamp, shake, zoom, focus and exposure; with what is stated or seen taken
//! out, and beside it without.

mod clip;
mod handling;

use std::f64::consts::TAU;

use tremolet_clip::painted::recipe::{PaintedScene, Recipe, Silhouette};
use tremolet_optics::distortion::Lens;
use tremolet_optics::picture::Picture;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::cases::camera::clip::{Clip, Figure, compare, quiet};
use crate::ringing::Ringing;

/// See the module.
pub const CASE: Case = Case {
    name: "camera",
    question: "What the camera does, taken out",
    method: "The 18 mm drop of glycerol-water rings back-lit before cameras that do something to the picture. Each clip is measured with \
             what a user would state of the camera, and again without (the marks masked); errors against the truth stand side by side. The path is compared \
             at the instants that the program gives for its shapes. A plain clip must bring none of the cautions.",
    version: 1,
    run,
};

/// Cautions that only a camera raises.
const CODES: &[&str] = &[
    "rows_not_brought_together",
    "camera_moved",
    "camera_motion_unclear",
    "zoom_changed",
    "focus_changed",
    "exposure_changed",
    "size_drifts",
];

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let drop = Ringing::in_air(0.009, 1099.0, 0.0690, 3.68e-3, 9.0e-5, 120.0);
    let frames = bench.pick(240, 500);
    plain(bench, &mut outcome, &drop, frames)?;
    for seed in 11..bench.pick(12, 15) {
        let clip = Clip {
            drop: &drop,
            frames,
            drift: [1.5, -1.0],
            seed,
            stamped: 0.0,
        };
        shutter(bench, &mut outcome, &clip)?;
        lens(bench, &mut outcome, &clip)?;
        roll(bench, &mut outcome, &clip)?;
        lamp(bench, &mut outcome, &clip)?;
        handling::shake(bench, &mut outcome, &clip)?;
        handling::zoom(bench, &mut outcome, &clip)?;
        handling::focus(bench, &mut outcome, &clip)?;
        handling::exposure(bench, &mut outcome, &clip)?;
    }
    Ok(outcome)
}

fn plain(bench: &Bench, outcome: &mut Outcome, drop: &Ringing, frames: u64) -> Result<(), Failure> {
    let clip = Clip {
        drop,
        frames,
        drift: [1.5, -1.0],
        seed: 3,
        stamped: 0.0,
    };
    let painted = clip.painted(bench, |_| ())?;
    quiet(outcome, "plain camera", &painted.measured("")?, CODES);
    let painted = clip.painted(bench, |recipe| recipe.marks = handling::marks())?;
    quiet(
        outcome,
        "plain camera before marks",
        &painted.measured("")?,
        CODES,
    );
    Ok(())
}

/// Rows read over 0.85 of a frame, downwards and upwards, of a drop that drifts along and against them.
fn shutter(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    let readout = 0.85 / clip.drop.rate_fps;
    for (name, sign, from) in [("down", 1.0, "top"), ("up", -1.0, "bottom")] {
        let clip = Clip {
            drift: [12.0, 22.0],
            // The bottom row is read first, the top one a readout later.
            stamped: if sign < 0.0 { readout } else { 0.0 },
            ..*clip
        };
        let painted = clip.painted(bench, |recipe| recipe.camera.readout = sign * readout)?;
        let stated = format!(
            "readout_time = \"{:.6} ms\"\nreadout_from = \"{from}\"\n",
            1e3 * readout
        );
        let bounds = [
            (Figure::Tension, 0.1),
            (Figure::Viscosity, 1.0),
            (Figure::Frequency(2), 0.02),
            (Figure::Frequency(3), 0.05),
            (Figure::Decay(2), 1.0),
            (Figure::Decay(3), 3.0),
            (Figure::Amplitude(2), 1e-4),
            (Figure::Amplitude(3), 1e-4),
            (Figure::Path, 0.01),
        ];
        let name = format!("rows read {name}, seed {}", clip.seed);
        compare(
            outcome,
            &name,
            [&painted.measured(&stated)?, &painted.measured("")?],
            &painted,
            &bounds,
        )?;
    }
    Ok(())
}

/// A lens that pulls the corners in by 6 %.
fn lens(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    let lens = Lens {
        radial: [-0.25, 0.08, 0.0],
        tangential: [1e-3, -5e-4],
    };
    let clip = Clip {
        drift: [6.0, -4.0],
        ..*clip
    };
    let painted = clip.painted(bench, |recipe| {
        recipe.handling.picture = Some(Picture {
            lens,
            focal_px: 420.0,
            ..Picture::plain([159.5, 159.5])
        });
    })?;
    let stated =
        "[camera.lens]\nfocal_length = \"420 px\"\nradial = [-0.25, 0.08]\ntangential = [0.001, -0.0005]\n";
    let bounds = [
        (Figure::Radius, 0.02),
        (Figure::Tension, 0.1),
        (Figure::Viscosity, 1.0),
        (Figure::Frequency(2), 0.02),
        (Figure::Amplitude(2), 1e-4),
        (Figure::Amplitude(4), 1e-4),
        (Figure::Path, 0.01),
    ];
    let name = format!("lens with distortion, seed {}", clip.seed);
    compare(
        outcome,
        &name,
        [&painted.measured(stated)?, &painted.measured("")?],
        &painted,
        &bounds,
    )
}

/// A camera turned by 3 degrees before a drop whose axis is known to stand upright.
fn roll(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    let painted = clip.painted(bench, |recipe| {
        recipe.handling.picture = Some(Picture {
            roll: 3.0 * TAU / 360.0,
            ..Picture::plain([159.5, 159.5])
        });
    })?;
    let upright = "axis_angle = \"0 deg\"\n";
    let stated = format!("roll = \"3 deg\"\n{upright}");
    let bounds = [
        (Figure::Radius, 0.02),
        (Figure::Tension, 0.1),
        (Figure::Amplitude(2), 1e-4),
        (Figure::Amplitude(3), 1e-4),
        (Figure::Path, 0.01),
    ];
    let name = format!("camera turned by 3 degrees, seed {}", clip.seed);
    compare(
        outcome,
        &name,
        [&painted.measured(&stated)?, &painted.measured(upright)?],
        &painted,
        &bounds,
    )
}

/// A lamp of 10 degrees half angle.
fn lamp(bench: &Bench, outcome: &mut Outcome, clip: &Clip<'_>) -> Result<(), Failure> {
    let look = Silhouette {
        lamp_half_angle: 10.0 * TAU / 360.0,
        index: 1.38,
        ..Silhouette::default()
    };
    let painted = clip.painted(bench, |recipe: &mut Recipe| {
        recipe.scene = PaintedScene::Silhouette(look.clone())
    })?;
    let stated = "lamp_half_angle = \"10 +- 0.3 deg\"\n";
    let bounds = [
        (Figure::Radius, 0.05),
        (Figure::Tension, 0.2),
        (Figure::RadiusOverItsUncertainty, 3.0),
        (Figure::Amplitude(2), 1e-4),
    ];
    let name = format!("lamp of 10 degrees, seed {}", clip.seed);
    compare(
        outcome,
        &name,
        [&painted.measured(stated)?, &painted.measured("")?],
        &painted,
        &bounds,
    )
}
