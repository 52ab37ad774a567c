//! The pixels near a border, each with the node it faces, and the fit of the edge at every node.
//!
//! ```text
//! t in [-spacing/2, spacing/2) (1 + kappa n),   d = n + kappa t^2 / 2
//! width step (C - sum_j b_j^2 / a_j)^-1 (g - sum_j b_j s_j / a_j),   offset step (s_j - b_j width step) / a_j
//! ```
//! Pixels that face a stretch of the curve fill a wedge, so that no pixel counts twice. The width is one for all nodes; `a_j`,
//! `b_j` and `C` are the sums of products of slopes by offset and width, `s_j` and `g` those with the residuals. Lengths in px.
//! Source: Gauss-Newton \[GolubVanLoan2013\] section 5.3. Does not decide the levels: see [`crate::edge::levels`].

use crate::edge::border::Border;
use crate::edge::levels::{Sides, middle};
use crate::edge::{Noise, Seen, View};
use crate::step::step;

/// A pixel near the border.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Distance outward from the border.
    pub distance: f64,
    /// Level over the light.
    pub ratio: f64,
}

/// All pixels near a border, node by node.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    samples: Vec<Sample>,
    starts: Vec<usize>,
    pub(crate) in_view: Vec<bool>,
    /// Nodes beside something that was cut off from the body.
    pub(crate) covered: Vec<bool>,
    /// Half width of the strip.
    pub reach: f64,
}

/// What the fit found at a node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Outward from the border.
    pub offset: f64,
    /// Its standard uncertainty.
    pub uncertainty: f64,
    /// Residual variance against the stated one.
    pub misfit: f64,
    /// Whether the edge was seen.
    pub seen: Seen,
}

impl Strip {
    /// The pixels near `border`.
    pub fn along(border: &Border, view: &View<'_>, width: f64) -> Option<Self> {
        Self::thinned(border, view, width, 1)
    }

    /// The pixels near `border`, of one line of pixels in `every`.
    pub fn thinned(border: &Border, view: &View<'_>, width: f64, every: usize) -> Option<Self> {
        let count = border.places.len();
        let radius = count as f64 * border.spacing / (2.0 * std::f64::consts::PI);
        let reach = tremolet_optics::edge_limit::strip(width, radius);
        let mut strip = Self {
            samples: Vec::with_capacity((2.0 * reach * border.spacing * count as f64) as usize),
            starts: vec![0],
            in_view: Vec::with_capacity(count),
            covered: Vec::new(),
            reach,
        };
        let free: Vec<bool> = border.places.iter().map(|p| !view.covered(*p)).collect();
        let beside = BESIDE.min(FOOT * radius);
        let free = without_neighbours(&free, (beside / border.spacing).ceil() as usize);
        strip.covered = free.iter().map(|free| !free).collect();
        for j in 0..count {
            if !strip.covered[j] {
                strip.gather(border, j, view, every);
            }
            strip.starts.push(strip.samples.len());
            strip.in_view.push(visible(border, j, view, 3.0 * width));
        }
        // Where the outline meets the border of the picture the smooth curve cuts the corner: that stretch goes too.
        strip.in_view = without_neighbours(&strip.in_view, (CORNER / border.spacing).ceil() as usize);
        (!strip.samples.is_empty()).then_some(strip)
    }

    fn gather(&mut self, border: &Border, j: usize, view: &View<'_>, every: usize) {
        let ([px, py], [nx, ny], kappa) = (border.places[j], border.normals[j], border.curvature[j]);
        let half = border.spacing / 2.0;
        let widest = half * (1.0 + kappa.abs() * self.reach);
        let upright = ny.abs() >= nx.abs();
        // Along the long direction of the strip one pixel line at a time; across it only what the wedge can hold.
        let (long, across, nl, na) = if upright {
            (py, px, ny, nx)
        } else {
            (px, py, nx, ny)
        };
        let extent = self.reach * nl.abs() + widest * na.abs();
        let (most_long, most_across) = if upright {
            (view.plane.height, view.plane.width)
        } else {
            (view.plane.width, view.plane.height)
        };
        let (slope, spread) = (na / nl, widest / nl.abs());
        for l in clipped(long - extent, long + extent, most_long).filter(|l| l % every == 0) {
            let middle = across + (l as f64 - long) * slope;
            for a in clipped(middle - spread, middle + spread, most_across) {
                let (x, y) = if upright { (a, l) } else { (l, a) };
                let (dx, dy) = (x as f64 - px, y as f64 - py);
                let (n, t) = (dx * nx + dy * ny, dy * nx - dx * ny);
                let wedge = half * (1.0 + kappa * n);
                if n.abs() <= self.reach && t >= -wedge && t < wedge {
                    self.samples.push(Sample {
                        distance: n + kappa * t * t / 2.0,
                        ratio: view.ratio(x, y),
                    });
                }
            }
        }
    }

