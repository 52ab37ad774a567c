//! A recorded run as lanes over one clock: times of the frames, path and size of each body, amplitudes with fit and expectation.
//!
//! Long series are thinned: of each stretch the least and the greatest value stay, so that nothing that stands out is lost. What is
//! expected of a mode is its free swing by theory for the liquid as stated ([`tremolet_infer::begun`]), begun where the clip begins.
//! Lengths are px, times s, angles rad; amplitudes are in units of R.

use std::ops::Range;
use std::path::Path;

use serde::Serialize;
use tremolet_infer::begun::{Begun, begun};
use tremolet_infer::known::materials;
use tremolet_record::experiment::clip::Clip;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Event;
use tremolet_record::table::Table;
use tremolet_theory::modes::host::root;

use crate::check::pair;
use crate::error::StudyError;
use crate::recorded;
use crate::tables::column::{count, flags, groups, integers, reals};
use crate::tables::read_if_there;

/// A body over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BodyLane {
    /// Its number.
    pub body: u32,
    /// Frames, real times, places of the centre, axis from image-up, volume-equivalent radius with its uncertainty.
    pub frame: Vec<i64>,
    /// Real times, s.
    pub time: Vec<f64>,
    /// Centre, px from the left.
    pub x: Vec<f64>,
    /// Centre, px from the top.
    pub y: Vec<f64>,
    /// Axis, rad from image-up.
    pub axis: Vec<f64>,
    /// Volume-equivalent radius, px.
    pub radius: Vec<f64>,
    /// Whether free-drop amplitudes are taken from it.
    pub free: Vec<bool>,
}

/// What is expected of a mode: `exp(-decay (t - start)) [cosine cos w (t - start) + sine sin w (t - start)]`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Expected {
    /// First time, s.
    pub start: f64,
    /// Part in step with the cosine.
    pub cosine: f64,
    /// Part in step with the sine.
    pub sine: f64,
    /// Angular frequency, rad/s.
    pub angular_frequency: f64,
    /// Decay rate, 1/s.
    pub decay: f64,
}

impl Expected {
    /// The amplitude at a time, s.
    pub fn at(&self, time: f64) -> f64 {
        let since = time - self.start;
        let turn = self.angular_frequency * since;
        (-self.decay * since).exp() * (self.cosine * turn.cos() + self.sine * turn.sin())
    }
}

impl From<Begun> for Expected {
    fn from(begun: Begun) -> Self {
        Self {
            start: begun.start,
            cosine: begun.cosine,
            sine: begun.sine,
            angular_frequency: begun.angular_frequency,
            decay: begun.decay,
        }
    }
}

/// One degree of one body over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ModeLane {
    /// Number of the body.
    pub body: u32,
    /// Degree n.
    pub degree: u32,
    /// Real times, s.
    pub time: Vec<f64>,
    /// Amplitude as measured.
    pub measured: Vec<f64>,
    /// Its standard uncertainty.
    pub u: Vec<f64>,
    /// The fit at the same times; null where nothing was fitted.
    pub fitted: Vec<f64>,
    /// What theory expects.
    pub expected: Option<Expected>,
}

/// A run on its clock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lanes {
    /// Number of the first frame.
    pub first: i64,
    /// Real time of each frame from the first on, s.
    pub times: Vec<f64>,
    /// Metres in a pixel, where known.
    pub scale: Option<f64>,
    /// The bodies.
    pub bodies: Vec<BodyLane>,
    /// The modes.
    pub modes: Vec<ModeLane>,
    /// What happened.
    pub events: Vec<Event>,
    /// From what the expectation follows, in words; empty when there is none.
    pub expected_from: String,
    /// How many bodies each of the frames in `times` shows; empty where there is never more than one.
    pub counts: Vec<u32>,
    /// Frames that were left out by hand: first, and one past the last.
    pub left_out: Vec<[u64; 2]>,
}

