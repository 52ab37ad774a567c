//! A frame at reduced resolution: means over square cells, and the threshold between two kinds of level.
//!
//! ```text
//! between(t) = w_0 w_1 (m_0 - m_1)^2      largest at the threshold t
//! ```
//! | symbol | meaning |
//! |---|---|
//! | `w_i`, `m_i` | share and mean of the values below and above `t` |
//!
//! Source: \[Otsu1979\]. Cell `(i, j)` covers pixels `i * size .. (i + 1) * size`; what does not fill a cell is left out.

use tremolet_clip::frame::{Levels, Plane};

/// Means over square cells, row by row from the top.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Cells in a row.
    pub width: usize,
    /// Rows of cells.
    pub height: usize,
    /// Pixels along the side of a cell.
    pub size: usize,
    /// The means.
    pub values: Vec<f32>,
}

impl Grid {
    /// The side of a cell for a picture: about 128 cells along the shorter side.
    pub fn size_for(plane: &Plane) -> usize {
        (plane.width.min(plane.height) / 128).max(1)
    }

    /// Means of `plane` over cells of the usual size.
    pub fn of(plane: &Plane) -> Self {
        Self::with(plane, Self::size_for(plane))
    }

    /// Means of `plane` over cells of `size` pixels, at least one.
    pub fn with(plane: &Plane, size: usize) -> Self {
        let size = size.max(1);
        let (width, height) = (plane.width / size, plane.height / size);
        let values = match &plane.levels {
            Levels::Eight(levels) => means(levels, plane.width, width, height, size),
            Levels::Sixteen(levels) => means(levels, plane.width, width, height, size),
        };
        Self {
            width,
            height,
            size,
            values,
        }
    }

    /// Middle of the cell in pixels.
    pub fn place(&self, i: usize, j: usize) -> (f64, f64) {
        let half = (self.size as f64 - 1.0) / 2.0;
        ((i * self.size) as f64 + half, (j * self.size) as f64 + half)
    }
}

fn means<T: Copy + Into<u32>>(
    levels: &[T],
    stride: usize,
    width: usize,
    height: usize,
    size: usize,
) -> Vec<f32> {
    let mut values = Vec::with_capacity(width * height);
    let mut sums = vec![0u32; width];
    for j in 0..height {
        sums.fill(0);
        for y in j * size..(j + 1) * size {
            let row = &levels[y * stride..y * stride + width * size];
            for (sum, cell) in sums.iter_mut().zip(row.chunks_exact(size)) {
                *sum += cell.iter().map(|v| (*v).into()).sum::<u32>();
            }
        }
        values.extend(sums.iter().map(|s| *s as f32 / (size * size) as f32));
    }
    values
}

/// The threshold that parts `values` best, with the means below and above; `None` when all are equal.
pub fn threshold(values: &[f32]) -> Option<(f32, f32, f32)> {
    const BINS: usize = 256;
    let low = values.iter().copied().fold(f32::INFINITY, f32::min);
    let high = values.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    if high.is_nan() || high <= low || !(high - low).is_finite() {
        return None;
    }
    let mut counts = [0.0_f64; BINS];
    for v in values {
        counts[(((v - low) / (high - low) * BINS as f32) as usize).min(BINS - 1)] += 1.0;
    }
    let all: f64 = counts.iter().sum();
    let total: f64 = counts.iter().enumerate().map(|(i, c)| i as f64 * c).sum();
    let (mut below, mut sum, mut best) = (0.0, 0.0, (-1.0, 0, 0.0, 0.0));
    for (i, count) in counts.iter().enumerate().take(BINS - 1) {
        below += count;
        sum += i as f64 * count;
        if below == 0.0 || below == all {
            continue;
        }
        let (m0, m1) = (sum / below, (total - sum) / (all - below));
        let between = below * (all - below) * (m0 - m1) * (m0 - m1);
        if between > best.0 {
            best = (between, i, m0, m1);
        }
    }
    let level = |bin: f64| low + (bin as f32 + 0.5) / BINS as f32 * (high - low);
    Some((level(best.1 as f64 + 0.5), level(best.2), level(best.3)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_means_and_the_rest_is_left_out() {
        let levels = (0..258 * 260).map(|i| ((i % 258) % 2 * 10) as u8).collect();
        let grid = Grid::of(&Plane::eight(258, 260, levels));
        assert_eq!((grid.width, grid.height, grid.size), (129, 130, 2));
        assert!(grid.values.iter().all(|v| *v == 5.0));
        assert_eq!(grid.place(1, 0), (2.5, 0.5));
    }

    #[test]
    fn two_levels_are_parted_between_them() {
        let values: Vec<f32> = (0..100)
            .map(|i| if i < 30 { 10.0 } else { 50.0 } + (i % 5) as f32)
            .collect();
        let (t, dark, light) = threshold(&values).expect("two levels");
        assert!(t > 14.0 && t < 50.0 && (dark - 12.0).abs() < 0.3 && (light - 52.0).abs() < 0.3);
        assert_eq!(threshold(&[3.0; 9]), None);
        assert_eq!(threshold(&[]), None);
    }
}
