//! A body in one frame before its axis is known: the points of its outline and what is to be said of them.
//!
//! Source: [`tremolet_shape::symmetry`]. Lengths in px. Knows no time.

use crate::aside::{Points, Shelf};
use crate::edge::doubt::Doubt;
use crate::edge::{Edge, EdgePoint, Meeting, Seen};
use std::sync::Arc;
use tremolet_shape::expansion::{Wanted, is_star_shaped};
use tremolet_shape::normal_equations::NormalEquations;
use tremolet_shape::outline::Point;
use tremolet_shape::symmetry::{Harmonics, harmonics};

/// A body in one frame before its axis is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// Place in the clip.
    pub frame: u64,
    /// Centre of the harmonics, or mean of the points.
    pub centre: [f64; 2],
    /// Mean distance of the points from it.
    pub size: f64,
    /// Used points as they are seen: x, y, uncertainty.
    pub outline: Points<3>,
    /// The same as a perfect, level, still camera would show them all at one instant; none where that is where they are seen.
    pub straight: Option<Points<3>>,
    /// Places left out.
    pub hidden: Points<2>,
    /// The same as the outline is thought to pass there: what is in the way lies elsewhere.
    pub bridged: Points<2>,
    /// Some of the hidden places are out of view.
    pub touches_frame: bool,
    /// Some of them are disturbed.
    pub touched: bool,
    /// Something reaches away from the outline.
    pub held: bool,
    /// Fourier coefficients of the outline, where a centre sees it all.
    pub harmonics: Option<Harmonics>,
    /// Width of the blur.
    pub blur_px: f64,
    /// What all points have in common.
    pub doubt: Doubt,
    /// How it stands to other bodies.
    pub meeting: Meeting,
    /// Whether what lies behind and inside pushes the edge beyond the noise: the mirror misfit then judges the coefficients.
    pub cluttered: bool,
}

/// An outline with a larger share hidden has harmonics that are tangled with each other.
const OPEN: f64 = 0.04;

impl Sighting {
    /// Puts its points on a shelf.
    pub fn put_aside(&mut self, shelf: &Arc<dyn Shelf>) {
        self.outline.put_aside(shelf);
        self.hidden.put_aside(shelf);
        self.bridged.put_aside(shelf);
    }

    /// Whether so much is hidden that the harmonics are tangled with each other.
    pub fn open(&self) -> bool {
        let hidden = self.hidden.len() as f64;
        hidden > OPEN * (hidden + self.outline.len() as f64)
    }
}

/// Degrees that are always fitted; harmonics that judge the axis.
pub const LOWEST_ORDER: usize = 8;
/// A longer run of disturbed places, px, touches the body even where nothing is seen to reach away from it. Coding with loss
/// spoils blocks of 16 px: a diagonal through two of them is 45 px.
const DISTURBED: f64 = 46.0;

/// The longest run of neighbouring disturbed places around the outline.
pub(crate) fn longest_disturbed(edge: &Edge) -> usize {
    let spoilt = |p: &EdgePoint| matches!(p.seen, Seen::Disturbed | Seen::Held);
    longest_run(edge.points.iter().map(spoilt))
}

/// The longest run around a ring of places.
pub(crate) fn longest_run(ring: impl Iterator<Item = bool>) -> usize {
    let ring: Vec<bool> = ring.collect();
    let Some(start) = ring.iter().position(|s| !s) else {
        return ring.len();
    };
    let (mut run, mut longest) = (0, 0);
    for k in 0..ring.len() {
        run = if ring[(start + k) % ring.len()] {
            run + 1
        } else {
            0
        };
        longest = longest.max(run);
    }
    longest
}

/// Mean distance between neighbouring points.
fn spacing(edge: &Edge) -> f64 {
    let next = edge.points.iter().cycle().skip(1);
    let gap = |(a, b): (&EdgePoint, &EdgePoint)| (a.x - b.x).hypot(a.y - b.y);
    edge.points.iter().zip(next).map(gap).sum::<f64>() / edge.points.len().max(1) as f64
}

