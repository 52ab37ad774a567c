//! Parts of a coarse mask: touching bodies told apart at their necks, thin things cut off.
//!
//! ```text
//! D(c) = distance from cell c to the nearest cell outside the mask
//! two bodies   where   D at the neck < NECK min(peak D, peak D)
//! body         = cells within rho of { D > rho },   rho = THIN peak D       (opening by a disc of radius rho)
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `D`, `rho` | distances | cells |
//!
//! What the opening takes away is put back where it is shallow (a corner, the crest of a wave) and left away where it
//! reaches far (a wire, a needle). The border of the picture is no edge: a wire that leaves it is as thin as it looks.
//!
//! Source: distance transform \[FelzenszwalbHuttenlocher2012\]; opening \[Serra1982\]. A thing wider than `2 rho` stays
//! with its body.

use std::collections::VecDeque;

/// A mask of cells, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Mask {
    /// Cells in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Whether a cell belongs.
    pub cells: Vec<bool>,
}

/// Necks narrower than this share of the smaller body part two bodies.
const NECK: f32 = 0.65;
/// Things thinner than this share of their body are cut off.
const THIN: f32 = 0.45;
/// What sticks out by less than this share of `rho` is put back.
const SHALLOW: f32 = 0.45;
/// Smaller than this share of the largest is dust.
const DUST: f64 = 0.02;
/// Of several bodies taken as one, things thinner than this share of the neck between them are cut off.
const STRAND: f32 = 0.5;
/// Steps of the cells along a slanting border, cells.
const STEP: f32 = 1.5;
/// No basin.
const NONE: usize = usize::MAX;

impl Mask {
    /// Cells beside cell `c`.
    pub fn neighbours(&self, c: usize) -> impl Iterator<Item = usize> + use<> {
        let (i, j, width) = (c % self.width, c / self.width, self.width);
        [
            (i > 0).then(|| c - 1),
            (i + 1 < width).then(|| c + 1),
            (j > 0).then(|| c.wrapping_sub(width)),
            (j + 1 < self.height).then(|| c + width),
        ]
        .into_iter()
        .flatten()
    }

    /// Whether cell `c` lies at the border of the picture.
    pub fn at_border(&self, c: usize) -> bool {
        let (i, j) = (c % self.width, c / self.width);
        i == 0 || j == 0 || i + 1 == self.width || j + 1 == self.height
    }

    /// The cells that `start` reaches through cells that `belongs` accepts and that are not `seen`; they are then.
    fn reached(&self, start: usize, seen: &mut [bool], belongs: &dyn Fn(usize) -> bool) -> Vec<usize> {
        seen[start] = true;
        let (mut found, mut open) = (Vec::new(), VecDeque::from([start]));
        while let Some(c) = open.pop_front() {
            found.push(c);
            for n in self.neighbours(c) {
                if !seen[n] && belongs(n) {
                    seen[n] = true;
                    open.push_back(n);
                }
            }
        }
        found
    }

    /// The groups of parts that hang together; parts below `smallest` cells are dropped.
    pub fn groups(&self, smallest: usize) -> Vec<Group> {
        let (left, top, inner) = self.cropped();
        let back = |c: usize| (c / inner.width + top) * self.width + c % inner.width + left;
        let moved = |cells: Vec<usize>| cells.into_iter().map(back).collect::<Vec<usize>>();
        let groups = inner.groups_within(smallest).into_iter();
        groups
            .map(|group| Group {
                parts: group.parts.into_iter().map(moved).collect(),
                whole: group.whole.map(moved),
            })
            .collect()
    }

    /// Whether each cell belongs and hangs together with one at the border of the picture.
    pub fn reached_from_border(&self) -> Vec<bool> {
        let mut seen = vec![false; self.cells.len()];
        for c in (0..self.cells.len()).filter(|c| self.at_border(*c)) {
            if self.cells[c] && !seen[c] {
                self.reached(c, &mut seen, &|n| self.cells[n]);
            }
        }
        seen
    }

    /// The cells that hang together, piece by piece.
    pub fn pieces(&self) -> Vec<Vec<usize>> {
        let mut seen = vec![false; self.cells.len()];
        let mut found = Vec::new();
        for c in 0..self.cells.len() {
            if self.cells[c] && !seen[c] {
                found.push(self.reached(c, &mut seen, &|n| self.cells[n]));
            }
        }
        found
    }

