//! Dark things that hang together in the picture: one body with a neck, or several that overlap or touch.
//!
//! From both sides the outline is drawn on towards a place where it turns inward; where the two courses meet at a corner the
//! picture is asked how far from there the light begins.
//!
//! ```text
//! fill = distance from the corner of the courses to the light, along the bisector
//! corner: fill = s f(beta)         neck: fill = s f + rho (1 / cos(phi / 2) - 1)
//! f(beta): Gaussian blur leaves half the light at the distance f within a wedge of light of angle beta
//! ```
//! Two corners part the outline into two bodies, each with an arc of its own; the rest of each is hidden. Four corners with a
//! thin piece between them are a thread, which belongs to its bodies. What is neither surely sharp nor surely smooth is left open.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `beta`, `phi` | opening of the light at the corner, `pi - beta` | rad |
//! | `rho` | radius of curvature of a neck's outline | px |
//! | `s` | width of the blur | px |
//!
//! Source: own derivation; \[GolubVanLoan2013\] section 5.3 for the courses. A picture does not tell bodies that touch from
//! bodies that overlap in view.

use crate::edge::{Edge, EdgePoint, Found, Meeting, Seen, View, refine, sought};
use crate::joint::corner::{Corner, Sharp, corners};
use crate::locate::Coarse;
use tremolet_shape::normal_equations::NormalEquations;

pub mod corner;
pub mod thread;

/// What an outline turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// One body.
    One(Edge),
    /// Several, the longest outline first.
    Several(Vec<Edge>),
    /// It cannot be told.
    Open(Edge),
}

/// Fewest points of a body's own arc.
const FEWEST: usize = 16;
/// A piece between two others whose sides together turn by less than this, rad, is a neck: a body's would bulge.
const BULGE: f64 = 0.6;
/// The outline is not used so near to a corner: widths of the blur, and px.
const TRIM: [f64; 2] = [2.5, 1.5];
/// The way across a body is less than this share of the way round it.
const ACROSS: f64 = 0.85;
/// The side of a strand is longer than the straight way along it by less than this share.
const STRAIGHT: f64 = 0.93;
/// More disturbed nodes than this share are no outline to judge.
const SPOILT: f64 = 0.25;

/// The edges of the bodies within a coarse border, and where it is a single body what following it needs; `view` gives the
/// view in which a border is refined.
pub(crate) fn edges<'a>(
    view: &dyn Fn(&'a Coarse) -> View<'a>,
    coarse: &'a Coarse,
) -> (Vec<Edge>, Option<Found>) {
    let joint = !coarse.kin.is_empty();
    // What reaches the border of the picture may be a holder as well as a body.
    let whole = (!joint || !coarse.touches_frame)
        .then(|| sought(&view(coarse), coarse))
        .flatten();
    let edge = whole.as_ref().map(|whole| whole.edge.clone());
    let edges = match edge.map(|edge| told(&view(coarse), edge, joint)) {
        Some(Told::One(edge)) if edge.meeting == Meeting::Alone => return (vec![edge], whole),
        Some(Told::One(edge)) => vec![edge],
        Some(Told::Several(edges)) => edges,
        Some(Told::Open(edge)) if !joint => vec![Edge {
            meeting: Meeting::Open,
            ..edge
        }],
        _ => {
            let each = coarse.kin.iter().filter_map(|kin| refine(&view(kin), kin));
            each.map(|edge| Edge {
                meeting: Meeting::Open,
                ..edge
            })
            .collect()
        }
    };
    (edges, None)
}

/// Nodes nearer than this to another body are not used, widths of the blur and px: its shade lies on them.
const NEAR: [f64; 2] = [4.0, 4.0];

