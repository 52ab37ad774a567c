//! The smallest standard deviations that an unbiased estimate can have of the outline of a bright body in one frame: the bound of
//! Cramer and Rao from the picture itself.
//!
//! ```text
//! F = sum over pixels of (dI/dp)(dI/dp)^T / var,   var = I / W + r^2 + q^2 / 12,   covariance >= F^-1
//! open: F - sum over stretches of B C^-1 B^T       for two levels of each stretch's own, of the wall before it and of the body's light
//! ```
//! `dI/dp` is half the difference of two pictures painted without noise, a little more and a little less of `p`. Only pixels within
//! [`NEAR`] of the outline count. Once with everything but the outline known, wall and body pixel by pixel; once with the levels
//! on both sides of every stretch of [`STRETCH`] open, as they are for one who does not know the wall but its form.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `p` | centre, radius, `a_2` to `a_8` | px, px, 1 |
//! | `W`, `r`, `q` | full well, read noise, step of a code | electrons, full scale, full scale |
//! | `B`, `C` | information of the unknowns with, and among, the levels of a stretch | - |
//!
//! Source: \[Kay1993\] chapter 3 (from memory); rounding to codes counts as noise.

use tremolet_clip::frame::Levels;
use tremolet_clip::painted::body::{PaintedBody, Still};
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{PaintedCamera, Recipe};
use tremolet_numerics::dense::Matrix;

use crate::case::Failure;
use crate::limit::inverse;

/// Highest degree that is estimated along with the others.
const HIGHEST: usize = 8;
/// Centre, radius, degrees.
const UNKNOWNS: usize = 3 + HIGHEST - 1;
/// Pixels within this distance of the outline count, px.
const NEAR: f64 = 9.0;
/// Length of the outline that has levels of its own, px.
const STRETCH: f64 = 1.5;
/// Halves of the differences: px, px over the radius.
const STEP: f64 = 0.1;

/// Standard deviations of `a_2` to `a_8`.
#[derive(Debug, Clone, Copy, Default)]
pub struct Limit {
    /// With all else known.
    pub known: [f64; HIGHEST - 1],
    /// With the levels of every stretch open.
    pub open: [f64; HIGHEST - 1],
}

/// The body of a frame.
#[derive(Debug, Clone)]
pub struct Pose {
    /// Its centre, px.
    pub centre: [f64; 2],
    /// Of the sphere of its volume, px.
    pub radius: f64,
    /// From degree 2.
    pub amplitudes: Vec<f64>,
}

impl Pose {
    fn unknowns(&self) -> [f64; UNKNOWNS] {
        let mut all = [0.0; UNKNOWNS];
        all[..3].copy_from_slice(&[self.centre[0], self.centre[1], self.radius]);
        all[3..]
            .iter_mut()
            .zip(&self.amplitudes)
            .for_each(|(a, b)| *a = *b);
        all
    }
}

/// The picture of a body with these unknowns without noise, full scale; without a body for `None`.
fn picture(recipe: &Recipe, unknowns: Option<[f64; UNKNOWNS]>) -> Result<Vec<f64>, Failure> {
    let body = |p: [f64; UNKNOWNS]| {
        let amplitudes = [&[0.0, 0.0], &p[3..]].concat();
        PaintedBody::moving(p[2], [p[0], p[1]], Still(amplitudes))
    };
    let mut painter = Painter::new(Recipe {
        bodies: unknowns.map(body).into_iter().collect(),
        camera: PaintedCamera {
            blur_px: recipe.camera.blur_px,
            ..PaintedCamera::noiseless()
        },
        ..recipe.clone()
    })?;
    let levels = painter.paint(0).map(|frame| frame.plane.levels);
    Ok(match levels {
        Some(Levels::Sixteen(levels)) => levels.iter().map(|l| f64::from(*l) / 65_535.0).collect(),
        _ => Vec::new(),
    })
}

