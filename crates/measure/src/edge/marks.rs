//! What spoils a stretch of an outline: something that sticks out of it, or light on it.
//!
//! Where nodes in a row are disturbed, the outline is drawn across them from both sides,
//!
//! ```text
//! y(t) = a + b t + c t^2 + d t^3        in the frame of the middle node, t along, y outward
//! ```
//! and held against the place where the picture itself passes from dark to light. Dark beyond the curve is a thing at the
//! body, such as the end of a wire that goes around it; light within it is a glint. Both spoil their neighbours too.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `t`, `y` | along the tangent, along the outward normal | px |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3. Longer stretches are left as they are.

use crate::edge::border::{Border, profile};
use crate::edge::levels::Sides;
use crate::edge::strip::Node;
use crate::edge::{Seen, View};
use tremolet_shape::normal_equations::NormalEquations;

/// The outline is drawn on from so much of it on both sides, px.
const FROM: f64 = 24.0;
/// Longest stretch that is judged, px.
const LONGEST: f64 = 50.0;
/// Dark so far beyond the curve is a thing, light so far within it a glint, px. A speck of noise or a block of a coded clip
/// moves the edge by a few tenths.
const BEYOND: f64 = 0.8;
const WITHIN: f64 = -0.6;
/// And it is this many times the scatter of the nodes about the curve.
const CLEAR: f64 = 4.0;
/// What is found spoils the edge so far to both sides, px.
const BESIDE: f64 = 6.0;

/// Marks what is found, and its neighbours.
pub fn marked(view: &View<'_>, border: &Border, sides: &Sides, nodes: &mut [Node]) {
    let found: Vec<(Vec<usize>, Seen)> = runs(nodes)
        .into_iter()
        .filter(|run| run.len() as f64 * border.spacing < LONGEST)
        .filter_map(|run| {
            let what = judged(view, border, sides, nodes, &run)?;
            Some((run, what))
        })
        .collect();
    let (count, beside) = (nodes.len(), (BESIDE / border.spacing).ceil() as usize);
    for (run, what) in found {
        let first = run[0] + count - beside.min(count / 4);
        for k in 0..run.len() + 2 * beside.min(count / 4) {
            let node = &mut nodes[(first + k) % count];
            if matches!(node.seen, Seen::Yes | Seen::Disturbed) {
                node.seen = what;
            }
        }
    }
}

/// Disturbed nodes in a row, round the end.
fn runs(nodes: &[Node]) -> Vec<Vec<usize>> {
    let count = nodes.len();
    let spoilt = |j: usize| nodes[j % count].seen == Seen::Disturbed;
    let starts = (0..count).filter(|j| spoilt(*j) && !spoilt(j + count - 1));
    starts
        .map(|start| {
            (start..start + count)
                .take_while(|j| spoilt(*j))
                .map(|j| j % count)
                .collect()
        })
        .collect()
}

/// What the picture shows along a run, if anything.
fn judged(view: &View<'_>, border: &Border, sides: &Sides, nodes: &[Node], run: &[usize]) -> Option<Seen> {
    let curve = across(border, nodes, run)?;
    let off = |j: &usize| Some(passage(view, border, sides, *j)? - curve.above(border, *j));
    let all: Vec<f64> = run.iter().filter_map(off).collect();
    let most = all.iter().copied().fold(f64::MIN, f64::max);
    let least = all.iter().copied().fold(f64::MAX, f64::min);
    // An outline that scatters by itself, as one without any blur does, must be left clearly.
    let clear = CLEAR * curve.scatter;
    if most > BEYOND.max(clear) {
        Some(Seen::Held)
    } else if least < WITHIN.min(-clear) {
        Some(Seen::Disturbed)
    } else {
        None
    }
}

/// Distance outward from the border to where the level first passes the middle between inside and outside, coming from within.
fn passage(view: &View<'_>, border: &Border, sides: &Sides, j: usize) -> Option<f64> {
    const REACH: f64 = 6.0;
    let levels = profile(border, j, view, REACH);
    let half = (sides.outer[j] + sides.inner(j, -REACH)) / 2.0;
    let steps = (levels.len() - 1) as f64 / 2.0;
    let above = levels.iter().position(|level| level.is_some_and(|l| l > half))?;
    let at = |k: usize| (k as f64 - steps) / 2.0;
    let before = above.checked_sub(1).and_then(|k| levels[k]);
    Some(match (before, levels[above]) {
        (Some(low), Some(high)) => at(above) - 0.5 * (high - half) / (high - low).max(1e-9),
        _ => at(above),
    })
}

/// A curve across a stretch.
struct Across {
    place: [f64; 2],
    outward: [f64; 2],
    terms: Vec<f64>,
    /// Root mean square of the nodes about it, px.
    scatter: f64,
}

impl Across {
    fn local(place: [f64; 2], outward: [f64; 2], p: [f64; 2]) -> (f64, f64) {
        let (x, y) = (p[0] - place[0], p[1] - place[1]);
        // Along the border, which turns from +x towards +y: the outward normal turned by a quarter.
        (-x * outward[1] + y * outward[0], x * outward[0] + y * outward[1])
    }

    /// From the border at node `j` outward to the curve.
    fn above(&self, border: &Border, j: usize) -> f64 {
        let (t, y) = Self::local(self.place, self.outward, border.places[j]);
        let terms = basis(t);
        let curve: f64 = terms.iter().zip(&self.terms).map(|(a, b)| a * b).sum();
        let n = border.normals[j];
        let facing = n[0] * self.outward[0] + n[1] * self.outward[1];
        (curve - y) * facing
    }
}

fn basis(t: f64) -> [f64; 4] {
    let t = t / FROM;
    [1.0, t, t * t, t * t * t]
}

fn across(border: &Border, nodes: &[Node], run: &[usize]) -> Option<Across> {
    let count = nodes.len();
    let middle = run[run.len() / 2];
    let (place, outward) = (border.places[middle], border.normals[middle]);
    let side = (FROM / border.spacing).ceil() as usize;
    if run.len() + 2 * side + 4 > count {
        return None;
    }
    // One node beside the run is left out: it is spoilt too, if less.
    let before = (2..side + 2).map(|k| (run[0] + count - k) % count);
    let after = (2..side + 2).map(|k| (run[run.len() - 1] + k) % count);
    let mut sums = NormalEquations::new(4);
    let mut sides = [0; 2];
    for (which, j) in before.map(|j| (0, j)).chain(after.map(|j| (1, j))) {
        if nodes[j].seen != Seen::Yes {
            continue;
        }
        let (p, n, out) = (border.places[j], border.normals[j], nodes[j].offset);
        let (t, y) = Across::local(place, outward, [p[0] + out * n[0], p[1] + out * n[1]]);
        sums.add(&basis(t), 1.0, y);
        sides[which] += 1;
    }
    if sides[0] < 4 || sides[1] < 4 {
        return None;
    }
    let fit = sums.factored()?;
    let explained: f64 = fit.explained().iter().map(|z| z * z).sum();
    let count = (sides[0] + sides[1]) as f64;
    Some(Across {
        place,
        outward,
        terms: fit.solution(4),
        scatter: ((sums.squares() - explained).max(0.0) / (count - 4.0)).sqrt(),
    })
}
