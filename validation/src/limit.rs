//! The smallest standard deviations that any unbiased estimate can have from a back-lit clip of a ringing drop: the bound of Cramer
//! and Rao for the pixels themselves.
//!
//! ```text
//! I = lamp(x, y) [1 - c (1 - dark)],   c = Phi(-d / s),   d = (rho - r(theta)) r / sqrt(r^2 + r'^2),   r = sum c_n P_n(cos theta)
//! var = I / W + r0^2 + q^2 / 12,       F = sum over pixels of (dI/dp)(dI/dp)^T / var,     covariance >= F^-1
//! clip: p_k = (centre, c_0, c_2 ... c_8, levels, width) of frame k as functions of what the frames share; what each frame has for
//!       itself (centre, c_7, c_8) is taken out by the Schur complement
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `I`, `lamp`, `dark` | light of a pixel, light of the lamp, share let through | full scale, full scale, 1 |
//! | `s` | width of blur and pixel together | px |
//! | `W`, `r0`, `q` | full well, read noise, step of a code | electrons, full scale, full scale |
//! | `rho`, `theta` | distance from the centre, angle from the axis | px, rad |
//!
//! Source: \[Kay1993\] chapter 3 (from memory) for the bound; rounding to codes counts as noise of `q^2 / 12`. The variance's own
//! dependence on the unknowns, which holds a little more information, is left out. The axis is known, as is the light inside.

use tremolet_clip::painted::recipe::Recipe;
use tremolet_numerics::dense::{DenseError, Matrix};
use tremolet_numerics::legendre;
use tremolet_numerics::statistics::normal_tail;

/// Highest degree that a frame may hold.
const HIGHEST: usize = 8;
/// Highest degree that rings.
const RINGING: usize = 6;
/// Unknowns of a frame: centre, then `c_0`, `c_2` to `c_8`, then lamp (4), dark, width.
const CENTRE: usize = 0;
const SHAPE: usize = 2;
const LEVELS: usize = SHAPE + HIGHEST;
const UNKNOWNS: usize = LEVELS + 6;
/// Unknowns that all frames share without the motion: lamp (4), dark, width.
pub const SHARED_LEVELS: usize = 6;
/// Pixels beyond so many widths from the edge say nothing of its place.
const FAR: f64 = 6.0;

/// A back-lit clip as the bound sees it.
#[derive(Debug, Clone)]
pub struct Pixels {
    width: usize,
    height: usize,
    /// Level, fall-off and slopes of the lamp.
    lamp: [f64; 4],
    dark: f64,
    blur: f64,
    shot: f64,
    floor: f64,
}

impl Pixels {
    /// The pixels of a recipe's lamp and camera, and the light that its silhouettes let through.
    pub fn of(recipe: &Recipe, dark: f64) -> Self {
        let (lamp, camera) = (&recipe.lamp, &recipe.camera);
        Self {
            width: recipe.width,
            height: recipe.height,
            lamp: [lamp.level, lamp.falloff, lamp.slope[0], lamp.slope[1]],
            dark,
            blur: (camera.blur_px.powi(2) + 1.0 / 12.0).sqrt(),
            shot: camera.full_well.map_or(0.0, |well| 1.0 / well),
            floor: camera.read_noise.powi(2) + camera.largest_code().powi(-2) / 12.0,
        }
    }

    /// The information in one frame of a body at `centre` with `c_0` to `c_8` (`c_1` is nil), axis upright, px.
    pub fn information(&self, centre: [f64; 2], shape: &[f64; HIGHEST + 1]) -> Matrix {
        let mut sum = Matrix::zeros(UNKNOWNS, UNKNOWNS);
        let slope = legendre::derivative(shape);
        for y in 0..self.height {
            for x in 0..self.width {
                let (dx, dy) = (x as f64 - centre[0], y as f64 - centre[1]);
                let distance = dx.hypot(dy);
                // The middle of the body is lit by what is behind it, as is known.
                if distance < 0.5 * shape[0] {
                    continue;
                }
                let (changes, variance) =
                    self.pixel([x, y], [dx / distance, dy / distance], distance, shape, &slope);
                for i in 0..UNKNOWNS {
                    let weighed = changes[i] / variance;
                    for (j, change) in changes.iter().enumerate().take(i + 1) {
                        sum[(i, j)] += weighed * change;
                    }
                }
            }
        }
        Matrix::from_fn(UNKNOWNS, UNKNOWNS, |i, j| sum[(i.max(j), i.min(j))])
    }

