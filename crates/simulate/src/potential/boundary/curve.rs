//! A meridian: the curve whose turning about the axis is a surface of the liquid.
//!
//! ```text
//! (r(u), z(u)), u = 0 to n, with the liquid to the right of the path;   n = (-z_u, r_u) / J out of the liquid
//! curvature along the meridian (r_uu z_u - z_uu r_u) / J^3,   round the axis -z_u / (r J);   both positive on a ball
//! ```
//! The outside of a drop runs from its upper pole to its lower one, the wall of a bubble from its lower pole to its upper one.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | u, n | running number (nodes at whole numbers), number of elements | 1 |
//! | r, z | distance from the axis, height along it | m |
//! | J | length of the slope (r_u, z_u): arc for each element | m |
//!
//! Source: differential geometry of surfaces of revolution \[DoCarmo1976\] section 3-3. Splines are those of `numerics::spline`.

use tremolet_numerics::spline::{Spline, Symmetry, weights};

use crate::potential::boundary::kernel::Place;

/// What a meridian ends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The axis, met at a right angle.
    Axis,
    /// A plane across the axis in which everything is mirrored.
    Plane,
}

/// A meridian as two splines.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    ends: [End; 2],
    r: Spline,
    z: Spline,
}

/// Geometry of a meridian at one node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Place and slope.
    pub place: Place,
    /// Length of the slope, m.
    pub arc: f64,
    /// Normal out of the liquid: along r, along z.
    pub normal: [f64; 2],
    /// Curvatures along the meridian and round the axis, 1/m.
    pub curvatures: [f64; 2],
    /// Slope of the arc by the running number, m.
    pub arc_u: f64,
    /// Whether it lies on the axis.
    pub on_axis: bool,
}

impl Node {
    /// The Laplacian on the surface of a function with these derivatives by the running number.
    #[must_use]
    pub fn surface_laplacian(&self, f_u: f64, f_uu: f64) -> f64 {
        let along = (f_uu - f_u * self.arc_u / self.arc) / (self.arc * self.arc);
        if self.on_axis {
            return 2.0 * along;
        }
        // The slope of r along the arc is the axial part of the normal.
        along + self.normal[1] / self.place.r * f_u / self.arc
    }
}

impl Curve {
    /// The meridian through the nodes `r`, `z` (equally many, at least five; `r` nil at an end on the axis).
    #[must_use]
    pub fn through(r: &[f64], z: &[f64], ends: [End; 2]) -> Self {
        Self {
            ends,
            r: Spline::through(r, ends.map(symmetry_across)),
            z: Spline::through(z, ends.map(symmetry_along)),
        }
    }

    /// Number of elements.
    #[must_use]
    pub fn elements(&self) -> usize {
        self.r.intervals()
    }

    /// What the meridian ends on.
    #[must_use]
    pub fn ends(&self) -> [End; 2] {
        self.ends
    }

    /// Place and slope at the share `t` of an element, from the spline weights there.
    #[inline]
    #[must_use]
    pub fn place(&self, element: usize, weights: &[[f64; 6]; 3]) -> Place {
        let (r, z) = (self.r.local(element), self.z.local(element));
        let sum = |w: &[f64; 6], c: &[f64; 6]| {
            (w[0] * c[0] + w[1] * c[1] + w[2] * c[2]) + (w[3] * c[3] + w[4] * c[4] + w[5] * c[5])
        };
        Place {
            r: sum(&weights[0], r),
            z: sum(&weights[0], z),
            r_u: sum(&weights[1], r),
            z_u: sum(&weights[1], z),
        }
    }

    /// Place and slope at the running number `u`.
    #[must_use]
    pub fn place_at(&self, u: f64) -> Place {
        let element = (u.max(0.0) as usize).min(self.elements() - 1);
        self.place(element, &weights(u - element as f64))
    }

    /// Geometry at every node.
    #[must_use]
    pub fn nodes(&self) -> Vec<Node> {
        let seconds = self.r.seconds().into_iter().zip(self.z.seconds());
        seconds
            .enumerate()
            .map(|(i, (r_uu, z_uu))| self.node(i, r_uu, z_uu))
            .collect()
    }

    fn node(&self, i: usize, r_uu: f64, z_uu: f64) -> Node {
        let ([r, r_u, ..], [z, z_u, ..]) = (self.r.at_knot(i), self.z.at_knot(i));
        let last = i == self.elements();
        let on_axis = (i == 0 || last) && self.ends[usize::from(last)] == End::Axis;
        let arc = r_u.hypot(z_u);
        let along = (r_uu * z_u - z_uu * r_u) / arc.powi(3);
        let (r, z_u) = if on_axis { (0.0, 0.0) } else { (r, z_u) };
        let round = if on_axis { along } else { -z_u / (r * arc) };
        Node {
            place: Place { r, z, r_u, z_u },
            arc,
            normal: [-z_u / arc, r_u / arc],
            curvatures: [along, round],
            arc_u: (r_u * r_uu + z_u * z_uu) / arc,
            on_axis,
        }
    }
}

fn symmetry_across(end: End) -> Symmetry {
    match end {
        End::Axis => Symmetry::Odd,
        End::Plane => Symmetry::Even,
    }
}

fn symmetry_along(end: End) -> Symmetry {
    match end {
        End::Axis => Symmetry::Even,
        End::Plane => Symmetry::Odd,
    }
}