/// A sighting from an edge; `None` when hardly anything of it was seen.
pub fn sighted(frame: u64, edge: &Edge) -> Option<Sighting> {
    let used: Vec<Point> = edge
        .points
        .iter()
        .filter(|p| p.seen == Seen::Yes)
        .map(|p| Point {
            x: p.x,
            y: p.y,
            uncertainty: p.uncertainty,
        })
        .collect();
    let count = |seen: Seen| edge.points.iter().filter(|p| p.seen == seen).count() as f64;
    let all = edge.points.len() as f64;
    if count(Seen::Yes) < 0.25 * all || used.len() < 16 {
        return None;
    }
    let n = used.len() as f64;
    let mean = [
        used.iter().map(|p| p.x).sum::<f64>() / n,
        used.iter().map(|p| p.y).sum::<f64>() / n,
    ];
    // An arc of an outline bears no more than an oval.
    let hidden = edge.meeting == Meeting::Overlaps;
    // A neck is seen twice from any centre.
    let necked = edge.meeting == Meeting::Necked && !is_star_shaped(&used, mean);
    let found = harmonics(&used, if hidden { 2 } else { LOWEST_ORDER }).filter(|_| !necked);
    // With much of the outline hidden the harmonics are tangled, and what is left is no even ring: a circle through it tells where
    // the body is.
    let much = all - count(Seen::Yes) > OPEN * all;
    let round = much.then(|| circle(&used)).flatten();
    let centre = round.or(found.as_ref().map(|h| h.centre)).unwrap_or(mean);
    Some(Sighting {
        frame,
        centre,
        size: used
            .iter()
            .map(|p| (p.x - centre[0]).hypot(p.y - centre[1]))
            .sum::<f64>()
            / n,
        outline: used
            .iter()
            .map(|p| [p.x as f32, p.y as f32, p.uncertainty as f32])
            .collect(),
        straight: None,
        hidden: edge
            .points
            .iter()
            .filter(|p| p.seen != Seen::Yes)
            .map(|p| [p.x as f32, p.y as f32])
            .collect(),
        bridged: bridged(edge, round).into(),
        touches_frame: count(Seen::OutOfView) > 0.0,
        held: count(Seen::Held) > 0.0,
        touched: count(Seen::Held) > 0.0
            || matches!(edge.meeting, Meeting::Overlaps | Meeting::Open)
            || longest_disturbed(edge) as f64 * spacing(edge) > DISTURBED,
        harmonics: found.filter(|_| !hidden),
        meeting: edge.meeting,
        blur_px: edge.blur_px,
        doubt: edge.doubt,
        cluttered: false,
    })
}

/// The places that were left out. Those where something is in the way lie on it, not on the body: with the body `round` about a
/// place, they are drawn across from the outline on both sides.
fn bridged(edge: &Edge, round: Option<[f64; 2]>) -> Vec<[f32; 2]> {
    let (points, n) = (&edge.points, edge.points.len());
    let single = |[x, y]: [f64; 2]| [x as f32, y as f32];
    let in_the_way = |p: &EdgePoint| matches!(p.seen, Seen::Held | Seen::Disturbed);
    let last_seen = (0..n).rfind(|j| points[*j].seen == Seen::Yes);
    let (Some(centre), Some(last_seen)) = (round, last_seen) else {
        let left_out = points.iter().filter(|p| p.seen != Seen::Yes);
        return left_out.map(|p| single([p.x, p.y])).collect();
    };
    let (mut all, mut run) = (Vec::new(), Vec::new());
    let mut before = &points[last_seen];
    for point in (1..=n).map(|k| &points[(last_seen + k) % n]) {
        if point.seen != Seen::Yes {
            run.push(point);
            continue;
        }
        if run.iter().all(|p| in_the_way(p)) {
            all.extend(across(before, point, centre, run.len()).map(single));
        } else {
            all.extend(run.iter().map(|p| single([p.x, p.y])));
        }
        run.clear();
        before = point;
    }
    all
}

