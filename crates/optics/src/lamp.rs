//! How far a wide back-light moves the dark edge of a transparent ball inward, by light that grazes it.
//!
//! ```text
//! a line of sight at the depth d = R (1 - cos a) inside the edge meets the surface at the grazing angle a;
//! reflected there it turns by 2 a and ends in the lamp while 2 a < h, so the edge shows the light F(a) for a < h/2
//!
//! blurred   s = R integral_0^(h/2) F(a) sin a da             the light that is too much, as a width of full light
//! sharp     s = R [1 - cos min(h/2, a_50)],  F(a_50) = 1/2   where the light falls through one half
//! ```
//! A picture that does not resolve the fringe (blur wider than `s`) has its half level at the first; one that does, at the second. Their ratio is
//! that of the mean of `F` to 1.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R` | radius of curvature of the edge | m |
//! | `h` | half-angle of the lamp, as seen from the body | rad |
//! | `a` | angle between ray and surface | rad |
//! | `F` | share of unpolarised light that is reflected | 1 |
//! | `n` | refractive index of the body over that of what surrounds it | 1 |
//!
//! Source: Fresnel's formulas for the reflectance \[BornWolf1999\] section 1.5.2, from memory; the rest is geometric optics, own derivation.
//! For a lamp that is evenly bright to its border, a lens far away and of small aperture, and light that enters
//! the body leaving it elsewhere (it turns by twice 90 degrees less the critical angle: 83 degrees in water). Without diffraction.

use std::f64::consts::FRAC_PI_2;

use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_numerics::root::bracketed;

/// Points of the quadrature over the angle; the reflectance is smooth, so the shift is good to 1e-14 of itself for an
/// index of 1.2 and more and half-angles up to 1 rad.
const POINTS: usize = 24;

/// Share of unpolarised light reflected at a surface of relative refractive `index` (1 and above) that it meets at the angle
/// `grazing` to the surface (rad, 0 to pi/2).
pub fn reflectance(index: f64, grazing: f64) -> f64 {
    let sin = grazing.sin();
    // n cos of the angle of refraction, by Snell's law.
    let inside = (index * index - 1.0 + sin * sin).sqrt();
    let across = (sin - inside) / (sin + inside);
    let along = (index * index * sin - inside) / (index * index * sin + inside);
    0.5 * (across * across + along * along)
}

/// Width of the rim in which the lamp can be seen, in units of `R`: a ray that grazes the surface at the angle `g` is turned by
/// `2 g`, so the lamp of `half_angle` (rad) shows out to `g = half_angle / 2`. No shift is larger.
pub fn lit_rim(half_angle: f64) -> f64 {
    1.0 - (half_angle / 2.0).cos()
}

/// Shift of the edge towards the inside, in units of `R`, in a picture too blurred to resolve the fringe; `half_angle` of the lamp in rad
/// (0 to pi/2).
///
/// ```
/// let shift = tremolet_optics::lamp::blurred_shift(1.333, 5f64.to_radians());
/// assert!((shift - 8e-4).abs() < 0.5e-4);
/// ```
pub fn blurred_shift(index: f64, half_angle: f64) -> f64 {
    let light = |a: f64| reflectance(index, a) * a.sin();
    gauss_legendre(POINTS).integral(0.0, half_angle / 2.0, light)
}

/// The same in a picture that resolves the fringe.
pub fn sharp_shift(index: f64, half_angle: f64) -> f64 {
    // The reflectance falls from 1 with the angle over the few degrees that matter; an index near 1 has its half at tiny angles.
    let excess = |a: f64| reflectance(index, a) - 0.5;
    let half = bracketed(excess, 0.0, FRAC_PI_2, 1e-14).map_or(FRAC_PI_2, |found| found.root);
    1.0 - half.min(half_angle / 2.0).cos()
}

/// What an uneven lamp may change of the shift, relative. Chosen, not derived.
const UNEVEN: f64 = 0.1;

/// A shift of the edge towards the inside, over the radius.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LampShift {
    /// The shift.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
}

