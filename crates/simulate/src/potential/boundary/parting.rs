//! A body cut in two at a neck, or loose from its plane.
//!
//! ```text
//! cut     from the neck outwards to where r = 2 r_neck on each side
//! tip     r = r_c + r_u x + c x^2 + d x^3,  z = z_c + a (x - x^2/2)       x = 0 to 1: goes on in the direction of the surface, meets
//!                                                                       the axis at a right angle and odd in r
//! ```
//! Afterwards r of all parts is stretched alike so that the volume is that before, and every part gets one more velocity along the axis so
//! that the momentum is: both changes are of the order of the liquid in the neck, `r_neck^3` of the whole. What lies beyond the neck may be
//! a droplet too small for the nodes of a body, no longer than some necks are wide: it is not followed, the body is rounded off at the neck and has its liquid.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r_c, z_c | where the cut meets the surface | R |
//! | x | along the tip | 1 |
//!
//! Source: definitions. What happens inside a neck thinner than the cut is not followed.

use std::f64::consts::PI;

use crate::potential::boundary::body::{Body, Surface};
use crate::potential::boundary::curve::End;
use crate::potential::boundary::mesh::{FEWEST, Spacing};
use crate::potential::boundary::necks::Neck;
use crate::potential::boundary::points::Rules;

/// The cut is made where the surface is so many times wider than the neck.
const WIDER: f64 = 2.0;
/// A droplet shorter than so many widths of the neck that lets it go is not followed.
const DROPLET: f64 = 8.0;
/// Share of the circumference by which a tip sticks out.
const LENGTH: f64 = 1.6;

/// The parts of `body` cut at `neck`, uppermost first, one where the other would be a droplet too small to follow; `None` when there is not liquid
/// enough on either side for a body.
#[must_use]
pub fn parted(body: &Body, neck: Neck, spacing: &Spacing, rules: &Rules) -> Option<Vec<Body>> {
    let outer = &body.surfaces[0];
    let last = outer.r.len() - 1;
    let wide = |i: &usize| outer.r[*i] >= WIDER * neck.radius;
    let above = (0..neck.node).rev().find(wide);
    let below = (neck.node + 1..=last).find(wide);
    let upper = above.and_then(|a| tipped(outer, a));
    let lower = below
        .and_then(|b| tipped(&turned_over(outer), last - b))
        .map(|part| turned_over(&part));
    let height = |node: usize| (outer.z[node] - outer.z[neck.node]).abs();
    let parts: Vec<Surface> = match (upper, lower) {
        (Some(upper), Some(lower)) => vec![upper, lower],
        (Some(one), None) if height(last) < DROPLET * 2.0 * neck.radius => vec![one],
        (None, Some(one)) if height(0) < DROPLET * 2.0 * neck.radius => vec![one],
        _ => return None,
    };
    let height = outer.z[neck.node];
    let mut bodies: Vec<Body> = parts
        .into_iter()
        .map(|surface| Body {
            surfaces: vec![surface],
        })
        .collect();
    for wall in &body.surfaces[1..] {
        let below = bodies.len() > 1 && wall.z[0] < height;
        bodies[usize::from(below)].surfaces.push(wall.clone());
    }
    // Nodes are laid anew first, so that what is kept is kept on the surface that goes on.
    for _ in 0..2 {
        bodies.iter_mut().for_each(|body| {
            spacing.improve(body, rules);
        });
    }
    Some(kept(std::slice::from_ref(body), bodies, rules))
}

/// The bodies `after` with the volume and the momentum of those `before`.
#[must_use]
pub fn kept(before: &[Body], mut after: Vec<Body>, rules: &Rules) -> Vec<Body> {
    let volume = |bodies: &[Body]| bodies.iter().map(|body| body.moments(rules)[0]).sum::<f64>();
    let momentum = |bodies: &[Body]| bodies.iter().map(|body| body.momentum(rules)).sum::<f64>();
    let stretch = (volume(before) / volume(&after)).sqrt();
    for surface in after.iter_mut().flat_map(|body| &mut body.surfaces) {
        surface.r.iter_mut().for_each(|r| *r *= stretch);
    }
    // Planes take up momentum.
    let free = |body: &Body| body.surfaces[0].ends == [End::Axis; 2];
    if before.iter().all(free) {
        let speed = (momentum(before) - momentum(&after)) / volume(&after);
        after.iter_mut().for_each(|body| body.speed_up(speed));
    }
    after
}

/// The surface from its first node to node `cut`, closed by a tip.
fn tipped(surface: &Surface, cut: usize) -> Option<Surface> {
    if cut < 4 {
        return None;
    }
    let place = surface.curve().place_at(cut as f64);
    let arc = place.r_u.hypot(place.z_u);
    let length = LENGTH * place.r;
    let (along_r, along_z) = (place.r_u / arc * length, place.z_u / arc * length);
    let d = 0.5 * (place.r + along_r);
    let phi = surface.potential().at(cut as f64);
    let slope = phi[1] / arc * length;
    let count = (0.5 * PI * place.r / arc).ceil().max(6.0) as usize;
    let mut part = Surface {
        ends: [surface.ends[0], End::Axis],
        r: surface.r[..=cut].to_vec(),
        z: surface.z[..=cut].to_vec(),
        phi: surface.phi[..=cut].to_vec(),
        layers: surface.layers.iter().map(|list| list[..=cut].to_vec()).collect(),
    };
    for k in 1..=count {
        let x = k as f64 / count as f64;
        let bent = x - 0.5 * x * x;
        let r = place.r + along_r * x - 3.0 * d * x * x + d * x * x * x;
        part.r.push(if k == count { 0.0 } else { r });
        part.z.push(place.z + along_z * bent);
        part.phi.push(surface.phi[cut] + slope * bent);
        for (list, from) in part.layers.iter_mut().zip(&surface.layers) {
            list.push(from[cut] * (1.0 - x));
        }
    }
    let sound = part.r.len() > FEWEST / 2 && part.r[cut + 1..part.r.len() - 1].iter().all(|r| *r > 0.0);
    sound.then_some(part)
}

/// The surface with its path the other way round, seen upside down.
fn turned_over(surface: &Surface) -> Surface {
    let back = |list: &[f64]| list.iter().rev().copied().collect::<Vec<f64>>();
    let [first, last] = surface.ends;
    Surface {
        ends: [last, first],
        r: back(&surface.r),
        z: back(&surface.z).iter().map(|z| -z).collect(),
        phi: back(&surface.phi),
        layers: surface
            .layers
            .iter()
            .map(|list| back(list).iter().map(|x| -x).collect())
            .collect(),
    }
}