/// So many places from one end of a gap to the other, about a centre.
fn across(
    from: &EdgePoint,
    to: &EdgePoint,
    centre: [f64; 2],
    count: usize,
) -> impl Iterator<Item = [f64; 2]> + use<> {
    let polar = |p: &EdgePoint| {
        let (x, y) = (p.x - centre[0], p.y - centre[1]);
        (y.atan2(x), x.hypot(y))
    };
    let ((start, near), (end, far)) = (polar(from), polar(to));
    let turn = (end - start).rem_euclid(std::f64::consts::TAU);
    (1..=count).map(move |k| {
        let share = k as f64 / (count + 1) as f64;
        let (sin, cos) = (start + share * turn).sin_cos();
        let r = near + share * (far - near);
        [centre[0] + r * cos, centre[1] + r * sin]
    })
}

/// Centre of the circle through some points, by linear least squares: `x^2 + y^2 = 2 a x + 2 b y + c`.
fn circle(points: &[Point]) -> Option<[f64; 2]> {
    let (first, mut sums) = (points.first()?, NormalEquations::new(3));
    for p in points {
        let (x, y) = (p.x - first.x, p.y - first.y);
        sums.add(&[1.0, x, y], 1.0, x * x + y * y);
    }
    let found = sums.factored()?.solution(3);
    let centre = [first.x + found[1] / 2.0, first.y + found[2] / 2.0];
    centre.iter().all(|c| c.is_finite()).then_some(centre)
}

/// What is expanded in by default.
pub fn wanted(axis_angle: f64, highest_order: usize) -> Wanted {
    Wanted {
        axis_angle,
        lowest_order: LOWEST_ORDER.min(highest_order),
        highest_order,
    }
}

fn point([x, y, u]: &[f32; 3]) -> Point {
    Point {
        x: f64::from(*x),
        y: f64::from(*y),
        uncertainty: f64::from(*u),
    }
}

/// The points of a sighting as they are seen.
pub fn points(s: &Sighting) -> Vec<Point> {
    s.outline.get().iter().map(point).collect()
}

/// The points that make its shape.
pub fn used(s: &Sighting) -> Vec<Point> {
    s.straight
        .as_ref()
        .unwrap_or(&s.outline)
        .get()
        .iter()
        .map(point)
        .collect()
}

/// Gives a sighting the `straight` points, one for each that is seen, to make its shape of.
pub fn renewed(s: &mut Sighting, straight: Vec<Point>) {
    let hidden = s.meeting == Meeting::Overlaps;
    s.harmonics = harmonics(&straight, LOWEST_ORDER).filter(|_| !hidden);
    if let Some(h) = &s.harmonics {
        s.centre = h.centre;
    }
    let single = |p: &Point| [p.x as f32, p.y as f32, p.uncertainty as f32];
    s.straight = Some(s.outline.alike(straight.iter().map(single).collect()));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A circle of 40 px of which a third was followed along a wire that goes 15 px further out.
    #[test]
    fn what_a_wire_hides_is_drawn_across_and_not_along_the_wire() {
        let point = |k: usize| {
            let (sin, cos) = (std::f64::consts::TAU * k as f64 / 120.0).sin_cos();
            let held = (30..70).contains(&k);
            let r = if held { 55.0 } else { 40.0 };
            EdgePoint {
                x: 60.0 + r * cos,
                y: 62.0 + r * sin,
                uncertainty: 0.02,
                seen: if held { Seen::Held } else { Seen::Yes },
            }
        };
        let edge = Edge {
            points: (0..120).map(point).collect(),
            blur_px: 1.3,
            doubt: Doubt::default(),
            meeting: Meeting::Alone,
        };
        let seen = sighted(0, &edge).expect("most of a circle");
        assert_eq!((seen.hidden.len(), seen.bridged.len()), (40, 40));
        for [x, y] in seen.bridged.get().iter() {
            let r = (f64::from(*x) - 60.0).hypot(f64::from(*y) - 62.0);
            assert!((r - 40.0).abs() < 0.1, "{r}");
        }
        assert!((seen.centre[0] - 60.0).hypot(seen.centre[1] - 62.0) < 0.01);
    }
}
