//! Bodies as a plain list of numbers and back.
//!
//! ```text
//! state  = for each surface: r_0 .. r_n, z_0 .. z_n, phi_0 .. phi_n, then m lists of what its layer remembers
//! layout = the count of numbers of each surface
//! ```
//! A surface that runs downwards begins a body, one that runs upwards is the wall of a bubble of the body before it; an end off the axis
//! lies on a plane. So the state needs nothing beside its layout and m.
//!
//! Source: definitions.

use crate::potential::boundary::body::{Body, Surface};
use crate::potential::boundary::curve::End;

/// The list.
#[must_use]
pub fn packed(bodies: &[Body]) -> Vec<f64> {
    let surfaces = bodies.iter().flat_map(|body| &body.surfaces);
    surfaces
        .flat_map(|s| {
            [&s.r, &s.z, &s.phi]
                .into_iter()
                .chain(&s.layers)
                .flatten()
                .copied()
        })
        .collect()
}

/// The layout.
#[must_use]
pub fn layout(bodies: &[Body]) -> Vec<usize> {
    let surfaces = bodies.iter().flat_map(|body| &body.surfaces);
    surfaces.map(|s| (3 + s.layers.len()) * s.r.len()).collect()
}

/// The bodies, each surface with `layers` lists beside its own three; `None` for numbers that are no such list.
#[must_use]
pub fn unpacked(layout: &[usize], state: &[f64], layers: usize) -> Option<Vec<Body>> {
    let lists = 3 + layers;
    let fits = layout
        .iter()
        .all(|count| count % lists == 0 && *count >= 5 * lists);
    if !fits || layout.iter().sum::<usize>() != state.len() {
        return None;
    }
    let mut bodies: Vec<Body> = Vec::new();
    let mut from = 0;
    for count in layout {
        let nodes = count / lists;
        let part = |k: usize| state[from + k * nodes..from + (k + 1) * nodes].to_vec();
        let [r, z, phi] = [0, 1, 2].map(part);
        let end = |r: f64| if r == 0.0 { End::Axis } else { End::Plane };
        let surface = Surface {
            ends: [end(r[0]), end(r[nodes - 1])],
            r,
            z,
            phi,
            layers: (3..lists).map(part).collect(),
        };
        from += count;
        let outer = surface.z[0] > surface.z[nodes - 1];
        match bodies.last_mut() {
            Some(body) if !outer => body.surfaces.push(surface),
            _ if outer => bodies.push(Body {
                surfaces: vec![surface],
            }),
            _ => return None,
        }
    }
    Some(bodies)
}
