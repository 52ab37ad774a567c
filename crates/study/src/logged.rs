//! The log of an accelerometer beside the clip: clocks laid together, path of a body against record.
//!
//! ```text
//! o0 = t(frame) - h/2 - s_event      where an event is stated, u^2 = u^2(s_event) + h^2 / 12
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `o0` | clock offset as stated | s |
//! | `t`, `h` | time of the first frame that shows the event, step from the frame before | s |
//! | `s_event` | time of the event in the log | s |
//!
//! The body with most free frames is held against the log. The comparison is [`tremolet_infer::logged`]; here frames, scale and log are put
//! together.

use std::path::Path;

use tremolet_infer::logged::axis::Axis;
use tremolet_infer::logged::course::{Instant, course, without_lines};
use tremolet_infer::logged::hint::hint;
use tremolet_infer::logged::record::Record;
use tremolet_infer::logged::{Apart, Compared, Covered, Offset, Sought, compared, covered, offset};
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::experiment::file::Experiment;
use tremolet_record::experiment::log::Log;
use tremolet_record::findings::Caution;
use tremolet_record::log::{Recorded, read};

use crate::body::BodyFound;
use crate::drift::{Way, metres_per_px};
use crate::error::StudyError;
use crate::logged::said::{Logged, of_clock, of_gaps, of_offset, of_share, refer};
use crate::look::Seen;
use crate::wording::caution;

mod said;

/// Name of the offset among the estimates.
pub const OFFSET: &str = "log_clock_offset";
/// Names of the accelerations, of what the clip shows of the log, and of the directions.
const NAMES: [(&str, &str, &str); 2] = [
    (
        "residual_acceleration_right",
        "seen_over_logged_right",
        "rightwards",
    ),
    ("residual_acceleration_down", "seen_over_logged_down", "downwards"),
];
/// Standard uncertainty of the share from which the log is too even to tell anything.
const TELLING: f64 = 0.5;

/// Why nothing is compared, in words.
struct Refused(String);

impl From<&str> for Refused {
    fn from(why: &str) -> Self {
        Self(why.into())
    }
}

impl From<Apart> for Refused {
    fn from(why: Apart) -> Self {
        Self(match why {
            Apart::NotBeside(Some((first, last))) => format!(
                "with its clock offset it runs from {first:.3} to {last:.3} s of the clip's clock and covers fewer than 24 free frames"
            ),
            Apart::NotBeside(None) => {
                "it is not as long as the free frames last; state log.clock_offset to compare the part that it covers".into()
            }
            Apart::Unknown => {
                "no clock offset is stated and the motion does not tell it; state log.clock_offset or log.event".into()
            }
        })
    }
}

/// What came of the comparison.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beside {
    /// Which body was held against the log.
    pub body: u32,
    /// Acceleration over time, seen and logged, for each direction compared.
    pub courses: Vec<(&'static str, Vec<Instant>)>,
    /// What a reader has to know.
    pub cautions: Vec<Caution>,
}

/// Reads the log of an experiment; nothing where none is stated, or no axis of it.
///
/// # Errors
/// When it cannot be read.
pub fn log_of(experiment: &Experiment) -> Result<Option<Recorded>, StudyError> {
    let Some(log) = experiment.log.as_ref().filter(|log| log.has_axes()) else {
        return Ok(None);
    };
    Ok(Some(read(&experiment.path_of(&log.path), log)?))
}

/// Holds the clip against its log: estimates go to the body, references to its accelerations.
pub fn beside(
    experiment: &Experiment,
    recorded: Option<&Recorded>,
    seen: &Seen,
    bodies: &mut [BodyFound],
) -> Option<Beside> {
    let log = experiment.log.as_ref()?;
    let mut found = Beside::default();
    let why = match recorded {
        None => Some(Refused(
            "no axis of it is stated; give the column that points rightwards in the picture as log.right, or log.down".into(),
        )),
        Some(recorded) => hold(experiment, recorded, seen, bodies, &mut found).err(),
    };
    if let Some(why) = why {
        let text = format!("the log {} is not held against the clip: {}", name(log), why.0);
        found.cautions.push(caution("log_not_compared", &text, None));
    }
    Some(found)
}

