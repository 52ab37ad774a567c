//! From the radius of an outline to that of the body, with everything that stands between them.
//!
//! ```text
//! r_seen = s (1 + z/D) r / (1 - l),        R = r_seen / sqrt(1 + (r_seen/D)^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `r` | volume-equivalent radius of the outline | px |
//! | `s` | scale in its plane | m/px |
//! | `l` | shift of the edge by a stated lamp | 1 |
//! | `z`, `D` | depth behind that plane, distance of the lens | m |
//! | `R` | radius of the body | m |
//!
//! Source: [`crate::perspective`], [`crate::lamp`]; the sum of what is not known of `r` by \[JCGM100\] section 5.1.2. Measuring and planning
//! both ask here, so that a plan has the budget that the measurement will have.

use tremolet_matter::uncertain::{Input, Uncertain};

use crate::lamp::LampShift;
use crate::perspective::{scale_change, true_radius};

/// Standard uncertainty of where the edge of light lies against the edge of liquid, px, where nothing else is known of it:
/// rims before clutter beside the open shape of the rim, and clips coded with loss beside what blur and light leave open.
///
/// Chosen, not derived: the largest error of the mean radius seen in painted films, coded finely and coarsely. Back-lit clips
/// coded without loss do not need it.
pub const UNKNOWN_EDGE_PX: f64 = 0.01;

/// A mean radius in the image.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenRadius {
    /// The radius, px.
    pub radius_px: f64,
    /// Its standard uncertainty from the scatter over the frames, px.
    pub u_px: f64,
    /// Frames less one.
    pub degrees_of_freedom: f64,
    /// Standard uncertainty of the edge that all frames share the same way, as the clip shows it, px.
    pub u_edge_px: f64,
    /// Standard uncertainty from a drift of the radius over the clip that should not be there, px.
    pub u_drift_px: f64,
    /// Standard uncertainty from an axis that the shapes do not tell, px.
    pub u_axis_px: f64,
    /// Shift of the edge by the lamp.
    pub lamp: LampShift,
    /// What a stated lens leaves open, over the radius.
    pub u_lens: f64,
    /// What a stated lens did to the length reference; 1 without one.
    pub reference_stretch: f64,
}

/// How the picture is set up.
#[derive(Debug, Clone, Copy)]
pub struct SetUp<'a> {
    /// Scale, m/px.
    pub scale: &'a Uncertain,
    /// Distance of the lens, m; without it the view is taken as parallel.
    pub distance: Option<&'a Uncertain>,
    /// Depth of the body behind the plane of the scale, m; nil where it is not stated.
    pub depth: Option<&'a Uncertain>,
}

impl SeenRadius {
    /// The radius of the body, m; `source` says who looked.
    pub fn of_body(&self, set_up: &SetUp<'_>, source: &str) -> Uncertain {
        let scale = &Uncertain::combine(
            set_up.scale.value() * self.reference_stretch,
            &[(set_up.scale, self.reference_stretch)],
        );
        let in_image = self.in_image(source);
        let Some(distance) = set_up.distance else {
            return Uncertain::propagate(&[&in_image, scale], |x| x[0] * x[1]);
        };
        let depth = set_up.depth.cloned().unwrap_or_else(|| Uncertain::exact(0.0));
        Uncertain::propagate(&[&in_image, scale, distance, &depth], |x| {
            let seen = x[0] * x[1] * (1.0 + scale_change(x[3], x[2]));
            true_radius(seen, x[2]).unwrap_or(f64::NAN)
        })
    }

    /// The radius that the outline would have in a light that moves no edge, px.
    fn in_image(&self, source: &str) -> Uncertain {
        let input = |key: &str, standard_uncertainty: f64| Input {
            key: key.into(),
            unit: "px".into(),
            standard_uncertainty,
            degrees_of_freedom: f64::INFINITY,
            source: source.into(),
        };
        let lit = self.radius_px / (1.0 - self.lamp.value);
        let (glow, lens) = (lit * self.lamp.u, lit * self.u_lens);
        let edge = self.u_edge_px;
        let mut scatter = input("radius of the outline (scatter)", self.u_px);
        scatter.degrees_of_freedom = self.degrees_of_freedom;
        Uncertain::of_input(lit, self.u_px, scatter)
            .with_input(edge, input("edge of light against edge of liquid", edge))
            .with_input(glow, input("reflection of the lamp at the rim", glow))
            .with_input(
                self.u_drift_px,
                input("drift of the radius over the clip", self.u_drift_px),
            )
            .with_input(
                self.u_axis_px,
                input("axis of revolution, assumed", self.u_axis_px),
            )
            .with_input(lens, input("distortion of the lens", lens))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEEN: SeenRadius = SeenRadius {
        radius_px: 100.0,
        u_px: 0.0,
        degrees_of_freedom: 9.0,
        u_axis_px: 0.0,
        u_edge_px: 0.0,
        u_drift_px: 0.0,
        lamp: LampShift { value: 0.0, u: 0.0 },
        u_lens: 0.0,
        reference_stretch: 1.0,
    };

    // 10 mm of depth at 0.6 m is 1.67 % of the radius, as is its standard uncertainty; the tangent cone takes 1/2 (10/600)^2 of it.
    #[test]
    fn depth_counts_as_scale_and_so_does_its_doubt() {
        let input = |key: &str| Input {
            key: key.into(),
            unit: "m".into(),
            standard_uncertainty: 0.01,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        let (scale, distance) = (Uncertain::exact(1e-4), Uncertain::exact(0.6));
        let depth = Uncertain::of_input(0.01, 0.01, input("depth"));
        let found = SEEN.of_body(
            &SetUp {
                scale: &scale,
                distance: Some(&distance),
                depth: Some(&depth),
            },
            "test",
        );
        let due = 0.01 * (1.0 + 1.0 / 60.0) * (1.0 - 0.5 * (0.01_f64 / 0.6).powi(2));
        assert!((found.value() / due - 1.0).abs() < 1e-5, "{}", found.value());
        assert!((found.relative() * 61.0 - 1.0).abs() < 1e-3);
        let parallel = SEEN.of_body(
            &SetUp {
                scale: &scale,
                distance: None,
                depth: None,
            },
            "test",
        );
        assert!((parallel.value() - 0.01).abs() < 1e-15 && parallel.parts().is_empty());
    }
}