    /// Changes of one pixel's light by the unknowns, and the variance of its code.
    fn pixel(
        &self,
        [x, y]: [usize; 2],
        [right, down]: [f64; 2],
        distance: f64,
        shape: &[f64],
        slope: &[f64],
    ) -> ([f64; UNKNOWNS], f64) {
        let (u, v) = (
            2.0 * x as f64 / (self.width as f64 - 1.0) - 1.0,
            2.0 * y as f64 / (self.height as f64 - 1.0) - 1.0,
        );
        let [level, falloff, across, along] = self.lamp;
        let field = 1.0 - falloff * (u * u + v * v) + across * u + along * v;
        let (cos, sin) = (-down, right);
        let r = legendre::series(shape, cos);
        let by_angle = -sin * legendre::series(slope, cos);
        let upright = r / r.hypot(by_angle);
        let d = (distance - r) * upright;
        let z = d / self.blur;
        let share = normal_tail(z);
        let light = level * field * (1.0 - share * (1.0 - self.dark));
        let mut changes = [0.0; UNKNOWNS];
        if z.abs() < FAR {
            let density = (-0.5 * z * z).exp() / (std::f64::consts::TAU.sqrt() * self.blur);
            let by_edge = -level * field * (1.0 - self.dark) * density;
            // Outward normal of the outline: radial part and the part along growing theta.
            let (radial, turned) = (upright, -by_angle / r.hypot(by_angle));
            changes[CENTRE] = by_edge * (radial * right + turned * cos);
            changes[CENTRE + 1] = by_edge * (radial * down + turned * sin);
            let mut polynomials = [0.0; HIGHEST + 1];
            legendre::values(cos, &mut polynomials);
            changes[SHAPE] = by_edge * upright;
            for n in 2..=HIGHEST {
                changes[SHAPE + n - 1] = by_edge * upright * polynomials[n];
            }
            changes[LEVELS + 5] = by_edge * z;
        }
        let seen = 1.0 - share * (1.0 - self.dark);
        changes[LEVELS] = field * seen;
        changes[LEVELS + 1] = -level * seen * (u * u + v * v);
        changes[LEVELS + 2] = level * seen * u;
        changes[LEVELS + 3] = level * seen * v;
        changes[LEVELS + 4] = level * field * share;
        (changes, light * self.shot + self.floor)
    }
}

/// Smallest standard deviations of `c_0` and of `c_2` to `c_8` in one frame whose levels and width are known, px.
///
/// # Errors
/// [`DenseError`] when the frame does not determine them.
pub fn of_frame(information: &Matrix) -> Result<[f64; HIGHEST], DenseError> {
    let known = Matrix::from_fn(LEVELS, LEVELS, |i, j| information[(i, j)]);
    let covariance = inverse(&known)?;
    Ok(std::array::from_fn(|n| covariance[(SHAPE + n, SHAPE + n)].sqrt()))
}

/// Smallest covariance of what the frames share: first `globals` unknowns by which `c_0` and `c_2` to `c_6` of frame `k` change as
/// `slopes(k)` says (6 rows), then the levels and the width ([`SHARED_LEVELS`]).
///
/// # Errors
/// [`DenseError`] when the clip does not determine them.
pub fn of_clip(
    frames: &[Matrix],
    globals: usize,
    slopes: &dyn Fn(usize) -> Matrix,
) -> Result<Matrix, DenseError> {
    let all = globals + SHARED_LEVELS;
    let mut sum = Matrix::zeros(all, all);
    // Of its own each frame has the centre and the degrees that do not ring.
    let own: Vec<usize> = [CENTRE, CENTRE + 1]
        .into_iter()
        .chain(SHAPE + RINGING..LEVELS)
        .collect();
    let shared: Vec<usize> = (SHAPE..SHAPE + RINGING).chain(LEVELS..UNKNOWNS).collect();
    for (k, information) in frames.iter().enumerate() {
        let left = without(information, &shared, &own)?;
        let motion = slopes(k);
        let change = Matrix::from_fn(shared.len(), all, |i, j| match (i < RINGING, j < globals) {
            (true, true) => motion[(i, j)],
            (false, false) if i - RINGING == j - globals => 1.0,
            _ => 0.0,
        });
        let part = change.transpose().product(&left.product(&change));
        sum = Matrix::from_fn(all, all, |i, j| sum[(i, j)] + part[(i, j)]);
    }
    inverse(&sum)
}

