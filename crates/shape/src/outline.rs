//! An outline: points in order along a curve, closed or open, each with its uncertainty.
//!
//! Between points the curve is a cubic through both with the tangents of the parabola through three neighbours,
//! so integrals converge with the fourth power of the spacing. Integrals over the curve are sums over three Gauss
//! points a segment ([`Outline::walk`]).
//!
//! ```text
//! area = 1/2 | int (x dy - y dx) |      curvature k = (x' y'' - y' x'') / (x'^2 + y'^2)^(3/2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `y` | place, `y` downwards | the caller's length |
//! | `uncertainty` | standard uncertainty along the normal | the same |
//!
//! Source: Green's theorem; interpolation \[deBoor2001\] chapter IV. Does not find an outline in a picture.

use thiserror::Error;

/// A point of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Rightwards.
    pub x: f64,
    /// Downwards.
    pub y: f64,
    /// Standard uncertainty of the place along the normal.
    pub uncertainty: f64,
}

/// Why points make no outline.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum OutlineError {
    /// Fewer points than a curve needs.
    #[error("outline of {found} points: expected at least {needed}")]
    TooFew {
        /// Points given.
        found: usize,
        /// Points needed.
        needed: usize,
    },
    /// A coordinate is not a finite number.
    #[error("point {index} of the outline is not finite")]
    NotFinite {
        /// Which.
        index: usize,
    },
}

/// Points in order along a curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    points: Vec<Point>,
    closed: bool,
}

/// One point of a walk along the outline: place, and the step along the curve that it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Place, rightwards.
    pub x: f64,
    /// Place, downwards.
    pub y: f64,
    /// Step, rightwards.
    pub dx: f64,
    /// Step, downwards.
    pub dy: f64,
}

impl Outline {
    /// An outline through `points` in order; repeated points are dropped.
    ///
    /// # Errors
    /// Fewer than three different points, or a coordinate that is not finite.
    pub fn new(mut points: Vec<Point>, closed: bool) -> Result<Self, OutlineError> {
        if let Some(index) = points.iter().position(|p| !(p.x.is_finite() && p.y.is_finite())) {
            return Err(OutlineError::NotFinite { index });
        }
        points.dedup_by(|a, b| a.x == b.x && a.y == b.y);
        if closed && points.len() > 1 {
            let (first, last) = (points[0], points[points.len() - 1]);
            if first.x == last.x && first.y == last.y {
                points.pop();
            }
        }
        if points.len() < 3 {
            return Err(OutlineError::TooFew {
                found: points.len(),
                needed: 3,
            });
        }
        Ok(Self { points, closed })
    }

    /// The points in order.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Whether the last point joins the first.
    pub fn is_closed(&self) -> bool {
        self.closed
    }

    fn segments(&self) -> usize {
        self.points.len() - usize::from(!self.closed)
    }

    fn neighbour(&self, i: usize, step: isize) -> Point {
        let n = self.points.len() as isize;
        let j = i as isize + step;
        if self.closed {
            self.points[j.rem_euclid(n) as usize]
        } else {
            self.points[j.clamp(0, n - 1) as usize]
        }
    }

    /// Derivative of the place by the chord length at point `i`: first `[x', y']`, then `[x'', y'']`.
    fn derivatives(&self, i: usize) -> ([f64; 2], [f64; 2]) {
        let n = self.points.len();
        let middle = if self.closed { i } else { i.clamp(1, n - 2) };
        let (a, b, c) = (
            self.neighbour(middle, -1),
            self.points[middle],
            self.neighbour(middle, 1),
        );
        let (h, k) = ((b.x - a.x).hypot(b.y - a.y), (c.x - b.x).hypot(c.y - b.y));
        let at = if i < middle {
            -h
        } else if i > middle {
            k
        } else {
            0.0
        };
        let parabola = |a: f64, b: f64, c: f64| {
            let (left, right) = ((b - a) / h, (c - b) / k);
            let second = 2.0 * (right - left) / (h + k);
            let first = (left * k + right * h) / (h + k);
            (first + second * at, second)
        };
        let (x, y) = (parabola(a.x, b.x, c.x), parabola(a.y, b.y, c.y));
        ([x.0, y.0], [x.1, y.1])
    }

