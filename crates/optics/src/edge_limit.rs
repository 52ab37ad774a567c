//! How well one back-lit frame can tell the radius and the amplitudes of an outline: the bound of Cramer and Rao along the edge.
//!
//! ```text
//! I(d) = dark + (light - dark) Phi(d / s),   v(d) = v_dark + (v_light - v_dark) Phi(d / s)
//! J_jk = int ((light - dark) phi(d / s) / s)^2 z^(j+k) / v dd,   z = d / s,   j, k = 0 (place), 1 (width)     per pixel of outline
//! F_mn = J_00 R ∮ b_m b_n dtheta,    F_mw = J_01 R ∮ b_m dtheta,   F_ww = J_11 R ∮ dtheta,       covariance >= F^-1
//! b = (1, cos theta, P_2(cos theta), ..., P_N(cos theta)):  c_0, centre along the axis, c_2 ... c_N;   a_n = c_n / R
//! even noise v:   J_00 = (light - dark)^2 / (2 sqrt(pi) s v),  J_01 = 0
//! levels judged beside the edge:   d(c_0) = sqrt(pi) s dL / (light - dark)    for each level that is off by dL
//! ```
//! Every pixel near the edge tells its place by the slope of the light there; a pixel of outline has `J_00` of that information.
//! The pixels around the outline lie at all distances from it, so that their sum is the integral. The centre across the axis has
//! no part in what is even about the axis. The width of the blur is fitted in every frame, and where noise grows with the level it
//! is not independent of the place. Levels that are judged apart from the edge, even ones by their means, move it as a whole.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d` | distance outward from the edge | px |
//! | `s` | width of the blur, one standard deviation, pixel included | px |
//! | `light`, `dark`, `v` | level outside and inside, variance of a pixel | full scale, its square |
//! | `R`, `theta` | radius of the outline, angle from the axis | px, rad |
//! | `c_n`, `a_n` | coefficient of the outline, amplitude over R | px, 1 |
//!
//! Source: \[Kay1993\] chapter 3 (from memory) for the bound, the rest derived here; rounding to codes counts as noise of a twelfth of a
//! squared code. Holds for a nearly round outline, a blur of about a pixel or more and a strip that the body and the picture hold.
//! Coding with loss is neither white nor independent from frame to frame: of it only the scatter along an outline is here. Not here: glints; a
//! lamp that flickers.

use std::f64::consts::{PI, TAU};

use tremolet_numerics::dense::{DenseError, Matrix};
use tremolet_numerics::legendre;
use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_numerics::statistics::normal_tail;

use crate::error::{OpticsError, required};

/// Half width of the strip of pixels around an edge in which it and its levels are judged, px, for a blur of this width (px) around a
/// body of this radius (px).
pub fn strip(width: f64, radius: f64) -> f64 {
    (4.5 * width + 6.0).min(0.4 * radius).max(3.0 * width)
}

/// Distance from the edge beyond which a pixel of a strip of this half width tells a level, px.
pub fn clear_of_edge(width: f64, strip: f64) -> f64 {
    (3.5 * width).min(0.75 * strip)
}

/// Frames of which the smooth map of the light behind the body is made, and the distance from what is dark within which it is not judged, px.
pub const MAP_FRAMES: usize = 12;
/// See [`MAP_FRAMES`].
pub const MAP_CLEAR_PX: f64 = 8.0;

/// A camera's noise: `variance = level / full_well + read_noise^2 + code^2 / 12`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CameraNoise {
    /// Electrons at full scale.
    pub full_well: f64,
    /// Standard deviation of the noise that does not depend on the light, full scale.
    pub read_noise: f64,
    /// Step from one code to the next, full scale; 1/255 for 8 bits.
    pub code: f64,
}

impl CameraNoise {
    /// Variance of a pixel at this level, full scale squared.
    pub fn variance(&self, level: f64) -> f64 {
        level / self.full_well + self.read_noise.powi(2) + self.code.powi(2) / 12.0
    }
}

