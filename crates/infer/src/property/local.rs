//! The roots of one drop near what was found, as polynomials, so that ten thousands of trials cost milliseconds.
//!
//! ```text
//! w_n = s W_n(Oh, h, r),  g_n = s G_n(Oh, h, r);    s = sqrt(sigma / (rho R^3)),  Oh = nu / (s R^2)
//! r = rho_h / rho,  h = sqrt(r mu_h / (rho R^2 s))
//! W, G ~= sum_k x^k [c_k + c'_k dh + c''_k dh^2 + d_k dr],   x linear in sqrt(Oh), from -1 to 1
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `W`, `G` | root of the unit drop: angular frequency, decay rate | 1 |
//! | `Oh` | viscosity of the unit drop | 1 |
//! | `h`, `r` | boundary layer and density of the host beside those of the drop | 1 |
//! | `dh`, `dr` | their distance from the best values | 1 |
//! | other | as in `property::fit` | |
//!
//! `W` and `G` are \[MillerScriven1968\] as `theory::modes::host` gives them, at Chebyshev points \[AbramowitzStegun1972\]; the polynomials are
//! held against it between these points and at the far ends of host and viscosity, and refused where they are off. The unknowns are found by
//! Gauss and Newton's iteration as in `property::fit`, within the range of the polynomials.

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_theory::modes::host::{Pair, root};

use crate::property::fit::{Conditions, Damping, Fit};
use crate::property::lines::Lines;

/// Numbers of Chebyshev points that are tried in turn.
const POINTS: [usize; 4] = [4, 6, 9, 13];
/// Half the range of a quantity over its standard uncertainty.
const REACH: f64 = 7.0;
/// Least half range in the logarithm.
const LEAST_REACH: f64 = 0.05;
/// Least and largest viscosity over the best one.
const ENDS: [f64; 2] = [1e-2, 10.0];
/// Most iterations of a trial.
const MOST: usize = 12;
/// Change of the logarithms at which an iteration ends; what is left of it is of the order of its square.
const STILL: f64 = 1e-5;

/// One number of the unit drop: by powers of `x`, each with value, slope by `h`, half curvature by `h`, slope by `r`.
type Course = Vec<[f64; 4]>;

/// One degree.
#[derive(Debug, Clone)]
struct Degree {
    /// Middle and half of the range of `sqrt(Oh)`.
    middle: f64,
    half: f64,
    /// Of `W` and `G`.
    courses: [Course; 2],
}

/// The roots near the best values of one drop.
#[derive(Debug, Clone)]
pub struct Local {
    degrees: Vec<Degree>,
    shared: bool,
    /// Inverse covariance of the lines.
    weight: Matrix,
    /// Best `s` and `Oh` (one, or one a degree): where a trial begins.
    rate: f64,
    ohnesorge: Vec<f64>,
    /// Range of each.
    ranges: Vec<[f64; 2]>,
    /// Best `h` and `r`.
    host: [f64; 2],
    bench: Bench,
}

/// The unit drop in its host.
fn unit(ohnesorge: f64, [h, r]: [f64; 2]) -> Pair {
    Pair {
        radius: 1.0,
        tension: 1.0,
        density: 1.0,
        viscosity: ohnesorge,
        host_density: r,
        host_viscosity: if r > 0.0 { h * h / r } else { 0.0 },
    }
}

/// `W` and `G`; none where the drop does not swing.
fn exact(degree: u32, ohnesorge: f64, host: [f64; 2]) -> Option<[f64; 2]> {
    let found = root(degree, &unit(ohnesorge, host)).ok()?;
    (found.angular_frequency > 0.0).then_some([found.angular_frequency, found.decay])
}

/// `h` and `r` of a drop of this `s`.
fn host(x: &Conditions, rate: f64) -> [f64; 2] {
    let r = x.host_density / x.density;
    let h = (r * x.host_viscosity / (x.density * x.radius * x.radius * rate)).sqrt();
    [h, r]
}

