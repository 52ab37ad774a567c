//! The silhouette of a body of revolution whose axis is tilted out of the picture, for a lens far away or near by.
//!
//! ```text
//! contour where the normal is square to the ray to the lens:  n . (x - c) = 0,   e = n . x / D
//! across the axis          X = s sqrt(1 - [e^2 + n_z^2 q] / [n_s^2 (1 - q)]) m
//! along the axis as seen   Y = [z cos b + s (n_z/n_s) q / cos b] m,        q = sin^2 b,   m = sqrt(1 - 1/D^2) / (1 - s e / (n_s D))
//! ```
//! Both depend on the tilt through q alone, smoothly, so q may be fitted without a bound: a value below nil by noise does not bias the rest. For that, terms of
//! the order of sin(b)/D, whose sign is that of the tilt, are left out: without tilt the perspective is exact, and without perspective the tilt. m is 1 for a sphere's
//! outline, so that R is the radius as seen, and lengths here are those of the outline.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | z, s, n_z, n_s | meridian point along and across the axis, its normal | R, - |
//! | b | tilt out of the picture | rad |
//! | D, c | distance and place of the lens; 1/D is the nearness | R |
//!
//! Source: apparent contours of surfaces of revolution \[Koenderink1984\], written out here. For bodies whose contour does not hide itself; good to 5e-5 of R
//! up to a tilt of 50 degrees with 90 angles or more.

use std::f64::consts::PI;

use tremolet_numerics::legendre;

/// Legendre tables on a fan of polar angles, kept.
#[derive(Debug, Clone)]
pub struct Fan {
    angles: Vec<[f64; 3]>,
    tables: Vec<legendre::Table>,
}

/// A silhouette in polar coordinates about the centre of mass; the same on both sides of the axis.
#[derive(Debug, Clone, Default)]
pub struct Silhouette {
    /// Angle from the axis as seen, ascending, and radius in R.
    points: Vec<[f64; 2]>,
}

impl Fan {
    /// `count` angles, none at the poles, degrees up to `highest`.
    #[must_use]
    pub fn new(count: usize, highest: usize) -> Self {
        let angle = |k: usize| PI * (k as f64 + 0.5) / count as f64;
        let angles = (0..count).map(|k| {
            let (sin, cos) = angle(k).sin_cos();
            [angle(k), sin, cos]
        });
        let angles: Vec<[f64; 3]> = angles.collect();
        let tables = angles.iter().map(|a| legendre::table(highest, a[2])).collect();
        Self { angles, tables }
    }

    /// Of a body with amplitudes by degree (a_0 without the 1), its axis tilted by asin(sqrt(q)), its radius `nearness` times the distance of the lens.
    #[must_use]
    pub fn silhouette(&self, amplitudes: &[f64], q: f64, nearness: f64) -> Silhouette {
        let view = View { q, nearness };
        let mut points = Vec::with_capacity(self.angles.len() + 2);
        let fan = self.angles.iter().zip(&self.tables);
        points.extend(fan.filter_map(|([_, sin, cos], table)| {
            let sum = |p: &[f64]| amplitudes.iter().zip(p).map(|(a, p)| a * p).sum::<f64>();
            Meridian::new(1.0 + sum(&table.value), -sin * sum(&table.slope), [*sin, *cos]).seen(view)
        }));
        if q > 0.0 || nearness > 0.0 {
            points.extend(self.ends(amplitudes, view).into_iter().flatten());
        }
        points.sort_by(|a, b| a[0].total_cmp(&b[0]));
        Silhouette { points }
    }

