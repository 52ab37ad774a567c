//! The light of every quarter of a pixel: the mean over its square, finer where the picture is not smooth.
//!
//! Rays go through the corners of pixels, which neighbours share. A square whose corners meet the same surface and agree in their light
//! takes what lies between them; another is cut into four, down to an eighth of a pixel. A quarter that an outline crosses is shared between inside
//! and outside where the outline cuts its sides, found by halving: its error is that of a chord, `h^2 / 8 R` with `h` of half a pixel.
//!
//! Quarters and not pixels, because the lens blurs before the sensor samples: blur of samples of whole pixels leaves an edge uncertain by
//! 0.02 px, of half pixels by 0.003 (for a blur of 0.8 px).
//!
//! Blocks of rows are gathered side by side; the picture does not depend on how many threads there are.

use rayon::prelude::*;

/// What is seen at a place of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Light, fractions of full scale.
    pub light: f64,
    /// The surface that is first met; `None` for what lies behind all.
    pub surface: Option<usize>,
}

/// How a picture is gathered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fineness {
    /// Difference of light within a pixel from which it is cut; three times as much with each cut.
    pub contrast: f64,
    /// Cuts by contrast.
    pub cuts: u32,
}

impl Default for Fineness {
    fn default() -> Self {
        Self {
            contrast: 0.05,
            cuts: 3,
        }
    }
}

/// Cuts down to the squares that an outline is followed in, and those of squares that it crosses in no simple way.
const OUTLINE_CUTS: u32 = 1;
const TANGLED_CUTS: u32 = 4;
/// Halvings along a side: half a pixel to 1/128, and the middle of what is left.
const HALVINGS: u32 = 6;
/// Side of the blocks in which a picture is gathered, px.
pub const BLOCK: usize = 8;
/// Light above which contrast does not count: the sensor does not see it.
const BRIGHTEST: f64 = 1.5;

/// What looks: light and surface of a place, or its surface alone, which may be cheaper.
pub struct Looker<S, F> {
    /// Light and surface.
    pub see: S,
    /// The surface that [`Looker::see`] would give.
    pub surface: F,
}

/// What a looker is made of.
trait Look: Sync {
    fn see(&self, at: [f64; 2]) -> Seen;
    fn surface(&self, at: [f64; 2]) -> Option<usize>;
}

impl<S, F> Look for Looker<S, F>
where
    S: Fn([f64; 2]) -> Seen + Sync,
    F: Fn([f64; 2]) -> Option<usize> + Sync,
{
    fn see(&self, at: [f64; 2]) -> Seen {
        (self.see)(at)
    }
    fn surface(&self, at: [f64; 2]) -> Option<usize> {
        (self.surface)(at)
    }
}

/// The mean light of each quarter of a pixel, row by row: `2 width` in a row, `2 height` rows. Blocks of [`BLOCK`] pixels that `calm` (column and row
/// of the block) says hold no outline are looked at in their corners only, as long as these agree.
pub fn gather<S, F>(
    [width, height]: [usize; 2],
    fineness: &Fineness,
    calm: &(impl Fn(usize, usize) -> bool + Sync),
    look: &Looker<S, F>,
) -> Vec<f32>
where
    S: Fn([f64; 2]) -> Seen + Sync,
    F: Fn([f64; 2]) -> Option<usize> + Sync,
{
    let mut light = vec![0.0; 4 * width * height];
    light
        .par_chunks_mut(4 * width * BLOCK)
        .enumerate()
        .for_each(|(strip, rows)| {
            let count = rows.len() / (4 * width);
            let mut left = None;
            for block in 0..width.div_ceil(BLOCK) {
                let tile = Tile {
                    at: [block * BLOCK, strip * BLOCK],
                    size: [BLOCK.min(width - block * BLOCK), count],
                };
                if !(calm(block, strip) && tile.fill_plain(rows, width, fineness, look)) {
                    left = Some(tile.fill(rows, width, fineness, look, left));
                } else {
                    left = None;
                }
            }
        });
    light
}

/// A block of pixels: its first column and row, its columns and rows.
#[derive(Clone, Copy)]
struct Tile {
    at: [usize; 2],
    size: [usize; 2],
}