impl Degree {
    /// Course of a degree whose `Oh` ends at `ends`, for hosts up to `reach` (relative, of `h` and `r`) from the best one.
    fn of(degree: u32, ends: [f64; 2], best: [f64; 2], reach: [f64; 2], points: usize) -> Option<Self> {
        let [low, high] = ends.map(f64::sqrt);
        let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
        let node = |k: usize| (std::f64::consts::PI * (k as f64 + 0.5) / points as f64).cos();
        let at = |k: usize, host: [f64; 2]| exact(degree, (middle + half * node(k)).powi(2), host);
        let (step_h, step_r) = (0.7 * reach[0] * best[0], 0.7 * reach[1] * best[1]);
        let mut rows = Vec::new();
        for k in 0..points {
            let own = at(k, best)?;
            let mut row = own.map(|value| [value, 0.0, 0.0, 0.0]);
            if best[0] > 0.0 {
                let [above, below] = [1.0, -1.0].map(|sign| at(k, [best[0] + sign * step_h, best[1]]));
                let [denser, thinner] = [1.0, -1.0].map(|sign| at(k, [best[0], best[1] + sign * step_r]));
                let (above, below, denser, thinner) = (above?, below?, denser?, thinner?);
                for (i, all) in row.iter_mut().enumerate() {
                    all[1] = (above[i] - below[i]) / (2.0 * step_h);
                    all[2] = (above[i] + below[i] - 2.0 * own[i]) / (2.0 * step_h * step_h);
                    all[3] = (denser[i] - thinner[i]) / (2.0 * step_r);
                }
            }
            rows.push(row);
        }
        let powers = Matrix::from_fn(points, points, |k, j| node(k).powi(j as i32));
        let course = |i: usize| -> Option<Course> {
            let mut found = vec![[0.0; 4]; points];
            for part in 0..4 {
                let values: Vec<f64> = rows.iter().map(|row| row[i][part]).collect();
                let solved = powers.least_squares(&values).ok()?;
                found.iter_mut().zip(solved).for_each(|(c, x)| c[part] = x);
            }
            Some(found)
        };
        Some(Self {
            middle,
            half,
            courses: [course(0)?, course(1)?],
        })
    }

    /// `W`, `G` and their slopes by `Oh`.
    fn at(&self, ohnesorge: f64, dh: f64, dr: f64) -> [[f64; 2]; 2] {
        let q = ohnesorge.sqrt();
        let x = (q - self.middle) / self.half;
        let slope = 1.0 / (2.0 * q * self.half);
        let one = |course: &Course| {
            let (mut value, mut by_x) = (0.0, 0.0);
            for c in course.iter().rev() {
                by_x = by_x * x + value;
                value = value * x + c[0] + dh * (c[1] + dh * c[2]) + dr * c[3];
            }
            [value, by_x * slope]
        };
        [one(&self.courses[0]), one(&self.courses[1])]
    }

    fn ends(&self) -> [f64; 2] {
        [self.middle - self.half, self.middle + self.half].map(|q| q * q)
    }

    /// Largest relative errors of `W` and `G` between the points and far out.
    fn errors(&self, degree: u32, best: [f64; 2], reach: [f64; 2]) -> Option<[f64; 2]> {
        let mut worst = [0.0_f64; 2];
        for x in [-0.97, -0.45, 0.08, 0.55, 0.97] {
            let ohnesorge = (self.middle + self.half * x).powi(2);
            for side in [-1.0, 0.0, 1.0] {
                let (dh, dr) = (side * reach[0] * best[0], -side * reach[1] * best[1]);
                let found = self.at(ohnesorge, dh, dr);
                let due = exact(degree, ohnesorge, [best[0] + dh, best[1] + dr])?;
                for i in 0..2 {
                    worst[i] = worst[i].max((found[i][0] / due[i] - 1.0).abs());
                }
            }
        }
        Some(worst)
    }
}

