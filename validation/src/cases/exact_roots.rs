//! Clips painted with exact viscous roots in air: surface tension, viscosity, radius, frequencies and decays.

use tremolet_clip::encode::FINE;
use tremolet_clip::painted::film::write_mp4;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::door::{Answer, measure};
use crate::ringing::{Ringing, Stated};

/// See the module.
pub const CASE: Case = Case {
    name: "exact_roots",
    question: "Back-lit clips painted with exact viscous roots in air",
    method: "Drops of known surface tension and viscosity ring in air by the exact roots of the viscous two-fluid problem; \
             modes 2 to 4, swings of 0.02 R and less, drift, uneven light, shot noise; as 8-bit PNG and as H.264 with quantiser 10 and 22. \
             The coder itself shifts the outline, more so at 22, a common camera's; of films the stated uncertainties are held against the truth.",
    version: 3,
    run,
};

/// Quantiser of a common camera.
const COARSE: u8 = 22;

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let full: &[(&str, Ringing, u64)] = &[
        (
            "18 mm glycerol-water, 40 %",
            Ringing::in_air(0.009, 1099.0, 0.0690, 3.68e-3, 9.0e-5, 120.0),
            500,
        ),
        (
            "10 mm water",
            Ringing::in_air(0.005, 998.2, 0.0727, 1.002e-3, 5.0e-5, 250.0),
            600,
        ),
        (
            "16 mm oil of 10 mm^2/s",
            Ringing::in_air(0.008, 935.0, 0.0201, 9.35e-3, 8.0e-5, 100.0),
            400,
        ),
    ];
    for (name, ringing, frames) in &full[..bench.pick(1, full.len())] {
        let media = [
            ("PNG", Medium::Stills),
            ("MP4, fine", Medium::Film(FINE)),
            ("MP4, coarse", Medium::Film(COARSE)),
        ];
        for (kind, medium) in media {
            let found = film(bench, ringing, *frames, Recipe::silhouette, (medium, SEED))?;
            let name = format!("{name}, {kind}");
            if medium == Medium::Stills {
                compare(&mut outcome, &name, &found, ringing, [0.02, 0.1, 1.0])?;
            } else {
                tell(&mut outcome, &name, &found, ringing);
            }
            honest(&mut outcome, &name, &found, ringing)?;
        }
    }
    Ok(outcome)
}

/// Tells what was found of a film, whose coding shifts the outline itself.
fn tell(outcome: &mut Outcome, clip: &str, found: &Answer, ringing: &Ringing) {
    let truths = [
        ("equivalent_radius", ringing.pair.radius),
        ("surface_tension", ringing.pair.tension),
        ("kinematic_viscosity", ringing.kinematic_viscosity()),
    ];
    for (quantity, truth) in truths {
        let text = found.estimate(quantity).map_or("absent".into(), |e| {
            let percent = 100.0 / truth;
            format!(
                "{:+.3} +- {:.3} %",
                percent * (e.value - truth),
                percent * e.standard_uncertainty
            )
        });
        outcome.tell(clip, quantity, text);
    }
    outcome.tell(clip, "cautions", found.cautions());
}

/// Holds what was found of modes and properties against the uncertainties stated with it.
///
/// # Errors
/// When theory gives no root.
pub fn honest(outcome: &mut Outcome, clip: &str, found: &Answer, ringing: &Ringing) -> Result<(), Failure> {
    let mut deviations = Vec::new();
    for (degree, root) in (2_u32..).zip(ringing.roots()?) {
        let Some(mode) = found.mode(degree) else { continue };
        let truths = [root.angular_frequency / std::f64::consts::TAU, root.decay];
        for (quantity, truth) in [&mode.frequency, &mode.decay_rate].into_iter().zip(truths) {
            deviations.extend(
                quantity
                    .standard_uncertainty
                    .map(|u| (quantity.value - truth) / u),
            );
        }
    }
    let properties = [
        ("surface_tension", ringing.pair.tension),
        ("kinematic_viscosity", ringing.kinematic_viscosity()),
    ];
    for (quantity, truth) in properties {
        let found = found.estimate(quantity);
        deviations.extend(found.map(|e| (e.value - truth) / e.standard_uncertainty));
    }
    let largest = deviations
        .iter()
        .fold(0.0, |most: f64, z| if z.abs() > most.abs() { *z } else { most });
    // Eight numbers: one beyond 3.5 standard uncertainties comes by chance in one clip of three hundred.
    outcome.within(
        clip,
        "largest deviation / uncertainty",
        Some(largest).filter(|_| !deviations.is_empty()),
        3.5,
        "",
    );
    Ok(())
}

