//! A body of liquid as the painter is told it: size, place, axis and Legendre amplitudes as functions of time.
//!
//! `r(theta) = R (1 + a_0 + sum_n a_n P_n(cos theta))`, theta from the axis, with `a_0` such that the volume is that of
//! the sphere of radius `R`:  `<(1 + a_0 + f)^3> = 1`, mean over `mu = cos theta`, `f = sum a_n P_n`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R` | volume-equivalent radius | px |
//! | `a_n` | amplitude of degree n over R | 1 |
//! | `a_0` | what the volume asks for | 1 |
//!
//! The motion is the caller's: a closure, a table, or rest. Nothing here knows what makes a drop swing.

use std::f64::consts::PI;
use std::fmt;
use std::sync::Arc;

use crate::painted::handling::View;
use crate::painted::parts::Meridian;
use crate::painted::space::{Ripple, Space, Stance};

/// Amplitudes as a function of time.
pub trait Motion: Send + Sync {
    /// Fills `amplitudes`, entry `n` being `a_n` at `time` (s); entry 0 is overwritten by the painter.
    fn amplitudes(&self, time: f64) -> Vec<f64>;
}

impl<F: Fn(f64) -> Vec<f64> + Send + Sync> Motion for F {
    fn amplitudes(&self, time: f64) -> Vec<f64> {
        self(time)
    }
}

/// A motion that never moves: a sphere (empty) or a fixed shape.
#[derive(Debug, Clone, Default)]
pub struct Still(pub Vec<f64>);

impl Motion for Still {
    fn amplitudes(&self, _time: f64) -> Vec<f64> {
        self.0.clone()
    }
}

/// Amplitudes sampled on a table of times, joined by straight lines and held at the ends.
#[derive(Debug, Clone)]
pub struct Table {
    /// Rising times, s.
    pub times: Vec<f64>,
    /// For each time the amplitudes from degree 0; all rows equally long.
    pub rows: Vec<Vec<f64>>,
}

impl Motion for Table {
    fn amplitudes(&self, time: f64) -> Vec<f64> {
        let after = self.times.partition_point(|&t| t <= time);
        match after {
            0 => self.rows.first().cloned().unwrap_or_default(),
            k if k == self.times.len() => self.rows.last().cloned().unwrap_or_default(),
            k => {
                let part = (time - self.times[k - 1]) / (self.times[k] - self.times[k - 1]);
                let mix = |(a, b): (&f64, &f64)| a + part * (b - a);
                self.rows[k - 1].iter().zip(&self.rows[k]).map(mix).collect()
            }
        }
    }
}

/// Where the centre is: `[x, y]` in px at a time in s.
pub type Path = Arc<dyn Fn(f64) -> [f64; 2] + Send + Sync>;

/// One body of liquid.
#[derive(Clone)]
pub struct PaintedBody {
    /// Volume-equivalent radius, px in the mid-plane (before perspective).
    pub radius_px: f64,
    /// Centre of the expansion over time, px.
    pub centre: Path,
    /// Angle of the axis from image-up, positive towards +x, rad.
    pub axis: f64,
    /// The amplitudes over time.
    pub motion: Arc<dyn Motion>,
    /// When it is there: from, until (s); outside it is absent.
    pub present: [f64; 2],
    /// How it stands in space; by default in the mid-plane, its axis in the image plane.
    pub space: Space,
}

impl fmt::Debug for PaintedBody {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("PaintedBody")
            .field("radius_px", &self.radius_px)
            .field("axis", &self.axis)
            .field("present", &self.present)
            .finish_non_exhaustive()
    }
}

impl PaintedBody {
    /// A rigid sphere that stays at `centre`.
    pub fn sphere(radius_px: f64, centre: [f64; 2]) -> Self {
        Self::moving(radius_px, centre, Still::default())
    }

    /// A body at a fixed centre with its axis upright in the image.
    pub fn moving(radius_px: f64, centre: [f64; 2], motion: impl Motion + 'static) -> Self {
        Self {
            radius_px,
            centre: Arc::new(move |_| centre),
            axis: 0.0,
            motion: Arc::new(motion),
            present: [f64::NEG_INFINITY, f64::INFINITY],
            space: Space::default(),
        }
    }

    /// The same body on a path: centre in px at a time in s.
    #[must_use]
    pub fn along(mut self, path: impl Fn(f64) -> [f64; 2] + Send + Sync + 'static) -> Self {
        self.centre = Arc::new(path);
        self
    }