/// Distance between the points of an outline, px.
const SPACING: f64 = 2.0;
/// Scatter of an edge by a coding with loss over the quantiser's step and the height of the edge, px. Measured on painted back-lit films (ten drops of
/// 28 to 61 px of radius, blur 0.9 to 1.8 px, quantisers 16, 22 and 28, coded by the program itself): 0.4 to 0.8.
const CODED: f64 = 0.64;

/// Scatter of the points of an outline, px, by a coding whose quantiser is `quantiser` (0 to 51) on an edge of this height (full scale):
/// the step is `0.625 2^(q/6)` of 255 codes \[H264\].
pub fn coded_scatter(quantiser: u8, contrast: f64) -> f64 {
    let step = 0.625 * (f64::from(quantiser) / 6.0).exp2() / 255.0;
    CODED * step / contrast
}

/// A round back-lit body as a frame shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outline {
    /// Radius, px.
    pub radius_px: f64,
    /// Width of the blur, pixel included, px.
    pub blur_px: f64,
    /// Level inside and outside, full scale.
    pub levels: [f64; 2],
    /// Variance of a pixel inside and outside, full scale squared.
    pub variances: [f64; 2],
}

/// What one frame can tell at best.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameLimit {
    /// Standard deviation of the radius with known levels, px.
    pub radius_px: f64,
    /// What levels judged in a strip beside the edge add to it, px.
    pub by_levels_px: f64,
    /// Covariance of the amplitudes of degree 2 and up.
    pub amplitudes: Matrix,
}

impl FrameLimit {
    /// Standard deviation of the amplitude of this degree; none below 2 or above the highest.
    pub fn amplitude(&self, degree: usize) -> Option<f64> {
        let place = degree.checked_sub(2).filter(|k| *k < self.amplitudes.rows())?;
        Some(self.amplitudes[(place, place)].sqrt())
    }
}

impl Outline {
    /// The limit when each frame is free in centre, width of the blur, radius and the degrees 2 to `highest`.
    ///
    /// ```
    /// use tremolet_optics::edge_limit::Outline;
    /// let outline = Outline { radius_px: 75.0, blur_px: 1.3, levels: [0.1, 0.7], variances: [1e-5; 2] };
    /// let limit = outline.limit(8)?;
    /// // 0.0032 of the height of the edge in 471 px of outline, 2.2 times that for the blur.
    /// let alone = 1e-5_f64.sqrt() / 0.6 * (2.0 * 3.1416_f64.sqrt() * 1.3 / (6.2832 * 75.0)).sqrt();
    /// assert!(limit.radius_px >= alone && limit.radius_px < 1.3 * alone);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`LimitError`] for impossible numbers, or when the outline does not determine so many degrees.
    pub fn limit(&self, highest: usize) -> Result<FrameLimit, LimitError> {
        self.check()?;
        let [place, cross, width] = self.information();
        let unknowns = highest + 2;
        let bases = bases(highest);
        // Unknowns c_0, centre, c_2 to c_highest, width, over R: so that all are of one size.
        let information = Matrix::from_fn(unknowns, unknowns, |i, j| {
            let weight = match (i > highest, j > highest) {
                (false, false) => place,
                (true, true) => width,
                _ => cross,
            };
            let basis = |k: usize| bases.column(k.min(highest + 1));
            let (a, b) = (basis(i), basis(j));
            let mean = a.iter().zip(&b).map(|(a, b)| a * b).sum::<f64>() / a.len() as f64;
            TAU * self.radius_px * weight * mean
        });
        let covariance = information.inverse_positive()?;
        let square = self.radius_px.powi(2);
        let count = highest.saturating_sub(1);
        Ok(FrameLimit {
            radius_px: covariance[(0, 0)].sqrt(),
            by_levels_px: self.by_levels(),
            amplitudes: Matrix::from_fn(count, count, |i, j| covariance[(i + 2, j + 2)] / square),
        })
    }

