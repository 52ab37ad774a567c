//! From the shapes of a frame to what is drawn on it.
//!
//! The points of an outline come in order; where two neighbours are further apart than usual, an arc was left out, and
//! the line is not joined. Computes nothing that is reported.

use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_report::overlay::scene::{Arc, OverlayBody};

/// Neighbours further apart than this many usual distances are not joined.
const GAP: f64 = 4.0;

/// The bodies seen in a frame.
pub fn bodies(tracks: &[BodyTrack], frame: u64) -> Vec<OverlayBody> {
    tracks.iter().filter_map(|track| body(track, frame)).collect()
}

fn body(track: &BodyTrack, frame: u64) -> Option<OverlayBody> {
    let place = track
        .shapes
        .binary_search_by_key(&frame, |shape| shape.frame)
        .ok()?;
    let shape = &track.shapes[place];
    let points: Vec<[f64; 2]> = shape
        .outline
        .get()
        .iter()
        .map(|p| [f64::from(p[0]), f64::from(p[1])])
        .collect();
    let known = track.axis_uncertainty < 0.5;
    Some(OverlayBody {
        number: track.body,
        used: arcs(&points),
        hidden: hidden(shape),
        centre: Some(shape.centre_px),
        axis_angle: known.then_some(track.axis_angle),
    })
}

fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Splits a ring of points (px, in order) where it was interrupted.
pub(crate) fn arcs(points: &[[f64; 2]]) -> Vec<Arc> {
    let count = points.len();
    if count < 3 {
        return Vec::new();
    }
    let steps: Vec<f64> = (0..count)
        .map(|i| distance(points[i], points[(i + 1) % count]))
        .collect();
    let mut sorted = steps.clone();
    sorted.sort_by(f64::total_cmp);
    let most = GAP * sorted[count / 2];
    let Some(gap) = steps.iter().position(|step| *step > most) else {
        return vec![Arc {
            points: points.to_vec(),
            closed: true,
        }];
    };
    let mut arcs = vec![Vec::new()];
    for k in 0..count {
        let i = (gap + 1 + k) % count;
        arcs.last_mut().expect("starts with one").push(points[i]);
        if steps[i] > most && k + 1 < count {
            arcs.push(Vec::new());
        }
    }
    open(arcs)
}

/// Arcs that are lines, open at their ends.
fn open(arcs: Vec<Vec<[f64; 2]>>) -> Vec<Arc> {
    arcs.into_iter()
        .filter(|points| points.len() > 1)
        .map(|points| Arc {
            points,
            closed: false,
        })
        .collect()
}

/// What was left out, for the eye.
fn hidden(shape: &BodyShape) -> Vec<Arc> {
    let points: Vec<[f64; 2]> = shape
        .hidden
        .get()
        .iter()
        .map(|p| [f64::from(p[0]), f64::from(p[1])])
        .collect();
    let mut arcs: Vec<Vec<[f64; 2]>> = Vec::new();
    let far = shape.equivalent_radius_px * 0.15;
    for point in points {
        match arcs.last_mut() {
            Some(arc) if distance(arc[arc.len() - 1], point) < far => arc.push(point),
            _ => arcs.push(vec![point]),
        }
    }
    open(arcs)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(from: usize, to: usize) -> Vec<[f64; 2]> {
        let angle = |i: usize| i as f64 / 100.0 * std::f64::consts::TAU;
        (from..to).map(|i| [angle(i).cos(), angle(i).sin()]).collect()
    }

    #[test]
    fn a_whole_ring_is_one_closed_arc() {
        let arcs = arcs(&circle(0, 100));
        assert!(arcs.len() == 1 && arcs[0].closed);
    }

    #[test]
    fn what_was_left_out_is_not_bridged() {
        let mut points = circle(0, 30);
        points.extend(circle(45, 90));
        let arcs = arcs(&points);
        assert_eq!(arcs.len(), 2);
        assert!(arcs.iter().all(|arc| !arc.closed));
        assert_eq!(arcs.iter().map(|arc| arc.points.len()).sum::<usize>(), 75);
    }
}
