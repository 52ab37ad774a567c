//! The radius of the drop that the outline and the scale give.
//!
//! The uncertainty of the radius in the picture is that of its mean over the frames, with what all frames share: the edge as blur and light leave it
//! ([`tremolet_measure::edge::doubt`]), the shape of a rim, coding, the coefficients of a stated lens and what is not known of a
//! stated lamp.
//!
//! The formulas live in `optics`; here they are asked for what the experiment file states.

use tremolet_matter::uncertain::Uncertain;
use tremolet_optics::size::{SeenRadius, SetUp, UNKNOWN_EDGE_PX};
use tremolet_record::experiment::file::Experiment;

/// Standard uncertainty of the edge that all frames share, px: `body` is what blur and light leave open of a back-lit edge,
/// nil for a rim; `scene` what the shape of a rim leaves open.
pub fn edge(body: f64, scene: f64, lossy: bool) -> f64 {
    let other = if lossy || body == 0.0 {
        UNKNOWN_EDGE_PX
    } else {
        0.0
    };
    body.hypot(scene).hypot(other)
}

/// The radius of the drop in metres, when there is a scale.
///
/// Without a distance of the lens the view is taken as parallel; the caller's cautions say so.
pub fn radius(experiment: &Experiment, seen: &SeenRadius) -> Option<Uncertain> {
    let camera = experiment.camera.as_ref()?;
    let scale = camera.scale.as_ref()?;
    let set_up = SetUp {
        scale,
        distance: camera.distance.as_ref(),
        depth: camera.depth.as_ref(),
    };
    Some(seen.of_body(&set_up, "study"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_optics::lamp::LampShift;

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
        assert!((edge(0.003, 0.0, true) - 0.003_f64.hypot(UNKNOWN_EDGE_PX)).abs() < 1e-15);
        assert!((edge(0.0, 0.05, false) - 0.05_f64.hypot(UNKNOWN_EDGE_PX)).abs() < 1e-15);
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