/// Seed of the noise where one clip is enough.
pub const SEED: u64 = 11;

/// How the painted frames are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Medium {
    /// A folder of PNG stills.
    Stills,
    /// An MP4 of H.264 with this quantiser.
    Film(u8),
}

/// Paints the drop on 320 x 320 px with the recipe of a scene and noise of a seed, and measures the clip.
///
/// # Errors
/// As painting, writing and measuring do.
pub fn film(
    bench: &Bench,
    ringing: &Ringing,
    frames: u64,
    scene: fn(usize, usize, u64, f64, f64) -> Recipe,
    (medium, seed): (Medium, u64),
) -> Result<Answer, Failure> {
    let scratch = bench.scratch()?;
    let mut recipe = scene(320, 320, frames, ringing.rate_fps, ringing.scale);
    recipe.bodies = vec![ringing.body([160.4, 158.7], [1.5, -1.0])?];
    recipe.seed = seed;
    let mut painter = Painter::new(recipe)?;
    let clip = match medium {
        Medium::Stills => "stills",
        Medium::Film(_) => "clip.mp4",
    };
    let path = scratch.path().join(clip);
    match medium {
        Medium::Stills => write_stills(&mut painter, &path).map_err(Failure::file(&path))?,
        Medium::Film(coarseness) => write_mp4(&mut painter, &path, coarseness)?,
    }
    measure(scratch.path(), clip, &Stated::exactly(ringing, clip).experiment())
}

/// Adds the differences from the truth; bounds for the radius (px), surface tension (%) and viscosity (%).
///
/// # Errors
/// When theory gives no root.
pub fn compare(
    outcome: &mut Outcome,
    clip: &str,
    found: &Answer,
    ringing: &Ringing,
    [radius, tension, viscosity]: [f64; 3],
) -> Result<(), Failure> {
    let off = found.error_percent("equivalent_radius", ringing.pair.radius);
    outcome.within(
        clip,
        "radius",
        off.map(|off| 0.01 * off * ringing.radius_px()),
        radius,
        " px",
    );
    outcome.within(
        clip,
        "surface tension",
        found.error_percent("surface_tension", ringing.pair.tension),
        tension,
        " %",
    );
    let truth = ringing.kinematic_viscosity();
    outcome.within(
        clip,
        "kinematic viscosity",
        found.error_percent("kinematic_viscosity", truth),
        viscosity,
        " %",
    );
    for (degree, root) in (2_u32..).zip(ringing.roots()?).take(2) {
        let mode = found.mode(degree);
        let share = |value: Option<f64>, truth: f64| value.map(|value| 100.0 * (value / truth - 1.0));
        let frequency = share(
            mode.map(|m| m.frequency.value),
            root.angular_frequency / std::f64::consts::TAU,
        );
        outcome.within(clip, &format!("frequency of mode {degree}"), frequency, 0.1, " %");
        outcome.within(
            clip,
            &format!("decay of mode {degree}"),
            share(mode.map(|m| m.decay_rate.value), root.decay),
            3.0,
            " %",
        );
    }
    outcome.tell(clip, "cautions", found.cautions());
    Ok(())
}