    /// Nodes.
    pub fn count(&self) -> usize {
        self.in_view.len()
    }

    /// Pixels of all nodes.
    pub(crate) fn len(&self) -> usize {
        self.samples.len()
    }

    /// The pixels of a node.
    pub fn of(&self, j: usize) -> &[Sample] {
        &self.samples[self.starts[j]..self.starts[j + 1]]
    }
}

/// The whole numbers from `from` to `to`, below `count`; by casts, which cut at nil, for rounding is slow.
fn clipped(from: f64, to: f64, count: usize) -> std::ops::Range<usize> {
    let first = from as usize;
    let first = first + usize::from((first as f64) < from);
    let end = if to < 0.0 { 0 } else { (to as usize + 1).min(count) };
    first.min(end)..end
}

/// Length along the outline that is given up beside what was cut off, px and share of the radius: its foot is wider than
/// the cut.
const BESIDE: f64 = 8.0;
const FOOT: f64 = 0.12;
/// The same beside what is out of view.
const CORNER: f64 = 14.0;

fn without_neighbours(in_view: &[bool], reach: usize) -> Vec<bool> {
    let n = in_view.len();
    (0..n)
        .map(|j| (0..=2 * reach).all(|k| in_view[(j + k + n - reach.min(n)) % n]))
        .collect()
}

fn visible(border: &Border, j: usize, view: &View<'_>, reach: f64) -> bool {
    [-reach, reach].into_iter().all(|d| {
        let (x, y) = (
            border.places[j][0] + d * border.normals[j][0],
            border.places[j][1] + d * border.normals[j][1],
        );
        let (right, bottom) = (view.plane.width as f64 - 1.0, view.plane.height as f64 - 1.0);
        x >= 0.0 && y >= 0.0 && x <= right && y <= bottom && !view.masks.hold(x, y)
    })
}

/// Fits the edge at every node and the common width, then the noise. `together` takes each step of both as one, which ends in
/// the same place from wherever it begins; else they go side by side, which bears edges of a form that the model lacks.
pub fn fitted(strip: &Strip, sides: &Sides, width: &mut f64, noise: &mut Noise, together: bool) -> Vec<Node> {
    let mut offsets = vec![0.0; strip.count()];
    let mut nodes = Vec::new();
    for pass in 1..=PASSES {
        let last = pass == PASSES;
        let mut sums: Vec<Sums> = (0..strip.count())
            .map(|j| sums(strip, j, sides, (offsets[j], *width), noise, last))
            .collect();
        if !together {
            sums.iter_mut().for_each(|s| s.cross = 0.0);
        }
        let plain = (0..sums.len()).filter(|j| strip.in_view[*j] && !sides.odd[*j]);
        let mut better = better_width(*width, plain.map(|j| &sums[j]));
        let wider = better - *width;
        if last {
            nodes = judged(strip, sides, &sums, &offsets, (*width, wider));
            let seen = nodes.iter().zip(&sums).filter(|(node, _)| node.seen == Seen::Yes);
            better = better_width(*width, seen.map(|(_, sums)| sums));
        }
        for (offset, sums) in offsets.iter_mut().zip(&sums) {
            *offset = sums.moved(*offset, *width, wider);
        }
        *width = better;
    }
    *noise = better_noise(strip, &nodes, sides, *width, noise);
    nodes
}

/// Gauss-Newton steps from a border that is good to a small part of the width.
const PASSES: usize = 2;
/// Beyond this many widths from the edge a pixel says nothing of its place.
const TAIL: f64 = 4.5;

/// Sums over the pixels of a node at a given offset and width.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    /// Of weight times (d level / d offset) times the residual, and times itself.
    slope: f64,
    information: f64,
    /// The same for the width.
    width_slope: f64,
    width_information: f64,
    /// Of both together: where noise grows with the level, a wider edge seems to lie elsewhere.
    cross: f64,
    /// Of weight times the squared residual.
    squares: f64,
}

impl Sums {
    /// The better offset when the width grows by `wider`.
    fn moved(&self, offset: f64, width: f64, wider: f64) -> f64 {
        let slope = self.slope - self.cross * wider;
        let change = (slope / self.information.max(1e-12)).clamp(-width, width);
        (offset + change).clamp(-3.0 * width, 3.0 * width)
    }
}