/// The same where every degree is judged by itself: of each frame only the smallest variances of `c_0` and `c_2` to `c_6` count, with
/// centre, levels and width of the frame and all other degrees free, and each ringing degree has an offset of its own. The
/// offsets of degrees 2 to 6 come behind the `globals`.
///
/// # Errors
/// [`DenseError`] when the clip does not determine them.
pub fn of_degrees(
    frames: &[Matrix],
    globals: usize,
    slopes: &dyn Fn(usize) -> Matrix,
) -> Result<Matrix, DenseError> {
    let all = globals + RINGING - 1;
    let mut sum = Matrix::zeros(all, all);
    for (k, information) in frames.iter().enumerate() {
        let (covariance, motion) = (inverse(information)?, slopes(k));
        for i in 0..RINGING {
            let weight = 1.0 / covariance[(SHAPE + i, SHAPE + i)];
            let change = |j: usize| match j.checked_sub(globals) {
                None => motion[(i, j)],
                Some(offset) => f64::from(u8::from(offset + 1 == i)),
            };
            for a in 0..all {
                for b in 0..all {
                    sum[(a, b)] += weight * change(a) * change(b);
                }
            }
        }
    }
    inverse(&sum)
}

/// The information on `kept` when `own` are unknown too: the Schur complement.
fn without(information: &Matrix, kept: &[usize], own: &[usize]) -> Result<Matrix, DenseError> {
    let pick = |rows: &[usize], columns: &[usize]| {
        Matrix::from_fn(rows.len(), columns.len(), |i, j| {
            information[(rows[i], columns[j])]
        })
    };
    let cross = pick(kept, own);
    let taken = cross
        .product(&inverse(&pick(own, own))?)
        .product(&cross.transpose());
    let all = pick(kept, kept);
    Ok(Matrix::from_fn(kept.len(), kept.len(), |i, j| {
        all[(i, j)] - taken[(i, j)]
    }))
}

