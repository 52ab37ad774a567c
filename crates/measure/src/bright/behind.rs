//! The view without the body: softened, and held against a frame outside the body.
//!
//! ```text
//! F(x) = g (E(x) + h . grad E(x)) + b + rest,   least squares over the pixels outside the body
//! unlike = rms(rest) / rms(F - mean F)
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `F`, `E` | levels of the frame, and without the body | codes |
//! | `g`, `b` | gain of the light, stray light | 1, codes |
//! | `h` | how far the frame has moved | px |
//!
//! Source: Gauss-Newton on a Taylor series, \[GolubVanLoan2013\] section 5.3. Moves nothing: it only judges.

use crate::grid::Grid;
use crate::ring::Near;
use crate::settings::Masks;
use tremolet_clip::frame::{Levels, Plane};
use tremolet_shape::normal_equations::NormalEquations;

/// Parts in which the softened levels are kept.
const PARTS: u32 = 16;
/// A view that has moved farther is not used, px: a quarter of the shift that was seen to push the edge by 0.06 px.
const FARTHEST: f64 = 0.25;
/// A view that differs by more than this share of its own relief shows something else.
const UNLIKE: f64 = 0.5;
/// Radii within which the body may hide the view.
const BODY: f64 = 1.3;

/// The view without the body, its noise softened.
#[derive(Debug, Clone)]
pub struct Behind {
    /// Levels, in parts of a code.
    pub plane: Plane,
    /// Their means over cells.
    pub grid: Grid,
}

impl Behind {
    /// Binomial means over three by three pixels: what lies behind is a little out of focus and loses nothing, its noise falls
    /// to three eighths.
    pub fn of(empty: &Plane) -> Self {
        let (width, height) = (empty.width, empty.height);
        let parts = match &empty.levels {
            Levels::Eight(_) => PARTS,
            Levels::Sixteen(_) => 1,
        };
        let beside = |v: usize, size: usize| [(v.max(1) - 1, 1), (v, 2), ((v + 1).min(size - 1), 1)];
        let mean = |x: usize, y: usize| {
            let rows = beside(y, height).into_iter();
            let near = rows.flat_map(|(j, v)| beside(x, width).map(|(i, u)| u * v * level(empty, i, j)));
            u16::try_from((near.sum::<u32>() * parts + 8) / 16).unwrap_or(u16::MAX)
        };
        let levels = (0..width * height).map(|i| mean(i % width, i / width));
        let plane = Plane::sixteen(width, height, levels.collect());
        Self {
            grid: Grid::of(&plane),
            plane,
        }
    }

    /// What speaks against using the view with a frame whose body is `near`.
    pub fn doubt(&self, frame: &Plane, near: Near, masks: Masks<'_>) -> Option<String> {
        let mut sums = NormalEquations::new(4);
        let mut relief = NormalEquations::new(1);
        let mut count = 0.0;
        for y in (2..frame.height.max(4) - 2).step_by(2) {
            for x in (2..frame.width.max(4) - 2).step_by(2) {
                let (px, py) = (x as f64, y as f64);
                let away = (px - near.centre[0]).hypot(py - near.centre[1]);
                if away < BODY * near.radius || masks.hold(px, py) {
                    continue;
                }
                let at = |i: usize, j: usize| f64::from(level(&self.plane, i, j));
                let slope = [at(x + 1, y) - at(x - 1, y), at(x, y + 1) - at(x, y - 1)].map(|s| s / 2.0);
                let seen = f64::from(level(frame, x, y));
                sums.add(&[at(x, y), 1.0, slope[0], slope[1]], 1.0, seen);
                relief.add(&[1.0], 1.0, seen);
                count += 1.0;
            }
        }
        let (factor, even) = (sums.factored()?, relief.factored()?);
        let left = sums.squares() - factor.explained().iter().map(|z| z * z).sum::<f64>();
        let own = relief.squares() - even.explained().iter().map(|z| z * z).sum::<f64>();
        let unlike = (left.max(0.0) / own.max(1e-9)).sqrt();
        let found = factor.solution(4);
        let moved = (found[2] / found[0]).hypot(found[3] / found[0]);
        if count > 100.0 && unlike > UNLIKE {
            return Some(format!(
                "what lies around the body differs from it by {:.0} % of its relief",
                100.0 * unlike
            ));
        }
        (count > 100.0 && moved > FARTHEST)
            .then(|| format!("what lies around the body has moved by {moved:.1} px against it"))
    }
}

/// Code of a pixel.
pub fn level(plane: &Plane, x: usize, y: usize) -> u32 {
    match &plane.levels {
        Levels::Eight(levels) => u32::from(levels[y * plane.width + x]),
        Levels::Sixteen(levels) => u32::from(levels[y * plane.width + x]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plane(at: impl Fn(f64, f64) -> f64) -> Plane {
        let levels = (0..96 * 96).map(|i| at((i % 96) as f64, (i / 96) as f64).round() as u8);
        Plane::eight(96, 96, levels.collect())
    }

    fn wall(x: f64, y: f64) -> f64 {
        100.0 + 30.0 * (x / 6.0).sin() * (y / 9.0).cos() + 10.0 * (y / 5.0).sin()
    }

    const NEAR: Near = Near {
        centre: [48.0, 48.0],
        radius: 20.0,
    };

    #[test]
    fn the_same_view_in_other_light_is_not_doubted() {
        let behind = Behind::of(&plane(wall));
        let frame = plane(|x, y| {
            if (x - 48.0).hypot(y - 48.0) < 20.0 {
                10.0
            } else {
                0.8 * wall(x, y)
            }
        });
        assert_eq!(behind.doubt(&frame, NEAR, Masks::default()), None);
    }

    #[test]
    fn a_moved_view_and_another_view_are_doubted() {
        let behind = Behind::of(&plane(wall));
        let moved = behind.doubt(&plane(|x, y| wall(x + 0.6, y - 0.8)), NEAR, Masks::default());
        assert!(moved.is_some_and(|text| text.contains("moved by 1.")), "a pixel");
        let other = behind.doubt(&plane(|x, y| wall(y, 95.0 - x)), NEAR, Masks::default());
        assert!(other.is_some_and(|text| text.contains("relief")));
    }

    /// A binomial mean keeps a slope and a level.
    #[test]
    fn softening_keeps_level_and_slope() {
        let behind = Behind::of(&plane(|x, y| 20.0 + x + y));
        assert_eq!(level(&behind.plane, 40, 30), 16 * 90);
        assert_eq!(level(&behind.plane, 41, 30), 16 * 91);
    }
}