impl Local {
    /// The roots around a fit. `doubts` are the relative standard uncertainties of surface tension and viscosity, to a hundredth of which
    /// the polynomials must be right; `of_host` those of `h` and `r`.
    ///
    /// None when the polynomials do not reach that, or the lines' covariance cannot be inverted.
    pub fn of(
        lines: &Lines,
        conditions: &Conditions,
        fit: &Fit,
        damping: Damping,
        doubts: [f64; 2],
        of_host: [f64; 2],
    ) -> Option<Self> {
        let rate = (fit.tension() / (conditions.density * conditions.radius.powi(3))).sqrt();
        let own = |i: usize| fit.viscosity(i) / (rate * conditions.radius * conditions.radius);
        let best = host(conditions, rate);
        let reach = of_host.map(|u| (REACH * u).clamp(LEAST_REACH, 0.9));
        let mut degrees = Vec::new();
        for (i, &degree) in lines.degrees.iter().enumerate() {
            let place = (1 + i).min(fit.logarithms.len() - 1);
            let u = fit.covariance[(place, place)].sqrt();
            let far = (REACH * u).max(LEAST_REACH);
            let ends = [(1.0 - far).max(ENDS[0]), (1.0 + far).min(ENDS[1])].map(|share| share * own(i));
            let wanted = [0.01 * doubts[0], 0.02 * doubts[1]];
            degrees.push(reached(degree, ends, best, reach, wanted)?);
        }
        let shared = damping == Damping::Shared;
        let count = if shared { 1 } else { degrees.len() };
        Some(Self {
            weight: lines.covariance.inverse_positive().ok()?,
            ranges: ranges(&degrees, shared),
            degrees,
            shared,
            rate,
            ohnesorge: (0..count).map(own).collect(),
            host: best,
            bench: Bench::default(),
        })
    }

    /// Surface tension and kinematic viscosity (that of the lowest degree when each has its own) for lines and conditions.
    pub fn solve(&mut self, lines: &[f64], x: &Conditions) -> [f64; 2] {
        let mut rate = self.rate;
        let mut bench = std::mem::take(&mut self.bench);
        bench.ohnesorge.clone_from(&self.ohnesorge);
        for _ in 0..MOST {
            self.step(lines, x, rate, &mut bench);
            // A step of the rate of more than half is the model's failure, not the drop's.
            rate *= 1.0 + bench.solved[0].clamp(-0.5, 0.5);
            let mut moved = bench.solved[0].abs();
            for (j, oh) in bench.ohnesorge.iter_mut().enumerate() {
                let [low, high] = self.ranges[j];
                let next = (*oh + bench.solved[1 + j]).clamp(low, high);
                moved = moved.max(((next - *oh) / *oh).abs());
                *oh = next;
            }
            if moved < STILL {
                break;
            }
        }
        let kinematic = bench.ohnesorge[0] * rate * x.radius * x.radius;
        self.bench = bench;
        [rate * rate * x.density * x.radius.powi(3), kinematic]
    }

    /// Change of `ln s`, then of each `Oh`, into `bench.solved`.
    fn step(&self, lines: &[f64], x: &Conditions, rate: f64, bench: &mut Bench) {
        let now = host(x, rate);
        let (dh, dr) = (now[0] - self.host[0], now[1] - self.host[1]);
        let (count, of_line) = (1 + bench.ohnesorge.len(), lines.len());
        bench.slopes.clear();
        bench.slopes.resize(count * of_line, 0.0);
        bench.left.resize(of_line, 0.0);
        for (i, degree) in self.degrees.iter().enumerate() {
            let j = if self.shared { 0 } else { i };
            let found = degree.at(bench.ohnesorge[j], dh, dr);
            for (k, [value, slope]) in found.into_iter().enumerate() {
                let place = 2 * i + k;
                bench.left[place] = lines[place] - rate * value;
                bench.slopes[place] = rate * value;
                bench.slopes[(1 + j) * of_line + place] = rate * slope;
            }
        }
        bench.weighted.clear();
        for slope in bench.slopes.chunks_exact(of_line) {
            let rows = (0..of_line).map(|i| dot(self.weight.row(i), slope));
            bench.weighted.extend(rows);
        }
        bench.held.clear();
        bench.held.resize(count, false);
        loop {
            bench.normal(count, of_line);
            let out = (1..count).find(|&k| !bench.held[k] && self.leaves(k - 1, bench));
            match out {
                Some(k) => bench.held[k] = true,
                None => return,
            }
        }
    }

