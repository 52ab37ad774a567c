//! One told surface as it is from outside: volume, middle, area, amplitudes; and its meridian in points that keep their place as it moves.
//!
//! ```text
//! V = pi int rho^2 |dz|,   z_c V = pi int rho^2 z |dz|,   A = 2 pi int rho ds          splines through the points
//! place of point k of n:   w(s) = k/n w(whole),     w = s / L + turned(s) / turned(L)
//! ```
//! Half of the points are shared out by the way along the meridian, half by how much it turns: tips and necks have theirs, and between two instants each
//! point moves little.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | V, z_c, A | volume inside, height of its middle, area | m^3, m, m^2 |
//! | s, L | way along the meridian, whole | m |
//! | w | share of the points up to a place | 1 |
//!
//! Source: geometry. A bubble counts like a body: what is inside its surface.

use std::f64::consts::{PI, TAU};

use tremolet_numerics::quadrature::gauss_legendre;

use crate::potential::boundary::curve::{Curve, End};
use crate::potential::boundary::shape;
use crate::sample::Surface;

/// Points of the rule for amplitudes.
const RULE: usize = 96;
/// Looks between two points for the way and the turning; points of the rule between them for volumes.
const LOOKS: usize = 4;

/// A surface from outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Outside {
    /// Volume inside, m^3.
    pub volume: f64,
    /// Height of the middle of that volume, m.
    pub middle: f64,
    /// Area, m^2.
    pub area: f64,
}

impl Outside {
    /// Of a meridian that runs from the greatest z to the least; `None` for one of fewer than six points.
    #[must_use]
    pub fn of(surface: &Surface) -> Option<Self> {
        let (curve, rule) = (curve(surface)?, gauss_legendre(LOOKS));
        let (mut volume, mut moment, mut area) = (0.0, 0.0, 0.0);
        for element in 0..curve.elements() {
            for (node, weight) in rule.nodes.iter().zip(&rule.weights) {
                let place = curve.place_at(element as f64 + 0.5 * (node + 1.0));
                let disc = 0.5 * weight * PI * place.r * place.r * -place.z_u;
                volume += disc;
                moment += disc * place.z;
                area += 0.5 * weight * TAU * place.r * place.r_u.hypot(place.z_u);
            }
        }
        Some(Self {
            volume,
            middle: moment / volume,
            area,
        })
    }

    /// Radius of the sphere of that volume, m.
    #[must_use]
    pub fn radius(&self) -> f64 {
        (0.75 * self.volume / PI).cbrt()
    }
}

/// Amplitudes `a_0` to `a_highest` of a surface about the middle of what is inside, over the radius of the sphere of that volume; `None` when a ray
/// from the middle crosses it more than once.
#[must_use]
pub fn amplitudes(surface: &Surface, highest: usize) -> Option<Vec<f64>> {
    let seen = Outside::of(surface)?;
    let rule = gauss_legendre(RULE);
    shape::amplitudes(&curve(surface)?, seen.middle, seen.radius(), &rule, highest)
}

/// The meridian in `count` steps whose ends keep their share of way and turning.
#[must_use]
pub fn evened(surface: &Surface, count: usize) -> Vec<[f64; 2]> {
    let Some(curve) = curve(surface) else {
        return surface.meridian.clone();
    };
    let looks = LOOKS * curve.elements();
    let at = |k: usize| curve.place_at(k as f64 / LOOKS as f64);
    let places: Vec<_> = (0..=looks).map(at).collect();
    let (mut way, mut turned) = (vec![0.0], vec![0.0]);
    for pair in places.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let turn = (a.r_u * b.z_u - a.z_u * b.r_u).atan2(a.r_u * b.r_u + a.z_u * b.z_u);
        way.push(way[way.len() - 1] + (b.r - a.r).hypot(b.z - a.z));
        turned.push(turned[turned.len() - 1] + turn.abs());
    }
    let share = |k: usize| 0.5 * (way[k] / way[looks] + turned[k] / turned[looks]);
    let shares: Vec<f64> = (0..=looks).map(share).collect();
    let point = |k: usize| {
        let due = k as f64 / count as f64;
        let next = shares.partition_point(|share| *share < due).clamp(1, looks);
        let part = (due - shares[next - 1]) / (shares[next] - shares[next - 1]).max(f64::MIN_POSITIVE);
        let place = curve.place_at(((next - 1) as f64 + part) / LOOKS as f64);
        [place.z, place.r.max(0.0)]
    };
    let mut points: Vec<[f64; 2]> = (0..=count).map(point).collect();
    points[0] = [surface.meridian[0][0], 0.0];
    points[count] = [surface.meridian[surface.meridian.len() - 1][0], 0.0];
    points
}

fn curve(surface: &Surface) -> Option<Curve> {
    let column = |k: usize| surface.meridian.iter().map(|p| p[k]).collect::<Vec<f64>>();
    (surface.meridian.len() > 5).then(|| Curve::through(&column(1), &column(0), [End::Axis; 2]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::start::Start;

    fn surface(shape: &[f64], height: f64, steps: usize) -> Surface {
        let star = Start::Star {
            radius: 2e-3,
            shape: shape.to_vec(),
            velocity: Vec::new(),
        };
        let points = star.meridian(steps);
        Surface {
            meridian: points.iter().map(|[z, r]| [z + height, *r]).collect(),
            holds_liquid: true,
        }
    }

    // Sphere of radius 2 mm: 33.5103 mm^3, 50.2655 mm^2.
    #[test]
    fn a_ball_is_as_large_as_it_is_wherever_it_lies() {
        let seen = Outside::of(&surface(&[], 0.7, 60)).expect("a surface");
        assert!(
            (seen.volume / 33.510_321_6e-9 - 1.0).abs() < 1e-7 && (seen.radius() / 2e-3 - 1.0).abs() < 1e-7
        );
        assert!((seen.area / 50.265_482e-6 - 1.0).abs() < 1e-7 && (seen.middle - 0.7).abs() < 1e-10);
    }

    #[test]
    fn a_surface_gives_its_amplitudes_back() {
        let found = amplitudes(&surface(&[0.0, 0.0, 0.12, 0.0, -0.03], 0.5, 400), 6).expect("star-shaped");
        // The scale that keeps the volume is common to all: compare with the ratio.
        assert!((found[4] / found[2] + 0.25).abs() < 1e-4 && (found[2] - 0.12).abs() < 2e-3);
        assert!(found[1].abs() < 1e-4 && found[3].abs() < 1e-4);
    }

    #[test]
    fn even_points_lie_on_the_surface_and_crowd_where_it_turns() {
        let lemon = surface(&[0.0, 0.0, 0.5, 0.0, 0.1], 0.0, 300);
        let even = evened(&lemon, 120);
        assert_eq!((even.len(), even[0][1], even[120][1]), (121, 0.0, 0.0));
        let again = Surface {
            meridian: even.clone(),
            holds_liquid: true,
        };
        let [a, b] = [&lemon, &again].map(|s| Outside::of(s).expect("a surface").volume);
        assert!((a / b - 1.0).abs() < 1e-6, "{a:e} {b:e}");
        let step = |k: usize| (even[k + 1][0] - even[k][0]).hypot(even[k + 1][1] - even[k][1]);
        // The tip turns more than the flank.
        assert!(step(0) < 0.8 * step(40), "{} {}", step(0), step(40));
    }
}