    /// The same body with its axis turned.
    #[must_use]
    pub fn turned(mut self, axis: f64) -> Self {
        self.axis = axis;
        self
    }

    /// The same body at a distance from the lens in m at a time in s; its path says where the centre is seen.
    #[must_use]
    pub fn in_depth(mut self, distance_m: impl Fn(f64) -> f64 + Send + Sync + 'static) -> Self {
        self.space.distance_m = Some(Arc::new(distance_m));
        self
    }

    /// The same body with its axis out of the image plane, the upper end towards the lens, rad.
    #[must_use]
    pub fn tilted(mut self, tilt: f64) -> Self {
        self.space.tilt = tilt;
        self
    }

    /// The same body with modes of order above 0 on it, rotating about the axis at `spin` rad/s.
    #[must_use]
    pub fn rippled(
        mut self,
        pattern: impl Fn(f64) -> Vec<Ripple> + Send + Sync + 'static,
        spin: f64,
    ) -> Self {
        self.space.pattern = Some(Arc::new(pattern));
        self.space.spin = spin;
        self
    }

    /// The same body in parts given by their meridians, in place of its expansion.
    #[must_use]
    pub fn in_parts(mut self, parts: impl Fn(f64) -> Vec<Meridian> + Send + Sync + 'static) -> Self {
        self.space.parting = Some(Arc::new(parts));
        self
    }

    /// The body at `time`, or `None` while it is absent.
    pub fn at(&self, time: f64) -> Option<Pose> {
        (time >= self.present[0] && time < self.present[1]).then(|| {
            let stance = self.space.at(time);
            let amplitudes = keep_volume(self.motion.amplitudes(time), &stance);
            Pose {
                radius_px: self.radius_px,
                centre: (self.centre)(time),
                axis: self.axis,
                amplitudes,
                stance,
            }
        })
    }
}

/// A body at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Pose {
    /// Volume-equivalent radius, px.
    pub radius_px: f64,
    /// Centre of the expansion, px.
    pub centre: [f64; 2],
    /// Axis from image-up towards +x, rad.
    pub axis: f64,
    /// `a_0, a_1, ...`; `a_0` keeps the volume.
    pub amplitudes: Vec<f64>,
    /// How it stands in space.
    pub stance: Stance,
}

impl Pose {
    /// `r / R` at `mu = cos theta`.
    pub fn relative_radius(&self, mu: f64) -> f64 {
        1.0 + legendre_sum(&self.amplitudes, mu)
    }

    /// `r / R` at `mu = cos theta` and azimuth `phi`.
    pub fn relative_radius_at(&self, mu: f64, phi: f64) -> f64 {
        self.relative_radius(mu) + self.stance.rippling(mu, phi)
    }

    /// The body where a perfect lens and a level camera show it, as large as it is seen.
    #[must_use]
    pub fn seen(mut self, view: &View) -> Self {
        self.centre = view.moved(self.centre);
        self.radius_px *= view.zoom;
        self
    }

    /// The highest degree on the body.
    pub fn highest_degree(&self) -> usize {
        highest_degree(&self.amplitudes, &self.stance)
    }
}

fn highest_degree(amplitudes: &[f64], stance: &Stance) -> usize {
    let rippled = stance.ripples.iter().map(|ripple| ripple.degree as usize);
    rippled.fold(amplitudes.len().saturating_sub(1), usize::max)
}

/// `sum a_n P_n(mu)` by the recurrence `(n + 1) P_{n+1} = (2n + 1) mu P_n - n P_{n-1}`.
fn legendre_sum(amplitudes: &[f64], mu: f64) -> f64 {
    let (mut before, mut now, mut sum) = (0.0, 1.0, 0.0);
    for (n, a) in amplitudes.iter().enumerate() {
        sum += a * now;
        let n = n as f64;
        (before, now) = (now, ((2.0 * n + 1.0) * mu * now - n * before) / (n + 1.0));
    }
    sum
}

/// The amplitudes with `a_0` set so that the volume is that of the sphere.
///
/// With `<f> = 0` the condition is `s^3 + 3 s <f^2> + <f^3> = 1` for `s = 1 + a_0`, solved by Newton from 1.
fn keep_volume(mut amplitudes: Vec<f64>, stance: &Stance) -> Vec<f64> {
    if amplitudes.is_empty() {
        amplitudes.push(0.0);
    }
    amplitudes[0] = 0.0;
    let (square, cube) = means(&amplitudes, stance);
    let mut s = 1.0_f64;
    for _ in 0..30 {
        let step = (s * s * s + 3.0 * s * square + cube - 1.0) / (3.0 * (s * s + square));
        s -= step;
        if step.abs() < 1e-16 {
            break;
        }
    }
    amplitudes[0] = s - 1.0;
    amplitudes
}