    /// Scatter of the points of an outline by noise, px.
    pub fn scatter(&self) -> f64 {
        (SPACING * self.information()[0]).sqrt().recip()
    }

    /// `J_00`, `J_01`, `J_11`, 1/px^2 for each pixel of outline.
    pub fn information(&self) -> [f64; 3] {
        let ([dark, light], [inner, outer]) = (self.levels, self.variances);
        let rule = gauss_legendre(80);
        let part = |power: i32| {
            rule.integral(-7.0, 7.0, |z| {
                let slope = (light - dark) * (-0.5 * z * z).exp() / (TAU.sqrt() * self.blur_px);
                let variance = inner + (outer - inner) * normal_tail(-z);
                let around = 1.0 + z * self.blur_px / self.radius_px;
                self.blur_px * slope * slope * z.powi(power) / variance * around
            })
        };
        [0, 1, 2].map(part)
    }

    /// Standard deviation of the radius by even levels, each the mean over its side of the strip, px.
    fn by_levels(&self) -> f64 {
        let reach = strip(self.blur_px, self.radius_px);
        let away = clear_of_edge(self.blur_px, reach);
        let middle = 0.5 * (away + reach);
        let pixels = |side: f64| TAU * (self.radius_px + side * middle).max(1.0) * (reach - away);
        let variance = self.variances[1] / pixels(1.0) + self.variances[0] / pixels(-1.0);
        PI.sqrt() * self.blur_px * variance.sqrt() / (self.levels[1] - self.levels[0])
    }

    /// Standard deviation of the radius by the noise of a map of the light, a polynomial of second order over what a picture of
    /// this width and height shows around a body in its middle in the first `frames`, at most [`MAP_FRAMES`]; the same in all frames, px.
    ///
    /// ```text
    /// d(c_0) = sqrt(pi) s m g,   g = R (b_uu / h_x^2 + b_vv / h_y^2)        m: middle of the strip, g: slope of the map outward over the light
    /// ```
    ///
    /// # Errors
    /// [`LimitError`] for impossible numbers, or when too little light is seen around the body.
    pub fn by_map(&self, picture: [f64; 2], frames: usize) -> Result<f64, LimitError> {
        self.check()?;
        let half = picture.map(|side| 0.5 * side);
        let clear = self.radius_px + self.blur_px + MAP_CLEAR_PX;
        let mut sum = Matrix::zeros(6, 6);
        let step = picture.map(|side| side / MAP_STEPS as f64);
        for i in 0..MAP_STEPS * MAP_STEPS {
            let place = [i % MAP_STEPS, i / MAP_STEPS];
            let at = [0, 1].map(|k| (place[k] as f64 + 0.5) * step[k] - half[k]);
            if at[0].hypot(at[1]) < clear {
                continue;
            }
            let [u, v] = [at[0] / half[0], at[1] / half[1]];
            let basis = [1.0, u, v, u * u, u * v, v * v];
            for (a, left) in basis.iter().enumerate() {
                for (b, right) in basis.iter().enumerate() {
                    sum.row_mut(a)[b] += step[0] * step[1] * left * right;
                }
            }
        }
        let covariance = sum.inverse_positive()?;
        let slope = [0, 1].map(|k| self.radius_px / half[k].powi(2));
        let along = slope[0] * slope[0] * covariance[(3, 3)]
            + 2.0 * slope[0] * slope[1] * covariance[(3, 5)]
            + slope[1] * slope[1] * covariance[(5, 5)];
        let samples = frames.clamp(1, MAP_FRAMES) as f64;
        let variance = self.variances[1] / self.levels[1].powi(2) / samples * along;
        let reach = strip(self.blur_px, self.radius_px);
        let middle = 0.5 * (clear_of_edge(self.blur_px, reach) + reach);
        Ok(PI.sqrt() * self.blur_px * middle * variance.sqrt())
    }