    /// Visits three places of every segment in order; sums over the steps are integrals along the curve.
    pub fn walk(&self, mut visit: impl FnMut(Step)) {
        const GAUSS: [(f64, f64); 3] = [
            (0.112_701_665_379_258_3, 5.0 / 18.0),
            (0.5, 8.0 / 18.0),
            (0.887_298_334_620_741_7, 5.0 / 18.0),
        ];
        for i in 0..self.segments() {
            let (p, q) = (self.points[i], self.neighbour(i, 1));
            let j = (i + 1) % self.points.len();
            let h = (q.x - p.x).hypot(q.y - p.y);
            let (m, n) = (self.derivatives(i).0, self.derivatives(j).0);
            for (t, weight) in GAUSS {
                let (x, dx) = hermite(p.x, q.x, m[0] * h, n[0] * h, t);
                let (y, dy) = hermite(p.y, q.y, m[1] * h, n[1] * h, t);
                visit(Step {
                    x,
                    y,
                    dx: dx * weight,
                    dy: dy * weight,
                });
            }
        }
    }

    /// Enclosed area; an open outline is closed by the chord between its ends.
    pub fn area(&self) -> f64 {
        self.first_moments().0.abs()
    }

    /// Centroid of the enclosed area; the mean of the points when the area is nil.
    pub fn centroid(&self) -> [f64; 2] {
        let (area, mx, my) = self.first_moments();
        let length = self.length();
        if area.abs() <= 1e-12 * length * length {
            let n = self.points.len() as f64;
            return [
                self.points.iter().map(|p| p.x).sum::<f64>() / n,
                self.points.iter().map(|p| p.y).sum::<f64>() / n,
            ];
        }
        [self.points[0].x + mx / area, self.points[0].y + my / area]
    }

    /// Signed area and first moments about the first point.
    fn first_moments(&self) -> (f64, f64, f64) {
        let origin = self.points[0];
        let (mut area, mut mx, mut my) = (0.0, 0.0, 0.0);
        let mut add = |s: Step| {
            let (x, y) = (s.x - origin.x, s.y - origin.y);
            let turn = x * s.dy - y * s.dx;
            area += turn / 2.0;
            mx += x * turn / 3.0;
            my += y * turn / 3.0;
        };
        // The chord that closes an open outline ends at the origin of the moments and adds nothing.
        self.walk(&mut add);
        (area, mx, my)
    }

    /// Length along the curve.
    pub fn length(&self) -> f64 {
        let mut length = 0.0;
        self.walk(|s| length += s.dx.hypot(s.dy));
        length
    }

    /// Curvature at each point, 1 / length; positive where the curve turns from `x` towards `y`.
    pub fn curvature(&self) -> Vec<f64> {
        (0..self.points.len())
            .map(|i| {
                let (d, s) = self.derivatives(i);
                (d[0] * s[1] - d[1] * s[0]) / d[0].hypot(d[1]).powi(3)
            })
            .collect()
    }

    /// The same curve through `count` points at equal chord length; the uncertainty is interpolated.
    ///
    /// # Errors
    /// `count` below three.
    pub fn resampled(&self, count: usize) -> Result<Self, OutlineError> {
        if count < 3 {
            return Err(OutlineError::TooFew {
                found: count,
                needed: 3,
            });
        }
        let mut along = vec![0.0];
        for i in 0..self.segments() {
            let (p, q) = (self.points[i], self.neighbour(i, 1));
            along.push(along[i] + (q.x - p.x).hypot(q.y - p.y));
        }
        let gaps = if self.closed { count } else { count - 1 };
        let total = along[self.segments()];
        let (mut points, mut i) = (Vec::with_capacity(count), 0);
        for k in 0..count {
            let at = total * k as f64 / gaps as f64;
            while i + 1 < self.segments() && along[i + 1] <= at {
                i += 1;
            }
            points.push(self.between(i, ((at - along[i]) / (along[i + 1] - along[i])).clamp(0.0, 1.0)));
        }
        Self::new(points, self.closed)
    }