/// `<f^2>` and `<f^3>` over the sphere; without modes of order above 0 a single meridian tells.
fn means(amplitudes: &[f64], stance: &Stance) -> (f64, f64) {
    let orders = stance.ripples.iter().map(|ripple| ripple.order);
    let azimuths = orders.max().map_or(1, |order| 3 * order + 1);
    let (mut square, mut cube) = (0.0, 0.0);
    for (mu, weight) in fejer(3 * (highest_degree(amplitudes, stance) + 1) + 2) {
        let even = legendre_sum(amplitudes, mu);
        for k in 0..azimuths {
            let f = even + stance.rippling(mu, 2.0 * PI * f64::from(k) / f64::from(azimuths));
            square += 0.5 * weight * f * f / f64::from(azimuths);
            cube += 0.5 * weight * f * f * f / f64::from(azimuths);
        }
    }
    (square, cube)
}

/// Nodes and weights of Fejer's first rule on -1..1, exact for polynomials of degree below `count`.
fn fejer(count: usize) -> impl Iterator<Item = (f64, f64)> {
    let n = count as f64;
    (0..count).map(move |k| {
        let angle = PI * (k as f64 + 0.5) / n;
        let sum: f64 = (1..=count / 2)
            .map(|j| j as f64)
            .map(|j| (2.0 * j * angle).cos() / (4.0 * j * j - 1.0))
            .sum();
        (angle.cos(), 2.0 / n * (1.0 - 2.0 * sum))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volume_ratio(amplitudes: &[f64]) -> f64 {
        // <r^3> by the midpoint rule in theta, which knows nothing of the quadrature above.
        let steps = 20_000;
        let h = PI / f64::from(steps);
        (0..steps)
            .map(|k| (f64::from(k) + 0.5) * h)
            .map(|theta| 0.5 * h * theta.sin() * (1.0 + legendre_sum(amplitudes, theta.cos())).powi(3))
            .sum()
    }

    #[test]
    fn volume_is_that_of_the_sphere() {
        for shape in [
            vec![0.0, 0.0, 0.3],
            vec![0.0, 0.0, -0.2, 0.1, 0.05],
            vec![0.0; 1],
            vec![0.0, 0.0, 0.0, 0.0, 0.0, 0.08],
        ] {
            let kept = keep_volume(shape, &Stance::default());
            assert!((volume_ratio(&kept) - 1.0).abs() < 1e-8, "{kept:?}");
        }
    }

    #[test]
    fn volume_of_an_unscaled_p2_shape() {
        // V/(4 pi/3) = 1 + 3 e^2/5 + 2 e^3/35 at e = 0.3 is 1.055542857143 (integral of (1 + e P_2)^3, exact).
        assert!((volume_ratio(&[0.0, 0.0, 0.3]) - 1.055_542_857_143).abs() < 1e-8);
        // To second order a_0 = -e^2/5.
        let kept = keep_volume(vec![0.0, 0.0, 0.01], &Stance::default());
        assert!((kept[0] + 2e-5).abs() < 3e-7, "{}", kept[0]);
    }

    #[test]
    fn amplitudes_given_are_amplitudes_kept() {
        let kept = keep_volume(vec![9.0, 0.0, 0.1, -0.05], &Stance::default());
        assert_eq!(&kept[1..], &[0.0, 0.1, -0.05]);
    }

    #[test]
    fn tables_are_joined_and_held() {
        let table = Table {
            times: vec![0.0, 1.0],
            rows: vec![vec![0.0, 0.0, 0.2], vec![0.0, 0.0, 0.4]],
        };
        assert_eq!(table.amplitudes(-1.0)[2], 0.2);
        assert!((table.amplitudes(0.25)[2] - 0.25).abs() < 1e-15);
        assert_eq!(table.amplitudes(3.0)[2], 0.4);
    }

    #[test]
    fn absent_outside_its_time() {
        let mut body = PaintedBody::sphere(10.0, [5.0, 5.0]);
        body.present = [0.1, 0.2];
        assert!(body.at(0.05).is_none() && body.at(0.1).is_some() && body.at(0.2).is_none());
    }
}