/// Marks what of each edge lies close to another body.
pub fn kept_apart(edges: &mut [Edge]) {
    for a in 0..edges.len() {
        for b in (0..edges.len()).filter(|b| *b != a) {
            let near = NEAR[0] * edges[a].blur_px + NEAR[1];
            let close = |p: &EdgePoint, q: &EdgePoint| {
                q.seen != Seen::Hidden && (p.x - q.x).powi(2) + (p.y - q.y).powi(2) < near * near
            };
            let shaded: Vec<usize> = (0..edges[a].points.len())
                .filter(|k| edges[b].points.iter().any(|q| close(&edges[a].points[*k], q)))
                .collect();
            for k in shaded {
                let point = &mut edges[a].points[k];
                if matches!(point.seen, Seen::Yes | Seen::Disturbed) {
                    point.seen = Seen::Hidden;
                }
            }
        }
    }
}

/// Looks at the outline of what hangs together in the picture. `joint`: whether it is narrow enough somewhere to be several.
pub fn told(view: &View<'_>, edge: Edge, joint: bool) -> Told {
    if !joint && is_convex(&edge) {
        return Told::One(edge);
    }
    let lost = edge.points.iter().filter(|p| p.seen != Seen::Yes).count() as f64;
    if joint && lost > SPOILT * edge.points.len() as f64 {
        return Told::Open(edge);
    }
    let found = corners(view, &edge);
    let of = |kind: Sharp| found.iter().filter(|c| c.sharp == kind).count();
    let (sharp, smooth, open) = (of(Sharp::Yes), of(Sharp::No), of(Sharp::Open));
    if sharp + open == 0 {
        return Told::One(necked(edge, joint || smooth > 0, joint));
    }
    let pieces = parted(&edge, &found);
    match (pieces.len(), open) {
        (3, _) if strand(&edge, &pieces) => Told::One(necked(edge, true, joint)),
        _ if joint && found.len() == 3 && straight(&edge, &found) => Told::One(necked(edge, true, joint)),
        (n, 0) if n >= 2 && sharp == found.len() && sharp % 2 == 0 => several(edge, &pieces),
        _ => Told::Open(edge),
    }
}

fn several(edge: Edge, pieces: &[Vec<usize>]) -> Told {
    let mut bodies: Vec<Edge> = pieces.iter().filter_map(|piece| own(&edge, piece)).collect();
    if bodies.len() < pieces.len() {
        return Told::Open(edge);
    }
    bodies.sort_by_key(|body| std::cmp::Reverse(body.points.len()));
    Told::Several(bodies)
}

/// Whether the outline turns one way only, to within what noise does over a dozen px.
fn is_convex(edge: &Edge) -> bool {
    const OVER: f64 = 10.0;
    const SAG: f64 = -0.25;
    let n = edge.points.len();
    let reach = ((OVER / spacing(edge)).round() as usize).clamp(1, n / 4);
    (0..n).all(|j| {
        let [a, b, c] = [j, j + reach, j + 2 * reach].map(|k| &edge.points[k % n]);
        let (x, y) = (c.x - a.x, c.y - a.y);
        // Positive where the middle one lies outward of the chord.
        ((b.x - a.x) * y - (b.y - a.y) * x) / x.hypot(y).max(1e-9) > SAG
    })
}

/// Mean distance between neighbouring points.
pub(crate) fn spacing(edge: &Edge) -> f64 {
    let next = edge.points.iter().cycle().skip(1);
    let gap = |(a, b): (&EdgePoint, &EdgePoint)| (a.x - b.x).hypot(a.y - b.y);
    edge.points.iter().zip(next).map(gap).sum::<f64>() / edge.points.len().max(1) as f64
}

/// One body with a neck: disturbed places near the other side of it are as good as the steepest place in the picture.
fn necked(mut edge: Edge, neck: bool, thin: bool) -> Edge {
    if !neck {
        return edge;
    }
    edge.meeting = Meeting::Necked;
    if !thin {
        return edge;
    }
    let n = edge.points.len();
    let near = 12.0 + 8.0 * edge.blur_px;
    let away = (2.0 * near / spacing(&edge)) as usize;
    let narrow = |j: usize| {
        let p = &edge.points[j];
        let other = |k: usize| &edge.points[(j + k) % n];
        (away..n.saturating_sub(away)).any(|k| (other(k).x - p.x).hypot(other(k).y - p.y) < near)
    };
    let lost: Vec<usize> = (0..n)
        .filter(|j| edge.points[*j].seen == Seen::Disturbed && narrow(*j))
        .collect();
    for j in lost {
        edge.points[j].seen = Seen::Yes;
        edge.points[j].uncertainty = edge.points[j].uncertainty.max(STEEPEST);
    }
    edge
}