/// Reads the lanes of a run; of each series about `most` samples between the times `from` and `to` are kept.
///
/// # Errors
/// When the folder lacks a table or one is damaged.
pub fn lanes(run: &Path, span: Range<f64>, most: usize) -> Result<Lanes, StudyError> {
    let experiment = Experiment::read(&run.join("experiment.toml"))?;
    let camera = experiment.camera.as_ref();
    let scale = camera.and_then(|c| c.scale.as_ref()).map(|s| s.value());
    // A run that was computed and not filmed has no light, and its shapes tell the times.
    let shapes = read_if_there(run, "shapes")?;
    let bodies = match &shapes {
        Some(shapes) => bodies(shapes, &span, most)?,
        None => Vec::new(),
    };
    let (first, times) = match read_if_there(run, "light")? {
        Some(light) => whole(integers(&light, "frame")?, reals(&light, "time")?),
        None => shapes.as_ref().map_or(Ok((Vec::new(), Vec::new())), of_first)?,
    };
    let radius = bodies.first().and_then(|body| {
        let radius = tremolet_numerics::statistics::median(&body.radius);
        Some(radius * scale?).filter(|r| r.is_finite())
    });
    let (theory, expected_from) = expectation(&experiment, radius);
    let counts = match &shapes {
        Some(shapes) if bodies.len() > 1 => counts(&first, integers(shapes, "frame")?),
        _ => Vec::new(),
    };
    let left_out = experiment.clip.as_ref().map_or(Vec::new(), Clip::left_out);
    let modes = match read_if_there(run, "fits")? {
        Some(fits) => modes(&fits, &theory, &span, most)?,
        None => Vec::new(),
    };
    Ok(Lanes {
        first: first.first().copied().unwrap_or(0),
        times,
        scale,
        modes,
        bodies,
        events: recorded::findings(run)?.events,
        expected_from,
        counts,
        left_out: left_out.iter().map(|range| [range.start, range.end]).collect(),
    })
}

/// Every frame from the first to the last with its time; that of a frame that was left out lies between its neighbours'.
fn whole(frames: &[i64], times: &[f64]) -> (Vec<i64>, Vec<f64>) {
    let mut all = (Vec::new(), Vec::new());
    for (place, (frame, time)) in frames.iter().zip(times).enumerate() {
        if let Some(before) = place.checked_sub(1) {
            let gap = frame - frames[before];
            let step = (time - times[before]) / gap.max(1) as f64;
            for k in 1..gap {
                all.0.push(frames[before] + k);
                all.1.push(times[before] + step * k as f64);
            }
        }
        all.0.push(*frame);
        all.1.push(*time);
    }
    all
}

/// How many bodies there are in each of the frames.
fn counts(frames: &[i64], seen: &[i64]) -> Vec<u32> {
    let mut counts = vec![0; frames.len()];
    for frame in seen {
        if let Ok(place) = frames.binary_search(frame) {
            counts[place] += 1;
        }
    }
    counts
}

/// Frames and times of the first body.
fn of_first(shapes: &Table) -> Result<(Vec<i64>, Vec<f64>), StudyError> {
    let (frame, time) = (integers(shapes, "frame")?, reals(shapes, "time")?);
    let rows = groups(&[integers(shapes, "body")?])
        .into_iter()
        .next()
        .unwrap_or(0..0);
    Ok((frame[rows.clone()].to_vec(), time[rows].to_vec()))
}

fn bodies(shapes: &Table, span: &Range<f64>, most: usize) -> Result<Vec<BodyLane>, StudyError> {
    let (body, frame) = (integers(shapes, "body")?, integers(shapes, "frame")?);
    let (time, radius) = (reals(shapes, "time")?, reals(shapes, "equivalent_radius")?);
    let (x, y) = (reals(shapes, "centre_x")?, reals(shapes, "centre_y")?);
    let (axis, free) = (reals(shapes, "axis")?, flags(shapes, "free")?);
    let one = |rows: Range<usize>| {
        let who = count(body[rows.start]);
        let kept = thinned(within(rows, time, span), radius, most);
        let of = |values: &[f64]| kept.iter().map(|&i| values[i]).collect();
        BodyLane {
            body: who,
            frame: kept.iter().map(|&i| frame[i]).collect(),
            time: of(time),
            x: of(x),
            y: of(y),
            axis: of(axis),
            radius: of(radius),
            free: kept.iter().map(|&i| free[i]).collect(),
        }
    };
    Ok(groups(&[body]).into_iter().map(one).collect())
}

/// Angular frequency and decay rate of each degree, by theory; and from what.
type Theory = Vec<(u32, f64, f64)>;