    fn check(&self) -> Result<(), OpticsError> {
        required(
            "radius in the picture",
            self.radius_px,
            self.radius_px > 0.0,
            "a positive number",
        )?;
        required(
            "width of the blur",
            self.blur_px,
            self.blur_px > 0.0,
            "a positive number",
        )?;
        let [dark, light] = self.levels;
        required(
            "light outside less light inside",
            light - dark,
            light > dark,
            "a positive number",
        )?;
        let least = self.variances[0].min(self.variances[1]);
        required("variance of a pixel", least, least > 0.0, "a positive number")?;
        Ok(())
    }
}

/// Steps across a picture in the sums over what it shows of the light.
const MAP_STEPS: usize = 60;

/// `b` at even steps of half a turn, one row a step, and a column of ones for the width; means over them are exact.
fn bases(highest: usize) -> Matrix {
    let steps = 4 * highest + 8;
    let mut all = Matrix::zeros(steps, highest + 2);
    for step in 0..steps {
        let cos = ((step as f64 + 0.5) * PI / steps as f64).cos();
        let row = all.row_mut(step);
        legendre::values(cos, &mut row[..=highest]);
        row[highest + 1] = 1.0;
    }
    all
}

/// Why there is no limit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LimitError {
    /// An impossible number.
    #[error(transparent)]
    Quantity(#[from] OpticsError),
    /// The unknowns are not determined.
    #[error("the outline does not determine so many degrees: {0}")]
    Undetermined(#[from] DenseError),
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::bounds::{circle, edge};

    const EVEN: Outline = Outline {
        radius_px: 80.0,
        blur_px: 1.3,
        levels: [0.16, 0.78],
        variances: [1.6e-5; 2],
    };

    // Even noise: J_00 in closed form, and the radius alone by the closed forms of edge and circle.
    #[test]
    fn even_noise_gives_the_closed_form() {
        let [place, cross, width] = EVEN.information();
        let due = 0.62_f64.powi(2) / (2.0 * PI.sqrt() * 1.3 * 1.6e-5);
        assert!((place / due - 1.0).abs() < 1e-9 && (width / due - 0.5).abs() < 1e-9);
        // What is left of the cross term is the curvature's.
        assert!((cross / due - 0.5 * 1.3 / 80.0).abs() < 1e-9);
        let noise = 1.6e-5_f64.sqrt() / 0.62;
        let [alone, _] = circle(1, noise * edge(1.3) / (TAU * 80.0).sqrt());
        let limit = EVEN.limit(0).unwrap();
        assert!(
            (limit.radius_px / alone - 1.0).abs() < 1e-3,
            "{}",
            limit.radius_px
        );
    }

    // 256x256, R = 75 px, 10 000 electrons, blur 1.25 px and pixel, read noise 0.5 codes of 8 bits, levels 200/255 and a fifth of it: one frame
    // gives R to 1.2e-3 px and a_2 to a_6 to 32, 39, 44, 48, 52 millionths, computed by an independent script (Python, edge information
    // integrated over the outline).
    #[test]
    fn a_frame_says_what_an_independent_script_says() {
        let noise = CameraNoise {
            full_well: 10_000.0,
            read_noise: 0.5 / 255.0,
            code: 1.0 / 255.0,
        };
        let levels = [0.2 * 200.0 / 255.0, 200.0 / 255.0];
        let outline = Outline {
            radius_px: 75.0,
            blur_px: (1.25_f64.powi(2) + 1.0 / 12.0).sqrt(),
            levels,
            variances: levels.map(|level| noise.variance(level)),
        };
        let limit = outline.limit(8).unwrap();
        assert!(
            (limit.radius_px / 1.2e-3 - 1.0).abs() < 0.05,
            "{}",
            limit.radius_px
        );
        for (degree, known) in (2..).zip([32.0, 39.0, 44.0, 48.0, 52.0]) {
            let found = 1e6 * limit.amplitude(degree).unwrap();
            assert!((found / known - 1.0).abs() < 0.04, "{degree}: {found} {known}");
        }
        assert_eq!((limit.amplitude(1), limit.amplitude(9)), (None, None));
    }

    // By hand at R = 100, s = 1: the strip is 10.5 px, clear from 3.5: 7 px on each side, middle 7. Outer 2 pi 107 * 7 = 4706 px, inner
    // 2 pi 93 * 7 = 4090; v = 1e-4, height 0.5.
    #[test]
    fn levels_judged_beside_the_edge_move_it() {
        let outline = Outline {
            radius_px: 100.0,
            blur_px: 1.0,
            levels: [0.2, 0.7],
            variances: [1e-4; 2],
        };
        let due = PI.sqrt() * (1e-4 / 4706.0 + 1e-4 / 4090.0_f64).sqrt() / 0.5;
        let found = outline.limit(2).unwrap().by_levels_px;
        assert!((found / due - 1.0).abs() < 1e-3, "{found} {due}");
    }

    // A picture so large that the body hides next to nothing of it: u^2 and v^2 are known as for a whole square, where the mean of u^2 about its own mean
    // is 4/45 of 1, each by itself; at W = 2000, R = 40, s = 1, 12 frames: by hand.
    #[test]
    fn a_map_of_the_light_errs_alike_in_all_frames() {
        let outline = Outline {
            radius_px: 40.0,
            blur_px: 1.0,
            levels: [0.1, 0.5],
            variances: [1e-4; 2],
        };
        let one =
            (45.0 / 4.0 / (12.0 * 2000.0 * 2000.0) * 1e-4 / 0.25_f64).sqrt() * 40.0 / 1000.0_f64.powi(2);
        let due = PI.sqrt() * 7.0 * one * 2.0_f64.sqrt();
        let found = outline.by_map([2000.0; 2], 500).unwrap();
        assert!((found / due - 1.0).abs() < 0.03, "{found} {due}");
        let few = outline.by_map([2000.0; 2], 3).unwrap();
        assert!((few / found - 2.0).abs() < 1e-9);
        // Little light around the body tells little of its slope; none tells nothing.
        assert!(outline.by_map([112.0; 2], 500).unwrap() > 1e3 * found);
        assert!(outline.by_map([60.0; 2], 500).is_err());
    }

    // The step of quantiser 22 is 0.625 2^(22/6) = 7.94 codes, by hand; six more double it. Points two pixels apart have half the variance of one.
    #[test]
    fn coding_scatters_by_its_step_and_noise_by_its_points() {
        let due = 0.64 * 7.937 / 255.0 / 0.5;
        assert!((coded_scatter(22, 0.5) / due - 1.0).abs() < 1e-3);
        assert!((coded_scatter(28, 0.5) / due - 2.0).abs() < 1e-3);
        let due = (1.6e-5 * 2.0 * PI.sqrt() * 1.3 / 2.0_f64).sqrt() / 0.62;
        assert!((EVEN.scatter() / due - 1.0).abs() < 1e-6);
    }

    #[test]
    fn noise_of_the_bright_side_costs_and_impossible_numbers_are_refused() {
        let brighter = Outline {
            variances: [1.6e-5, 6.4e-5],
            ..EVEN
        };
        let [even, costly] = [EVEN, brighter].map(|o| o.limit(6).unwrap());
        assert!(costly.radius_px > 1.2 * even.radius_px && costly.radius_px < 2.0 * even.radius_px);
        let lit = Outline {
            levels: [0.5, 0.5],
            ..EVEN
        };
        let fault = lit.limit(6).unwrap_err().to_string();
        assert!(fault.contains("light outside less light inside is 0"), "{fault}");
        let silent = Outline {
            variances: [0.0, 1e-5],
            ..EVEN
        };
        assert!(silent.limit(6).is_err());
    }
}
