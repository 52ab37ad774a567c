//! A closed surface of revolution, and where a ray first meets it.
//!
//! ```text
//! piece: cone frustum,  r^2(s) dz^2 = (r0 dz + (z(s) - z0) dr)^2,   r^2(s) = A + 2 B s + C s^2,  z(s) = a + b s
//! place on the curve:   s + 4 t (1 - t) bow / (n . d)
//! node of the tree:     the slab of z gives a stretch of s; missed if there r^2 stays above or below that of the node
//! ```
//! A ray outside meets pieces from outside only, one inside from inside only, so that a ray that starts on the surface does not meet its
//! start again. Where a ray leaves a convex body is found without the tree ([`crate::traced::exit`]).
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s` | along the ray | m |
//! | `t` | along a piece, 0 to 1 | 1 |
//! | `z`, `r` | along the axis from the centre, from the axis | m |
//! | bow | of the curve over the middle of the piece's chord, outwards positive | m |
//!
//! Source: elementary geometry. Normals are those of the smooth curve, joined by straight lines over each piece; with pieces that bow by
//! a share `e` of the radius the outline is too small by at most that share.

use crate::traced::error::TraceError;
use crate::traced::exit::{Seen, Squares};
use crate::traced::medium::Medium;
use crate::traced::meridian::{Curve, Knot};
use crate::traced::vector::{Vector, along, dot, unit};

/// Bow of a piece as a share of the body's reach.
pub const BOW: f64 = 4e-6;
/// Least `|n . d|` at which the bow of a piece is made good: more slanting rays move too far by it.
const SLANT: f64 = 0.02;

/// A surface as given: where it is, its shape and what it parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Skin {
    /// Points `[z, rho]` of the meridian from pole to pole, m; z from the centre along the axis.
    pub meridian: Vec<[f64; 2]>,
    /// Where z = 0 on the axis lies, m.
    pub centre: Vector,
    /// Direction of the axis; its length does not matter.
    pub axis: Vector,
    /// What lies inside.
    pub inside: Medium,
    /// What lies outside.
    pub outside: Medium,
}

/// A straight ray; its direction has length 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ray {
    /// Where it starts, m.
    pub from: Vector,
    /// Where it goes.
    pub direction: Vector,
}

/// Where a ray meets a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Along the ray, m.
    pub way: f64,
    /// Outward normal of length 1.
    pub normal: Vector,
}

#[derive(Debug, Clone, Copy)]
struct Piece {
    z: f64,
    r: f64,
    dz: f64,
    dr: f64,
    bow: f64,
    normals: [[f64; 2]; 2],
}

/// Bounds of a run of pieces: least and greatest z and r^2.
#[derive(Debug, Clone, Copy)]
struct Node {
    z: [f64; 2],
    square: [f64; 2],
}

const NOTHING: Node = Node {
    z: [f64::INFINITY, f64::NEG_INFINITY],
    square: [f64::INFINITY, f64::NEG_INFINITY],
};

/// Pieces in one leaf.
const LEAF: usize = 1;

/// A surface made ready for rays.
#[derive(Debug, Clone)]
pub struct Surface {
    /// What lies inside.
    pub inside: Medium,
    /// What lies outside.
    pub outside: Medium,
    centre: Vector,
    axis: Vector,
    curve: Curve,
    pieces: Vec<Piece>,
    /// A heap: node k has the children 2 k and 2 k + 1; leaves from `leaves` on.
    nodes: Vec<Node>,
    leaves: usize,
    middle: f64,
    reach: f64,
    convex: bool,
    squares: Option<Squares>,
}

impl Surface {
    /// Makes a surface ready.
    ///
    /// # Errors
    /// [`TraceError::Meridian`] for points that bound no body.
    pub fn new(skin: &Skin) -> Result<Self, TraceError> {
        let curve = Curve::through(&skin.meridian)?;
        let ends = [
            curve.at(0.0).at[0],
            curve.at(skin.meridian.len() as f64 - 1.0).at[0],
        ];
        let middle = 0.5 * (ends[0] + ends[1]);
        let far = |knot: &Knot| (knot.at[0] - middle).hypot(knot.at[1]);
        let rough = skin.meridian.iter().map(|at| (at[0] - middle).hypot(at[1]));
        let knots = curve.cut(BOW * rough.fold(0.0, f64::max));
        let reach = knots.iter().map(far).fold(0.0, f64::max) * (1.0 + BOW);
        let pieces: Vec<Piece> = knots.windows(2).map(piece).collect();
        let convex = pieces.iter().all(|piece| piece.bow >= 0.0);
        let squares = convex.then(|| Squares::of(&knots, reach)).flatten();
        let leaves = pieces.len().div_ceil(LEAF).next_power_of_two();
        Ok(Self {
            inside: skin.inside,
            outside: skin.outside,
            centre: skin.centre,
            axis: unit(skin.axis),
            curve,
            nodes: tree(&pieces, leaves),
            pieces,
            leaves,
            middle,
            reach,
            convex,
            squares,
        })
    }

    /// The smooth meridian.
    #[must_use]
    pub fn curve(&self) -> &Curve {
        &self.curve
    }

    /// Whether the body is convex.
    #[must_use]
    pub fn is_convex(&self) -> bool {
        self.convex
    }

    /// The running number of the last point of the meridian.
    #[must_use]
    pub fn last(&self) -> f64 {
        self.curve.intervals() as f64
    }

    /// Where z = 0 on the axis lies, m.
    #[must_use]
    pub fn centre(&self) -> Vector {
        self.centre
    }

    /// Direction of the axis.
    #[must_use]
    pub fn axis(&self) -> Vector {
        self.axis
    }

    /// Middle between the poles and radius of the ball about it that holds the surface, m.
    #[must_use]
    pub fn ball(&self) -> (Vector, f64) {
        (along(self.centre, self.middle, self.axis), self.reach)
    }

    /// Where the ray first leaves (`inside`) or enters (not `inside`), nearer than `limit` m.
    #[inline]
    #[must_use]
    pub fn hit(&self, ray: &Ray, inside: bool, limit: f64) -> Option<Hit> {
        let from = along(ray.from, -1.0, self.centre);
        let line = Line::new(from, ray.direction, self.axis);
        if inside && let Some(squares) = &self.squares {
            return self.left(squares, &line, from, ray).filter(|hit| hit.way < limit);
        }
        if line.misses(from, ray.direction, self) {
            return None;
        }
        let mut best = Met {
            way: limit,
            ..Met::default()
        };
        self.walk(&line, inside, &mut best, false);
        best.found.then(|| self.told(&best, from, ray))
    }

    /// Where a ray inside leaves; nowhere for one that rounding has put outside of the ball about the body.
    fn left(&self, squares: &Squares, line: &Line, from: Vector, ray: &Ray) -> Option<Hit> {
        let to_middle = along(self.axis.map(|x| x * self.middle), -1.0, from);
        let nearest = dot(to_middle, ray.direction);
        let square = self.reach * self.reach - (dot(to_middle, to_middle) - nearest * nearest);
        let until = nearest + square.max(0.0).sqrt();
        if until.is_nan() || until <= 0.0 {
            return None;
        }
        let seen = Seen {
            height: [line.a, line.b],
            square: [line.ca, line.cb, line.cc],
        };
        let (way, slope) = squares.exit(&seen, until);
        let place = along(from, way, ray.direction);
        let outward = along(place, -dot(place, self.axis), self.axis);
        Some(Hit {
            way,
            normal: unit(along(outward, -0.5 * slope, self.axis)),
        })
    }

    /// Down the tree to the nearest crossing, or to `any`.
    #[inline]
    fn walk(&self, line: &Line, inside: bool, best: &mut Met, any: bool) {
        let mut stack = [0_u32; 64];
        let mut depth = 1;
        stack[0] = 1;
        while depth > 0 && !(any && best.found) {
            depth -= 1;
            let k = stack[depth] as usize;
            if !line.meets(&self.nodes[k], best.way) {
                continue;
            }
            if k >= self.leaves {
                let first = (k - self.leaves) * LEAF;
                for (number, piece) in self.pieces.iter().enumerate().skip(first).take(LEAF) {
                    line.cross(piece, number, inside, best);
                }
            } else {
                // z falls along the chain: a ray with rising z meets the later half first.
                let nearer = u32::from(line.b > 0.0);
                let first = 2 * k as u32;
                stack[depth] = first + 1 - nearer;
                stack[depth + 1] = first + nearer;
                depth += 2;
            }
        }
    }

    /// Whether the ray enters the surface anywhere ahead.
    #[inline]
    #[must_use]
    pub fn is_met(&self, ray: &Ray) -> bool {
        let from = along(ray.from, -1.0, self.centre);
        let line = Line::new(from, ray.direction, self.axis);
        if line.misses(from, ray.direction, self) {
            return false;
        }
        let mut best = Met {
            way: f64::INFINITY,
            ..Met::default()
        };
        self.walk(&line, false, &mut best, true);
        best.found
    }

    /// The normal, and the place on the curve instead of its chord.
    fn told(&self, best: &Met, from: Vector, ray: &Ray) -> Hit {
        let piece = &self.pieces[best.piece];
        let normal = self.normal(piece, best.part, along(from, best.way, ray.direction));
        let slant = dot(normal, ray.direction);
        if slant.abs() < SLANT {
            return Hit {
                way: best.way,
                normal,
            };
        }
        let bow = 4.0 * best.part * (1.0 - best.part) * piece.bow;
        let way = (best.way + bow / slant).max(0.0);
        let place = along(from, way, ray.direction);
        let z = dot(place, self.axis);
        let r = (dot(place, place) - z * z).max(0.0).sqrt();
        let part = ((z - piece.z) * piece.dz + (r - piece.r) * piece.dr) / piece.length_squared();
        Hit {
            way,
            normal: self.normal(piece, part, place),
        }
    }

    /// The normal at a place by the piece of the meridian and the part of it.
    fn normal(&self, piece: &Piece, part: f64, place: Vector) -> Vector {
        let [near, far] = piece.normals;
        let mixed = [0, 1].map(|i| near[i] + part * (far[i] - near[i]));
        let outward = along(place, -dot(place, self.axis), self.axis);
        let distance = dot(outward, outward).sqrt();
        let sideways = if distance > 0.0 { mixed[1] / distance } else { 0.0 };
        unit(along(outward.map(|x| x * sideways), mixed[0], self.axis))
    }
}

impl Piece {
    #[inline]
    fn length_squared(&self) -> f64 {
        self.dz * self.dz + self.dr * self.dr
    }
}

fn piece(pair: &[Knot]) -> Piece {
    let (near, far) = (pair[0], pair[1]);
    let (dz, dr) = (far.at[0] - near.at[0], far.at[1] - near.at[1]);
    let length = dz.hypot(dr);
    // The curve leaves its chord by half the angle between its end normals at each end: bow = length angle / 8.
    let turn = near.normal[0] * far.normal[1] - near.normal[1] * far.normal[0];
    Piece {
        z: near.at[0],
        r: near.at[1],
        dz,
        dr,
        bow: 0.125 * length * turn,
        normals: [near.normal, far.normal],
    }
}

fn tree(pieces: &[Piece], leaves: usize) -> Vec<Node> {
    let mut nodes = vec![NOTHING; 2 * leaves];
    for (leaf, run) in pieces.chunks(LEAF).enumerate() {
        nodes[leaves + leaf] = run.iter().map(bounds).fold(NOTHING, both);
    }
    for k in (1..leaves).rev() {
        nodes[k] = both(nodes[2 * k], nodes[2 * k + 1]);
    }
    nodes
}

fn bounds(piece: &Piece) -> Node {
    let (z, r) = (piece.z + piece.dz, piece.r + piece.dr);
    // A little wider than the piece, so that rounding loses no ray between two pieces.
    let spare = 1e-9 * piece.dz.hypot(piece.dr);
    let (low, high) = ((piece.r.min(r) - spare).max(0.0), piece.r.max(r) + spare);
    Node {
        z: [piece.z.min(z) - spare, piece.z.max(z) + spare],
        square: [low * low, high * high],
    }
}

fn both(a: Node, b: Node) -> Node {
    Node {
        z: [a.z[0].min(b.z[0]), a.z[1].max(b.z[1])],
        square: [a.square[0].min(b.square[0]), a.square[1].max(b.square[1])],
    }
}

/// The nearest crossing so far.
#[derive(Debug, Clone, Copy, Default)]
struct Met {
    way: f64,
    piece: usize,
    part: f64,
    found: bool,
}

/// A ray seen from the axis of a surface: `z(s) = a + b s`, `r^2(s) = ca + 2 cb s + cc s^2`.
#[derive(Debug, Clone, Copy)]
struct Line {
    a: f64,
    b: f64,
    ca: f64,
    cb: f64,
    cc: f64,
    per_b: f64,
    /// Where the ray is nearest to the axis.
    turn: f64,
}

impl Line {
    #[inline]
    fn new(from: Vector, direction: Vector, axis: Vector) -> Self {
        let (a, b) = (dot(from, axis), dot(direction, axis));
        let (cb, cc) = (dot(from, direction) - a * b, (1.0 - b * b).max(0.0));
        Self {
            a,
            b,
            ca: dot(from, from) - a * a,
            cb,
            cc,
            per_b: 1.0 / b,
            turn: -cb / cc.max(1e-300),
        }
    }

    /// Whether the ray passes the surface's ball, or has it behind.
    #[inline]
    fn misses(&self, from: Vector, direction: Vector, surface: &Surface) -> bool {
        let to_middle = along(surface.axis.map(|x| x * surface.middle), -1.0, from);
        let nearest = dot(to_middle, direction);
        let (far, reach) = (dot(to_middle, to_middle), surface.reach * surface.reach);
        far - nearest * nearest > reach || (nearest < 0.0 && far > reach)
    }

    #[inline]
    fn square(&self, s: f64) -> f64 {
        self.ca + s * (2.0 * self.cb + s * self.cc)
    }

    /// Whether the ray may meet something in the node before `limit`.
    #[inline]
    fn meets(&self, node: &Node, limit: f64) -> bool {
        let (mut from, mut until) = (0.0_f64, limit);
        if self.b.abs() > 1e-12 {
            let (s, t) = (
                (node.z[0] - self.a) * self.per_b,
                (node.z[1] - self.a) * self.per_b,
            );
            from = from.max(s.min(t));
            until = until.min(s.max(t));
            if from > until {
                return false;
            }
        } else if self.a < node.z[0] || self.a > node.z[1] {
            return false;
        }
        let highest = self.square(from).max(self.square(until));
        let turn = self.turn.max(from).min(until);
        highest >= node.square[0] && self.square(turn) <= node.square[1]
    }

    /// Takes the crossing with a piece into account, if it is nearer and of the right sense.
    #[inline]
    fn cross(&self, piece: &Piece, number: usize, inside: bool, best: &mut Met) {
        let (dz, dr) = (piece.dz, piece.dr);
        // (r0 dz + (z(s) - z0) dr) = e + g s
        let (e, g) = (piece.r * dz + (self.a - piece.z) * dr, self.b * dr);
        let two = dz * dz;
        let (qa, qb, qc) = (
            self.cc * two - g * g,
            self.cb * two - e * g,
            self.ca * two - e * e,
        );
        let roots = if two < 1e-24 * dr * dr {
            // A flat ring: the plane itself.
            [(piece.z - self.a) * self.per_b, f64::NAN]
        } else {
            both_roots(qa, qb, qc)
        };
        for s in roots {
            if !(s > 0.0 && s < best.way) {
                continue;
            }
            let z = self.a + self.b * s;
            let r = self.square(s).max(0.0).sqrt();
            let length = piece.length_squared();
            let part = ((z - piece.z) * dz + (r - piece.r) * dr) / length;
            if !(-1e-9..=1.0 + 1e-9).contains(&part) {
                continue;
            }
            // Off the piece's own line it is the cone's other half.
            let off = (r - piece.r) * dz - (z - piece.z) * dr;
            if off.abs() > 1e-4 * length {
                continue;
            }
            // Outward across the chord: (dr, -dz); r' = (cb + cc s) / r.
            let outward = self.b * dr * r - (self.cb + self.cc * s) * dz;
            if (outward > 0.0) == inside {
                *best = Met {
                    way: s,
                    piece: number,
                    part: part.clamp(0.0, 1.0),
                    found: true,
                };
            }
        }
    }
}

/// Roots of `a s^2 + 2 b s + c`, without loss by cancellation; not numbers where there are none.
#[inline]
fn both_roots(a: f64, b: f64, c: f64) -> [f64; 2] {
    let square = b * b - a * c;
    if square < 0.0 {
        return [f64::NAN; 2];
    }
    let q = -(b + square.sqrt().copysign(b));
    [q / a, c / q]
}

#[cfg(test)]
mod tests;