/// Standard uncertainty of a place that was only climbed to, px.
const STEEPEST: f64 = 0.4;

/// The nodes of each piece that the corners part the outline into: the pair with the shortest way across first.
fn parted(edge: &Edge, corners: &[Corner]) -> Vec<Vec<usize>> {
    let (n, spacing) = (edge.points.len(), spacing(edge));
    let mut pieces: Vec<Vec<usize>> = vec![(0..n).collect()];
    let mut left: Vec<usize> = corners.iter().map(|c| c.node).collect();
    while left.len() >= 2 {
        let pairs = (0..left.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
        // The way across over the shorter way round: two ends of one side of a strand have it near 1.
        let short = |(a, b): &(usize, usize)| {
            let [p, q] = [left[*a], left[*b]].map(|k| &edge.points[k]);
            let round = left[*a].abs_diff(left[*b]);
            (p.x - q.x).hypot(p.y - q.y) / (round.min(n - round) as f64 * spacing)
        };
        let best = pairs.min_by(|a, b| short(a).total_cmp(&short(b)));
        let Some(best) = best.filter(|pair| short(pair) < ACROSS) else {
            break;
        };
        let (a, b) = (left[best.0], left[best.1]);
        left.retain(|k| *k != a && *k != b);
        let Some(place) = pieces.iter().position(|p| p.contains(&a) && p.contains(&b)) else {
            continue;
        };
        let piece = pieces.swap_remove(place);
        let at = |node: usize| piece.iter().position(|k| *k == node).unwrap_or(0);
        let (low, high) = (at(a).min(at(b)), at(a).max(at(b)));
        pieces.push(piece[low..=high].to_vec());
        pieces.push(piece[high..].iter().chain(&piece[..=low]).copied().collect());
    }
    pieces
}

/// Whether one of three pieces, the one with two sides, is a strand between the others.
fn strand(edge: &Edge, pieces: &[Vec<usize>]) -> bool {
    let sides = pieces.iter().map(|piece| arcs(edge, piece));
    let Some(sides) = sides.into_iter().find(|sides| sides.len() == 2) else {
        return false;
    };
    let trim = trimmed(edge);
    sides.iter().map(|side| turned(edge, side, trim)).sum::<f64>() < BULGE
}

/// Whether two of three corners, the fourth being lost, are the ends of one straight side of a strand.
fn straight(edge: &Edge, corners: &[Corner]) -> bool {
    let n = edge.points.len();
    (0..3).any(|k| {
        let [a, b] = [corners[k].node, corners[(k + 1) % 3].node];
        let (p, q) = (&edge.points[a], &edge.points[b]);
        let round = ((b + n - a) % n) as f64 * spacing(edge);
        (p.x - q.x).hypot(p.y - q.y) > STRAIGHT * round
    })
}

/// By how much a stretch of the outline turns between its trimmed ends, rad; nil when it is too short to say.
fn turned(edge: &Edge, side: &[usize], trim: usize) -> f64 {
    let inner = &side[trim.min(side.len() / 2)..side.len() - trim.min(side.len() / 2)];
    if inner.len() < 6 {
        return 0.0;
    }
    let third = inner.len() / 3;
    let along = |a: usize, b: usize| {
        let (p, q) = (&edge.points[inner[a]], &edge.points[inner[b]]);
        [q.x - p.x, q.y - p.y]
    };
    let (a, b) = (along(0, third), along(inner.len() - 1 - third, inner.len() - 1));
    let part = (inner.len() - third) as f64 / inner.len() as f64;
    (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]) / part
}