    /// Where the contour crosses the axis as seen, at either end.
    fn ends(&self, amplitudes: &[f64], view: View) -> [Option<[f64; 2]>; 2] {
        let slopes = legendre::derivative(amplitudes);
        let at = |theta: f64| {
            let (sin, cos) = theta.sin_cos();
            let r = 1.0 + legendre::series(amplitudes, cos);
            Meridian::new(r, -sin * legendre::series(&slopes, cos), [sin, cos])
        };
        let angles = self.angles.iter().map(|a| a[0]);
        let upper = angles.clone().find(|theta| at(*theta).open(view) > 0.0);
        let lower = angles.rev().find(|theta| at(*theta).open(view) > 0.0);
        let step = self.angles.get(1).map_or(0.0, |a| a[0]) - self.angles[0][0];
        let end = |inside: Option<f64>, outside: f64, pole: f64| {
            let theta = crossing(|theta| at(theta).open(view), inside?, outside);
            let y = at(theta).height(view);
            Some([pole, y.abs()])
        };
        [
            end(upper, (upper.unwrap_or(0.0) - step).max(0.0), 0.0),
            end(lower, (lower.unwrap_or(0.0) + step).min(PI), PI),
        ]
    }
}

/// How a body is seen.
#[derive(Debug, Clone, Copy)]
struct View {
    q: f64,
    nearness: f64,
}

/// A point of the meridian: along and across the axis, and its normal.
struct Meridian {
    z: f64,
    s: f64,
    n_z: f64,
    n_s: f64,
}

impl Meridian {
    fn new(r: f64, bend: f64, [sin, cos]: [f64; 2]) -> Self {
        Self {
            z: r * cos,
            s: r * sin,
            n_z: r * cos + bend * sin,
            n_s: r * sin - bend * cos,
        }
    }

    /// The normal's lean towards a lens near by.
    fn lean(&self, view: View) -> f64 {
        view.nearness * (self.n_s * self.s + self.n_z * self.z)
    }

    /// Positive where the contour passes.
    fn open(&self, view: View) -> f64 {
        let q = view.q;
        self.n_s * self.n_s * (1.0 - q) - self.n_z * self.n_z * q - self.lean(view).powi(2)
    }

    /// What perspective makes of lengths there, over what it makes of a sphere's outline.
    fn magnified(&self, view: View) -> f64 {
        let depth = self.s * self.lean(view) / self.n_s;
        (1.0 - view.nearness.powi(2)).sqrt() / (1.0 - view.nearness * depth)
    }

    /// Along the axis as seen.
    fn height(&self, view: View) -> f64 {
        let cosine = (1.0 - view.q).sqrt();
        (self.z * cosine + self.s * self.n_z / self.n_s * view.q / cosine) * self.magnified(view)
    }

    /// Angle and radius of the contour point, where it passes.
    fn seen(&self, view: View) -> Option<[f64; 2]> {
        let open = self.open(view);
        (open > 0.0).then(|| {
            let x = self.s * (open / (1.0 - view.q)).sqrt() / self.n_s.abs() * self.magnified(view);
            let y = self.height(view);
            [x.atan2(y), x.hypot(y)]
        })
    }
}

/// Where `f`, positive at `inside`, is nil towards `outside`, by the rule of false position with halving (Illinois).
fn crossing(f: impl Fn(f64) -> f64, inside: f64, outside: f64) -> f64 {
    let (mut a, mut b) = (inside, outside);
    let (mut fa, mut fb) = (f(a), f(b));
    for _ in 0..12 {
        if fa == fb {
            break;
        }
        let c = b - fb * (b - a) / (fb - fa);
        let fc = f(c);
        if fc * fb < 0.0 {
            (a, fa) = (b, fb);
        } else {
            fa /= 2.0;
        }
        (b, fb) = (c, fc);
        if fc.abs() < 1e-13 {
            break;
        }
    }
    b
}