fn expectation(experiment: &Experiment, seen: Option<f64>) -> (Theory, String) {
    let nothing = (Vec::new(), String::new());
    if experiment.liquid.is_none() {
        return nothing;
    }
    let Ok(materials) = materials(experiment) else {
        return nothing;
    };
    let density = &materials.liquid.density.value;
    let stated = tremolet_plan::given::radius(experiment, Some(density)).map(|r| r.value());
    let Some(radius) = stated.or(seen) else {
        return nothing;
    };
    let Some(pair) = pair(&materials, radius) else {
        return nothing;
    };
    let one = |degree| {
        let root = root(degree, &pair).ok()?;
        Some((degree, root.angular_frequency, root.decay))
    };
    let size = if stated.is_some() {
        "the size as stated"
    } else {
        "the size as measured"
    };
    let from = format!(
        "exact viscous modes (Miller and Scriven 1968) of {} in {}, its properties and {size}; amplitude and phase from the first two \
         periods of the clip, small swings",
        materials.liquid.name, materials.gas.name
    );
    ((2..=8).filter_map(one).collect(), from)
}

fn modes(fits: &Table, theory: &Theory, span: &Range<f64>, most: usize) -> Result<Vec<ModeLane>, StudyError> {
    let (body, degree) = (integers(fits, "body")?, integers(fits, "degree")?);
    let (time, measured) = (reals(fits, "time")?, reals(fits, "measured")?);
    let (u, fitted) = (reals(fits, "u")?, reals(fits, "fitted")?);
    let one = |rows: Range<usize>| {
        let (who, n) = (count(body[rows.start]), count(degree[rows.start]));
        let known = theory.iter().find(|(degree, ..)| *degree == n);
        let expected = known
            .and_then(|(_, w, decay)| begun(&time[rows.clone()], &measured[rows.clone()], *w, *decay))
            .map(Expected::from);
        let kept = thinned(within(rows, time, span), measured, most);
        let of = |values: &[f64]| kept.iter().map(|&i| values[i]).collect();
        ModeLane {
            body: who,
            degree: n,
            time: of(time),
            measured: of(measured),
            u: of(u),
            fitted: of(fitted),
            expected,
        }
    };
    Ok(groups(&[body, degree]).into_iter().map(one).collect())
}

fn within(rows: Range<usize>, time: &[f64], span: &Range<f64>) -> Vec<usize> {
    rows.filter(|&i| time[i] >= span.start && time[i] <= span.end)
        .collect()
}

/// At most about `most` of the rows: of each stretch those where the value is least and greatest, and the first and last of all.
fn thinned(rows: Vec<usize>, value: &[f64], most: usize) -> Vec<usize> {
    if rows.len() <= most.max(4) {
        return rows;
    }
    let stretch = rows.len().div_ceil(most.max(4) / 2);
    let mut kept = vec![rows[0], rows[rows.len() - 1]];
    for some in rows.chunks(stretch) {
        let by = |a: &&usize, b: &&usize| value[**a].total_cmp(&value[**b]);
        kept.extend(some.iter().min_by(by));
        kept.extend(some.iter().max_by(by));
    }
    kept.sort_unstable();
    kept.dedup();
    kept
}

#[cfg(test)]
mod tests {
    use super::{counts, thinned, whole};

    #[test]
    fn frames_that_were_left_out_have_their_times() {
        let (frames, times) = whole(&[3, 4, 7, 8], &[0.3, 0.4, 0.7, 0.9]);
        assert_eq!(frames, [3, 4, 5, 6, 7, 8]);
        let off = times
            .iter()
            .zip([0.3, 0.4, 0.5, 0.6, 0.7, 0.9])
            .map(|(a, b)| (a - b).abs());
        assert!(off.fold(0.0, f64::max) < 1e-12, "{times:?}");
        assert_eq!(whole(&[], &[]), (Vec::new(), Vec::new()));
    }

    #[test]
    fn bodies_are_counted_in_each_frame() {
        // Three bodies in frames 4 to 8, one of them only in the last two, frame 6 without any; a frame outside is not counted.
        let seen = [4, 5, 7, 8, 4, 5, 7, 8, 7, 8, 99];
        assert_eq!(counts(&[4, 5, 6, 7, 8], &seen), [2, 2, 0, 3, 3]);
    }

    #[test]
    fn what_stands_out_is_kept() {
        let mut value = vec![0.0; 10_000];
        value[5_321] = 1.0;
        value[77] = -1.0;
        let kept = thinned((0..10_000).collect(), &value, 100);
        assert!(kept.len() <= 102 && kept.contains(&5_321) && kept.contains(&77));
        assert_eq!((kept[0], kept[kept.len() - 1]), (0, 9_999));
        assert!(kept.is_sorted());
        assert_eq!(thinned(vec![3, 4, 5], &value, 100), [3, 4, 5]);
    }
}