/// The inverse of a positive matrix whose unknowns differ in size.
pub(crate) fn inverse(matrix: &Matrix) -> Result<Matrix, DenseError> {
    let count = matrix.rows();
    let sizes: Vec<f64> = (0..count).map(|i| matrix[(i, i)].sqrt()).collect();
    let even = Matrix::from_fn(count, count, |i, j| matrix[(i, j)] / (sizes[i] * sizes[j]));
    let inverse = even.inverse_positive()?;
    Ok(Matrix::from_fn(count, count, |i, j| {
        inverse[(i, j)] / (sizes[i] * sizes[j])
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::bounds::{Ringing, circle, edge};
    use tremolet_optics::edge_limit::Outline;

    fn recipe() -> Recipe {
        let mut recipe = Recipe::silhouette(256, 256, 250, 250.0, 1e-4);
        recipe.lamp.level = 200.0 / 255.0;
        recipe
    }

    fn round(radius: f64) -> [f64; HIGHEST + 1] {
        std::array::from_fn(|n| if n == 0 { radius } else { 0.0 })
    }

    /// 256x256, R = 75 px, 10 000 electrons, blur 1.25 px, read noise 0.5 codes: one frame gives R to 1.2e-3 px and a_2 to a_6 to
    /// 32, 39, 44, 48, 52 millionths, computed by an independent script (Python, edge information integrated over the outline).
    #[test]
    fn a_frame_says_what_an_independent_script_says() {
        let pixels = Pixels::of(&recipe(), 0.2);
        let bound = of_frame(&pixels.information([128.4, 127.8], &round(75.0))).expect("a bound");
        assert!((bound[0] / 1.2e-3 - 1.0).abs() < 0.05, "{}", bound[0]);
        for (found, known) in bound[1..].iter().zip([32.0, 39.0, 44.0, 48.0, 52.0]) {
            assert!(
                (1e6 * found / 75.0 / known - 1.0).abs() < 0.04,
                "{} {known}",
                1e6 * found / 75.0
            );
        }
    }

    /// Even light and noise without shot noise: the radius by the closed forms of edge and circle.
    #[test]
    fn a_round_body_in_even_light_agrees_with_the_closed_forms() {
        let mut recipe = recipe();
        (recipe.lamp.falloff, recipe.lamp.slope) = (0.0, [0.0; 2]);
        recipe.camera.full_well = None;
        let pixels = Pixels::of(&recipe, 0.2);
        let bound = of_frame(&pixels.information([128.0, 128.0], &round(80.0))).expect("a bound");
        let noise = pixels.floor.sqrt() / (pixels.lamp[0] * 0.8);
        // One point to each pixel of outline; c_0 alone is all but free of the other degrees.
        let [radius, _] = circle(
            1,
            noise * edge(pixels.blur) / (std::f64::consts::TAU * 80.0).sqrt(),
        );
        let alone = (1.0 / pixels.information([128.0, 128.0], &round(80.0))[(SHAPE, SHAPE)]).sqrt();
        assert!((alone / radius - 1.0).abs() < 0.01, "{alone} {radius}");
        assert!(bound[0] >= alone);
    }

    /// The bound along the edge, by which runs are planned, against this one of pixels: amplitudes and radius with centre and width free, levels
    /// known, in even light with shot noise.
    #[test]
    fn the_bound_along_the_edge_agrees_with_that_of_pixels() {
        for (radius, blur, dark) in [(75.0, 1.25, 0.2), (40.0, 0.9, 0.05), (60.0, 1.9, 0.4)] {
            let mut recipe = recipe();
            (recipe.lamp.falloff, recipe.lamp.slope) = (0.0, [0.0; 2]);
            recipe.camera.blur_px = blur;
            let pixels = Pixels::of(&recipe, dark);
            let levels = [dark, 1.0].map(|share| share * recipe.lamp.level);
            let outline = Outline {
                radius_px: radius,
                blur_px: pixels.blur,
                levels,
                variances: levels.map(|level| level * pixels.shot + pixels.floor),
            };
            let edge = outline.limit(HIGHEST).expect("a limit");
            let all = pixels.information([128.3, 127.6], &round(radius));
            // Levels stay out, the width of the blur is free.
            let free: Vec<usize> = (0..LEVELS).chain([UNKNOWNS - 1]).collect();
            let free = Matrix::from_fn(free.len(), free.len(), |i, j| all[(free[i], free[j])]);
            let covariance = inverse(&free).expect("a bound");
            let of = |place: usize| covariance[(place, place)].sqrt();
            let ratio = of(SHAPE) / edge.radius_px;
            assert!((ratio - 1.0).abs() < 0.03, "radius {radius}: {ratio}");
            for n in 2..=HIGHEST {
                let ratio = of(SHAPE + n - 1) / radius / edge.amplitude(n).expect("a degree");
                assert!((ratio - 1.0).abs() < 0.03, "radius {radius}, degree {n}: {ratio}");
            }
        }
    }

    /// One ringing degree: the clip gives its frequency and decay as the matrix of the line itself does with the amplitude's noise.
    #[test]
    fn a_clip_of_one_line_agrees_with_the_line_alone() {
        let pixels = Pixels::of(&recipe(), 0.2);
        let information = pixels.information([128.0, 128.0], &round(75.0));
        let frames = vec![information.clone(); 100];
        let line = Ringing {
            amplitude: 1.0,
            decay: 3.0,
            angular_frequency: 60.0,
            phase: 0.4,
        };
        let times: Vec<f64> = (0..100).map(|k| 0.01 * f64::from(k)).collect();
        let slopes = |k: usize| {
            let t = times[k];
            let (size, (sin, cos)) = ((-3.0 * t).exp(), (60.0 * t + 0.4).sin_cos());
            let of = [size * cos, -t * size * cos, -t * size * sin, -size * sin];
            Matrix::from_fn(RINGING, 5, |i, j| match (i, j) {
                (0, 4) => 1.0,
                (1, j) if j < 4 => of[j],
                _ => 0.0,
            })
        };
        let covariance = of_clip(&frames, 5, &slopes).expect("a bound");
        // In the clip degrees 3 to 6 are known to be nil, so the noise of c_2 is what is left beside its own nuisances.
        let shared: Vec<usize> = vec![SHAPE + 1];
        let own: Vec<usize> = [0, 1, LEVELS - 2, LEVELS - 1].to_vec();
        let left = without(&information, &shared, &own).expect("left");
        let noise = left[(0, 0)].powf(-0.5);
        let known = line.deviations(&times, noise).expect("a bound");
        for (j, known) in known.iter().enumerate() {
            let found = covariance[(j, j)].sqrt();
            assert!((found / known - 1.0).abs() < 0.02, "{j}: {found} {known}");
        }
        // Degree by degree, with its noise in a frame and an offset: the four numbers of the line are known less well.
        let apart = of_degrees(&frames, 5, &slopes).expect("a bound");
        let alone = inverse(&information).expect("a bound")[(SHAPE + 1, SHAPE + 1)].sqrt();
        let least = line.deviations(&times, alone).expect("a bound");
        for (j, least) in least.iter().enumerate() {
            let ratio = apart[(j, j)].sqrt() / least;
            assert!((1.0..1.1).contains(&ratio), "{j}: {ratio}");
        }
    }
}
