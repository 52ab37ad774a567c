//! Two bodies on the axis joined where their poles nearly touch.
//!
//! ```text
//! opened  from the poles outwards to where the gap is W wide, W = 3 gaps of the poles and at least 1.5 finest lengths
//! rim     r = r_j - (W/2) sin(pi x),  z from one lip to the other as cos(pi x)          x = 0 to 1
//! ```
//! The potential of the lower body is shifted to that of the upper one at the rim: before they touch no pressure has driven anything from
//! one into the other. Volume and momentum are kept as in parting.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r_j | radius of the opening | R |
//! | W | width of the gap there | R |
//!
//! Source: definitions. How the gas between drains is not followed: the gap at which they join is a stated length.

use std::f64::consts::PI;

use crate::potential::boundary::body::{Body, Surface};
use crate::potential::boundary::curve::End;
use crate::potential::boundary::mesh::Spacing;
use crate::potential::boundary::parting::kept;
use crate::potential::boundary::points::Rules;

/// Elements round the rim.
const RIM: usize = 14;
/// Spacing wanted near the contact, as a share of the distance between the bodies.
const NEAR: f64 = 0.2;

/// Distance of the facing poles of two bodies, the upper one first; `None` when one of them does not end on the axis.
#[must_use]
pub fn gap(upper: &Body, lower: &Body) -> Option<f64> {
    let (above, below) = (&upper.surfaces[0], &lower.surfaces[0]);
    if above.ends[1] != End::Axis || below.ends[0] != End::Axis {
        return None;
    }
    Some(above.z[above.z.len() - 1] - below.z[0])
}

/// The two as one, the gap counted as `finest` / 2 at least: bodies that fly at each other may have met within a step. `None` when they are too
/// small or do not face each other.
#[must_use]
pub fn joined(upper: &Body, lower: &Body, finest: f64, spacing: &Spacing, rules: &Rules) -> Option<Body> {
    let apart = gap(upper, lower)?;
    let least = apart.max(0.5 * finest);
    let above = refined(&upper.surfaces[0], &lower.surfaces[0], least, spacing, rules);
    let below = refined(&lower.surfaces[0], &upper.surfaces[0], least, spacing, rules);
    let last = above.r.len() - 1;
    // Height of the lower surface at a distance from the axis, near its pole.
    let height = |r: f64| -> Option<(usize, f64)> {
        let next = (1..below.r.len()).find(|i| below.r[*i] >= r)?;
        let share = (r - below.r[next - 1]) / (below.r[next] - below.r[next - 1]);
        Some((
            next,
            below.z[next - 1] + share * (below.z[next] - below.z[next - 1]),
        ))
    };
    let wanted = 3.0 * least;
    let lip = (0..last.saturating_sub(4))
        .rev()
        .find(|i| height(above.r[*i]).is_some_and(|(next, z)| next > 3 && above.z[*i] - z >= wanted))?;
    let (r, z) = (above.r[lip], above.z[lip]);
    let (next, _) = height(r)?;
    let (r_low, z_low) = (below.r[next], below.z[next]);
    let shift = above.phi[lip] - below.phi[next];
    let half = 0.5 * (z - z_low);
    let mut one = Surface {
        ends: [above.ends[0], below.ends[1]],
        r: above.r[..=lip].to_vec(),
        z: above.z[..=lip].to_vec(),
        phi: above.phi[..=lip].to_vec(),
        layers: above.layers.iter().map(|list| list[..=lip].to_vec()).collect(),
    };
    for k in 1..RIM {
        let x = k as f64 / RIM as f64;
        one.r.push(r + (r_low - r) * x - half * (PI * x).sin());
        one.z.push(z - half * (1.0 - (PI * x).cos()));
        one.phi.push(above.phi[lip]);
        for (number, list) in one.layers.iter_mut().enumerate() {
            list.push(above.layers[number][lip] * (1.0 - x) + below.layers[number][next] * x);
        }
    }
    one.r.extend(&below.r[next..]);
    one.z.extend(&below.z[next..]);
    one.phi.extend(below.phi[next..].iter().map(|phi| phi + shift));
    for (list, more) in one.layers.iter_mut().zip(&below.layers) {
        list.extend(&more[next..]);
    }
    if one.r[lip..lip + RIM].iter().any(|r| *r <= 0.0) {
        return None;
    }
    let mut surfaces = vec![one];
    surfaces.extend(upper.surfaces[1..].iter().cloned());
    surfaces.extend(lower.surfaces[1..].iter().cloned());
    let mut body = Body { surfaces };
    for _ in 0..2 {
        spacing.improve(&mut body, rules);
    }
    let bodies = kept(&[upper.clone(), lower.clone()], vec![body], rules);
    bodies.into_iter().next()
}

/// The surface with elements small where the other is near.
fn refined(own: &Surface, other: &Surface, least: f64, spacing: &Spacing, rules: &Rules) -> Surface {
    let mut surface = own.clone();
    for _ in 0..3 {
        let distance = |r: &f64, z: &f64| {
            let points = other.r.iter().zip(&other.z);
            points
                .map(|(a, b)| (r - a).hypot(z - b))
                .fold(f64::INFINITY, f64::min)
        };
        let points = surface.r.iter().zip(&surface.z);
        let gaps: Vec<f64> = points
            .map(|(r, z)| NEAR * distance(r, z).max(2.0 * least))
            .collect();
        match spacing.improved(&surface, &gaps, rules) {
            Some(better) => surface = better,
            None => break,
        }
    }
    surface
}
