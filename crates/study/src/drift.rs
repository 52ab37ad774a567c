//! Residual acceleration from the path of a body's centre: two of its three components.
//!
//! ```text
//! a = s (1 + z/D) d^2x/dt^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x` | centre in the picture, rightwards or downwards | px |
//! | `s`, `z`, `D` | scale, depth behind its plane, distance of the lens | m/px, m, m |
//!
//! The fit is [`tremolet_infer::acceleration`]; here frames and scale are put together.

use tremolet_infer::acceleration::{Acceleration, acceleration};
use tremolet_infer::property::routes::{Estimate, finished};
use tremolet_infer::ringdown::Ringdown;
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_optics::perspective::scale_change;
use tremolet_record::experiment::camera::Camera;
use tremolet_record::findings::Caution;
use tremolet_record::series::ModeSeries;

use crate::wording::caution;

/// The two components, rightwards and downwards, with what a reader has to know; nothing without a scale or with too few free frames.
pub fn drift(
    track: &BodyTrack,
    series: &ModeSeries,
    ringdown: &Ringdown,
    camera: Option<&Camera>,
) -> (Vec<Estimate>, Vec<Caution>) {
    let Some((camera, scale)) = camera.and_then(|camera| Some((camera, camera.scale.as_ref()?))) else {
        return (Vec::new(), Vec::new());
    };
    let (mut estimates, mut cautions) = (Vec::new(), Vec::new());
    let names = [
        ("residual_acceleration_right", "rightwards"),
        ("residual_acceleration_down", "downwards"),
    ];
    let path = Way::of(track, series, ringdown);
    for (k, (quantity, way)) in names.into_iter().enumerate() {
        let Some(found) = acceleration(&path.times, &path.places[k], &path.lines) else {
            continue;
        };
        let value = in_metres(&found, way, scale, camera);
        if let Some(change) = found.change {
            let text = format!(
                "the acceleration {way} changed by {:.2e} m/s^2 over the record; its mean is given, with half of that change as limits",
                change * scale.value()
            );
            cautions.push(caution("acceleration_changes", &text, None));
        }
        let route = "path of the centre in the picture, scale";
        estimates.push(finished(quantity, "m/s^2", value, route.into(), None));
    }
    if !estimates.is_empty() {
        let text = "residual acceleration is that of the body against the camera, across the line of sight: its third component is not \
                    seen, and a camera that moves counts as a body that does";
        cautions.push(caution("acceleration_in_picture", text, None));
    }
    (estimates, cautions)
}

/// The path of a centre over the free frames in which the ringing was fitted.
pub struct Way {
    /// Real times, s, ascending.
    pub times: Vec<f64>,
    /// Rightwards and downwards, px.
    pub places: [Vec<f64>; 2],
    /// Angular frequency (rad/s) and decay rate (1/s) of what rings.
    pub lines: Vec<[f64; 2]>,
}

impl Way {
    /// The path of a body with its series and its lines.
    pub fn of(track: &BodyTrack, series: &ModeSeries, ringdown: &Ringdown) -> Self {
        let whole = ringdown.modes.is_empty();
        let inside = |time: f64| whole || (time >= ringdown.interval.0 && time <= ringdown.interval.1);
        let shape = |frame: u64| -> Option<&BodyShape> {
            let place = track.shapes.binary_search_by_key(&frame, |s| s.frame).ok()?;
            track.shapes.get(place)
        };
        let free = series.samples.iter().filter(|s| s.free && inside(s.time));
        let seen: Vec<(f64, [f64; 2])> = free
            .filter_map(|s| Some((s.time, shape(s.frame)?.centre_px)))
            .collect();
        let modes = ringdown.modes.iter();
        Self {
            times: seen.iter().map(|s| s.0).collect(),
            places: [0, 1].map(|k| seen.iter().map(|s| s.1[k]).collect()),
            lines: modes
                .map(|mode| [mode.angular_frequency, mode.decay_rate])
                .collect(),
        }
    }
}

/// Metres in the plane of the body for each pixel; nothing without a scale.
pub fn metres_per_px(camera: &Camera) -> Option<Uncertain> {
    let scale = camera.scale.as_ref()?;
    let Some(distance) = &camera.distance else {
        return Some(scale.clone());
    };
    let depth = camera.depth.clone().unwrap_or_else(|| Uncertain::exact(0.0));
    Some(Uncertain::propagate(&[scale, distance, &depth], |x| {
        x[0] * (1.0 + scale_change(x[2], x[1]))
    }))
}

fn in_metres(found: &Acceleration, way: &str, scale: &Uncertain, camera: &Camera) -> Uncertain {
    let input = Input {
        key: format!("path of the centre {way} (fit)"),
        unit: "px/s^2".into(),
        standard_uncertainty: found.u,
        degrees_of_freedom: found.degrees_of_freedom,
        source: "scatter of the centre".into(),
    };
    let in_image = Uncertain::of_input(found.value, found.u, input);
    let Some(distance) = &camera.distance else {
        return Uncertain::propagate(&[&in_image, scale], |x| x[0] * x[1]);
    };
    let depth = camera.depth.clone().unwrap_or_else(|| Uncertain::exact(0.0));
    Uncertain::propagate(&[&in_image, scale, distance, &depth], |x| {
        x[0] * x[1] * (1.0 + scale_change(x[3], x[2]))
    })
}