    /// Whether an `Oh` at the end of its range is pushed out of it.
    fn leaves(&self, j: usize, bench: &Bench) -> bool {
        let ([low, high], at, step) = (self.ranges[j], bench.ohnesorge[j], bench.solved[1 + j]);
        (at <= low && step < 0.0) || (at >= high && step > 0.0)
    }
}

/// Where `Oh` may be: what all degrees that share it reach, or each its own.
fn ranges(degrees: &[Degree], shared: bool) -> Vec<[f64; 2]> {
    let ends = degrees.iter().map(Degree::ends);
    if !shared {
        return ends.collect();
    }
    let narrow = |[a, b]: [f64; 2], [low, high]: [f64; 2]| [a.max(low), b.min(high)];
    vec![ends.fold([0.0, f64::INFINITY], narrow)]
}

/// Room for the numbers of one iteration.
#[derive(Debug, Clone, Default)]
struct Bench {
    ohnesorge: Vec<f64>,
    /// One row of lines an unknown.
    slopes: Vec<f64>,
    weighted: Vec<f64>,
    left: Vec<f64>,
    held: Vec<bool>,
    /// Normal equations with their right side, row by row.
    equations: Vec<f64>,
    solved: Vec<f64>,
}

impl Bench {
    /// Solves the normal equations of `count` unknowns; those that are held do not move.
    fn normal(&mut self, count: usize, of_line: usize) {
        let wide = count + 1;
        self.equations.clear();
        for i in 0..count {
            let weighted = &self.weighted[i * of_line..(i + 1) * of_line];
            for j in 0..count {
                let own = if i == j { 1.0 } else { 0.0 };
                let apart = self.held[i] || self.held[j];
                let slopes = &self.slopes[j * of_line..(j + 1) * of_line];
                self.equations
                    .push(if apart { own } else { dot(weighted, slopes) });
            }
            self.equations.push(if self.held[i] {
                0.0
            } else {
                dot(weighted, &self.left)
            });
        }
        // Positive definite, so elimination needs no exchange of rows.
        let a = &mut self.equations;
        for i in 0..count {
            for j in i + 1..count {
                let factor = a[j * wide + i] / a[i * wide + i];
                for k in i..wide {
                    a[j * wide + k] -= factor * a[i * wide + k];
                }
            }
        }
        self.solved.resize(count, 0.0);
        for i in (0..count).rev() {
            let known: f64 = (i + 1..count).map(|k| a[i * wide + k] * self.solved[k]).sum();
            self.solved[i] = (a[i * wide + count] - known) / a[i * wide + i];
        }
    }
}

/// The course of a degree with the fewest points whose errors are at most `wanted`.
fn reached(degree: u32, ends: [f64; 2], best: [f64; 2], reach: [f64; 2], wanted: [f64; 2]) -> Option<Degree> {
    let close = |found: &Degree| {
        let errors = found.errors(degree, best, reach);
        errors.is_some_and(|e| e[0] <= wanted[0].max(1e-9) && e[1] <= wanted[1].max(1e-8))
    };
    let found = |points: &usize| Degree::of(degree, ends, best, reach, *points).filter(close);
    POINTS.iter().find_map(found)
}

#[cfg(test)]
mod tests;