    /// The rows and columns that hold anything, and one more all round where the picture has it.
    fn cropped(&self) -> (usize, usize, Self) {
        let held = |(i, j): (usize, usize)| self.cells[j * self.width + i];
        let row = |j: &usize| (0..self.width).any(|i| held((i, *j)));
        let column = |i: &usize| (0..self.height).any(|j| held((*i, j)));
        let range = |first: Option<usize>, last: Option<usize>, count: usize| {
            first.unwrap_or(0).saturating_sub(1)..(last.unwrap_or(0) + 2).min(count)
        };
        let rows = range(
            (0..self.height).find(row),
            (0..self.height).rfind(row),
            self.height,
        );
        let columns = range(
            (0..self.width).find(column),
            (0..self.width).rfind(column),
            self.width,
        );
        let inner = Self {
            width: columns.len(),
            height: rows.len(),
            cells: rows
                .clone()
                .flat_map(|j| columns.clone().map(move |i| (i, j)))
                .map(held)
                .collect(),
        };
        (columns.start, rows.start, inner)
    }

    fn groups_within(&self, smallest: usize) -> Vec<Group> {
        let depth = self.distance(&|c| !self.cells[c]);
        let Basins { basin, peaks, necks } = self.basins(&depth);
        let mut sizes = vec![0usize; basin.len()];
        basin.iter().filter(|b| **b != NONE).for_each(|b| sizes[*b] += 1);
        let largest = sizes.iter().copied().max().unwrap_or(0);
        let least = smallest.max((DUST * largest as f64) as usize);
        let bodies: Vec<(usize, Vec<usize>)> = peaks
            .iter()
            .filter(|peak| sizes[**peak] >= least)
            .map(|peak| (*peak, self.body(*peak, &basin, &depth)))
            .filter(|(_, part)| part.len() >= smallest)
            .collect();
        let mut groups: Vec<(Vec<usize>, Group)> = Vec::new();
        for (peak, part) in bodies {
            let joins =
                |(peaks, _): &(Vec<usize>, Group)| peaks.iter().any(|p| neck(&necks, *p, peak).is_some());
            match groups.iter_mut().find(|group| joins(group)) {
                Some((peaks, group)) => {
                    peaks.push(peak);
                    group.parts.push(part);
                }
                None => groups.push((
                    vec![peak],
                    Group {
                        parts: vec![part],
                        whole: None,
                    },
                )),
            }
        }
        let whole = |(peaks, group): (Vec<usize>, Group)| Group {
            whole: (peaks.len() > 1)
                .then(|| self.whole(&peaks, &necks, (&basin, &depth)))
                .flatten(),
            ..group
        };
        groups.into_iter().map(whole).collect()
    }

    /// The cells of several basins with the necks between them, less what is thinner; `None` when they fall apart.
    fn whole(
        &self,
        peaks: &[usize],
        necks: &[Neck],
        (basin, depth): (&[usize], &[f32]),
    ) -> Option<Vec<usize>> {
        let pairs = peaks.iter().flat_map(|a| peaks.iter().map(move |b| (*a, *b)));
        let thinnest = pairs
            .filter(|(a, b)| a < b)
            .filter_map(|(a, b)| neck(necks, a, b))
            .fold(f32::INFINITY, f32::min);
        let rho = STRAND * thinnest;
        let belongs = |c: usize| peaks.contains(&basin[c]);
        let mut core = vec![false; depth.len()];
        self.reached(peaks[0], &mut core, &|c| belongs(c) && depth[c] > rho);
        if peaks.iter().any(|peak| !core[*peak]) {
            return None;
        }
        let off = self.distance(&|c| core[c]);
        let mut keep: Vec<bool> = (0..depth.len()).map(|c| belongs(c) && off[c] <= rho).collect();
        self.put_back(&mut keep, &belongs, &off, (rho * (1.0 + SHALLOW)).max(rho + STEP));
        Some(self.reached(peaks[0], &mut vec![false; depth.len()], &|c| keep[c]))
    }

    /// Keeps what belongs and was not kept where it nowhere lies further `off` than `most`.
    fn put_back(&self, keep: &mut [bool], belongs: &dyn Fn(usize) -> bool, off: &[f32], most: f32) {
        let mut seen = keep.to_vec();
        for c in 0..keep.len() {
            if !belongs(c) || seen[c] {
                continue;
            }
            let rest = self.reached(c, &mut seen, belongs);
            if rest.iter().all(|n| off[*n] < most) {
                rest.iter().for_each(|n| keep[*n] = true);
            }
        }
    }

    /// Distance of every cell's middle to the edge of the nearest cell of `target`; infinite without any.
    pub fn distance(&self, target: &dyn Fn(usize) -> bool) -> Vec<f32> {
        let far = (self.width + self.height) as f32;
        let mut squares: Vec<f32> = (0..self.cells.len())
            .map(|c| if target(c) { 0.0 } else { far })
            .collect();
        for row in squares.chunks_exact_mut(self.width) {
            along(row);
        }
        let mut hull = Hull::default();
        let (mut column, mut found) = (vec![0.0; self.height], vec![0.0; self.height]);
        for i in 0..self.width {
            for (j, v) in column.iter_mut().enumerate() {
                *v = squares[j * self.width + i];
            }
            hull.lower_envelope(&column, &mut found);
            for (j, v) in found.iter().enumerate() {
                squares[j * self.width + i] = (v.sqrt() - 0.5).max(0.0);
            }
        }
        squares
    }

