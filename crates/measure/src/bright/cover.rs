//! How far every pixel near a body lies outside its edge, by direction from its middle; and the pixels near it, kept.
//!
//! ```text
//! d(x) = (|x - m| - r(phi)) cos(psi(phi))
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `m`, `r` | middle of the edge, distance of the edge from it | px |
//! | `phi` | direction from the middle | rad |
//! | `psi` | between that direction and the normal of the edge | rad |
//!
//! Source: elementary. For bodies whose edge is met once in every direction.

use std::f64::consts::TAU;
use tremolet_clip::frame::{Levels, Plane};

/// Directions of the table.
const DIRECTIONS: usize = 1024;

/// The edge of a body by direction.
#[derive(Debug, Clone)]
pub struct Cover {
    middle: [f64; 2],
    /// Distance of the edge, cosine of its normal, node.
    edge: Vec<(f32, f32, u32)>,
    nearest: f64,
    farthest: f64,
    ahead: Vec<usize>,
}

/// Share of the places that must not turn back.
const WHOLE: f64 = 0.8;
/// Least cosine between the normal and the direction from the middle.
const FACING: f64 = 0.4;

/// From one direction to another, between half a turn back and half a turn on.
fn turned(from: f64, to: f64) -> f64 {
    let half = 0.5 * DIRECTIONS as f64;
    (to - from + half).rem_euclid(2.0 * half) - half
}

/// Those of the places (direction, distance, facing) whose direction leads on from the one before.
fn onward(all: &[[f64; 3]]) -> Vec<usize> {
    let mut ahead: Vec<usize> = Vec::with_capacity(all.len());
    for (j, p) in all.iter().enumerate() {
        let leads = |k: &usize| turned(all[*k][0], p[0]) > 0.0;
        if p[2] > FACING && ahead.last().is_none_or(leads) {
            ahead.push(j);
        }
    }
    while ahead.len() > 1 && turned(all[ahead[ahead.len() - 1]][0], all[ahead[0]][0]) <= 0.0 {
        ahead.pop();
    }
    ahead
}

impl Cover {
    /// Of the edge through `places` with outward `normals`, less what turns back on itself; `None` where much does.
    pub fn of(places: &[[f64; 2]], normals: &[[f64; 2]]) -> Option<Self> {
        let count = places.len() as f64;
        let sum = places.iter().fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
        let middle = sum.map(|s| s / count);
        let polar = |(p, n): (&[f64; 2], &[f64; 2])| {
            let (x, y) = (p[0] - middle[0], p[1] - middle[1]);
            let r = x.hypot(y).max(1e-9);
            let direction = y.atan2(x).rem_euclid(TAU) / TAU * DIRECTIONS as f64;
            [direction, r, (x * n[0] + y * n[1]) / r]
        };
        let all: Vec<[f64; 3]> = places.iter().zip(normals).map(polar).collect();
        let ahead = onward(&all);
        if (ahead.len() as f64) < WHOLE * count {
            return None;
        }
        let mut edge = vec![(0.0, 0.0, 0); DIRECTIONS];
        for (k, j) in ahead.iter().enumerate() {
            let (here, next) = (all[*j], all[ahead[(k + 1) % ahead.len()]]);
            let turn = turned(here[0], next[0]);
            let mut at = here[0].ceil();
            while at < here[0] + turn {
                let t = (at - here[0]) / turn;
                let of = |k: usize| (here[k] + t * (next[k] - here[k])) as f32;
                edge[at as usize % DIRECTIONS] = (of(1), of(2), *j as u32);
                at += 1.0;
            }
        }
        // A direction that falls between two roundings is like the one before.
        for k in 0..DIRECTIONS {
            if edge[k].0 == 0.0 {
                edge[k] = edge[(k + DIRECTIONS - 1) % DIRECTIONS];
            }
        }
        let radii = ahead.iter().map(|j| all[*j][1]);
        Some(Self {
            middle,
            edge,
            nearest: radii.clone().fold(f64::INFINITY, f64::min),
            farthest: radii.fold(0.0, f64::max),
            ahead,
        })
    }

    /// The places that do not turn back, in order.
    pub fn ahead(&self) -> &[usize] {
        &self.ahead
    }

    /// Calls `each` with every pixel of a picture between `deep` inside and `far` outside: x, y, distance outward, node.
    pub fn pixels(
        &self,
        size: [usize; 2],
        deep: f64,
        far: f64,
        mut each: impl FnMut(usize, usize, f64, usize),
    ) {
        let (low, high) = (
            (self.nearest - deep).max(0.0).powi(2),
            (self.farthest + far).powi(2),
        );
        let span = |k: usize| {
            let from = (self.middle[k] - self.farthest - far).ceil().max(0.0) as usize;
            let to = (self.middle[k] + self.farthest + far).max(-1.0) + 1.0;
            from..(to as usize).min(size[k])
        };
        for y in span(1) {
            let v = y as f64 - self.middle[1];
            for x in span(0) {
                let u = x as f64 - self.middle[0];
                let square = u * u + v * v;
                if square < low || square > high {
                    continue;
                }
                let at = v.atan2(u).rem_euclid(TAU) / TAU * DIRECTIONS as f64;
                let (k, t) = (at as usize % DIRECTIONS, (at - at.floor()) as f32);
                let (a, b) = (self.edge[k], self.edge[(k + 1) % DIRECTIONS]);
                let r = f64::from(a.0 + t * (b.0 - a.0));
                let d = (square.sqrt() - r) * f64::from(a.1);
                if d >= -deep && d <= far {
                    each(x, y, d, a.2 as usize);
                }
            }
        }
    }
}

