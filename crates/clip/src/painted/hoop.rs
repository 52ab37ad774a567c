//! A round wire loop seen at a slant, one half of it in front of what it holds and the other behind.
//!
//! The middle line of the wire is seen (from infinity) as the ellipse `R cos s` along, `R sin s sin(opening)` across, and the
//! wire of thickness `w` as the band of width `w` about it: the outline of a tube is a parallel curve of its middle line. The
//! half with `0 < s < pi` is the nearer one. The halves, laid one over the other, overlap by
//! six tenths of a blur where they meet: what two blurred ends let through and what they darken twice then cancel to about a
//! pixel of area for wires of a few px; wider ones look a little lighter there.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R`, `w` | radius of the middle line, thickness of the wire | px |
//! | `opening` | between the line of sight and the plane of the loop; pi/2 shows it as a circle | rad |
//!
//! Not for a loop so nearly edge-on that the band folds: `R sin^2(opening)` must be at least `w / 2`.

use std::f64::consts::PI;

use crate::painted::outline::Ring;

/// A wire loop at a slant.
#[derive(Debug, Clone, Copy)]
pub struct Hoop {
    /// Its centre, px.
    pub centre: [f64; 2],
    /// Radius of the wire's middle line, px.
    pub radius_px: f64,
    /// Thickness of the wire, px.
    pub width_px: f64,
    /// Direction of its long diameter from image-up towards +x, rad; the nearer half lies to the right of it.
    pub turn: f64,
    /// Between the line of sight and its plane, rad.
    pub opening: f64,
    /// Its light as a fraction of the lamp's there.
    pub light: f64,
}

impl Hoop {
    /// The nearer half.
    pub fn front(&self, spacing: f64) -> Ring {
        self.half(0.0, spacing)
    }

    /// The half behind.
    pub fn back(&self, spacing: f64) -> Ring {
        self.half(PI, spacing)
    }

    fn half(&self, start: f64, spacing: f64) -> Ring {
        // Points lie four fifths of a blur apart: three tenths of a blur beyond the joint.
        let beyond = 0.375 * spacing / (self.radius_px * self.opening.sin().abs());
        let count = (2.0 * PI * self.radius_px / spacing).ceil().max(48.0) as usize;
        let at = |k: usize| start - beyond + (PI + 2.0 * beyond) * k as f64 / count as f64;
        let outer = (0..=count).map(|k| self.edge(at(k), 0.5));
        let inner = (0..=count).rev().map(|k| self.edge(at(k), -0.5));
        let corners: Vec<_> = outer.chain(inner).collect();
        Ring::polygon(&corners, 0.5 * spacing)
    }

    /// Place on the edge of the wire, `side` thicknesses out from the middle line.
    fn edge(&self, s: f64, side: f64) -> [f64; 2] {
        let (sin, cos) = s.sin_cos();
        let (long, short) = (self.radius_px, self.radius_px * self.opening.sin().abs());
        // Square to the ellipse at s is (short cos s, long sin s).
        let out = side * self.width_px / (short * cos).hypot(long * sin);
        let (along, across) = (long * cos + out * short * cos, short * sin + out * long * sin);
        let (sin, cos) = self.turn.sin_cos();
        [
            self.centre[0] + along * sin + across * cos,
            self.centre[1] - along * cos + across * sin,
        ]
    }
}