/// What corners of pixels see along one upright line of a block.
type Upright = [Seen; BLOCK + 1];

impl Tile {
    fn corner(&self, x: usize, y: usize) -> [f64; 2] {
        [(self.at[0] + x) as f64 - 0.5, (self.at[1] + y) as f64 - 0.5]
    }

    fn upright(&self, x: usize, look: &impl Look) -> Upright {
        let nothing = Seen {
            light: 0.0,
            surface: None,
        };
        let see = |y: usize| {
            if y <= self.size[1] {
                look.see(self.corner(x, y))
            } else {
                nothing
            }
        };
        std::array::from_fn(see)
    }

    /// Every pixel by its corners; gives what the last upright line saw, which is the first of the next block.
    fn fill(
        &self,
        rows: &mut [f32],
        width: usize,
        fineness: &Fineness,
        look: &impl Look,
        left: Option<Upright>,
    ) -> Upright {
        let mut left = left.unwrap_or_else(|| self.upright(0, look));
        for x in 0..self.size[0] {
            let right = self.upright(x + 1, look);
            for y in 0..self.size[1] {
                let square = Square {
                    at: self.corner(x, y),
                    side: 1.0,
                    corners: [left[y], right[y], right[y + 1], left[y + 1]],
                };
                let [a, b, c, d] = square.halves(fineness, look).map(|light| light as f32);
                let first = 4 * y * width + 2 * (self.at[0] + x);
                rows[first..first + 2].copy_from_slice(&[a, b]);
                rows[first + 2 * width..first + 2 * width + 2].copy_from_slice(&[d, c]);
            }
            left = right;
        }
        left
    }

    /// The whole block by its corners; not when they disagree.
    fn fill_plain(&self, rows: &mut [f32], width: usize, fineness: &Fineness, look: &impl Look) -> bool {
        let [columns, lines] = self.size;
        let corners =
            [(0, 0), (columns, 0), (columns, lines), (0, lines)].map(|(x, y)| look.see(self.corner(x, y)));
        let square = Square {
            at: self.corner(0, 0),
            side: 1.0,
            corners,
        };
        if !square.is_of_one_surface() || square.spread() > fineness.contrast {
            return false;
        }
        let [a, b, c, d] = corners.map(|corner| corner.light);
        for y in 0..2 * lines {
            let down = (y as f64 + 0.5) / (2 * lines) as f64;
            let (start, end) = (a + down * (d - a), b + down * (c - b));
            let first = 2 * y * width + 2 * self.at[0];
            for (x, light) in rows[first..first + 2 * columns].iter_mut().enumerate() {
                *light = (start + (x as f64 + 0.5) / (2 * columns) as f64 * (end - start)) as f32;
            }
        }
        true
    }
}

/// A square of the picture: its top left corner, its side, what its corners see (clockwise from there).
#[derive(Clone, Copy)]
struct Square {
    at: [f64; 2],
    side: f64,
    corners: [Seen; 4],
}

impl Square {
    /// Means of the four quarters of a whole pixel, clockwise.
    fn halves(&self, fineness: &Fineness, look: &impl Look) -> [f64; 4] {
        if self.is_of_one_surface() && self.spread() <= fineness.contrast {
            let [a, b, c, d] = self.corners.map(|corner| corner.light);
            let quarter = |own: f64, beside: f64, far: f64| (9.0 * own + 3.0 * beside + far) / 16.0;
            return [
                quarter(a, b + d, c),
                quarter(b, a + c, d),
                quarter(c, b + d, a),
                quarter(d, a + c, b),
            ];
        }
        self.quarters(look).map(|quarter| quarter.mean(1, fineness, look))
    }

    fn is_of_one_surface(&self) -> bool {
        let [first, ..] = self.corners;
        self.corners.iter().all(|corner| corner.surface == first.surface)
    }

