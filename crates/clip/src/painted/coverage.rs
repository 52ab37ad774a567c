//! How much of each pixel a filled loop covers after the lens has blurred it, exactly.
//!
//! A pixel at `(X, Y)` sees the filled region through `k(x - X) k(y - Y)`, `k` being the Gaussian of the lens folded with
//! the pixel's own unit square. With `S` the running integral of `k`, the theorem of Green turns the integral over the
//! region into one along its edge:
//!
//! `c(X, Y) = loop integral of S(x - X) k(y - Y) dy`
//!
//! Along a smooth loop the trapezoid rule converges faster than any power of the spacing over the blur, so points
//! four fifths of a blur apart give six digits; necks, thin sheets and holes need no special care. Only pixels within reach of an
//! edge point are touched; all to its left get the same share, gathered by one running sum over each row.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `k` | blurred pixel, integrates to 1 | 1/px |
//! | `S` | `integral of k from -inf`, 0 to 1 | 1 |

use std::ops::Range;

use crate::painted::outline::Ring;

/// `k` and `S` on a fine table.
#[derive(Debug, Clone)]
pub struct Kernel {
    blur: f64,
    reach: f64,
    density: Vec<f64>,
    running: Vec<f64>,
}

/// Table steps for each px.
const STEPS: f64 = 512.0;

impl Kernel {
    /// The kernel of a Gaussian of standard deviation `blur` px over square pixels.
    pub fn new(blur: f64) -> Self {
        let reach = 5.0 * blur + 0.5;
        let count = (2.0 * reach * STEPS).ceil() as usize + 2;
        let at = |i: usize| i as f64 / STEPS - reach;
        // Phi by Simpson's rule, step by step; then k(u) = Phi(u + 1/2) - Phi(u - 1/2).
        let gauss = |u: f64| (-0.5 * (u / blur).powi(2)).exp() / (blur * std::f64::consts::TAU.sqrt());
        let half = (STEPS / 2.0) as usize;
        let h = 1.0 / STEPS;
        let mut phi = vec![0.0; count + 2 * half];
        for i in 1..phi.len() {
            let u = at(i - 1) - 0.5;
            phi[i] = phi[i - 1] + h / 6.0 * (gauss(u) + 4.0 * gauss(u + 0.5 * h) + gauss(u + h));
        }
        let density: Vec<f64> = (0..count).map(|i| phi[i + 2 * half] - phi[i]).collect();
        let mut running = vec![0.0; count];
        for i in 1..count {
            // The trapezoid rule with its end correction -h^2/12 (k' - k'), k' = gauss(u + 1/2) - gauss(u - 1/2).
            let slope = |u: f64| gauss(u + 0.5) - gauss(u - 0.5);
            let bend = h * h / 12.0 * (slope(at(i)) - slope(at(i - 1)));
            running[i] = running[i - 1] + 0.5 * h * (density[i] + density[i - 1]) - bend;
        }
        Self {
            blur,
            reach,
            density,
            running,
        }
    }

    /// The spacing of edge points that gives about six digits, px.
    pub fn spacing(&self) -> f64 {
        0.8 * self.blur
    }

    /// Standard deviation of the Gaussian, px.
    pub fn blur(&self) -> f64 {
        self.blur
    }

    /// `k(u)`, 1/px.
    #[inline]
    fn density_at(&self, u: f64) -> f64 {
        look_up(&self.density, (u + self.reach) * STEPS)
    }

    /// `S(u)`, 0 to 1.
    #[inline]
    fn running_to(&self, u: f64) -> f64 {
        look_up(&self.running, (u + self.reach) * STEPS)
    }
}

/// The entry at `place`, by a straight line between neighbours, held at the ends.
#[inline]
fn look_up(table: &[f64], place: f64) -> f64 {
    if place <= 0.0 {
        return table[0];
    }
    let i = place as usize;
    match table.get(i + 1) {
        Some(next) => table[i] + (place - i as f64) * (next - table[i]),
        None => table[table.len() - 1],
    }
}

/// A plane that gathers coverage; used again from frame to frame.
#[derive(Debug, Clone)]
pub struct Coverage {
    width: usize,
    height: usize,
    /// For each row what the running sum from the right gains at each pixel; the last entry is all that lies beyond.
    gains: Vec<f64>,
    cover: Vec<f32>,
    rows: [usize; 2],
    /// Rows that are looked at: from, until.
    window: [usize; 2],
}

