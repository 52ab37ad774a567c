//! Propagation of distributions by trials, as many as the wanted tolerance asks for.
//!
//! ```text
//! y_r = f(x_r),  r = 1..M;    y = mean,  u = standard deviation,  [y_low, y_high] = quantiles (1 - p)/2 and (1 + p)/2
//! block by block until 2 s <= tolerance for mean, u, y_low, y_high, each with s its standard deviation over blocks / sqrt(h)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `y` | inputs and results of a trial | any |
//! | `M`, `h` | trials of a block, blocks | 1 |
//! | `p` | coverage probability | 1 |
//!
//! Block `k` draws from stream `k` of the seed, so the result depends on the seed alone. Source: \[JCGM101\] sections 7.3 to 7.7
//! and 7.9 (adaptive procedure), numbers from memory. The interval is the one with equal tails. Knows no distribution by itself: the
//! model draws what it needs.

use crate::random::Generator;

/// Trials of a block, the least that the source allows for a coverage of 95 %.
pub const BLOCK: usize = 10_000;
/// Blocks before anything is decided: a scatter of fewer says little.
const FEWEST: usize = 4;

/// What trials gave for one result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub standard_deviation: f64,
    /// Ends of the coverage interval with equal tails.
    pub interval: [f64; 2],
    /// Standard deviation of the two ends, over the blocks.
    pub u_interval: [f64; 2],
    /// Trials in all.
    pub trials: usize,
    /// Whether the tolerance was reached.
    pub settled: bool,
}

/// How trials are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plan {
    /// Seed of all streams.
    pub seed: u64,
    /// Coverage probability of the intervals.
    pub coverage: f64,
    /// Blocks after which it ends, reached or not.
    pub most_blocks: usize,
}

/// Results of one quantity, block by block.
#[derive(Default)]
struct Gathered {
    all: Vec<f64>,
    /// Mean, standard deviation, low and high end of each block.
    blocks: Vec<[f64; 4]>,
}

impl Gathered {
    fn close(&mut self, coverage: f64) {
        let mut block = self.all[self.all.len() - BLOCK..].to_vec();
        let (mean, deviation) = moments(&block);
        let [low, high] = ends(&mut block, coverage);
        self.blocks.push([mean, deviation, low, high]);
    }

    /// Standard deviations of the means over blocks of the four numbers.
    fn doubts(&self) -> [f64; 4] {
        let count = self.blocks.len() as f64;
        [0, 1, 2, 3].map(|k| {
            let column: Vec<f64> = self.blocks.iter().map(|block| block[k]).collect();
            moments(&column).1 / count.sqrt()
        })
    }

    fn settled(&self, tolerance: f64) -> bool {
        self.doubts().iter().all(|s| 2.0 * s <= tolerance)
    }

    fn spread(mut self, coverage: f64, tolerance: f64) -> Spread {
        let (mean, standard_deviation) = moments(&self.all);
        let [_, _, low, high] = self.doubts();
        Spread {
            mean,
            standard_deviation,
            settled: self.settled(tolerance),
            trials: self.all.len(),
            interval: ends(&mut self.all, coverage),
            u_interval: [low, high],
        }
    }
}

/// Draws until every result is known to its tolerance, or `enough` says so, or the plan ends.
///
/// `model` fills the results of one trial; `tolerances` has one number for each of them, in its unit. `enough` sees the mean ends of the
/// intervals so far with their standard deviations, one `([low, high], [s_low, s_high])` a result, and may stop before.
///
/// ```
/// use tremolet_numerics::monte_carlo::{Plan, propagate};
/// let plan = Plan { seed: 1, coverage: 0.95, most_blocks: 100 };
/// let cube = propagate(&plan, &[0.02], |_| false, |g, y| y[0] = (2.0 + 0.1 * g.normal()).powi(3));
/// assert!((cube[0].interval[1] - (2.0_f64 + 0.196).powi(3)).abs() < 0.05);
/// ```
pub fn propagate(
    plan: &Plan,
    tolerances: &[f64],
    enough: impl Fn(&[([f64; 2], [f64; 2])]) -> bool,
    mut model: impl FnMut(&mut Generator, &mut [f64]),
) -> Vec<Spread> {
    let mut gathered: Vec<Gathered> = tolerances.iter().map(|_| Gathered::default()).collect();
    let mut trial = vec![0.0; tolerances.len()];
    for block in 0..plan.most_blocks.max(FEWEST) {
        let mut generator = Generator::stream(plan.seed, block as u64);
        for _ in 0..BLOCK {
            model(&mut generator, &mut trial);
            gathered.iter_mut().zip(&trial).for_each(|(g, y)| g.all.push(*y));
        }
        gathered.iter_mut().for_each(|g| g.close(plan.coverage));
        let settled = gathered.iter().zip(tolerances).all(|(g, t)| g.settled(*t));
        if block + 1 >= FEWEST && (settled || enough(&so_far(&gathered))) {
            break;
        }
    }
    let pairs = gathered.into_iter().zip(tolerances);
    pairs.map(|(g, t)| g.spread(plan.coverage, *t)).collect()
}

fn so_far(gathered: &[Gathered]) -> Vec<([f64; 2], [f64; 2])> {
    let one = |g: &Gathered| {
        let mean = |k: usize| g.blocks.iter().map(|block| block[k]).sum::<f64>() / g.blocks.len() as f64;
        let [_, _, low, high] = g.doubts();
        ([mean(2), mean(3)], [low, high])
    };
    gathered.iter().map(one).collect()
}

fn moments(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|y| (y - mean).powi(2)).sum();
    (mean, (squares / (count - 1.0)).sqrt())
}

/// Ends with equal tails: the q = p M values between them are the middle ones.
fn ends(values: &mut [f64], coverage: f64) -> [f64; 2] {
    let inside = (coverage * values.len() as f64 + 0.5).floor() as usize;
    let low = ((values.len() - inside) / 2).max(1) - 1;
    let high = (low + inside).min(values.len() - 1);
    [low, high].map(|place| *values.select_nth_unstable_by(place, f64::total_cmp).1)
}

#[cfg(test)]
mod tests;