    fn mean(&self, cuts: u32, fineness: &Fineness, look: &impl Look) -> f64 {
        if self.is_of_one_surface() {
            let allowed = fineness.contrast * f64::from(3_u32.pow(cuts));
            if cuts >= fineness.cuts || self.spread() <= allowed {
                return 0.25 * self.corners.iter().map(|corner| corner.light).sum::<f64>();
            }
        } else if cuts >= TANGLED_CUTS {
            return 0.25 * self.corners.iter().map(|corner| corner.light).sum::<f64>();
        } else if cuts >= OUTLINE_CUTS
            && let Some(shared) = self.shared(look)
        {
            return shared;
        }
        let quarters = self.quarters(look);
        0.25 * quarters
            .iter()
            .map(|quarter| quarter.mean(cuts + 1, fineness, look))
            .sum::<f64>()
    }

    fn spread(&self) -> f64 {
        let lights = self.corners.iter().map(|corner| corner.light.min(BRIGHTEST));
        let (low, high) = lights.fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(x), high.max(x)));
        high - low
    }

    fn corner(&self, k: usize) -> [f64; 2] {
        let [x, y] = self.at;
        let (right, down) = ([0.0, 1.0, 1.0, 0.0][k % 4], [0.0, 0.0, 1.0, 1.0][k % 4]);
        [x + right * self.side, y + down * self.side]
    }

    fn quarters(&self, look: &impl Look) -> [Self; 4] {
        let half = 0.5 * self.side;
        let [x, y] = self.at;
        let [a, b, c, d] = self.corners;
        let see = |x: f64, y: f64| look.see([x, y]);
        let (top, right) = (see(x + half, y), see(x + self.side, y + half));
        let (bottom, left) = (see(x + half, y + self.side), see(x, y + half));
        let middle = see(x + half, y + half);
        let quarter = |at, corners| Self {
            at,
            side: half,
            corners,
        };
        [
            quarter([x, y], [a, top, middle, left]),
            quarter([x + half, y], [top, b, right, middle]),
            quarter([x + half, y + half], [middle, right, c, bottom]),
            quarter([x, y + half], [left, middle, bottom, d]),
        ]
    }

    /// The mean of a square that one outline cuts once: the corners of one side in a row, of the other side in a row.
    fn shared(&self, look: &impl Look) -> Option<f64> {
        let surface = self.corners[0].surface;
        let other = self
            .corners
            .iter()
            .find(|corner| corner.surface != surface)?
            .surface;
        if self
            .corners
            .iter()
            .any(|corner| corner.surface != surface && corner.surface != other)
        {
            return None;
        }
        let is = |k: usize| self.corners[k % 4].surface == surface;
        let changes: Vec<usize> = (0..4).filter(|k| is(*k) != is(k + 1)).collect();
        let [leaves, comes] = changes[..] else {
            return None;
        };
        // The part of the other surface: from where the first leaves it, over the corners beyond, to where it comes back.
        let mut loops = vec![self.cut(leaves, surface, look)];
        loops.extend((leaves + 1..=comes).map(|k| self.corner(k)));
        loops.push(self.cut(comes, other, look));
        let share = area(&loops) / (self.side * self.side);
        let mean = |of: Option<usize>| {
            let lights = self.corners.iter().filter(|corner| corner.surface == of);
            let (sum, count) = lights.fold((0.0, 0.0), |(sum, count), corner| {
                (sum + corner.light, count + 1.0)
            });
            sum / count
        };
        Some(share * mean(other) + (1.0 - share) * mean(surface))
    }

    /// Where along the side from corner `k` to the next the surface `from` ends.
    fn cut(&self, k: usize, from: Option<usize>, look: &impl Look) -> [f64; 2] {
        let (start, end) = (self.corner(k), self.corner(k + 1));
        let at = |part: f64| [0, 1].map(|i| start[i] + part * (end[i] - start[i]));
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if look.surface(at(middle)) == from {
                low = middle;
            } else {
                high = middle;
            }
        }
        at(0.5 * (low + high))
    }
}