impl LampShift {
    /// The shift of an outline of `radius_px` with a blur of `blur_px`, for an index and a half-angle (rad), each with its standard uncertainty:
    ///
    /// ```text
    /// u^2(s) = (ds/dh u_h)^2 + (ds/dn u_n)^2 + [ (s_sharp - s) min(1, (rim / blur)^2) ]^2 / 3 + (UNEVEN s)^2
    /// ```
    pub fn of([n, u_n]: [f64; 2], [h, u_h]: [f64; 2], [radius_px, blur_px]: [f64; 2]) -> Self {
        let value = blurred_shift(n, h);
        let by_angle = blurred_shift(n, h + u_h) - value;
        let by_index = blurred_shift(n + u_n, h) - value;
        let resolved = (lit_rim(h) * radius_px / blur_px.max(0.1)).powi(2).min(1.0);
        let by_blur = (sharp_shift(n, h) - value) * resolved / 3.0_f64.sqrt();
        let parts = [by_angle, by_index, by_blur, UNEVEN * value];
        Self {
            value,
            u: parts.iter().map(|part| part * part).sum::<f64>().sqrt(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reflectance_has_its_known_ends() {
        // ((n - 1)/(n + 1))^2 straight on, Fresnel 1823; all of it at grazing incidence.
        assert!((reflectance(1.5, FRAC_PI_2) - 0.04).abs() < 1e-15);
        assert!((reflectance(1.333, 0.0) - 1.0).abs() < 1e-15);
        // Brewster's angle from the surface: tan a = 1/n; only the part across is left, ((n^2 - 1)/(n^2 + 1))^2 / 2.
        let brewster = (1.0 / 1.5_f64).atan();
        assert!((reflectance(1.5, brewster) - 0.5 * (1.25 / 3.25_f64).powi(2)).abs() < 1e-15);
        // First order at grazing incidence: 1 - 2 a (1 + n^2)/sqrt(n^2 - 1), by hand from the formulas.
        let (n, a) = (1.333_f64, 1e-4);
        let slope = 2.0 * (1.0 + n * n) / (n * n - 1.0).sqrt();
        assert!((reflectance(n, a) - (1.0 - slope * a)).abs() < 1e-6);
    }

    // Geometric optics of a water edge (n = 1.333), recomputed independently: 8e-4 R at 5 degrees, 2.7e-3 R at 10, given to
    // the digits shown.
    #[test]
    fn a_wide_lamp_moves_a_blurred_edge_of_water() {
        for (degrees, known, digits) in [(5.0_f64, 8e-4, 0.5e-4), (10.0, 2.7e-3, 0.5e-4)] {
            let found = blurred_shift(1.333, degrees.to_radians());
            assert!((found - known).abs() < digits, "{degrees} deg: {found}");
        }
    }

    /// Light at the place `x` (in R, negative inside) of an edge under a lamp: 1 outside, F where the reflected ray ends in it.
    fn level(x: f64, half_angle: f64) -> f64 {
        let grazing = (1.0 + x).min(1.0).acos();
        if x >= 0.0 {
            1.0
        } else if 2.0 * grazing < half_angle {
            reflectance(1.333, grazing)
        } else {
            0.0
        }
    }

    // The edge painted point by point and blurred with a Gaussian of width 0.02 R: its half level lies where the formula says,
    // but for the skew of the fringe, of the order (shift / blur)^2 of the shift.
    #[test]
    fn the_half_level_of_a_painted_edge_is_where_the_formulas_say() {
        let half_angle = 10_f64.to_radians();
        let (blur, count) = (0.02, 40_000);
        let blurred = |at: f64| {
            let step = 12.0 * blur / f64::from(count);
            let part = |i: i32| {
                let q = -6.0 * blur + step * (f64::from(i) + 0.5);
                level(at + q, half_angle) * (-0.5 * (q / blur).powi(2)).exp() * step
            };
            (0..count).map(part).sum::<f64>() / (blur * std::f64::consts::TAU.sqrt())
        };
        let found = bracketed(|x| blurred(x) - 0.5, -0.01, 0.01, 1e-9).unwrap().root;
        let formula = blurred_shift(1.333, half_angle);
        assert!((found / -formula - 1.0).abs() < 0.02, "{found} {formula}");
        // Unblurred, light falls through one half at the lamp's border while F is above one half there: 1 - cos 5 deg.
        let sharp = sharp_shift(1.333, half_angle);
        assert!((sharp - (1.0 - 5_f64.to_radians().cos())).abs() < 1e-12);
        assert!(level(-0.999 * sharp, half_angle) > 0.5 && level(-1.001 * sharp, half_angle) < 0.5);
    }

    #[test]
    fn a_lamp_that_is_wider_than_the_reflectance_reaches_moves_a_sharp_edge_no_further() {
        let wide = [40.0_f64, 80.0].map(|degrees| sharp_shift(1.333, degrees.to_radians()));
        assert_eq!(wide[0], wide[1]);
        assert!((reflectance(1.333, (1.0 - wide[0]).acos()) - 0.5).abs() < 1e-9);
        assert_eq!((blurred_shift(1.333, 0.0), sharp_shift(1.333, 0.0)), (0.0, 0.0));
        // A body with the index of its surroundings shows no edge by reflection.
        assert!(blurred_shift(1.000_001, 0.1) < 1e-5);
    }

    /// Elementary: 1 - cos 4 deg = 0.002 436; no shift leaves the rim that is lit.
    #[test]
    fn shifts_stay_within_the_rim_that_is_lit() {
        assert!((lit_rim(8f64.to_radians()) - 0.002_435_95).abs() < 1e-8);
        for half_angle in [0.02, 0.1, 0.4] {
            for index in [1.333, 1.5] {
                let shifts = [blurred_shift(index, half_angle), sharp_shift(index, half_angle)];
                assert!(
                    shifts
                        .iter()
                        .all(|s| *s > 0.0 && *s <= lit_rim(half_angle) * (1.0 + 1e-12)),
                    "{shifts:?}"
                );
            }
        }
    }
}