impl Silhouette {
    /// Radius at an angle from the axis as seen, 0 to pi, and its slope; by a cubic through the four points about it, mirrored at the poles.
    #[must_use]
    pub fn at(&self, angle: f64) -> (f64, f64) {
        let count = self.points.len() as isize;
        let next = self.points.partition_point(|p| p[0] < angle) as isize;
        // A point on the axis is its own mirror image.
        let on_axis = |k: isize, pole: f64| isize::from(self.points[k as usize][0] == pole);
        let (first, last) = (on_axis(0, 0.0), on_axis(count - 1, PI));
        let point = |k: isize| {
            if k < 0 {
                let [a, r] = self.points[(first - 1 - k).min(count - 1) as usize];
                [-a, r]
            } else if k >= count {
                let [a, r] = self.points[(2 * count - 1 - last - k).max(0) as usize];
                [2.0 * PI - a, r]
            } else {
                self.points[k as usize]
            }
        };
        cubic(&std::array::from_fn(|k| point(next - 2 + k as isize)), angle)
    }

    /// Whether there is enough of it.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.points.len() >= 8
    }
}

/// Newton's divided differences through four points: value and slope.
fn cubic(p: &[[f64; 2]; 4], x: f64) -> (f64, f64) {
    let first = |i: usize| (p[i + 1][1] - p[i][1]) / (p[i + 1][0] - p[i][0]);
    let [a, b, c] = [first(0), first(1), first(2)];
    let second = [(b - a) / (p[2][0] - p[0][0]), (c - b) / (p[3][0] - p[1][0])];
    let third = (second[1] - second[0]) / (p[3][0] - p[0][0]);
    let [u, v, w] = [x - p[0][0], x - p[1][0], x - p[2][0]];
    let value = p[0][1] + u * (a + v * (second[0] + w * third));
    let slope = a + (u + v) * second[0] + (u * v + u * w + v * w) * third;
    (value, slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_tilt_it_is_the_meridian() {
        let series = [-0.01, 0.0, 0.25, -0.08, 0.03];
        let seen = Fan::new(90, 8).silhouette(&series, 0.0, 0.0);
        for k in 0..=40 {
            let angle = PI * f64::from(k) / 40.0;
            let known = 1.0 + legendre::series(&series, angle.cos());
            let (r, slope) = seen.at(angle);
            let known_slope = -angle.sin() * legendre::series(&legendre::derivative(&series), angle.cos());
            assert!((r - known).abs() < 3e-6, "{angle} {}", r - known);
            assert!(
                (slope - known_slope).abs() < 3e-3,
                "{angle} {}",
                slope - known_slope
            );
        }
    }

    // The silhouette of a spheroid with half axes A, B is an ellipse with half axes sqrt(A^2 cos^2 b + B^2 sin^2 b) and B: exact.
    #[test]
    fn a_tilted_spheroid_shows_an_ellipse() {
        let (long, wide) = (1.3_f64, 1.3_f64.powf(-0.5));
        let rule = tremolet_numerics::quadrature::gauss_legendre(80);
        let radius = |m: &f64| (m * m / (long * long) + (1.0 - m * m) / (wide * wide)).powf(-0.5);
        let samples: Vec<f64> = rule.nodes.iter().map(radius).collect();
        let mut series = legendre::projection(&rule, &samples, 24);
        series[0] -= 1.0;
        let fan = Fan::new(120, 24);
        for tilt in [0.2_f64, 0.5, 0.9] {
            let seen = fan.silhouette(&series, tilt.sin().powi(2), 0.0);
            let high = (long * tilt.cos()).hypot(wide * tilt.sin());
            for k in 0..=30 {
                let angle = PI * f64::from(k) / 30.0;
                let known = ((angle.cos() / high).powi(2) + (angle.sin() / wide).powi(2)).powf(-0.5);
                let off = seen.at(angle).0 - known;
                assert!(off.abs() < 5e-5, "{tilt} {angle} {off:e}");
            }
        }
    }

    #[test]
    fn a_tilt_below_nil_goes_on_smoothly() {
        let series = [0.0, 0.0, 0.2, 0.05];
        let fan = Fan::new(90, 4);
        let at = |q: f64| fan.silhouette(&series, q, 0.0).at(0.9).0;
        let (below, above) = (at(0.0) - at(-0.01), at(0.01) - at(0.0));
        assert!((below / above - 1.0).abs() < 0.1, "{below} {above}");
    }
}
