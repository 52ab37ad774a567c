//! What is to be said of the camera: that it moved, zoomed, changed its focus or its exposure.
//!
//! Each caution has its own evidence: marks, light along the border of the picture, width of the edge, size of the body. A clip that gives
//! none of it gives no caution. Stabilisation inside the camera moves the whole picture, marks and bodies alike: it is seen as motion of the
//! camera and taken out as such; what it did to the sharpness is not told.
//!
//! Lengths in px. Source: see the rooms that judge. Finds nothing itself.

use crate::camera::course::{of_radius, of_width};
use crate::camera::light::Light;
use crate::camera::motion::{Motion, Verdict};
use crate::measured::{BodyTrack, Caution};

/// A zoom by less is part of the motion, relative.
const ZOOM: f64 = 3e-4;
/// A change of the light by less, step or slow, is not told, relative.
const SLOW: f64 = 0.05;

/// The cautions of a clip of these `frames`.
pub fn cautions(bodies: &[BodyTrack], frames: &[u64], verdict: &Verdict, light: &Light) -> Vec<Caution> {
    let span = frames.first().zip(frames.last()).map(|(a, b)| (*a, *b));
    let whole = |code: &'static str, text: String| Caution {
        code,
        text,
        frames: span,
    };
    let mut found = Vec::new();
    match verdict {
        Verdict::Moved(motion) => found.extend(moved(motion).map(|(code, text)| whole(code, text))),
        Verdict::Unclear => found.push(whole(
            "camera_motion_unclear",
            "what stands around the bodies does not move together: whether the camera moved is not known, and drift and size of the \
             bodies hold what it did"
                .into(),
        )),
        Verdict::Silent | Verdict::Still => {}
    }
    found.extend(lit(light, frames, span));
    for track in bodies {
        found.extend(of_body(track).map(|(code, text)| whole(code, text)));
    }
    found
}

fn moved(motion: &Motion) -> impl Iterator<Item = (&'static str, String)> {
    let [shift, turn, zoom] = motion.size();
    let shaken = (
        "camera_moved",
        format!(
            "fixed marks move: the camera shook or drifted by {shift:.2} px and {:.3} deg (root mean square); this is taken out of \
             places and outlines",
            turn.to_degrees()
        ),
    );
    let zoomed = (
        "zoom_changed",
        format!(
            "fixed marks move apart or together by {:.2} %: the zoom changed, or focus and distance with it; sizes are those at the scale of the \
             first frame, as far as bodies and marks are at one distance",
            100.0 * zoom
        ),
    );
    [Some(shaken), (zoom > ZOOM).then_some(zoomed)]
        .into_iter()
        .flatten()
}

fn lit(light: &Light, frames: &[u64], span: Option<(u64, u64)>) -> Option<Caution> {
    let range = light.range();
    let (text, frames) = match light.step() {
        Some(step) => {
            let frame = *frames.get(step.at)?;
            let text = format!(
                "the light of the whole picture changes by {:+.1} % at frame {frame}: a step of the exposure or of the lamp; outlines are \
                 fitted with the levels of their own frame",
                100.0 * (step.ratio - 1.0)
            );
            (text, Some((frame, frame)))
        }
        None if range > 1.0 + SLOW => {
            let text = format!(
                "the light of the whole picture changes by {:.0} % over the clip; outlines are fitted with the levels of their own frame",
                100.0 * (range - 1.0)
            );
            (text, span)
        }
        None => return None,
    };
    Some(Caution {
        code: "exposure_changed",
        text,
        frames,
    })
}

fn of_body(track: &BodyTrack) -> impl Iterator<Item = (&'static str, String)> {
    let body = track.body;
    let focus = of_width(track).map(|change| {
        let [low, high] = change.range;
        let text = format!(
            "the edge of body {body} is {low:.2} to {high:.2} px wide over the clip: the focus moved, or the body left it; the scale may have \
             changed with it"
        );
        ("focus_changed", text)
    });
    let size = of_radius(track).map(|change| {
        let [low, high] = change.range;
        let text = format!(
            "the radius of body {body} drifts between {low:.3} and {high:.3} px ({:.2} %) while its volume should stay: zoom, focus, a way along \
             the line of sight, a tilted axis or a loss of liquid; the drift is in the uncertainty of the radius",
            100.0 * change.relative()
        );
        ("size_drifts", text)
    });
    focus.into_iter().chain(size)
}

#[cfg(test)]
mod tests;