    fn between(&self, i: usize, t: f64) -> Point {
        let (p, q) = (self.points[i], self.neighbour(i, 1));
        let j = (i + 1) % self.points.len();
        let h = (q.x - p.x).hypot(q.y - p.y);
        let (m, n) = (self.derivatives(i).0, self.derivatives(j).0);
        Point {
            x: hermite(p.x, q.x, m[0] * h, n[0] * h, t).0,
            y: hermite(p.y, q.y, m[1] * h, n[1] * h, t).0,
            uncertainty: p.uncertainty * (1.0 - t) + q.uncertainty * t,
        }
    }
}

/// Value and derivative by `t` of the cubic from `p` to `q` with end slopes `m` and `n`.
fn hermite(p: f64, q: f64, m: f64, n: f64, t: f64) -> (f64, f64) {
    let (a, b) = (2.0 * (p - q) + m + n, 3.0 * (q - p) - 2.0 * m - n);
    (((a * t + b) * t + m) * t + p, (3.0 * a * t + 2.0 * b) * t + m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn ellipse(a: f64, b: f64, count: usize) -> Outline {
        let points = (0..count).map(|k| {
            let t = 2.0 * PI * k as f64 / count as f64;
            Point {
                x: 7.0 + a * t.cos(),
                y: -3.0 + b * t.sin(),
                uncertainty: 0.1,
            }
        });
        Outline::new(points.collect(), true).expect("an ellipse is an outline")
    }

    #[test]
    fn a_circle_has_its_area_length_centroid_and_curvature() {
        let circle = ellipse(2.0, 2.0, 200);
        assert!((circle.area() / (4.0 * PI) - 1.0).abs() < 1e-7);
        assert!((circle.length() / (4.0 * PI) - 1.0).abs() < 1e-7);
        let [x, y] = circle.centroid();
        assert!((x - 7.0).abs() < 1e-9 && (y + 3.0).abs() < 1e-9);
        assert!(circle.curvature().iter().all(|k| (k - 0.5).abs() < 1e-3));
    }

    #[test]
    fn integrals_converge_with_the_fourth_power_of_the_spacing() {
        let error = |n| (ellipse(3.0, 1.0, n).area() / (3.0 * PI) - 1.0).abs();
        let ratio = error(100) / error(200);
        assert!(ratio > 12.0, "halving the spacing gained {ratio}");
    }

    #[test]
    fn resampling_keeps_the_curve() {
        let coarse = ellipse(3.0, 1.0, 300).resampled(217).expect("enough points");
        assert_eq!(coarse.points().len(), 217);
        assert!((coarse.area() / (3.0 * PI) - 1.0).abs() < 1e-5);
        let open = Outline::new(coarse.points()[..100].to_vec(), false).expect("enough points");
        let again = open.resampled(200).expect("enough points");
        assert_eq!(again.points()[0], open.points()[0]);
        assert!((again.length() - open.length()).abs() < 1e-4);
    }

    #[test]
    fn degenerate_input_is_refused() {
        let p = |x: f64| Point {
            x,
            y: 0.0,
            uncertainty: 0.0,
        };
        assert!(matches!(
            Outline::new(vec![p(0.0), p(1.0), p(1.0), p(0.0)], true),
            Err(OutlineError::TooFew { found: 2, .. })
        ));
        assert_eq!(
            Outline::new(vec![p(0.0), p(f64::NAN), p(1.0)], false),
            Err(OutlineError::NotFinite { index: 1 })
        );
        let line = Outline::new(vec![p(0.0), p(1.0), p(3.0)], false).expect("three points");
        assert_eq!(line.area(), 0.0);
        assert!((line.centroid()[0] - 4.0 / 3.0).abs() < 1e-12);
    }
}
