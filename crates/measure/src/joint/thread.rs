//! Threads: what still joins two bodies when it is too thin for an outline of its own.
//!
//! Between the places where something dark reaches away from two bodies, the dark is followed from one to the other. Where it
//! nowhere ends they are one body with a neck, and at every station
//!
//! ```text
//! width = int (1 - level) dt / (1 - i)
//! ```
//! Blur moves light about, but takes none, so that the width holds also for threads thinner than the blur.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `t` | across the thread | px |
//! | `i` | level inside the bodies over the light | - |
//!
//! Source: own derivation; elementary. A thread that lets light through its middle seems thinner: the width is good to
//! [`DOUBT`]. A wire between two bodies looks the same.

use crate::edge::border::level;
use crate::edge::{Edge, EdgePoint, Meeting, Seen, View};

/// A thread is looked for so far to both sides of the straight way, px, and its light is judged beyond half of that.
const ACROSS: f64 = 9.0;
/// Steps along and across, px.
const ALONG: f64 = 1.0;
const STEP: f64 = 0.5;
/// Light at the ends of a station, over the light of the scene.
const LIGHT: f64 = 0.88;
/// Thinnest thread, px: a thread of half a pixel takes a sixth of the light of two rows of pixels.
const THIN: f64 = 0.4;
/// Fewest stations at which both sides are light, and their share of the way.
const FEWEST: usize = 5;
const SHARE: f64 = 0.35;
/// Standard uncertainty of its sides: share of its width, and px.
const DOUBT: f64 = 0.15;
const PLACE: f64 = 0.15;
/// Cosine of the angle between the outward direction of a foot and the way to the other foot, at least.
const FACING: f64 = 0.7;

/// The edges with those that hang together by a thread made one.
pub fn joined(view: &View<'_>, mut edges: Vec<Edge>) -> Vec<Edge> {
    while let Some((a, b, whole)) = first(view, &edges) {
        edges.swap_remove(a.max(b));
        edges[a.min(b)] = whole;
    }
    edges
}

fn first(view: &View<'_>, edges: &[Edge]) -> Option<(usize, usize, Edge)> {
    let pairs = (0..edges.len()).flat_map(|a| (0..a).map(move |b| (a, b)));
    pairs
        .filter_map(|(a, b)| Some((a, b, pair(view, &edges[a], &edges[b])?)))
        .next()
}

/// Two edges as one, if a thread joins them.
fn pair(view: &View<'_>, one: &Edge, other: &Edge) -> Option<Edge> {
    let (mine, theirs) = (feet(one), feet(other));
    let ways = mine.iter().flat_map(|a| theirs.iter().map(move |b| (a, b)));
    let facing = ways.filter(|(a, b)| a.faces(b.place) && b.faces(a.place));
    let (a, b) = facing.min_by(|x, y| x.0.away(x.1).total_cmp(&y.0.away(y.1)))?;
    let dark = (dark(view, one)? + dark(view, other)?) / 2.0;
    let stations = stations(view, a.place, b.place, dark)?;
    Some(whole((one, a), (other, b), &stations))
}

/// A stretch of an outline from which something reaches away.
struct Foot {
    /// First and last node of the stretch, which may run round the end.
    nodes: (usize, usize),
    place: [f64; 2],
    outward: [f64; 2],
}

impl Foot {
    fn away(&self, other: &Self) -> f64 {
        (self.place[0] - other.place[0]).hypot(self.place[1] - other.place[1])
    }

    fn faces(&self, place: [f64; 2]) -> bool {
        let way = [place[0] - self.place[0], place[1] - self.place[1]];
        way[0] * self.outward[0] + way[1] * self.outward[1] > FACING * way[0].hypot(way[1])
    }
}

/// The stretches with something that reaches away; none of an outline that leaves the picture or overlaps another.
fn feet(edge: &Edge) -> Vec<Foot> {
    let n = edge.points.len();
    let seen = |j: usize| edge.points[j % n].seen;
    let whole = edge.meeting != Meeting::Overlaps && (0..n).all(|j| seen(j) != Seen::OutOfView);
    let lost = |j: usize| matches!(seen(j), Seen::Held | Seen::Disturbed);
    let starts = (0..n).filter(|j| whole && lost(*j) && !lost(j + n - 1));
    starts
        .filter_map(|start| {
            let length = (start..start + n).take_while(|j| lost(*j)).count();
            let held = (start..start + length).any(|j| seen(j) == Seen::Held);
            let foot = |first: usize, last: usize| {
                let (p, q) = (&edge.points[(first + n - 1) % n], &edge.points[(last + 1) % n]);
                let chord = [q.x - p.x, q.y - p.y];
                let width = chord[0].hypot(chord[1]).max(1e-9);
                Foot {
                    nodes: (first, last),
                    place: [(p.x + q.x) / 2.0, (p.y + q.y) / 2.0],
                    outward: [chord[1] / width, -chord[0] / width],
                }
            };
            (held && length < n / 2).then(|| foot(start, (start + length - 1) % n))
        })
        .collect()
}

