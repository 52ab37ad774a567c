//! Mirror images in planes across the axis: none, one, or the endless two rows of two planes.
//!
//! ```text
//! one plane at a:        z -> 2 a - z
//! planes at a and b:     z + k p,  2 a - z + k p,   p = 2 (b - a),  k = 0, +-1, ...
//! beyond |k| = 3:        sum of 2 (k p)^-(l+1) <|x - y|^l P_l>, l = 2, 4, 6, averaged round the ring
//! ```
//! The monopole of the far images is the same for all targets and is left out: with no net flux through the surface it does nothing.
//! With l to 6 and three images to each side what is left out is below `(1/8)^8`, 1e-7 of the potential.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a, b | heights of the planes | m |
//! | p | period | m |
//! | z | height of a target | m |
//!
//! Source: method of images; multipoles \[Jackson1998\] section 4.1.

use crate::potential::boundary::kernel::Place;

/// Images that are summed one by one to each side.
const SUMMED: i32 = 3;

/// The planes of a body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Planes {
    /// None: a free body.
    Neither,
    /// One, at this height, m.
    One(f64),
    /// Two, at these heights, m.
    Two(f64, f64),
}

impl Planes {
    /// Heights of all targets, the real one first, that stand for one at `z`.
    #[must_use]
    pub fn targets(&self, z: f64) -> Vec<f64> {
        match *self {
            Self::Neither => vec![z],
            Self::One(a) => vec![z, 2.0 * a - z],
            Self::Two(a, b) => {
                let period = 2.0 * (b - a);
                let both = |shift: f64| [z + shift, 2.0 * a - z + shift];
                let mut all = both(0.0).to_vec();
                for k in 1..=SUMMED {
                    all.extend(both(period * f64::from(k)));
                    all.extend(both(-period * f64::from(k)));
                }
                all
            }
        }
    }

    /// What the images that are not summed add to the rings of sources and of dipoles, as `kernel::pair` gives them.
    #[must_use]
    pub fn far(&self, target: [f64; 2], ring: &Place) -> [f64; 2] {
        let Self::Two(a, b) = *self else {
            return [0.0; 2];
        };
        let sums = far_sums(2.0 * (b - a));
        let mut total = [0.0; 3];
        for z in [target[1], 2.0 * a - target[1]] {
            let part = multipoles(target[0], ring.r, z - ring.z, &sums);
            for (sum, part) in total.iter_mut().zip(part) {
                *sum += part;
            }
        }
        let factor = 0.5 * ring.r;
        // The third is the slope by z - z'.
        [
            factor * total[0],
            factor * (-ring.z_u * total[1] - ring.r_u * total[2]),
        ]
    }
}

/// `2 sum (k p)^-(l+1)` over k beyond the summed ones, l = 2, 4, 6: by Euler and Maclaurin from far enough.
fn far_sums(period: f64) -> [f64; 3] {
    [3, 5, 7].map(|power| {
        let from = f64::from(SUMMED + 6);
        let near: f64 = (SUMMED + 1..SUMMED + 6).map(|k| f64::from(k).powi(-power)).sum();
        let s = f64::from(power);
        let rest =
            from.powi(1 - power) / (s - 1.0) + 0.5 * from.powi(-power) + s / 12.0 * from.powi(-power - 1)
                - s * (s + 1.0) * (s + 2.0) / 720.0 * from.powi(-power - 3);
        2.0 * (near + rest) * period.powi(-power)
    })
}

/// The weighed multipoles with their slopes by r' and by the height difference.
fn multipoles(r: f64, ring_r: f64, height: f64, sums: &[f64; 3]) -> [f64; 3] {
    let (x, y, h) = (r * r, ring_r * ring_r, height * height);
    let s = x + y;
    let fourth = s * s + 2.0 * x * y;
    let sixth = s * s * s + 6.0 * s * x * y;
    // Slopes of s, fourth and sixth by y.
    let (fourth_y, sixth_y) = (2.0 * s + 2.0 * x, 3.0 * s * s + 6.0 * x * (y + s));
    let values = [
        h - 0.5 * s,
        h * h - 3.0 * h * s + 0.375 * fourth,
        h * h * h - 7.5 * h * h * s + 5.625 * h * fourth - 0.3125 * sixth,
    ];
    let by_y = [
        -0.5,
        -3.0 * h + 0.375 * fourth_y,
        -7.5 * h * h + 5.625 * h * fourth_y - 0.3125 * sixth_y,
    ];
    let by_h = [
        1.0,
        2.0 * h - 3.0 * s,
        3.0 * h * h - 15.0 * h * s + 5.625 * fourth,
    ];
    let sum = |list: &[f64; 3]| list.iter().zip(sums).map(|(a, b)| a * b).sum::<f64>();
    [sum(&values), 2.0 * ring_r * sum(&by_y), 2.0 * height * sum(&by_h)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::potential::boundary::kernel::pair;

    #[test]
    fn far_images_are_what_many_more_images_add() {
        let planes = Planes::Two(-1.0, 3.5);
        let period = 9.0;
        let target = [0.8, -0.6];
        // Differences between two rings, so that the monopole drops out.
        let rings = [
            Place {
                r: 0.9,
                z: 2.8,
                r_u: 0.1,
                z_u: -1.0,
            },
            Place {
                r: 0.5,
                z: -0.3,
                r_u: 0.4,
                z_u: -0.7,
            },
        ];
        let summed = |ring: &Place, to: i32| {
            let mut total = [0.0; 2];
            for k in (4..=to).flat_map(|k| [k, -k]) {
                for z in [target[1], -2.0 - target[1]] {
                    let found = pair([target[0], z + f64::from(k) * period], ring);
                    total = [total[0] + found[0] / ring.r, total[1] + found[1] / ring.r];
                }
            }
            total
        };
        let found = rings.map(|ring| planes.far(target, &ring).map(|x| x / ring.r));
        let many = rings.map(|ring| summed(&ring, 4000));
        let single = (found[0][0] - found[1][0]) / (many[0][0] - many[1][0]) - 1.0;
        assert!(single.abs() < 1e-4, "{found:?} {many:?}");
        for which in 0..2 {
            let scale = many[0][1].abs().max(many[1][1].abs());
            assert!(
                (found[which][1] - many[which][1]).abs() < 3e-4 * scale,
                "{found:?} {many:?}"
            );
        }
    }
}