/// Area of a closed polygon.
fn area(corners: &[[f64; 2]]) -> f64 {
    let last = corners[corners.len() - 1];
    let pairs = std::iter::once((last, corners[0])).chain(corners.windows(2).map(|pair| (pair[0], pair[1])));
    let twice: f64 = pairs.map(|([a, b], [c, d])| a * d - b * c).sum();
    0.5 * twice.abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn gathered(size: [usize; 2], see: &(impl Fn([f64; 2]) -> Seen + Sync)) -> Vec<f32> {
        let look = Looker {
            see,
            surface: |at| see(at).surface,
        };
        gather(size, &Fineness::default(), &|_, _| false, &look)
    }

    fn disc(centre: [f64; 2], radius: f64) -> impl Fn([f64; 2]) -> Seen + Sync {
        move |[x, y]| {
            let inside = (x - centre[0]).hypot(y - centre[1]) < radius;
            Seen {
                light: f64::from(u8::from(inside)),
                surface: inside.then_some(0),
            }
        }
    }

    // pi r^2 less what chords of half a pixel cut off, pi h^2 / 6 whatever the radius; the middle of the light where the middle of the
    // disc is.
    #[test]
    fn a_disc_has_its_area_and_its_place() {
        for (centre, radius) in [([20.3, 18.9], 12.4), ([19.5, 20.0], 15.0), ([20.0, 20.0], 3.3)] {
            let light = gathered([40, 40], &disc(centre, radius));
            let sum: f64 = 0.25 * light.iter().map(|light| f64::from(*light)).sum::<f64>();
            let missing = PI * radius * radius - sum;
            assert!((-2e-3..0.15).contains(&missing), "{missing}");
            let across =
                |(k, light): (usize, &f32)| 0.25 * ((k % 80) as f64 / 2.0 - 0.25) * f64::from(*light);
            let place = light.iter().enumerate().map(across).sum::<f64>() / sum;
            assert!((place - centre[0]).abs() < 1e-3);
        }
    }

    // Each column of an upright edge is covered by just its share.
    #[test]
    fn an_upright_edge_is_where_it_is() {
        for place in [5.0, 5.1, 5.26, 5.5, 5.9] {
            let edge = |[x, _]: [f64; 2]| Seen {
                light: if x < place { 1.0 } else { 0.25 },
                surface: (x < place).then_some(3),
            };
            let light = gathered([10, 8], &edge);
            let covered = place + 0.5;
            let due = covered + 0.25 * (10.0 - covered);
            for row in light.chunks(20) {
                let sum: f64 = 0.5 * row.iter().map(|light| f64::from(*light)).sum::<f64>();
                assert!((sum - due).abs() < 4e-3, "{place}: {sum} {due}");
            }
        }
    }

    // sin^2 over many pixels has the mean 1/2 in each period, fine or coarse.
    #[test]
    fn a_fine_pattern_keeps_its_mean() {
        let wave = |[x, _]: [f64; 2]| Seen {
            light: (PI * x / 1.6).sin().powi(2),
            surface: None,
        };
        let light = gathered([16, 16], &wave);
        let mean = light.iter().map(|light| f64::from(*light)).sum::<f64>() / 1024.0;
        assert!((mean - 0.5).abs() < 2e-3, "{mean}");
    }

    // Where no outline is, corners of blocks will do: the same picture up to what contrast may be missed.
    #[test]
    fn calm_blocks_look_as_others_do() {
        let slope = |[x, y]: [f64; 2]| Seen {
            light: 0.5 + 0.001 * x - 0.002 * y,
            surface: None,
        };
        let look = Looker {
            see: slope,
            surface: |_| None,
        };
        let all = |calm: bool| gather([21, 19], &Fineness::default(), &|_, _| calm, &look);
        for (coarse, fine) in all(true).iter().zip(all(false)) {
            assert!((coarse - fine).abs() < 1e-6);
        }
        // Corners that disagree are not believed.
        let see = disc([9.0, 9.0], 6.0);
        let look = Looker {
            see: &see,
            surface: |at| see(at).surface,
        };
        let calm = gather([20, 20], &Fineness::default(), &|_, _| true, &look);
        assert!(calm.iter().any(|light| *light > 0.0));
    }

    #[test]
    fn threads_do_not_show() {
        let see = disc([20.3, 18.9], 12.4);
        let alone = rayon::ThreadPoolBuilder::new()
            .num_threads(1)
            .build()
            .expect("a pool");
        let many = rayon::ThreadPoolBuilder::new()
            .num_threads(3)
            .build()
            .expect("a pool");
        let one = alone.install(|| gathered([43, 37], &see));
        assert_eq!(one, many.install(|| gathered([43, 37], &see)));
    }
}