/// The level within a body, over the light.
fn dark(view: &View<'_>, edge: &Edge) -> Option<f64> {
    let n = edge.points.len();
    let depth = 3.5 * edge.blur_px + 1.0;
    let within = |j: usize| {
        let [a, b, c] = [j + n - 2, j, j + 2].map(|k| &edge.points[k % n]);
        let (x, y) = (c.x - a.x, c.y - a.y);
        let length = x.hypot(y).max(1e-9);
        let (u, v) = (b.x - depth * y / length, b.y + depth * x / length);
        (b.seen == Seen::Yes).then(|| Some(level(view, u, v)? / view.background.at(u, v)))?
    };
    crate::edge::levels::middle((0..n).filter_map(within).collect())
}

/// A place of the thread between its feet: middle, across it, width.
struct Station {
    middle: [f64; 2],
    across: [f64; 2],
    width: f64,
}

/// The thread from foot to foot; `None` where it is broken or too short to be told.
fn stations(view: &View<'_>, from: [f64; 2], to: [f64; 2], dark: f64) -> Option<Vec<Station>> {
    let way = [to[0] - from[0], to[1] - from[1]];
    let length = way[0].hypot(way[1]);
    let along = way.map(|w| w / length.max(1e-9));
    let across = [-along[1], along[0]];
    let steps = (length / ALONG) as usize;
    let (mut found, mut middle) = (Vec::new(), 0.0);
    for k in 1..steps {
        let s = length * k as f64 / steps as f64;
        let place = [0, 1].map(|i| from[i] + s * along[i] + middle * across[i]);
        let Some((off, width)) = station(view, place, across, dark)? else {
            continue;
        };
        if width < THIN {
            return None;
        }
        middle += off;
        found.push(Station {
            middle: [0, 1].map(|i| place[i] + off * across[i]),
            across,
            width,
        });
    }
    let enough = found.len() >= FEWEST && found.len() as f64 * ALONG > SHARE * length;
    enough.then_some(found)
}

/// Middle and width of what is dark across a place; `Some(None)` where its ends are not light.
fn station(view: &View<'_>, [x, y]: [f64; 2], across: [f64; 2], dark: f64) -> Option<Option<(f64, f64)>> {
    let count = (2.0 * ACROSS / STEP) as i32;
    let profile = (0..=count).map(|k| {
        let t = f64::from(k) * STEP - ACROSS;
        let (u, v) = (x + t * across[0], y + t * across[1]);
        Some((t, level(view, u, v)? / view.background.at(u, v)))
    });
    let profile: Vec<(f64, f64)> = profile.collect::<Option<_>>()?;
    let outer = |t: f64| t.abs() > 0.75 * ACROSS;
    if profile.iter().any(|(t, level)| outer(*t) && *level < LIGHT) {
        return Some(None);
    }
    let (sum, n) = profile
        .iter()
        .filter(|(t, _)| outer(*t))
        .fold((0.0, 0.0), |(s, n), (_, level)| (s + level, n + 1.0));
    let light = sum / n;
    let (mut taken, mut moment) = (0.0, 0.0);
    for (t, level) in profile.iter().filter(|(t, _)| !outer(*t)) {
        taken += (light - level) * STEP;
        moment += (light - level) * STEP * t;
    }
    let width = taken / (light - dark).max(1e-3);
    let off = if width > THIN { moment / taken } else { 0.0 };
    Some(Some((off.clamp(-1.5, 1.5), width)))
}

/// The outline around both bodies and the thread.
fn whole((one, a): (&Edge, &Foot), (other, b): (&Edge, &Foot), stations: &[Station]) -> Edge {
    let own = |edge: &Edge, foot: &Foot| -> Vec<EdgePoint> {
        let n = edge.points.len();
        let (first, last) = foot.nodes;
        let lost = (last + n - first) % n + 1;
        (last + 1..last + 1 + n - lost)
            .map(|j| edge.points[j % n])
            .collect()
    };
    let (mine, theirs) = (own(one, a), own(other, b));
    // Which side of the thread the first outline ends on.
    let side = mine.last().map_or(1.0, |end| {
        let (p, across) = (stations[0].middle, stations[0].across);
        ((end.x - p[0]) * across[0] + (end.y - p[1]) * across[1]).signum()
    });
    let point = |s: &Station, side: f64| EdgePoint {
        x: s.middle[0] + side * s.width / 2.0 * s.across[0],
        y: s.middle[1] + side * s.width / 2.0 * s.across[1],
        uncertainty: PLACE.hypot(DOUBT * s.width),
        seen: Seen::Yes,
    };
    let there = stations.iter().map(|s| point(s, side));
    let back = stations.iter().rev().map(|s| point(s, -side));
    let points = mine.into_iter().chain(there).chain(theirs).chain(back).collect();
    Edge {
        points,
        meeting: Meeting::Necked,
        blur_px: one.blur_px,
        doubt: one.doubt,
    }
}
