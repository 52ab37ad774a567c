//! The blur of the lens, a Gaussian, and the mean over each pixel, from the light of quarters of pixels.
//!
//! ```text
//! pixel = sum over half pixels at d = +-1/4, +-3/4, ... of  w(d) light,     w(d) = [g(d - 1/4) + g(d + 1/4)] / sum,  g = exp(-d^2 / 2 s^2)
//! ```
//! Along rows, then along columns, up to 4 s. Beyond the border the outermost light goes on.

use rayon::prelude::*;

/// The light of pixels from that of their quarters (`2 width` in a row), blurred by a Gaussian of `sigma` px; 0 is no blur.
#[must_use]
pub fn blurred(quarters: &[f32], width: usize, sigma: f64) -> Vec<f32> {
    let weights = weights(sigma);
    let reach = weights.len() / 2;
    let rows = quarters.len() / (2 * width);
    let mut across = vec![0.0; width * rows];
    across
        .par_chunks_mut(width)
        .zip(quarters.par_chunks(2 * width))
        .for_each_init(
            || [Vec::new(), Vec::new()],
            |sides, (row, from)| along_row(row, from, &weights, sides),
        );
    let mut done = vec![0.0; width * rows / 2];
    done.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        let from = |k: usize| {
            let line = (2 * y + 1 + k).saturating_sub(reach).min(rows - 1);
            &across[line * width..][..width]
        };
        weigh(row, &weights, from);
    });
    done
}

/// One row: left and right halves of pixels apart, so that neighbours in memory are neighbours in the sum.
fn along_row(row: &mut [f32], from: &[f32], weights: &[f32], sides: &mut [Vec<f32>; 2]) {
    let reach = weights.len() / 2;
    let spare = reach.div_ceil(2);
    for (side, halves) in sides.iter_mut().enumerate() {
        halves.clear();
        halves.resize(spare, from[0]);
        halves.extend(from.iter().skip(side).step_by(2));
        halves.resize(row.len() + 2 * spare, from[from.len() - 1]);
    }
    let width = row.len();
    weigh(row, weights, |k| {
        // Half pixel 2 x + 1 + k - reach, from 2 spare before the first.
        let place = 2 * spare + 1 + k - reach;
        &sides[place % 2][place / 2..][..width]
    });
}

/// Numbers that are summed side by side.
const LANES: usize = 16;

/// Sums lines with their weights into a row, a few pixels at a time so that sums stay in registers.
fn weigh<'a>(row: &mut [f32], weights: &[f32], line: impl Fn(usize) -> &'a [f32]) {
    let lines: Vec<(f32, &[f32])> = weights
        .iter()
        .enumerate()
        .map(|(k, weight)| (*weight, line(k)))
        .collect();
    for (first, sums) in row
        .chunks_mut(LANES)
        .enumerate()
        .map(|(k, sums)| (k * LANES, sums))
    {
        let mut sum = [0.0_f32; LANES];
        for (weight, line) in &lines {
            match line.get(first..first + LANES) {
                Some(light) => sum
                    .iter_mut()
                    .zip(light)
                    .for_each(|(sum, light)| *sum += weight * light),
                None => sum
                    .iter_mut()
                    .zip(&line[first..])
                    .for_each(|(sum, light)| *sum += weight * light),
            }
        }
        sums.copy_from_slice(&sum[..sums.len()]);
    }
}

/// Weights of an even number of half pixels about the middle of a pixel.
fn weights(sigma: f64) -> Vec<f32> {
    if sigma == 0.0 {
        return vec![0.5; 2];
    }
    let reach = (2.0 * 4.0 * sigma + 1.0).ceil() as i32;
    let gauss = |d: f64| (-0.5 * (d / sigma).powi(2)).exp();
    let at = |k: i32| {
        let d = 0.5 * f64::from(k) + 0.25;
        gauss(d - 0.25) + gauss(d + 0.25)
    };
    let sum: f64 = (-reach..reach).map(at).sum();
    (-reach..reach).map(|k| (at(k) / sum) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // A spot of a quarter of a pixel keeps its light and its place; its mean square is that of the Gaussian, of the pixel (1/12) less that of the
    // quarter's own samples, which stand for points.
    #[test]
    fn a_spot_spreads_by_the_gaussian_and_the_pixel() {
        let (width, sigma) = (41, 1.4);
        for (column, row) in [(40, 32), (41, 33)] {
            let mut light = vec![0.0; 2 * width * 66];
            light[row * 2 * width + column] = 4.0;
            let found = blurred(&light, width, sigma);
            let (x0, y0) = (0.5 * column as f64 - 0.25, 0.5 * row as f64 - 0.25);
            let moment = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
                let value = |(k, light): (usize, &f32)| {
                    f((k % width) as f64 - x0, (k / width) as f64 - y0) * f64::from(*light)
                };
                found.iter().enumerate().map(value).sum()
            };
            assert!((moment(&|_, _| 1.0) - 1.0).abs() < 1e-5);
            assert!(moment(&|x, _| x).abs() < 1e-3 && moment(&|_, y| y).abs() < 1e-3);
            let due = sigma * sigma + 1.0 / 16.0;
            assert!((moment(&|x, _| x * x) - due).abs() < 1e-3);
            assert!((moment(&|_, y| y * y) - due).abs() < 1e-3);
        }
    }

    #[test]
    fn an_even_picture_stays_even_to_its_border() {
        for sigma in [0.0, 0.5, 2.0] {
            let found = blurred(&[0.7; 30 * 18], 15, sigma);
            assert_eq!(found.len(), 15 * 9);
            assert!(found.iter().all(|light| (light - 0.7).abs() < 1e-5));
        }
    }

    #[test]
    fn without_blur_a_pixel_is_the_mean_of_its_quarters() {
        let quarters: Vec<f32> = (0..4 * 3 * 2).map(|k| (k * k) as f32).collect();
        let found = blurred(&quarters, 3, 0.0);
        for (y, x) in [(0, 0), (0, 2), (1, 1)] {
            let at = |j: usize, i: usize| quarters[(2 * y + j) * 6 + 2 * x + i];
            assert_eq!(
                found[3 * y + x],
                0.25 * (at(0, 0) + at(0, 1) + at(1, 0) + at(1, 1))
            );
        }
    }
}
