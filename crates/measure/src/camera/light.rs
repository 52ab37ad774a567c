//! The light of the scene from frame to frame, seen at a few places along the border of the picture.
//!
//! ```text
//! L_k = middle over places of level_k / level_0,       step = middle of L over the frames after - before
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `L_k` | light of frame `k` over that of the first | 1 |
//!
//! A step of the exposure changes all levels at once; outlines are fitted with levels of their own in every frame, so they do not move by it.
//! Source: medians, elementary. Cannot tell the exposure from the lamp.

use crate::camera::mark::level;
use tremolet_clip::frame::Plane;
use tremolet_numerics::statistics::median;

/// Places along the border, and how far inside of it, px.
const PLACES: usize = 240;
const INSIDE: usize = 3;
/// Frames on each side of a step.
const SPAN: usize = 5;
/// Least step, relative; and over the noise of such a difference.
const LEAST: f64 = 0.02;
const SURE: f64 = 8.0;

/// The light along the border.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Light {
    places: Vec<[usize; 2]>,
    first: Vec<f64>,
    /// Light over that of the first frame, frame by frame.
    pub course: Vec<f64>,
}

/// A change of the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Place in the course: the first frame with the new light.
    pub at: usize,
    /// Light after over light before.
    pub ratio: f64,
}

impl Light {
    /// Looks at a frame; the first one is what others are compared with.
    pub fn follow(&mut self, plane: &Plane) {
        if self.course.is_empty() {
            self.places = border(plane);
            self.first = self.places.iter().map(|[x, y]| level(plane, *x, *y)).collect();
        }
        let ratios = self
            .places
            .iter()
            .zip(&self.first)
            .filter(|(_, first)| **first > 0.0);
        let all: Vec<f64> = ratios
            .map(|([x, y], first)| level(plane, *x, *y) / first)
            .collect();
        self.course.push(if all.is_empty() { 1.0 } else { median(&all) });
    }

    /// The largest step, where there is one.
    pub fn step(&self) -> Option<Step> {
        let jump = |k: usize| {
            let before = median(&self.course[k - SPAN..k]);
            (k, median(&self.course[k..k + SPAN]) / before.max(1e-9))
        };
        let steps = self.course.windows(2).map(|w| (w[1] - w[0]).abs());
        let rough = 1.4826 * median(&steps.collect::<Vec<f64>>()) / 2.0_f64.sqrt();
        let noise = rough * (2.0 / SPAN as f64).sqrt() * 1.25;
        let last = self.course.len().checked_sub(SPAN)?;
        let away = |j: &(usize, f64)| (j.1 - 1.0).abs();
        let most = (SPAN..=last)
            .map(jump)
            .max_by(|a, b| away(a).total_cmp(&away(b)))?;
        (away(&most) > LEAST.max(SURE * noise)).then(|| {
            // Where within the span the level changes most.
            let near = most.0.saturating_sub(2).max(1)..(most.0 + 3).min(self.course.len());
            let sharp = |k: &usize| (self.course[*k] - self.course[*k - 1]).abs();
            let at = near
                .max_by(|a, b| sharp(a).total_cmp(&sharp(b)))
                .unwrap_or(most.0);
            Step { at, ratio: most.1 }
        })
    }

    /// Largest over smallest light, both smoothed over a few frames.
    pub fn range(&self) -> f64 {
        let smooth = self.course.chunks(2 * SPAN).map(median);
        let (low, high) = smooth.fold((f64::INFINITY, 0.0), |(l, h): (f64, f64), v| (l.min(v), h.max(v)));
        if low > 0.0 && low.is_finite() {
            high / low
        } else {
            1.0
        }
    }
}

fn border(plane: &Plane) -> Vec<[usize; 2]> {
    let (width, height) = (plane.width, plane.height);
    if width < 4 * INSIDE || height < 4 * INSIDE {
        return Vec::new();
    }
    let (right, bottom) = (width - 1 - INSIDE, height - 1 - INSIDE);
    let quarter = PLACES / 4;
    (0..quarter)
        .flat_map(|k| {
            let along = |size: usize| INSIDE + k * (size - 2 * INSIDE) / quarter;
            let (x, y) = (along(width), along(height));
            [[x, INSIDE], [x, bottom], [INSIDE, y], [right, y]]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn course(light: impl Fn(usize) -> f64) -> Light {
        let noise = |k: usize| 4e-4 * ((k * k) as f64 * 1.7).sin();
        Light {
            course: (0..100).map(|k| light(k) + noise(k)).collect(),
            ..Light::default()
        }
    }

    #[test]
    fn a_step_is_found_where_it_is() {
        let step = course(|k| if k < 37 { 1.0 } else { 0.9 }).step().expect("a step");
        assert_eq!(step.at, 37);
        assert!((step.ratio - 0.9).abs() < 2e-3);
    }

    #[test]
    fn flicker_noise_and_a_slow_lamp_are_no_step() {
        assert_eq!(course(|_| 1.0).step(), None);
        assert_eq!(course(|k| 1.0 + 0.04 * (1.1 * k as f64).sin()).step(), None);
        let slow = course(|k| 1.0 + 0.001 * k as f64);
        assert_eq!(slow.step(), None);
        assert!((slow.range() - 1.0945 / 1.0045).abs() < 2e-3, "{}", slow.range());
        assert_eq!(Light::default().step(), None);
    }

    #[test]
    fn the_light_is_that_of_the_border() {
        let plane = |light: f64| {
            let one = |k: usize| {
                let (x, y) = ((k % 80) as f64, (k / 80) as f64);
                let dark = if (x - 40.0).hypot(y - 30.0) < 25.0 {
                    0.1
                } else {
                    1.0
                };
                (light * dark * (200.0 + x)) as u16
            };
            Plane::sixteen(80, 60, (0..80 * 60).map(one).collect())
        };
        let mut light = Light::default();
        [100.0, 120.0, 90.0].iter().for_each(|l| light.follow(&plane(*l)));
        for (found, due) in light.course.iter().zip([1.0, 1.2, 0.9]) {
            assert!((found - due).abs() < 1e-3);
        }
    }
}