    /// The basin of every cell of the mask, the peaks, deepest first, and the necks between basins.
    fn basins(&self, depth: &[f32]) -> Basins {
        let mut order: Vec<usize> = (0..depth.len()).filter(|c| self.cells[*c]).collect();
        order.sort_by(|a, b| depth[*b].total_cmp(&depth[*a]));
        let mut basin = vec![NONE; depth.len()];
        // The peak a basin was joined to, itself while it stands alone.
        let mut joined: Vec<usize> = (0..depth.len()).collect();
        let mut beside: Vec<usize> = Vec::with_capacity(4);
        let mut necks: Vec<Neck> = Vec::new();
        for c in order {
            beside.clear();
            for n in self.neighbours(c).filter(|n| basin[*n] != NONE) {
                let top = root(&joined, basin[n]);
                if !beside.contains(&top) {
                    beside.push(top);
                }
            }
            beside.sort_by(|a, b| depth[*b].total_cmp(&depth[*a]).then(a.cmp(b)));
            basin[c] = beside.first().copied().unwrap_or(c);
            for other in beside.iter().skip(1) {
                // `other` is the shallower of the two.
                if depth[c] >= NECK * depth[*other] {
                    joined[*other] = basin[c];
                } else if neck(&necks, basin[c], *other).is_none() {
                    necks.push((basin[c], *other, depth[c]));
                }
            }
        }
        for b in basin.iter_mut().filter(|b| **b != NONE) {
            *b = root(&joined, *b);
        }
        let mut peaks: Vec<usize> = (0..depth.len()).filter(|c| basin[*c] == *c).collect();
        peaks.sort_by(|a, b| depth[*b].total_cmp(&depth[*a]));
        for neck in &mut necks {
            (neck.0, neck.1) = (root(&joined, neck.0), root(&joined, neck.1));
        }
        Basins { basin, peaks, necks }
    }

    /// The basin around `peak` without its thin things.
    fn body(&self, peak: usize, basin: &[usize], depth: &[f32]) -> Vec<usize> {
        let rho = THIN * depth[peak];
        let mut core = vec![false; depth.len()];
        self.reached(peak, &mut core, &|c| basin[c] == peak && depth[c] > rho);
        let off = self.distance(&|c| core[c]);
        let mut keep: Vec<bool> = (0..depth.len())
            .map(|c| basin[c] == peak && off[c] <= rho)
            .collect();
        self.put_back(&mut keep, &|n| basin[n] == peak, &off, rho * (1.0 + SHALLOW));
        self.reached(peak, &mut vec![false; depth.len()], &|c| keep[c])
    }
}

/// Parts of a mask that hang together by necks.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The cells of each part, the deepest first.
    pub parts: Vec<Vec<usize>>,
    /// The cells of all of them with their necks, where there are several.
    pub whole: Option<Vec<usize>>,
}

/// Two peaks and the depth where their basins meet.
type Neck = (usize, usize, f32);

struct Basins {
    /// The peak of every cell's basin.
    basin: Vec<usize>,
    peaks: Vec<usize>,
    necks: Vec<Neck>,
}

/// Depth of the neck between two peaks.
fn neck(necks: &[Neck], a: usize, b: usize) -> Option<f32> {
    let between = |n: &&Neck| (n.0 == a && n.1 == b) || (n.0 == b && n.1 == a);
    necks.iter().find(between).map(|n| n.2)
}

fn root(joined: &[usize], mut b: usize) -> usize {
    while joined[b] != b {
        b = joined[b];
    }
    b
}

/// Squared distance along a row to the nearest nil of it.
fn along(row: &mut [f32]) {
    let sweep = |near: &mut f32, v: &mut f32| {
        *near = v.min(*near + 1.0);
        *v = *near;
    };
    let mut near = f32::INFINITY;
    row.iter_mut().for_each(|v| sweep(&mut near, v));
    near = f32::INFINITY;
    row.iter_mut().rev().for_each(|v| sweep(&mut near, v));
    row.iter_mut().for_each(|v| *v *= *v);
}

/// Parabolas that make up a lower envelope: where they stand, and from where on each is lowest.
#[derive(Default)]
struct Hull {
    feet: Vec<usize>,
    starts: Vec<f32>,
}

