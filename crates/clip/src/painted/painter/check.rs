//! What a recipe must hold to be painted.

use std::f64::consts::FRAC_PI_2;

use crate::painted::coverage::LARGEST_BLUR;
use crate::painted::painter::PaintError;
use crate::painted::recipe::{Obstacle, PaintedScene, Recipe};
use crate::painted::space::{Space, Stance};

/// A number between its bounds, or what is wrong with it.
fn within(name: &'static str, found: f64, low: f64, high: f64) -> Result<(), PaintError> {
    let fits = (low..=high).contains(&found);
    fits.then_some(()).ok_or(PaintError::Range {
        name,
        found,
        low,
        high,
    })
}

/// Whether all numbers of a recipe can be painted.
pub(super) fn check(recipe: &Recipe) -> Result<(), PaintError> {
    if recipe.width < 8 || recipe.height < 8 {
        return Err(PaintError::Size {
            width: recipe.width,
            height: recipe.height,
        });
    }
    within("blur (px)", recipe.camera.blur_px, 0.3, LARGEST_BLUR)?;
    within("bits of a level", f64::from(recipe.camera.bits), 8.0, 16.0)?;
    within("scale (m/px)", recipe.scale_m_per_px, 1e-12, 1e3)?;
    within("capture rate (1/s)", recipe.clock.rate_fps, 1e-6, 1e9)?;
    within("jitter (share of a slot)", recipe.clock.jitter, 0.0, 0.2)?;
    within("readout time (s)", recipe.camera.readout, -1e6, 1e6)?;
    within("exposure (s)", recipe.camera.exposure, 0.0, 1e6)?;
    handling(recipe)?;
    if let PaintedScene::Silhouette(look) = &recipe.scene {
        within("half angle of the lamp (rad)", look.lamp_half_angle, 0.0, 1.0)?;
        within("refractive index", look.index, 1.0, 3.0)?;
    }
    for obstacle in &recipe.obstacles {
        if let Obstacle::Hoop(hoop) = obstacle {
            let bend = hoop.radius_px * hoop.opening.sin().powi(2);
            within("bend of a hoop as seen (px)", bend, 0.5 * hoop.width_px, 1e6)?;
        }
    }
    for body in &recipe.bodies {
        within("radius (px)", body.radius_px, 1.0, 1e5)?;
        let nearest = 2.0 * body.radius_px * recipe.scale_m_per_px;
        if let Some(distance) = recipe.distance_m {
            within("distance (m)", distance, nearest, 1e6)?;
        }
        within("tilt (rad)", body.space.tilt, -FRAC_PI_2, FRAC_PI_2)?;
        within("spin (rad/s)", body.space.spin, -1e9, 1e9)?;
        if body.space.parting.is_some() && !parts_fit(recipe, &body.space) {
            return Err(PaintError::Parts);
        }
        for shot in recipe.clock.shots(recipe.seed) {
            stance(&body.space.at(shot.time), nearest)?;
        }
    }
    Ok(())
}

/// Whether a body in parts is seen as its meridian.
fn parts_fit(recipe: &Recipe, space: &Space) -> bool {
    let dark = matches!(recipe.scene, PaintedScene::Silhouette(_));
    let plain = space.tilt == 0.0 && space.pattern.is_none() && space.distance_m.is_none();
    dark && plain && recipe.distance_m.is_none()
}

fn handling(recipe: &Recipe) -> Result<(), PaintError> {
    let handling = &recipe.handling;
    for shot in recipe.clock.shots(recipe.seed) {
        if let Some(blur_px) = &handling.blur_px {
            within("blur (px)", blur_px(shot.time), 0.3, LARGEST_BLUR)?;
        }
        let view = handling.view(shot.time, recipe.width, recipe.height);
        within("zoom", view.zoom, 0.1, 10.0)?;
        within("shake (px)", view.shift[0], -1e5, 1e5)?;
        within("shake (px)", view.shift[1], -1e5, 1e5)?;
    }
    let mut steps = handling.exposure_steps.iter();
    steps.try_for_each(|step| within("step of the exposure", step[1], 1e-6, 1e6))
}

fn stance(stance: &Stance, nearest: f64) -> Result<(), PaintError> {
    if let Some(distance) = stance.distance_m {
        within("distance of a body (m)", distance, nearest, 1e6)?;
    }
    for ripple in &stance.ripples {
        let order = f64::from(ripple.order);
        within("order of a mode", order, 1.0, f64::from(ripple.degree))?;
        within("degree of a mode", f64::from(ripple.degree), 1.0, 40.0)?;
        within("amplitude of a mode over the radius", ripple.amplitude, -1.0, 1.0)?;
    }
    Ok(())
}
