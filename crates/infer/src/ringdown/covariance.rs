//! Joint covariance of the modes: samples that degrees share, and lines that one degree takes from another.
//!
//! ```text
//! cov(p_a, p_b) = sum_t h_a(t) rho_ab(t) h_b(t),     h = sqrt(r) C J^T,     h_a += (dp_a/dq) h_q
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `p` | angular frequency or decay rate of a mode | rad/s, 1/s |
//! | `q` | the same of another degree's line that leaks into the fit, or has a product there | rad/s, 1/s |
//! | `r` | noise at the line over the stated noise, at least 1 | 1 |
//! | `rho_ab` | correlation of the amplitudes of two degrees in one sample | 1 |
//! | `C`, `J` | covariance and whitened Jacobian of the fit of a degree | |
//!
//! Source: \[JCGM100\] section 5.2 for correlated inputs. What an owner's line itself took from others is not passed on twice.

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_record::series::ModeSample;

use crate::ringdown::result::Mode;

/// A mode, where it lies, and how its two numbers answer to each free sample and to other lines.
pub struct Found {
    /// The mode; its uncertainties are first those of its own fit.
    pub mode: Mode,
    /// Place of its degree in the samples.
    pub place: usize,
    /// Its place among all lines found.
    pub candidate: usize,
    /// Answers of angular frequency and decay rate to the free samples.
    pub influence: [Vec<f64>; 2],
    /// Covariance of angular frequency and decay rate.
    pub between: f64,
    /// For each line taken from elsewhere, how frequency and decay answer to its frequency and decay.
    pub passed: Vec<(usize, [[f64; 2]; 2])>,
}

impl Found {
    /// Covariance of its own fit.
    fn stated(&self) -> [[f64; 2]; 2] {
        let (w, g) = (self.mode.u_angular_frequency, self.mode.u_decay_rate);
        [[w * w, self.between], [self.between, g * g]]
    }

    /// Answers to the samples of each degree: its own, and those by way of other lines.
    fn ways(&self, number: usize, all: &[Found]) -> Vec<(usize, Vec<f64>)> {
        let mut ways = vec![(self.place, self.influence[number].clone())];
        for (owner, answer) in self.owners(all) {
            let pairs = owner.influence[0].iter().zip(&owner.influence[1]);
            let [by_w, by_g] = answer[number];
            ways.push((owner.place, pairs.map(|(w, g)| by_w * w + by_g * g).collect()));
        }
        ways
    }

    fn owners<'a>(&'a self, all: &'a [Found]) -> impl Iterator<Item = (&'a Found, [[f64; 2]; 2])> {
        self.passed.iter().filter_map(|(owner, answer)| {
            let found = all.iter().find(|f| f.candidate == *owner)?;
            Some((found, *answer))
        })
    }
}

/// Joint covariance of `[w_1, g_1, w_2, g_2, ...]`, row by row; the diagonal, which the modes get too, includes what other
/// lines pass on.
pub fn covariance(found: &mut [Found], free: &[&ModeSample]) -> Vec<f64> {
    let n = 2 * found.len();
    let ways: Vec<Vec<(usize, Vec<f64>)>> = (0..n).map(|a| found[a / 2].ways(a % 2, found)).collect();
    let mut all = Matrix::zeros(n, n);
    for a in 0..n {
        for b in 0..=a {
            all[(a, b)] = shared(&ways[a], &ways[b], free);
            all[(b, a)] = all[(a, b)];
        }
    }
    // The samples alone do not say what the prior of k leaves open, neither of a mode nor of the lines it took.
    let blocks: Vec<[[f64; 2]; 2]> = (0..found.len())
        .map(|i| block(i, found, |a, b| all[(2 * i + a, 2 * i + b)]))
        .collect();
    for (i, block) in blocks.iter().enumerate() {
        for (a, b) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            all[(2 * i + a, 2 * i + b)] = block[a][b];
        }
        found[i].mode.u_angular_frequency = block[0][0].sqrt();
        found[i].mode.u_decay_rate = block[1][1].sqrt();
    }
    all.data().to_vec()
}

/// Covariance of the two numbers of one mode; `whole` is that by all ways from the samples.
fn block(i: usize, found: &[Found], whole: impl Fn(usize, usize) -> f64) -> [[f64; 2]; 2] {
    let own = &found[i];
    let mut sum = own.stated();
    for a in 0..2 {
        for b in 0..2 {
            sum[a][b] += whole(a, b) - dot(&own.influence[a], &own.influence[b]);
            for (owner, answer) in own.owners(found) {
                let stated = owner.stated();
                let left = |c: usize, d: usize| stated[c][d] - dot(&owner.influence[c], &owner.influence[d]);
                for (c, d) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                    sum[a][b] += answer[a][c] * left(c, d) * answer[b][d];
                }
            }
        }
    }
    // Samples of two degrees that err against each other may take away, but never more than there is.
    let least = own.stated();
    if sum[0][0] <= 0.0 || sum[1][1] <= 0.0 || sum[0][1].powi(2) >= sum[0][0] * sum[1][1] {
        return least;
    }
    sum
}

/// Covariance of two numbers by the samples that they share.
fn shared(x: &[(usize, Vec<f64>)], y: &[(usize, Vec<f64>)], free: &[&ModeSample]) -> f64 {
    let mut sum = 0.0;
    for (place_x, h) in x {
        for (place_y, k) in y {
            let terms = h.iter().zip(k).zip(free);
            sum += terms
                .map(|((h, k), s)| h * k * correlation(s, *place_x, *place_y))
                .sum::<f64>();
        }
    }
    sum
}

fn correlation(sample: &ModeSample, i: usize, j: usize) -> f64 {
    if i == j {
        return 1.0;
    }
    let (low, high) = (i.min(j), i.max(j));
    let product = sample.variance(i) * sample.variance(j);
    if product > 0.0 {
        (sample.covariance[high * (high + 1) / 2 + low] / product.sqrt()).clamp(-1.0, 1.0)
    } else {
        0.0
    }
}