/// Where the reference of a quantity is from, if it is the log or stated with it.
pub fn source_of(quantity: &str, experiment: &Experiment) -> Option<String> {
    let log = experiment.log.as_ref()?;
    if NAMES.iter().any(|names| names.0 == quantity) {
        return Some(format!("the log {}", name(log)));
    }
    if quantity == OFFSET {
        return Some(
            if log.event.is_some() {
                "log.event"
            } else {
                "log.clock_offset"
            }
            .into(),
        );
    }
    let share = NAMES.iter().any(|names| names.1 == quantity);
    share.then(|| "1 when clip and log agree".into())
}

/// The file name of a log.
fn name(log: &Log) -> String {
    let path: &Path = &log.path;
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}

/// What is laid together: the path of a body and the directions that have a log.
struct Pair<'a> {
    way: &'a Way,
    part: Covered,
    axes: Vec<Axis<'a>>,
    /// 0 for rightwards, 1 for downwards, one for each axis.
    which: Vec<usize>,
}

impl<'a> Pair<'a> {
    fn of(way: &'a Way, part: Covered, recorded: &'a Recorded, scale: f64) -> Self {
        let mut pair = Self {
            way,
            part,
            axes: Vec::new(),
            which: Vec::new(),
        };
        for (k, logged) in recorded.axes.iter().enumerate() {
            let Some(logged) = logged else { continue };
            let record = Record::new(&recorded.times, logged.clone());
            let times = &way.times[part.first..part.end];
            let axis = Axis::new(times, &pair.places(k, scale), &way.lines, record);
            pair.which.extend(axis.as_ref().map(|_| k));
            pair.axes.extend(axis);
        }
        pair
    }

    fn times(&self) -> &'a [f64] {
        &self.way.times[self.part.first..self.part.end]
    }

    fn places(&self, k: usize, scale: f64) -> Vec<f64> {
        let places = &self.way.places[k][self.part.first..self.part.end];
        places.iter().map(|x| scale * x).collect()
    }

    /// Whether every free frame is compared.
    fn whole(&self) -> bool {
        self.part.first == 0 && self.part.end == self.way.times.len()
    }

    fn course(&self, place: usize, clock: &Offset, found: &Compared, scale: f64) -> Vec<Instant> {
        let (times, axis) = (self.times(), &self.axes[place]);
        let ways = axis.record().ways(times, clock.value);
        let places = self.places(self.which[place], scale);
        let places = without_lines(times, &places, &ways, &self.way.lines);
        course(times, &places, &ways, found.share.scatter)
    }
}

