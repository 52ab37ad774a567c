//! What the first frames show of the scene: the light behind the bodies, its unevenness and its flicker.
//!
//! ```text
//! background(x, y) = b_0 + b_1 u + b_2 v + b_3 u^2 + b_4 u v + b_5 v^2,   u, v = place over half the size, -1 to 1
//! ```
//! Fitted to the cells of every sample frame that are light, hang together with the border of the picture and lie away
//! from all that is dark; levels are means over the sample.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `b_i` | coefficients of the smooth light | camera codes |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3, dark cells parted by \[Otsu1979\]. Finds no outline.

use crate::edge::levels::middle;
use crate::grid::{Grid, threshold};
use crate::measured::Lighting;
use crate::parts::Mask;
use tremolet_clip::frame::Plane;
use tremolet_shape::normal_equations::NormalEquations;

/// The scene that all frames share.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// How the bodies are lit.
    pub lighting: Lighting,
    /// The smooth light.
    pub background: Background,
    /// Root mean square of the background about its map, relative.
    pub roughness: f64,
    /// Standard deviation of the light from frame to frame, relative.
    pub flicker: f64,
}

/// A smooth map of the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Background {
    coefficients: [f64; 6],
    half_width: f64,
    half_height: f64,
    /// One over both, for a division at every pixel is slow.
    per_half: [f64; 2],
}

impl Background {
    /// Level at a place, camera codes.
    #[inline]
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let (u, v) = (x * self.per_half[0] - 1.0, y * self.per_half[1] - 1.0);
        let [a, b, c, d, e, f] = self.coefficients;
        a + b * u + c * v + d * u * u + e * u * v + f * v * v
    }

    /// The same level everywhere in a picture of the same size.
    pub fn flat(&self, level: f64) -> Self {
        let coefficients = [level, 0.0, 0.0, 0.0, 0.0, 0.0];
        Self {
            coefficients,
            ..*self
        }
    }

    /// Level in the middle of the picture, camera codes.
    pub fn middle(&self) -> f64 {
        self.coefficients[0]
    }

    /// Smallest and largest level over the picture.
    pub fn range(&self) -> (f64, f64) {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for i in 0..=16 {
            for j in 0..=16 {
                let v = self.at(
                    self.half_width * f64::from(i) / 8.0,
                    self.half_height * f64::from(j) / 8.0,
                );
                (low, high) = (low.min(v), high.max(v));
            }
        }
        (low, high)
    }
}

impl Scene {
    /// The scene of `samples`, at least one, all of one size; `empty` is a frame without bodies.
    ///
    /// # Panics
    /// Without samples: a bug of the caller.
    pub fn of(samples: &[&Plane], empty: Option<&Plane>) -> Self {
        let fits: Vec<Fit> = match empty {
            Some(plane) => vec![fitted(&Grid::of(plane), plane)],
            None => samples.iter().map(|p| fitted(&Grid::of(p), p)).collect(),
        };
        let count = fits.len() as f64;
        let mut background = fits[0].background;
        for (i, c) in background.coefficients.iter_mut().enumerate() {
            *c = fits.iter().map(|f| f.background.coefficients[i]).sum::<f64>() / count;
        }
        let roughness = fits.iter().map(|f| f.roughness).sum::<f64>() / count;
        let mean = background.coefficients[0];
        let spread = fits
            .iter()
            .map(|f| (f.background.coefficients[0] / mean - 1.0).powi(2));
        let clear = fits.iter().map(|f| f.clear).sum::<f64>() / count;
        let smooth = background.range().0 > 0.0 && roughness < SMOOTH && clear > CLEAR;
        Self {
            lighting: if smooth {
                Lighting::BackLit
            } else {
                Lighting::Cluttered
            },
            background,
            roughness,
            flicker: (spread.sum::<f64>() / count).sqrt(),
        }
    }
}

/// A light behind a body strays less than this from a smooth map once the bodies are left out.
const SMOOTH: f64 = 0.06;

/// And it is seen along this share of the border of the picture at least.
const CLEAR: f64 = 0.4;

struct Fit {
    background: Background,
    roughness: f64,
    /// Share of the border of the picture that shows the light.
    clear: f64,
}

/// Looks at the light that are enough: each parts bodies from light by the map that the one before found.
const LOOKS: usize = 4;
/// The light is not judged within this distance, px, of what is dark: blur reaches so far.
const BLURRED: f64 = tremolet_optics::edge_limit::MAP_CLEAR_PX;
/// Fewer cells than this share of the picture do not tell the light.
const LEAST: f64 = 0.03;

