//! The radius of the drop that the outline and the scale give.
//!
//! ```text
//! r_seen = s (1 + z/D) r / (1 - l),        R = r_seen / sqrt(1 + (r_seen/D)^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `r` | volume-equivalent radius of the outline | px |
//! | `s` | scale in its plane | m/px |
//! | `l` | shift of the edge by a stated lamp: [`crate::lamp`] | 1 |
//! | `z`, `D` | depth behind that plane, distance of the lens | m |
//! | `R` | radius of the drop | m |
//!
//! The uncertainty of `r` is that of its mean over the frames, with what all frames share: the edge as blur and light leave it
//! ([`tremolet_measure::edge::doubt`]), the shape of a rim, coding, the coefficients of a stated lens and what is not known of a
//! stated lamp.
//!
//! The formulas live in `optics`; here they are asked for what the experiment file states.

use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_optics::perspective::{scale_change, true_radius};
use tremolet_record::experiment::file::Experiment;

use crate::lamp::LampShift;

/// Standard uncertainty of where the edge of light lies against the edge of liquid, px, where nothing else is known of it:
/// rims before clutter beside the open shape of the rim, and clips coded with loss beside what blur and light leave open.
///
/// Chosen, not derived: the largest error of the mean radius seen in painted films, coded finely and coarsely. Back-lit clips
/// coded without loss do not need it.
const EDGE_PX: f64 = 0.01;

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
    /// What a stated lens did to the length reference: see [`crate::camera::reference_stretch`].
    pub reference_stretch: f64,
}

/// Standard uncertainty of the edge that all frames share, px: `body` is what blur and light leave open of a back-lit edge,
/// nil for a rim; `scene` what the shape of a rim leaves open.
pub fn edge(body: f64, scene: f64, lossy: bool) -> f64 {
    let other = if lossy || body == 0.0 { EDGE_PX } else { 0.0 };
    body.hypot(scene).hypot(other)
}

/// The radius of the drop in metres, when there is a scale.
///
/// Without a distance of the lens the view is taken as parallel; the caller's cautions say so.
pub fn radius(experiment: &Experiment, seen: &SeenRadius) -> Option<Uncertain> {
    let camera = experiment.camera.as_ref()?;
    let scale = camera.scale.as_ref()?;
    let scale = &Uncertain::combine(
        scale.value() * seen.reference_stretch,
        &[(scale, seen.reference_stretch)],
    );
    let lit = seen.radius_px / (1.0 - seen.lamp.value);
    let (glow, lens) = (lit * seen.lamp.u, lit * seen.u_lens);
    let edge = seen.u_edge_px;
    let mut scatter = input("radius of the outline (scatter)", "px", seen.u_px);
    scatter.degrees_of_freedom = seen.degrees_of_freedom;
    let in_image = Uncertain::of_input(lit, seen.u_px, scatter)
        .with_input(edge, input("edge of light against edge of liquid", "px", edge))
        .with_input(glow, input("reflection of the lamp at the rim", "px", glow))
        .with_input(
            seen.u_drift_px,
            input("drift of the radius over the clip", "px", seen.u_drift_px),
        )
        .with_input(
            seen.u_axis_px,
            input("axis of revolution, assumed", "px", seen.u_axis_px),
        )
        .with_input(lens, input("distortion of the lens", "px", lens));
    let Some(distance) = &camera.distance else {
        return Some(Uncertain::propagate(&[&in_image, scale], |x| x[0] * x[1]));
    };
    let depth = camera.depth.clone().unwrap_or_else(|| Uncertain::exact(0.0));
    Some(Uncertain::propagate(&[&in_image, scale, distance, &depth], |x| {
        let seen = x[0] * x[1] * (1.0 + scale_change(x[3], x[2]));
        true_radius(seen, x[2]).unwrap_or(f64::NAN)
    }))
}

fn input(key: &str, unit: &str, standard_uncertainty: f64) -> Input {
    Input {
        key: key.into(),
        unit: unit.into(),
        standard_uncertainty,
        degrees_of_freedom: f64::INFINITY,
        source: "study".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(u_edge_px: f64) -> SeenRadius {
        SeenRadius {
            radius_px: 100.0,
            u_px: 0.0,
            degrees_of_freedom: 9.0,
            u_axis_px: 0.0,
            u_edge_px,
            u_drift_px: 0.0,
            lamp: LampShift::default(),
            u_lens: 0.0,
            reference_stretch: 1.0,
        }
    }

    fn experiment() -> Experiment {
        let text = "format = 1\nkind = \"release\"\n[camera]\nscale = \"0.1 mm/px\"\n";
        Experiment::parse(text, "test").expect("an experiment")
    }

    #[test]
    fn a_lamp_and_a_lens_are_in_the_radius() {
        let lit = SeenRadius {
            lamp: LampShift { value: 2e-3, u: 3e-4 },
            u_lens: 4e-4,
            reference_stretch: 0.99,
            ..seen(0.0)
        };
        let found = radius(&experiment(), &lit).expect("a radius");
        let due = 0.01 * 0.99 / 0.998;
        assert!((found.value() / due - 1.0).abs() < 1e-12);
        // 3-4-5.
        assert!((found.standard_uncertainty() / (5e-4 * due) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn coding_and_rims_leave_more_open_than_a_back_lit_edge() {
        assert_eq!(edge(0.003, 0.0, false), 0.003);
        assert!((edge(0.003, 0.0, true) - 0.003_f64.hypot(EDGE_PX)).abs() < 1e-15);
        assert!((edge(0.0, 0.05, false) - 0.05_f64.hypot(EDGE_PX)).abs() < 1e-15);
    }

    /// 100 px at 0.1 mm/px, exact: what is left is the edge, in metres 0.05 px times the scale.
    #[test]
    fn what_the_clip_leaves_open_of_the_edge_is_in_the_radius() {
        let found = radius(&experiment(), &seen(0.05)).expect("a radius");
        let u = 0.05 * 1e-4;
        assert!((found.value() - 0.01).abs() < 1e-12);
        assert!((found.standard_uncertainty() / u - 1.0).abs() < 1e-9);
    }
}
