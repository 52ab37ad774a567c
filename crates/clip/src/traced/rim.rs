//! Where the outline of a body lies in the picture, by geometry: no ray is followed.
//!
//! A ray of sight touches the surface where the normal stands across it. At the point `(z, rho)` of the meridian with the normal
//! `(n_z, n_rho)`:
//!
//! ```text
//! N . P = 0:    cos phi = -(n_z (h + z) + n_rho rho) / (n_rho q),     h = a . c,  q = |c - h a|
//! sphere:       a circle of R / sqrt(1 - (R/D)^2) in the plane of its middle
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a`, `c` | direction of the axis; place of its z = 0, the lens being the origin | 1, m |
//! | `phi` | angle about the axis from the side away from the lens | rad |
//! | `N`, `P` | normal and place of a point of the surface | 1, m |
//!
//! Source: elementary geometry. Points that another part of the same surface hides are left out; other surfaces, and the bending of light on
//! the way out of a bubble's drop, are not looked at.

use std::f64::consts::PI;

use crate::traced::meridian::Knot;
use crate::traced::pinhole::Pinhole;
use crate::traced::surface::{Ray, Surface};
use crate::traced::vector::{Vector, along, cross, dot, unit};

/// How far beside a point of touch nothing may be seen of the surface, as a share of its reach.
const BESIDE: f64 = 1e-4;
/// Fewest steps on a stretch of the meridian.
const FEWEST: f64 = 16.0;

/// The outline in the picture, px, once round: down one side of the axis and up the other, in about `steps` steps along the meridian on either
/// side, closer where the two sides meet.
#[must_use]
pub fn outline(surface: &Surface, pinhole: &Pinhole, steps: usize) -> Vec<[f64; 2]> {
    let touch = Touch::new(surface);
    let spans = touch.spans(steps);
    let whole: f64 = spans.iter().map(|[from, until]| until - from).sum();
    let mut sides = [Vec::new(), Vec::new()];
    for [from, until] in spans {
        let count = ((until - from) / whole * steps as f64).ceil().max(FEWEST);
        for k in 0..=count as u32 {
            // Even steps of an angle: touching begins and ends as a square root.
            let part = 0.5 - 0.5 * (PI * f64::from(k) / count).cos();
            let knot = surface.curve().at(from + part * (until - from));
            let Some(pair) = touch.pair(&knot) else {
                continue;
            };
            for (side, (place, normal)) in sides.iter_mut().zip(pair) {
                if touch.shows(place, normal) {
                    side.push(pinhole.in_image(place));
                }
            }
        }
    }
    let [there, back] = sides;
    there.into_iter().chain(back.into_iter().rev()).collect()
}

struct Touch<'a> {
    surface: &'a Surface,
    axis: Vector,
    centre: Vector,
    h: f64,
    q: f64,
    away: Vector,
    aside: Vector,
}

impl<'a> Touch<'a> {
    fn new(surface: &'a Surface) -> Self {
        let (axis, centre) = (surface.axis(), surface.centre());
        let h = dot(axis, centre);
        let flat = along(centre, -h, axis);
        let away = unit(flat);
        Self {
            surface,
            axis,
            centre,
            h,
            q: dot(flat, flat).sqrt(),
            away,
            aside: cross(axis, away),
        }
    }

    /// The two points of touch at a point of the meridian with their normals.
    fn pair(&self, knot: &Knot) -> Option<[(Vector, Vector); 2]> {
        let ([z, rho], [n_z, n_rho]) = (knot.at, knot.normal);
        let cos = -(n_z * (self.h + z) + n_rho * rho) / (n_rho * self.q);
        if cos.is_nan() || cos.abs() > 1.0 {
            return None;
        }
        let sin = (1.0 - cos * cos).sqrt();
        let of = |sin: f64| {
            let out = along(self.away.map(|x| x * cos), sin, self.aside);
            let place = along(along(self.centre, z, self.axis), rho, out);
            (place, along(out.map(|x| x * n_rho), n_z, self.axis))
        };
        Some([of(sin), of(-sin)])
    }

    /// Whether nothing of the surface is seen just beside the point.
    fn shows(&self, place: Vector, normal: Vector) -> bool {
        let beside = along(place, BESIDE * self.surface.ball().1, normal);
        let ray = Ray {
            from: [0.0; 3],
            direction: unit(beside),
        };
        !self.surface.is_met(&ray)
    }

    /// Stretches of the running number of the meridian in which something is touched, found on `steps` steps.
    fn spans(&self, steps: usize) -> Vec<[f64; 2]> {
        let last = self.surface.last();
        let at = |k: usize| last * (k as f64 / steps as f64).clamp(1e-9, 1.0 - 1e-9);
        let touches = |u: f64| self.pair(&self.surface.curve().at(u)).is_some();
        let mut spans = Vec::new();
        let mut begun = touches(at(0)).then(|| at(0));
        for k in 1..=steps {
            let (before, here) = (at(k - 1), at(k));
            match (begun, touches(here)) {
                (None, true) => begun = Some(border(touches, before, here)),
                (Some(from), false) => {
                    spans.push([from, border(touches, here, before)]);
                    begun = None;
                }
                _ => {}
            }
        }
        spans.extend(begun.map(|from| [from, at(steps)]));
        spans
    }
}

/// The border of what `touches`, between `without` and `with`, on the side that touches.
fn border(touches: impl Fn(f64) -> bool, without: f64, with: f64) -> f64 {
    let (mut low, mut high) = (without, with);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if touches(middle) {
            high = middle
        } else {
            low = middle
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::traced::medium::Medium;
    use crate::traced::meridian::{sphere, spheroid};
    use crate::traced::pinhole::axis;
    use crate::traced::surface::Skin;

    const CAMERA: Pinhole = Pinhole {
        width: 640,
        height: 480,
        scale_m_per_px: 1e-4,
        distance: 0.2,
        opening: None,
    };

    fn surface(meridian: Vec<[f64; 2]>, centre: Vector, axis: Vector) -> Surface {
        let skin = Skin {
            meridian,
            centre,
            axis,
            inside: Medium::WATER,
            outside: Medium::GAS,
        };
        Surface::new(&skin).expect("a body")
    }

    // R / sqrt(1 - (R/D)^2), whichever way the axis points.
    #[test]
    fn a_sphere_looks_too_large_by_the_tangent_cone() {
        let (radius, distance) = (0.015_f64, 0.2);
        let due = radius / (1.0 - (radius / distance).powi(2)).sqrt() / CAMERA.scale_m_per_px;
        for (angle, tilt) in [(0.0, 0.0), (0.6, 0.4), (1.2, 1.3)] {
            let ball = surface(sphere(radius, 90), [0.0, 0.0, distance], axis(angle, tilt));
            let found = outline(&ball, &CAMERA, 120);
            assert!(found.len() > 180);
            for [x, y] in &found {
                let r = (x - 319.5).hypot(y - 239.5);
                assert!((r - due).abs() < 1e-4, "{r} {due}");
            }
            // Once round without a gap: no step is much longer than an even one.
            let gap = |i: usize| {
                let ([a, b], [c, d]) = (found[i], found[(i + 1) % found.len()]);
                (a - c).hypot(b - d)
            };
            assert!((0..found.len()).all(|i| gap(i) < 0.06 * due), "{angle}");
        }
    }

    // Outside its outline no ray meets the body, inside all do.
    #[test]
    fn rays_just_inside_meet_the_body_and_just_outside_do_not() {
        let peanut: Vec<[f64; 2]> = (0..=240)
            .map(|k| {
                let (sin, cos) = (PI * f64::from(k) / 240.0).sin_cos();
                let r = 0.01 * (1.0 + 0.75 * (1.5 * cos * cos - 0.5));
                [r * cos, if k == 0 || k == 240 { 0.0 } else { r * sin }]
            })
            .collect();
        for (body, tilt) in [
            (spheroid(0.008, 0.014, 120), 0.0),
            (spheroid(0.014, 0.008, 120), 0.9),
            (peanut.clone(), 0.3),
            (peanut, 1.1),
        ] {
            let body = surface(body, [0.004, -0.002, 0.2], axis(0.5, tilt));
            let found = outline(&body, &CAMERA, 120);
            assert!(found.len() > 80);
            let middle = found
                .iter()
                .fold([0.0; 2], |sum, at| [sum[0] + at[0], sum[1] + at[1]]);
            let middle = middle.map(|x| x / found.len() as f64);
            let mut astray = 0;
            for i in 1..found.len() - 1 {
                let (before, here, after) = (found[i - 1], found[i], found[i + 1]);
                let (dx, dy) = (after[0] - before[0], after[1] - before[1]);
                let length = dx.hypot(dy);
                if length < 1e-3 {
                    continue;
                }
                let mut out = [dy / length, -dx / length];
                if out[0] * (here[0] - middle[0]) + out[1] * (here[1] - middle[1]) < 0.0 {
                    out = out.map(|x| -x);
                }
                let met = |off: f64| {
                    let at = [here[0] + off * out[0], here[1] + off * out[1]];
                    body.hit(&CAMERA.ray(at, [0.0; 2]), false, f64::INFINITY)
                        .is_some()
                };
                astray += usize::from(met(0.005) || !met(-0.005));
            }
            // Where two parts of a waisted outline cross, one point has no side.
            assert!(astray <= 4, "{astray} of {}", found.len());
        }
    }
}