/// Nodes that are not used beside a corner.
fn trimmed(edge: &Edge) -> usize {
    ((TRIM[0] * edge.blur_px + TRIM[1]) / spacing(edge)).ceil() as usize
}

/// The unbroken stretches of a piece, in order.
fn arcs(edge: &Edge, piece: &[usize]) -> Vec<Vec<usize>> {
    let n = edge.points.len();
    let follows = |k: usize| piece[(k + 1) % piece.len()] == (piece[k] + 1) % n;
    // Begun at a break, so that no arc runs round the end.
    let Some(last) = (0..piece.len()).find(|k| !follows(*k)) else {
        return vec![piece.to_vec()];
    };
    let mut all: Vec<Vec<usize>> = Vec::new();
    let mut arc = Vec::new();
    for k in (0..piece.len()).map(|k| (last + 1 + k) % piece.len()) {
        arc.push(piece[k]);
        if !follows(k) {
            all.push(std::mem::take(&mut arc));
        }
    }
    all
}

/// The edge of a body from its piece of the outline: its own arcs, and what is hidden between them.
fn own(edge: &Edge, piece: &[usize]) -> Option<Edge> {
    let (step, trim) = (spacing(edge), trimmed(edge));
    let nodes = arcs(edge, piece).into_iter();
    let mut arcs: Vec<Vec<EdgePoint>> = nodes
        .map(|arc| arc.iter().map(|node| edge.points[*node]).collect())
        .collect();
    for arc in &mut arcs {
        let last = arc.len();
        for (k, point) in arc.iter_mut().enumerate() {
            if k < trim || k + trim >= last {
                point.seen = Seen::Hidden;
            }
        }
    }
    let used: Vec<&EdgePoint> = arcs.iter().flatten().filter(|p| p.seen == Seen::Yes).collect();
    if used.len() < FEWEST {
        return None;
    }
    let [x, y, radius] = circle(&used)?;
    let mut points = Vec::new();
    for (k, arc) in arcs.iter().enumerate() {
        points.extend(arc.iter().copied());
        let (from, to) = (arc.last()?, arcs[(k + 1) % arcs.len()].first()?);
        points.extend(bridge(from, to, [x, y], radius, step));
    }
    Some(Edge {
        points,
        meeting: Meeting::Overlaps,
        ..edge.clone()
    })
}

/// Centre and radius of the circle through some points, by linear least squares: `x^2 + y^2 = 2 a x + 2 b y + c`.
fn circle(points: &[&EdgePoint]) -> Option<[f64; 3]> {
    let (first, mut sums) = (points.first()?, NormalEquations::new(3));
    for p in points {
        let (x, y) = (p.x - first.x, p.y - first.y);
        sums.add(&[1.0, x, y], 1.0, x * x + y * y);
    }
    let found = sums.factored()?.solution(3);
    let (a, b) = (found[1] / 2.0, found[2] / 2.0);
    let radius = (found[0] + a * a + b * b).sqrt();
    radius.is_finite().then_some([a + first.x, b + first.y, radius])
}

/// Places along the circle from one end of an arc to the beginning of the next, the way outlines turn.
fn bridge(from: &EdgePoint, to: &EdgePoint, centre: [f64; 2], radius: f64, step: f64) -> Vec<EdgePoint> {
    let angle = |p: &EdgePoint| (p.y - centre[1]).atan2(p.x - centre[0]);
    let turn = (angle(to) - angle(from)).rem_euclid(std::f64::consts::TAU);
    let count = (turn * radius / step) as usize;
    let away = |p: &EdgePoint| (p.y - centre[1]).hypot(p.x - centre[0]);
    let place = |k: usize| {
        let share = (k + 1) as f64 / (count + 1) as f64;
        let (sin, cos) = (angle(from) + turn * share).sin_cos();
        let r = away(from) * (1.0 - share) + away(to) * share;
        EdgePoint {
            x: centre[0] + r * cos,
            y: centre[1] + r * sin,
            uncertainty: radius,
            seen: Seen::Hidden,
        }
    };
    (0..count).map(place).collect()
}
