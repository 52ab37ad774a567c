//! Corners of an outline that turn inward, and how sharp they are.
//!
//! ```text
//! courses: x(k) = a + b k + c k^2 through the nodes of a window on each side, drawn on to the node
//! turn = angle from the course before to the course after; negative where the outline turns inward
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `k` | nodes along the outline, over the reach of the window | - |
//!
//! Source: see [`crate::joint`].

use crate::edge::{Edge, EdgePoint, Seen, View};
use crate::joint::spacing;
use crate::step::{density, step};
use tremolet_shape::normal_equations::NormalEquations;

/// Whether a corner is one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sharp {
    /// It is as sharp as the blur allows.
    Yes,
    /// It is filled up: a neck.
    No,
    /// Between the two.
    Open,
}

/// A place where the outline turns inward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// The node nearest to it.
    pub node: usize,
    /// Where the courses from both sides meet, px.
    pub place: [f64; 2],
    /// Angle from one course to the other, rad, negative.
    pub turn: f64,
    /// Distance from there to the light, px.
    pub fill: f64,
    /// Whether it is sharp.
    pub sharp: Sharp,
}

/// Least turn of a corner, rad.
const TURN: f64 = 0.26;
/// Next to the node nothing is used: widths of the blur, and px.
const GUARD: [f64; 2] = [2.0, 3.0];
/// Length of a window: share of the radius of a disc of the outline's length, and its bounds, px.
const SHARE: f64 = 0.35;
const WINDOW: [f64; 2] = [12.0, 40.0];
/// A course strays from its nodes by less than this, px, and has this share of them.
const STRAY: f64 = 0.3;
/// Fewest nodes of a window.
const LEAST: usize = 6;
const SEEN: f64 = 0.6;
/// Fill beyond what blur makes, over that of an arc which just fits into what is left out beside the node: less than the first is
/// a corner, more than the second a neck. Where such an arc fills less than [`TELLING`] px nothing can be told.
const FILLED: [f64; 2] = [0.3, 0.55];
const TELLING: f64 = 0.4;

/// The inward corners of an outline.
pub fn corners(view: &View<'_>, edge: &Edge) -> Vec<Corner> {
    let n = edge.points.len();
    let radius = n as f64 * spacing(edge) / std::f64::consts::TAU;
    let nodes = |px: f64| ((px / spacing(edge)).ceil() as usize).max(1);
    let guard = nodes(GUARD[0] * edge.blur_px + GUARD[1]);
    let window = nodes((SHARE * radius).clamp(WINDOW[0], WINDOW[1])).max(LEAST);
    if 2 * (guard + window) > n {
        return Vec::new();
    }
    let mut found: Vec<Corner> = (0..n)
        .filter(|j| sags(edge, *j, guard + window / 2))
        .filter_map(|j| corner(view, edge, j, guard, window))
        .collect();
    found.sort_by(|a, b| a.turn.total_cmp(&b.turn));
    let mut apart: Vec<Corner> = Vec::new();
    for c in found {
        let near = |a: &Corner| {
            let d = a.node.abs_diff(c.node);
            d.min(n - d) < guard + window / 2
        };
        if !apart.iter().any(near) {
            apart.push(c);
        }
    }
    apart.sort_by_key(|c| c.node);
    apart
}

/// Whether node `j` lies inward of the chord over `reach` nodes to both sides.
fn sags(edge: &Edge, j: usize, reach: usize) -> bool {
    let n = edge.points.len();
    let [a, b, c] = [j + n - reach, j, j + reach].map(|k| &edge.points[k % n]);
    let (x, y) = (c.x - a.x, c.y - a.y);
    ((b.x - a.x) * y - (b.y - a.y) * x) / x.hypot(y).max(1e-9) < -0.3
}

/// Place and direction of an outline drawn on to a node.
struct Course {
    at: [f64; 2],
    along: [f64; 2],
}

/// The course over a window, or over a shorter one where the outline turns again within it.
fn course(edge: &Edge, j: usize, side: isize, guard: usize, window: usize) -> Option<Course> {
    let windows = [window, window / 2, LEAST];
    let fits = windows.into_iter().filter(|w| *w >= LEAST);
    fits.map(|w| over(edge, j, side, guard, w)).find_map(|c| c)
}