/// The bound in the first frame of a recipe for a body in this pose.
///
/// # Errors
/// When it cannot be painted, or does not determine the outline.
pub fn of_frame(recipe: &Recipe, pose: &Pose) -> Result<Limit, Failure> {
    let here = pose.unknowns();
    let light = picture(recipe, Some(here))?;
    let wall = picture(recipe, None)?;
    let share = share(recipe, here)?;
    let mut changes = Vec::new();
    for k in 0..UNKNOWNS {
        let step = if k < 3 { STEP } else { STEP / pose.radius };
        let moved = |by: f64| {
            let mut there = here;
            there[k] += by;
            picture(recipe, Some(there))
        };
        let (up, down) = (moved(step)?, moved(-step)?);
        let halves = up.iter().zip(&down).map(|(u, d)| (u - d) / (2.0 * step));
        changes.push(halves.collect::<Vec<f64>>());
    }
    let camera = &recipe.camera;
    let shot = camera.full_well.map_or(0.0, |well| 1.0 / well);
    let floor = camera.read_noise.powi(2) + camera.largest_code().powi(-2) / 12.0;
    let stretches = (std::f64::consts::TAU * pose.radius / STRETCH) as usize;
    let mut known = Matrix::zeros(UNKNOWNS, UNKNOWNS);
    let mut levels = vec![Stretch::default(); stretches];
    for at in 0..light.len() {
        let (x, y) = ((at % recipe.width) as f64, (at / recipe.width) as f64);
        let (u, v) = (x - here[0], y - here[1]);
        let cos = -v / u.hypot(v).max(1e-9);
        let series = [&[1.0, 0.0], &here[3..]].concat();
        let edge = here[2] * tremolet_numerics::legendre::series(&series, cos);
        if (u.hypot(v) - edge).abs() > NEAR {
            continue;
        }
        let weight = 1.0 / (light[at] * shot + floor);
        let turn = (v.atan2(u) / std::f64::consts::TAU).rem_euclid(1.0);
        let outside = (1.0 - share[at]) * wall[at];
        let by: [f64; UNKNOWNS] = std::array::from_fn(|k| changes[k][at]);
        levels[(turn * stretches as f64) as usize % stretches].add(
            &by,
            [outside, light[at] - outside],
            weight,
        );
        for i in 0..UNKNOWNS {
            (0..UNKNOWNS).for_each(|j| known[(i, j)] += weight * by[i] * by[j]);
        }
    }
    let mut open = known.clone();
    levels.iter().for_each(|stretch| stretch.take_from(&mut open));
    let deviations = |information: &Matrix| -> Result<[f64; HIGHEST - 1], Failure> {
        let covariance = inverse(information).map_err(|cause| Failure::Text {
            what: "the bound of a bright outline".into(),
            cause: cause.to_string(),
        })?;
        Ok(std::array::from_fn(|n| covariance[(3 + n, 3 + n)].sqrt()))
    };
    Ok(Limit {
        known: deviations(&known)?,
        open: deviations(&open)?,
    })
}

/// Share of every pixel that the body covers: a black body before a white field.
fn share(recipe: &Recipe, unknowns: [f64; UNKNOWNS]) -> Result<Vec<f64>, Failure> {
    let mut plain = Recipe::silhouette(recipe.width, recipe.height, 1, 1.0, recipe.scale_m_per_px);
    plain.camera.blur_px = recipe.camera.blur_px;
    plain.lamp.level = 1.0;
    plain.lamp.falloff = 0.0;
    plain.lamp.slope = [0.0; 2];
    if let tremolet_clip::painted::recipe::PaintedScene::Silhouette(look) = &mut plain.scene {
        look.dark = 0.0;
        look.middle = 0.0;
    }
    let seen = picture(&plain, Some(unknowns))?;
    Ok(seen.into_iter().map(|light| 1.0 - light).collect())
}

/// Information of one stretch with its two levels, and among them.
#[derive(Debug, Clone, Copy, Default)]
struct Stretch {
    with: [[f64; 2]; UNKNOWNS],
    among: [[f64; 2]; 2],
}

impl Stretch {
    fn add(&mut self, by: &[f64; UNKNOWNS], levels: [f64; 2], weight: f64) {
        for a in 0..2 {
            for (with, by) in self.with.iter_mut().zip(by) {
                with[a] += weight * by * levels[a];
            }
            (0..2).for_each(|b| self.among[a][b] += weight * levels[a] * levels[b]);
        }
    }

    fn take_from(&self, information: &mut Matrix) {
        let [[a, b], [_, d]] = self.among;
        let area = a * d - b * b;
        if area <= 1e-9 * a * d {
            return;
        }
        for i in 0..UNKNOWNS {
            for j in 0..UNKNOWNS {
                let ([p, q], [r, s]) = (self.with[i], self.with[j]);
                information[(i, j)] -= (d * p * r - b * (p * s + q * r) + a * q * s) / area;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A back-lit drop: the same bound from the closed form of the edge.
    #[test]
    fn differences_of_pictures_give_the_bound_of_the_closed_form() -> Result<(), Failure> {
        let recipe = Recipe::silhouette(192, 192, 1, 1.0, 1e-4);
        let pose = Pose {
            centre: [95.3, 96.1],
            radius: 60.0,
            amplitudes: vec![0.03, 0.01],
        };
        let found = of_frame(&recipe, &pose)?;
        let mut shape = [0.0; HIGHEST + 1];
        (shape[0], shape[2], shape[3]) = (60.0, 1.8, 0.6);
        let pixels = crate::limit::Pixels::of(&recipe, 0.20);
        let closed = crate::limit::of_frame(&pixels.information(pose.centre, &shape)).expect("determined");
        for (k, (found, closed)) in found.known.iter().zip(&closed[1..]).enumerate() {
            let closed = closed / 60.0;
            assert!(
                (found / closed - 1.0).abs() < 0.05,
                "a_{}: {found} {closed}",
                k + 2
            );
        }
        for (known, open) in found.known.iter().zip(found.open) {
            assert!(open > *known, "what is open costs: {open} {known}");
        }
        Ok(())
    }
}