/// The pixels of a frame near the edge, in runs along rows.
#[derive(Debug, Clone)]
pub struct Belt {
    /// First pixel, pixels.
    runs: Vec<(u32, u32)>,
    levels: Levels,
}

impl Belt {
    /// Those within `reach` of the edge.
    pub fn of(plane: &Plane, cover: &Cover, reach: f64) -> Self {
        let mut runs: Vec<(u32, u32)> = Vec::new();
        cover.pixels([plane.width, plane.height], reach, reach, |x, y, _, _| {
            let at = (y * plane.width + x) as u32;
            match runs.last_mut() {
                Some((from, count)) if *from + *count == at => *count += 1,
                _ => runs.push((at, 1)),
            }
        });
        let levels = match &plane.levels {
            Levels::Eight(all) => Levels::Eight(picked(all, &runs)),
            Levels::Sixteen(all) => Levels::Sixteen(picked(all, &runs)),
        };
        Self { runs, levels }
    }

    /// Bytes that it takes.
    pub fn bytes(&self) -> usize {
        let levels = match &self.levels {
            Levels::Eight(levels) => levels.len(),
            Levels::Sixteen(levels) => 2 * levels.len(),
        };
        levels + 8 * self.runs.len()
    }

    /// A picture with these pixels, black elsewhere.
    pub fn laid(&self, width: usize, height: usize) -> Plane {
        match &self.levels {
            Levels::Eight(levels) => Plane::eight(width, height, spread(levels, &self.runs, width * height)),
            Levels::Sixteen(levels) => {
                Plane::sixteen(width, height, spread(levels, &self.runs, width * height))
            }
        }
    }
}

fn picked<T: Copy>(all: &[T], runs: &[(u32, u32)]) -> Vec<T> {
    runs.iter()
        .flat_map(|(from, count)| all[*from as usize..][..*count as usize].iter().copied())
        .collect()
}

fn spread<T: Copy + Default>(levels: &[T], runs: &[(u32, u32)], size: usize) -> Vec<T> {
    let (mut all, mut rest) = (vec![T::default(); size], levels);
    for (from, count) in runs {
        let (here, after) = rest.split_at(*count as usize);
        all[*from as usize..][..here.len()].copy_from_slice(here);
        rest = after;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Places and normals of an ellipse.
    fn ellipse(a: f64, b: f64) -> (Vec<[f64; 2]>, Vec<[f64; 2]>) {
        let one = |k: usize| {
            let (sin, cos) = (TAU * k as f64 / 240.0).sin_cos();
            let long = (cos / a).hypot(sin / b);
            ([40.0 + a * cos, 41.5 + b * sin], [cos / a / long, sin / b / long])
        };
        (0..240).map(one).unzip()
    }

    #[test]
    fn distances_from_a_circle_are_those_of_the_radius() {
        let (places, normals) = ellipse(25.0, 25.0);
        let cover = Cover::of(&places, &normals).expect("a circle");
        let mut count = 0;
        cover.pixels([80, 80], 3.0, 5.0, |x, y, d, j| {
            let (u, v) = (x as f64 - 40.0, y as f64 - 41.5);
            assert!((d - (u.hypot(v) - 25.0)).abs() < 0.01, "{x} {y}");
            let node = v.atan2(u).rem_euclid(TAU) / TAU * 240.0;
            assert!((node - j as f64 - 0.5).abs() < 1.5, "{node} {j}");
            count += 1;
        });
        let area = std::f64::consts::PI * (30.0_f64.powi(2) - 22.0_f64.powi(2));
        assert!((f64::from(count) / area - 1.0).abs() < 0.01, "{count} of {area}");
    }

    #[test]
    fn a_place_that_turns_back_is_passed_over() {
        let (mut places, mut normals) = ellipse(26.0, 22.0);
        let whole = Cover::of(&places, &normals).expect("an ellipse");
        (places[40], normals[40]) = (places[35], [0.1, -1.0]);
        let without = Cover::of(&places, &normals).expect("most of an ellipse");
        assert_eq!((whole.ahead().len(), without.ahead().len()), (240, 239));
        places.reverse();
        normals.reverse();
        assert!(Cover::of(&places, &normals).is_none(), "the wrong way round");
    }

    #[test]
    fn a_belt_holds_the_pixels_near_the_edge_and_no_others() {
        let (places, normals) = ellipse(25.0, 20.0);
        let cover = Cover::of(&places, &normals).expect("an ellipse");
        let plane = Plane::eight(80, 80, (0..80 * 80).map(|i| (i % 200 + 20) as u8).collect());
        let belt = Belt::of(&plane, &cover, 6.0);
        let laid = belt.laid(80, 80);
        let near = |p: &Plane, x, y| crate::bright::behind::level(p, x, y);
        let (mut inside, mut all) = (0, 0);
        cover.pixels([80, 80], 6.0, 6.0, |x, y, _, _| {
            assert_eq!(near(&laid, x, y), near(&plane, x, y));
            inside += 1;
        });
        for y in 0..80 {
            all += (0..80).filter(|x| near(&laid, *x, y) > 0).count();
        }
        assert!(inside == all && belt.bytes() > inside, "{inside} {all}");
    }
}