/// Holds the log against the body with most free frames.
fn hold(
    experiment: &Experiment,
    recorded: &Recorded,
    seen: &Seen,
    bodies: &mut [BodyFound],
    found: &mut Beside,
) -> Result<(), Refused> {
    let log = experiment.log.as_ref().ok_or("there is none")?;
    found.cautions.extend(of_gaps(recorded));
    let scale = experiment.camera.as_ref().and_then(metres_per_px);
    let scale = scale.ok_or("there is no scale")?;
    let free = |body: &&mut BodyFound| body.series.samples.iter().filter(|s| s.free).count();
    let body = bodies.iter_mut().max_by_key(free).ok_or("there is no body")?;
    found.body = body.body;
    let track = seen.measured.bodies.iter().find(|track| track.body == body.body);
    let way = Way::of(track.ok_or("there is no body")?, &body.series, &body.ringdown);
    let stated = stated(log, seen)?;
    let before = stated.as_ref().map(|o| (o.value(), o.standard_uncertainty()));
    let span = (recorded.times[0], recorded.times[recorded.times.len() - 1]);
    let pair = Pair::of(&way, covered(&way.times, span, before)?, recorded, scale.value());
    if pair.axes.is_empty() {
        return Err("the path does not determine an acceleration".into());
    }
    let sought = Sought {
        range: pair.part.range,
        stated: before,
        time: pair.times()[pair.times().len() - 1] - pair.times()[0],
    };
    let clock = offset(&pair.axes, &sought)?;
    found.cautions.extend(of_clock(&clock, stated.as_ref()));
    body.estimates.extend(of_offset(&clock, stated.as_ref()));
    let logged = Logged {
        log,
        clock: &clock,
        stated: stated.as_ref(),
    };
    let disagree = directions(&pair, &logged, &scale, body, found);
    if !disagree.is_empty() {
        let hint = hint(&pair.axes, &sought).map_or(String::new(), |hint| {
            format!("; the log would fit much better {hint}")
        });
        let text = format!("clip and log do not agree: {}{hint}", disagree.join("; "));
        found.cautions.push(caution("log_disagrees", &text, None));
    }
    found.cautions.extend(pair.doubts(log));
    Ok(())
}

/// Compares each direction; what does not agree, in words.
fn directions(
    pair: &Pair<'_>,
    logged: &Logged<'_>,
    scale: &Uncertain,
    body: &mut BodyFound,
    found: &mut Beside,
) -> Vec<String> {
    let mut disagree = Vec::new();
    for (place, axis) in pair.axes.iter().enumerate() {
        let (acceleration, name, direction) = NAMES[pair.which[place]];
        let Some(compared) = compared(axis, pair.times(), &pair.way.lines, logged.clock) else {
            continue;
        };
        let course = pair.course(place, logged.clock, &compared, scale.value());
        found.courses.push((direction, course));
        if compared.u_share < TELLING {
            let (share, told) = of_share(name, direction, &compared, scale);
            body.estimates.push(share);
            disagree.extend(told);
        }
        let estimate = body.estimates.iter_mut().find(|e| e.quantity == acceleration);
        if let (true, Some(estimate)) = (pair.whole(), estimate) {
            disagree.extend(refer(
                estimate,
                logged.mean(pair.which[place], direction, &compared),
                direction,
            ));
        }
    }
    disagree
}

impl Pair<'_> {
    /// What of the comparison of means is left out or taken for granted.
    fn doubts(&self, log: &Log) -> Option<Caution> {
        if !self.whole() {
            let text = format!(
                "the log covers {} of {} free frames with room for its clock offset; only these are held against it, and mean accelerations are not",
                self.times().len(),
                self.way.times.len()
            );
            return Some(caution("log_covers_part", &text, None));
        }
        let text = "what the accelerometer reads in free fall is not stated (log.zero): it counts as exactly nothing where mean \
                    accelerations are compared";
        log.zero
            .is_none()
            .then(|| caution("log_zero_not_stated", text, None))
    }
}

/// The offset as stated, or from an event.
fn stated(log: &Log, seen: &Seen) -> Result<Option<Uncertain>, Refused> {
    let Some(event) = &log.event else {
        return Ok(log.clock_offset.clone());
    };
    let shown = seen
        .time(event.frame)
        .ok_or("the frame of log.event is not in the clip")?;
    let before = event.frame.checked_sub(1).and_then(|frame| seen.time(frame));
    let step = before.map_or(0.0, |before| shown - before);
    let u = step / 12.0_f64.sqrt();
    let input = Input {
        key: "frame of the event".into(),
        unit: "s".into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "step from frame to frame".into(),
    };
    let seen = Uncertain::of_input(shown - step / 2.0, u, input);
    let value = seen.value() - event.time.value();
    Ok(Some(Uncertain::combine(
        value,
        &[(&seen, 1.0), (&event.time, -1.0)],
    )))
}