fn fitted(grid: &Grid, plane: &Plane) -> Fit {
    let half = |side: usize| ((side as f64 - 1.0) / 2.0).max(0.5);
    let (half_width, half_height) = (half(plane.width), half(plane.height));
    let flat = Background {
        coefficients: [1.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        half_width,
        half_height,
        per_half: [half_width.recip(), half_height.recip()],
    };
    let (mut before, mut found) = (flat, None);
    for _ in 0..LOOKS {
        let open = open_light(grid, &before);
        let count = open.iter().filter(|o| **o).count() as f64;
        if count < LEAST * open.len() as f64 {
            break;
        }
        let fit = found.insert(settled(grid, before, open));
        if fit.background == before {
            break;
        }
        before = fit.background;
    }
    let mut fit = found.unwrap_or_else(|| settled(grid, flat, vec![true; grid.values.len()]));
    fit.clear = clear(grid, &fit.background);
    fit
}

/// The share of the cells along the border of the picture that stray little from the map.
fn clear(grid: &Grid, background: &Background) -> f64 {
    let ratio = ratios(grid, background);
    let (right, bottom) = (grid.width - 1, grid.height - 1);
    let at_border = |c: &usize| {
        let (i, j) = (c % grid.width, c / grid.width);
        i == 0 || j == 0 || i == right || j == bottom
    };
    let border: Vec<usize> = (0..ratio.len()).filter(at_border).collect();
    let plain = border
        .iter()
        .filter(|c| f64::from(ratio[**c] - 1.0).abs() < SMOOTH)
        .count();
    plain as f64 / border.len().max(1) as f64
}

/// Level of every cell over the map.
fn ratios(grid: &Grid, background: &Background) -> Vec<f32> {
    let one = |cell: usize| {
        let (x, y) = grid.place(cell % grid.width, cell / grid.width);
        grid.values[cell] / background.at(x, y).max(1e-9) as f32
    };
    (0..grid.values.len()).map(one).collect()
}

/// The cells of light that hang together with the border of the picture, a little way from all that is dark.
///
/// What a body lets through in its middle is light too, and the blurred edge of a body is no light: both would bend the
/// map where a body leaves little else to see.
fn open_light(grid: &Grid, background: &Background) -> Vec<bool> {
    let ratio = ratios(grid, background);
    let split = threshold(&ratio).map_or(f32::NEG_INFINITY, |t| t.0);
    let lit = Mask {
        width: grid.width,
        height: grid.height,
        cells: ratio.iter().map(|v| *v >= split).collect(),
    };
    let reached = lit.reached_from_border();
    let far = (BLURRED / grid.size as f64).max(1.0) as f32;
    let away = lit.distance(&|c| !lit.cells[c]);
    (0..ratio.len()).map(|c| reached[c] && away[c] >= far).collect()
}

/// Fits the light to the cells of `keep`, again and again without those that stray.
fn settled(grid: &Grid, start: Background, keep: Vec<bool>) -> Fit {
    let mut background = start;
    let (mut kept, mut roughness) = (keep.clone(), 0.0);
    for _ in 0..6 {
        let mut sums = NormalEquations::new(6);
        for (cell, _) in kept.iter().enumerate().filter(|(_, k)| **k) {
            let (x, y) = grid.place(cell % grid.width, cell / grid.width);
            let (u, v) = (x / background.half_width - 1.0, y / background.half_height - 1.0);
            sums.add(
                &[1.0, u, v, u * u, u * v, v * v],
                1.0,
                f64::from(grid.values[cell]),
            );
        }
        match sums.factored() {
            Some(fit) => background.coefficients.copy_from_slice(&fit.solution(6)),
            None => break,
        }
        let ratio = |cell: usize| {
            let (x, y) = grid.place(cell % grid.width, cell / grid.width);
            f64::from(grid.values[cell]) / background.at(x, y).max(1e-9) - 1.0
        };
        let strays: Vec<f64> = (0..keep.len())
            .map(|cell| {
                if keep[cell] {
                    ratio(cell).abs()
                } else {
                    f64::INFINITY
                }
            })
            .collect();
        let those = (0..kept.len()).filter(|c| kept[*c]).map(|c| strays[c]);
        roughness = 1.4826 * middle(those.collect()).unwrap_or(0.0);
        let bar = (4.0 * roughness).max(0.005);
        let now: Vec<bool> = strays.iter().map(|stray| *stray < bar).collect();
        if now == kept || !now.contains(&true) {
            break;
        }
        kept = now;
    }
    Fit {
        background,
        roughness,
        clear: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIDE: usize = 256;

    fn light(x: f64, y: f64) -> f64 {
        let (u, v) = (x / 127.5 - 1.0, y / 127.5 - 1.0);
        200.0 * (1.0 - 0.14 * (u * u + v * v) + 0.1 * u - 0.06 * v)
    }

    /// A dark disc with a bright middle before uneven light, a wire 3 px wide from it to the border, its edge 2 px soft.
    fn plane(radius: f64) -> Plane {
        let levels = (0..SIDE * SIDE).map(|i| {
            let (x, y) = ((i % SIDE) as f64, (i / SIDE) as f64);
            let r = (x - 126.0).hypot(y - 129.0);
            let through = 0.2 + 0.6 * (-(r / (0.35 * radius)).powi(4)).exp();
            let cover = 1.0 / (1.0 + ((r - radius) / 1.2).exp());
            let wire = if (x - 60.0).abs() < 1.5 && y < 129.0 {
                0.2
            } else {
                1.0
            };
            (light(x, y) * (1.0 - cover * (1.0 - through)) * wire * 256.0) as u16
        });
        Plane::sixteen(SIDE, SIDE, levels.collect())
    }

    #[test]
    fn the_light_is_found_around_a_body_that_leaves_little_of_it() {
        for radius in [40.0, 100.0, 118.0] {
            let plane = plane(radius);
            let scene = Scene::of(&[&plane], None);
            assert_eq!(scene.lighting, Lighting::BackLit, "{radius} px");
            for (x, y) in [
                (126.0, 129.0 - radius),
                (126.0 + radius, 129.0),
                (8.0, 8.0),
                (250.0, 240.0),
            ] {
                let off = scene.background.at(x, y) / 256.0 / light(x, y) - 1.0;
                assert!(off.abs() < 1e-3, "{radius} px: off by {off} at {x}, {y}");
            }
        }
    }

    #[test]
    fn light_that_hardly_shows_along_the_border_is_clutter() {
        let levels = (0..SIDE * SIDE).map(|i| {
            let (x, y) = ((i % SIDE) as f64, (i / SIDE) as f64);
            let patch = (x / 23.0).sin() + (y / 31.0).sin() * (x / 47.0).cos();
            (120.0 + 30.0 * patch) as u8
        });
        let plane = Plane::eight(SIDE, SIDE, levels.collect());
        assert_eq!(Scene::of(&[&plane], None).lighting, Lighting::Cluttered);
    }
}