impl Coverage {
    /// An empty plane.
    pub fn new(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            gains: vec![0.0; (width + 1) * height],
            cover: vec![0.0; width * height],
            rows: [height, 0],
            window: [0, height],
        }
    }

    /// From now on only these rows are filled.
    pub fn look_at(&mut self, rows: &Range<usize>) {
        self.window = [rows.start, rows.end.min(self.height)];
    }

    /// Wipes the plane and fills it with the rings, each with its weight, whatever sense it turns in.
    pub fn fill(&mut self, rings: &[(f64, Ring)], kernel: &Kernel) {
        self.wipe();
        for (weight, ring) in rings {
            let weight = weight * ring.area().signum();
            for point in &ring.points {
                self.stroke(*point, weight, kernel);
            }
        }
        for row in self.rows[0]..self.rows[1] {
            let gains = &self.gains[row * (self.width + 1)..][..self.width + 1];
            let cover = &mut self.cover[row * self.width..][..self.width];
            let mut sum = gains[self.width];
            for (share, gain) in cover.iter_mut().zip(gains).rev() {
                sum += gain;
                *share = sum as f32;
            }
        }
    }

    /// The rows that anything covers.
    pub fn rows(&self) -> Range<usize> {
        self.rows[0]..self.rows[1].max(self.rows[0])
    }

    /// The shares of row `y`, 0 to 1 for one ring of weight 1.
    pub fn row(&self, y: usize) -> &[f32] {
        &self.cover[y * self.width..][..self.width]
    }

    fn wipe(&mut self) {
        for row in self.rows() {
            self.gains[row * (self.width + 1)..][..self.width + 1].fill(0.0);
            self.cover[row * self.width..][..self.width].fill(0.0);
        }
        self.rows = [self.height, 0];
    }

    /// Adds one point of an edge: `S(x - X) k(y - Y) dy` for all pixels `(X, Y)`.
    fn stroke(&mut self, [x, y, dy]: [f64; 3], weight: f64, kernel: &Kernel) {
        let Some((top, bottom)) = within(y, kernel.reach, self.window) else {
            return;
        };
        if x < -kernel.reach {
            return;
        }
        // Gains of the running sum, the same for every row; left of `first` nothing is gained, S being 1 there.
        let mut columns = [0.0; MOST];
        let first = (x - kernel.reach).floor().clamp(0.0, self.width as f64) as usize;
        let last = (x + kernel.reach).ceil().clamp(0.0, self.width as f64) as usize;
        let mut right = kernel.running_to(x - last as f64);
        columns[last - first] = right;
        for column in (first..last).rev() {
            let here = kernel.running_to(x - column as f64);
            columns[column - first] = here - right;
            right = here;
        }
        for row in top..=bottom {
            let share = weight * dy * kernel.density_at(y - row as f64);
            let gains = &mut self.gains[row * (self.width + 1) + first..][..=last - first];
            for (gain, column) in gains.iter_mut().zip(&columns) {
                *gain += share * column;
            }
        }
        self.rows = [self.rows[0].min(top), self.rows[1].max(bottom + 1)];
    }
}

/// Most columns that one edge point reaches, which bounds the blur.
const MOST: usize = 130;

/// The largest blur that can be painted, px.
pub const LARGEST_BLUR: f64 = 12.0;

fn within(place: f64, reach: f64, [from, until]: [usize; 2]) -> Option<(usize, usize)> {
    let (low, high) = (
        (place - reach).ceil().max(from as f64),
        (place + reach).floor().min(until as f64 - 1.0),
    );
    (low <= high).then_some((low as usize, high as usize))
}

#[cfg(test)]
mod tests {
    use super::*;

    // The shares of a circle of radius 5 add up to its area, pi 25, and do not depend on the sense in which it is drawn.
    #[test]
    fn a_ring_covers_the_same_whichever_way_it_turns() {
        let kernel = Kernel::new(0.8);
        let there = Ring::circle([10.3, 9.6], 5.0, kernel.spacing());
        let back = Ring {
            points: there
                .points
                .iter()
                .rev()
                .map(|[x, y, dy]| [*x, *y, -dy])
                .collect(),
        };
        for ring in [there, back] {
            let mut cover = Coverage::new(20, 20);
            cover.fill(&[(1.0, ring)], &kernel);
            let sum: f64 = cover
                .rows()
                .flat_map(|y| cover.row(y).to_vec())
                .map(f64::from)
                .sum();
            assert!((sum - 25.0 * std::f64::consts::PI).abs() < 1e-3, "{sum}");
        }
    }
}