impl Hull {
    /// `min over q of (p - q)^2 + f(q)` for every place `p` of a line, into `found`.
    fn lower_envelope(&mut self, f: &[f32], found: &mut [f32]) {
        self.feet.clear();
        self.starts.clear();
        for q in 0..f.len() {
            let mut start = f32::NEG_INFINITY;
            while let (Some(p), Some(before)) = (self.feet.last(), self.starts.last()) {
                let (a, b) = (*p as f32, q as f32);
                start = (f[q] + b * b - f[*p] - a * a) / (2.0 * (b - a));
                if start > *before {
                    break;
                }
                self.feet.pop();
                self.starts.pop();
                start = f32::NEG_INFINITY;
            }
            self.feet.push(q);
            self.starts.push(start);
        }
        let mut k = 0;
        for (p, v) in found.iter_mut().enumerate() {
            while k + 1 < self.feet.len() && self.starts[k + 1] < p as f32 {
                k += 1;
            }
            let d = p as f32 - self.feet[k] as f32;
            *v = d * d + f[self.feet[k]];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIDE: usize = 96;

    impl Mask {
        fn parts(&self, smallest: usize) -> Vec<Vec<usize>> {
            let groups = self.groups(smallest);
            groups.into_iter().flat_map(|group| group.parts).collect()
        }
    }

    fn mask(inside: impl Fn(f32, f32) -> bool) -> Mask {
        let cells = (0..SIDE * SIDE).map(|c| inside((c % SIDE) as f32, (c / SIDE) as f32));
        Mask {
            width: SIDE,
            height: SIDE,
            cells: cells.collect(),
        }
    }

    fn disc(x: f32, y: f32, radius: f32) -> impl Fn(f32, f32) -> bool {
        move |u, v| (u - x).hypot(v - y) < radius
    }

    #[test]
    fn distances_are_those_of_every_pair() {
        let m = mask(|x, y| (x * 7.3 + y * 3.1) % 11.0 > 0.4 || disc(40.0, 50.0, 13.0)(x, y));
        let found = m.distance(&|c| !m.cells[c]);
        for c in (0..SIDE * SIDE).step_by(17) {
            let (i, j) = ((c % SIDE) as f32, (c / SIDE) as f32);
            let nearest = (0..SIDE * SIDE)
                .filter(|d| !m.cells[*d])
                .map(|d| ((d % SIDE) as f32 - i).hypot((d / SIDE) as f32 - j))
                .fold(f32::INFINITY, f32::min);
            assert!((found[c] - (nearest - 0.5).max(0.0)).abs() < 1e-3, "{i}, {j}");
        }
    }

    #[test]
    fn a_wire_through_the_picture_leaves_the_disc() {
        let alone = mask(disc(48.0, 45.0, 25.0));
        let wired = mask(|x, y| disc(48.0, 45.0, 25.0)(x, y) || (x - y - 5.0).abs() < 4.0);
        let (one, parts) = (alone.parts(24), wired.parts(24));
        assert_eq!((one.len(), parts.len()), (1, 1));
        let strange = parts[0].iter().filter(|c| !alone.cells[**c]).count();
        assert!(strange < 60, "{strange} cells of the wire stay");
        assert!(one[0].iter().all(|c| parts[0].contains(c)));
    }

    #[test]
    fn touching_discs_are_two_and_overlapping_ones_one() {
        let pair =
            |gap: f32| mask(move |x, y| disc(30.0, 40.0, 18.0)(x, y) || disc(30.0 + gap, 44.0, 16.0)(x, y));
        assert_eq!(pair(32.0).parts(24).len(), 2);
        let groups = pair(32.0).groups(24);
        let whole = groups[0].whole.as_ref().expect("they hang together");
        let all = pair(32.0).cells.iter().filter(|c| **c).count();
        assert!(
            groups.len() == 1 && whole.len() > all - 12,
            "{} of {all}",
            whole.len()
        );
        let parts = pair(20.0).parts(24);
        assert_eq!(
            (parts.len(), parts[0].len()),
            (1, pair(20.0).cells.iter().filter(|c| **c).count())
        );
    }

    #[test]
    fn corners_stay_and_specks_go() {
        let square = mask(|x, y| (x - 40.0).abs() < 20.0 && (y - 40.0).abs() < 20.0);
        assert_eq!(square.parts(24)[0].len(), 39 * 39);
        let dusty = mask(|x, y| {
            disc(40.0, 40.0, 30.0)(x, y) || disc(85.0, 85.0, 3.5)(x, y) || disc(88.0, 10.0, 5.5)(x, y)
        });
        // 37 cells are under a fiftieth of the disc, 97 are not.
        assert_eq!(dusty.parts(24).len(), 2);
    }
}