fn over(edge: &Edge, j: usize, side: isize, guard: usize, window: usize) -> Option<Course> {
    let n = edge.points.len() as isize;
    let at = |k: usize| &edge.points[(j as isize + side * k as isize).rem_euclid(n) as usize];
    let reach = (guard + window) as f64;
    let seen: Vec<(f64, &EdgePoint)> = (guard..guard + window)
        .map(|k| (k as f64 / reach, at(k)))
        .filter(|(_, p)| p.seen == Seen::Yes)
        .collect();
    if (seen.len() as f64) < SEEN * window as f64 {
        return None;
    }
    let origin = at(0);
    let fitted = |of: &dyn Fn(&EdgePoint) -> f64| {
        let mut sums = NormalEquations::new(3);
        for (t, p) in &seen {
            sums.add(&[1.0, *t, t * t], 1.0, of(p));
        }
        Some(sums.factored()?.solution(3))
    };
    let x = fitted(&|p| p.x - origin.x)?;
    let y = fitted(&|p| p.y - origin.y)?;
    let off = |(t, p): &(f64, &EdgePoint)| {
        let value = |c: &[f64]| c[0] + c[1] * t + c[2] * t * t;
        (p.x - origin.x - value(&x)).powi(2) + (p.y - origin.y - value(&y)).powi(2)
    };
    let stray = (seen.iter().map(off).sum::<f64>() / seen.len() as f64).sqrt();
    let along = [side as f64 * x[1], side as f64 * y[1]];
    let length = along[0].hypot(along[1]);
    (stray < STRAY && length > 0.0).then(|| Course {
        at: [origin.x + x[0], origin.y + y[0]],
        along: along.map(|v| v / length),
    })
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn corner(view: &View<'_>, edge: &Edge, j: usize, guard: usize, window: usize) -> Option<Corner> {
    let before = course(edge, j, -1, guard, window)?;
    let after = course(edge, j, 1, guard, window)?;
    let (a, b) = (before.along, after.along);
    let turn = cross(a, b).atan2(a[0] * b[0] + a[1] * b[1]);
    if turn > -TURN {
        return None;
    }
    let between = [after.at[0] - before.at[0], after.at[1] - before.at[1]];
    let u = cross(between, b) / cross(a, b);
    let place = [before.at[0] + u * a[0], before.at[1] + u * a[1]];
    let (node, _) = edge
        .points
        .iter()
        .enumerate()
        .map(|(k, p)| (k, (p.x - place[0]).hypot(p.y - place[1])))
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let n = edge.points.len();
    let off = node.abs_diff(j).min(n - node.abs_diff(j));
    if off > guard {
        // The corner itself lies within a window: another node sees it better.
        return None;
    }
    let out = [b[0] - a[0], b[1] - a[1]];
    let length = out[0].hypot(out[1]);
    let fill = fill(view, place, out.map(|v| v / length))?;
    let beyond = fill - edge.blur_px * wedge(std::f64::consts::PI + turn);
    // An arc of radius rho that turns by phi over twice the guard: rho = 2 guard / phi.
    let arc = 2.0 * guard as f64 * spacing(edge) / -turn * ((turn / 2.0).cos().recip() - 1.0);
    let sharp = if arc > TELLING && beyond < FILLED[0] * arc {
        Sharp::Yes
    } else if arc > TELLING && beyond > FILLED[1] * arc {
        Sharp::No
    } else {
        Sharp::Open
    };
    Some(Corner {
        node,
        place,
        turn,
        fill,
        sharp,
    })
}

/// Distance from a place to the light along a direction, px; [`FAR`] where there is none, `None` where it begins in the light.
fn fill(view: &View<'_>, place: [f64; 2], out: [f64; 2]) -> Option<f64> {
    let level = |d: f64| {
        let (x, y) = (place[0] + d * out[0], place[1] + d * out[1]);
        let codes = crate::edge::border::level(view, x, y)?;
        Some(codes / view.background.at(x, y))
    };
    let inside: Vec<f64> = [-6.0, -5.0, -4.0].into_iter().filter_map(level).collect();
    let dark = inside.iter().sum::<f64>() / inside.len().max(1) as f64;
    if inside.is_empty() || dark > 0.7 {
        return None;
    }
    let half = (1.0 + dark) / 2.0;
    let mut before: Option<f64> = None;
    for k in -12..=(4.0 * FAR) as i32 {
        let d = f64::from(k) / 4.0;
        let here = level(d)?;
        if here > half {
            let back = before.map_or(0.0, |b| 0.25 * (here - half) / (here - b).max(1e-9));
            return Some(d - back);
        }
        before = Some(here);
    }
    Some(FAR)
}

/// Light is not looked for further away, px.
const FAR: f64 = 24.0;

/// Where half the light is left within a wedge of light of opening `beta`, widths of the blur from its tip.
pub(crate) fn wedge(beta: f64) -> f64 {
    const MOST: f64 = 8.0;
    let slope = (beta.clamp(0.05, std::f64::consts::PI - 1e-3) / 2.0).tan();
    let light = |d: f64| {
        let sum = (0..240).map(|k| {
            let x = -6.0 + 0.05 * (f64::from(k) + 0.5);
            let half = (x + d) * slope;
            if half > 0.0 {
                density(x) * (2.0 * step(half).0 - 1.0) * 0.05
            } else {
                0.0
            }
        });
        sum.sum::<f64>()
    };
    let (mut low, mut high) = (0.0, MOST);
    for _ in 0..20 {
        let middle = (low + high) / 2.0;
        if light(middle) < 0.5 {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::wedge;

    /// Before a straight edge half the light is left at the edge itself. In a right angle the two sides are independent:
    /// `Phi(d / sqrt 2)^2 = 1/2` gives `d = 0.5450 sqrt 2` (`Phi(0.5450) = 0.70711`, from memory of the table).
    #[test]
    fn half_the_light_lies_where_blur_leaves_it() {
        assert!(wedge(std::f64::consts::PI).abs() < 0.03);
        assert!((wedge(std::f64::consts::FRAC_PI_2) / (0.5450 * 2.0_f64.sqrt()) - 1.0).abs() < 3e-3);
        assert!(wedge(0.6) > wedge(1.2) && wedge(1.2) > wedge(2.4));
    }
}