/// The sums of node `j`; the pixels far from the edge, which only add to the squares, count where `all` of them do.
fn sums(strip: &Strip, j: usize, sides: &Sides, at: (f64, f64), noise: &Noise, all: bool) -> Sums {
    let (offset, width) = at;
    let (mut sums, outer) = (Sums::default(), sides.outer[j]);
    let per_width = 1.0 / width;
    for s in strip.of(j) {
        let z = (s.distance - offset) * per_width;
        let near = z > -TAIL && z < TAIL;
        if !(near || all) {
            continue;
        }
        let inner = sides.inner(j, s.distance);
        let (phi, density) = step(z);
        let model = inner + (outer - inner) * phi;
        let weight = 1.0 / (noise.floor + noise.slope * model).max(1e-12);
        let off = s.ratio - model;
        let weighed = weight * off;
        sums.squares += weighed * off;
        if near {
            let by_offset = (inner - outer) * density * per_width;
            let by_width = by_offset * z;
            sums.slope += weighed * by_offset;
            sums.information += weight * by_offset * by_offset;
            sums.width_slope += weighed * by_width;
            sums.width_information += weight * by_width * by_width;
            sums.cross += weight * by_offset * by_width;
        }
    }
    sums
}

/// The nodes after the last pass; those that fit far worse than the middle one are disturbed.
fn judged(strip: &Strip, sides: &Sides, sums: &[Sums], offsets: &[f64], widths: (f64, f64)) -> Vec<Node> {
    let mut nodes: Vec<Node> = (0..sums.len())
        .map(|j| node(strip, j, sides, &sums[j], offsets[j], widths))
        .collect();
    let seen = nodes.iter().filter(|n| n.seen == Seen::Yes);
    let typical = middle(seen.map(|n| n.misfit).collect()).unwrap_or(1.0).max(1e-12);
    for (j, node) in nodes.iter_mut().enumerate() {
        let freedom = strip.of(j).len().max(2) as f64;
        if node.seen == Seen::Yes && node.misfit > typical * (1.0 + 7.0 * (2.0 / freedom).sqrt()) {
            node.seen = Seen::Disturbed;
        }
        node.uncertainty *= typical.max(1.0).sqrt();
    }
    nodes
}

fn node(strip: &Strip, j: usize, sides: &Sides, sums: &Sums, offset: f64, widths: (f64, f64)) -> Node {
    let samples = strip.of(j).len() as f64;
    let (width, wider) = widths;
    let offset = sums.moved(offset, width, wider);
    let lost = sums.information <= 0.0 || samples < 4.0 || offset.abs() > 2.9 * width;
    Node {
        offset: if lost { 0.0 } else { offset },
        uncertainty: sums.information.max(1e-12).sqrt().recip(),
        misfit: sums.squares / (samples - 1.0).max(1.0),
        seen: if !strip.in_view[j] {
            Seen::OutOfView
        } else if strip.covered[j] || sides.held[j] {
            Seen::Held
        } else if lost || sides.odd[j] {
            Seen::Disturbed
        } else {
            Seen::Yes
        },
    }
}

/// One Gauss-Newton step of the width over the nodes that see the edge, the offset of each eliminated.
fn better_width<'a>(width: f64, nodes: impl Iterator<Item = &'a Sums>) -> f64 {
    let add = |(slope, information): (f64, f64), s: &Sums| {
        let share = s.cross / s.information.max(1e-12);
        (
            slope + s.width_slope - share * s.slope,
            information + s.width_information - share * s.cross,
        )
    };
    let (slope, information) = nodes.fold((0.0, 0.0), add);
    let change = slope / information.max(1e-12);
    (width + change.clamp(-0.3 * width, 0.3 * width)).clamp(0.35, 8.0)
}

/// Variance against level from the residuals on both sides of the edge.
fn better_noise(strip: &Strip, nodes: &[Node], sides: &Sides, width: f64, before: &Noise) -> Noise {
    let mut sides_found = [(0.0, 0.0, 0.0); 2];
    for (j, _) in nodes.iter().enumerate().filter(|(_, n)| n.seen == Seen::Yes) {
        for s in strip.of(j).iter().filter(|s| s.distance.abs() > 3.5 * width) {
            let outside = s.distance > 0.0;
            let level = if outside {
                sides.outer[j]
            } else {
                sides.inner(j, s.distance)
            };
            let off = s.ratio - level;
            let side = &mut sides_found[usize::from(outside)];
            *side = (side.0 + 1.0, side.1 + off * off, side.2 + level);
        }
    }
    let [(a, inner, dark), (b, outer, light)] = sides_found;
    if a < 20.0 || b < 20.0 {
        return *before;
    }
    let (inner, outer, dark, light) = (inner / a, outer / b, dark / a, light / b);
    let slope = ((outer - inner) / (light - dark).max(1e-9)).max(0.0);
    Noise {
        floor: (inner - slope * dark).max(1e-3 * outer.max(inner)).max(1e-10),
        slope,
    }
}
