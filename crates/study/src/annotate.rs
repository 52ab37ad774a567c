//! `overlay`: the clip of a run once more, with what was found drawn on it, as somebody wants it: which things, which stretch, how fast it plays.
//!
//! Reads the run folder and its clip; measures nothing. The strip below the picture says the time and frame in any case: a film that is slowed
//! down must say so.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use tremolet_clip::encode::{FilmWriter, TO_LOOK_AT};
use tremolet_clip::frame::Frame;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::store::{beside, exists, rename};
use tremolet_report::overlay::scene::{Arc, OverlayBody, Region, Style, draw};
use tremolet_report::overlay::stretch::Stretch;
use tremolet_shape::harmonics::reach;

use crate::error::StudyError;
use crate::film::covers;
use crate::lanes::{BodyLane, Lanes, lanes};
use crate::look::{Progress, frames};
use crate::outline::outlines;

/// Points of an expected outline.
const POINTS: u32 = 180;

/// What is drawn on the frames.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shown {
    /// The outline that was found.
    pub outline: bool,
    /// The centre, with the number of the body.
    pub centre: bool,
    /// The axis.
    pub axis: bool,
    /// The outline that theory expects, dashed.
    pub expected: bool,
    /// Nothing but the body: the picture is cut to where bodies are seen.
    pub close: bool,
}

/// Names of what can be drawn.
pub const NAMES: &[&str] = &["outline", "centre", "axis", "expected", "close"];

impl Shown {
    /// Of names, see [`NAMES`]; none of them is the clip with its clock alone.
    ///
    /// # Errors
    /// A name that is none.
    pub fn of(names: &[String]) -> Result<Self, StudyError> {
        let mut shown = Self::default();
        for name in names.iter().filter(|name| !name.is_empty()) {
            let place = match name.as_str() {
                "outline" => &mut shown.outline,
                "centre" => &mut shown.centre,
                "axis" => &mut shown.axis,
                "expected" => &mut shown.expected,
                "close" => &mut shown.close,
                _ => {
                    return Err(StudyError::Asked {
                        what: format!("to show \"{name}\""),
                        why: format!("expected some of {}", NAMES.join(", ")),
                    });
                }
            };
            *place = true;
        }
        Ok(shown)
    }
}

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Request<'a> {
    /// The run.
    pub run: &'a Path,
    /// The film, a name that ends in `.mp4`; beside the run otherwise.
    pub out: Option<&'a Path>,
    /// Whether a film that is there is replaced.
    pub replace: bool,
    /// What is drawn.
    pub shown: Shown,
    /// First and last frame; the ends of the run otherwise.
    pub stretch: (Option<u64>, Option<u64>),
    /// One frame of so many is taken.
    pub every: u64,
    /// Frames that are played in a second.
    pub rate_fps: f64,
}

/// What was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Annotated {
    /// The film.
    pub film: PathBuf,
    /// Frames in it.
    pub frames: u64,
}

/// Draws the film.
///
/// # Errors
/// When this is no run of a clip, the clip is not there or cannot be read, the stretch is empty, the film is there already, the disk refuses, or `progress` asked to
/// stop. Nothing is left half-written.
pub fn annotate(request: &Request<'_>, progress: &mut Progress<'_>) -> Result<Annotated, StudyError> {
    let out = request
        .out
        .map_or_else(|| film_beside(request.run), Path::to_path_buf);
    if exists(&out) && !request.replace {
        return Err(StudyError::There { file: out });
    }
    let job = Job::of(request)?;
    let part = beside(&out, "part");
    match job.written(&part, progress) {
        Ok(frames) => {
            rename(&part, &out)?;
            Ok(Annotated { film: out, frames })
        }
        Err(why) => {
            // What led here is the thing to tell.
            drop(std::fs::remove_file(&part));
            Err(why)
        }
    }
}

fn film_beside(run: &Path) -> PathBuf {
    let whole = run.canonicalize().unwrap_or_else(|_| run.to_owned());
    let mut name = whole.file_name().unwrap_or_default().to_owned();
    name.push("-annotated.mp4");
    whole.with_file_name(name)
}

struct Job<'a> {
    request: &'a Request<'a>,
    experiment: Experiment,
    clip: PathBuf,
    lanes: Lanes,
    first: u64,
    last: u64,
}

fn wrong(what: String, why: &str) -> StudyError {
    StudyError::Asked {
        what,
        why: why.into(),
    }
}

impl<'a> Job<'a> {
    fn of(request: &'a Request<'a>) -> Result<Self, StudyError> {
        let experiment = Experiment::read(&request.run.join("experiment.toml"))?;
        let clip = experiment
            .clip
            .as_ref()
            .map(|clip| experiment.path_of(&clip.path));
        let clip = clip.ok_or_else(|| wrong("overlay".into(), "this run names no clip"))?;
        let lanes = lanes(request.run, f64::NEG_INFINITY..f64::INFINITY, usize::MAX)?;
        let begin = u64::try_from(lanes.first).unwrap_or(0);
        let end = begin + (lanes.times.len() as u64).saturating_sub(1);
        let (first, last) = request.stretch;
        let (first, last) = (first.unwrap_or(begin).max(begin), last.unwrap_or(end).min(end));
        if first > last || lanes.times.is_empty() {
            let why = "the run holds none of these frames";
            return Err(wrong(
                format!("frames {first} to {last} of {begin} to {end}"),
                why,
            ));
        }
        if !(1.0..=240.0).contains(&request.rate_fps) || request.every == 0 {
            let why =
                "a film plays 1 to 240 frames in a second, of which every frame, every second or so is taken";
            return Err(wrong(format!("{} frames in a second", request.rate_fps), why));
        }
        Ok(Self {
            request,
            experiment,
            clip,
            lanes,
            first,
            last,
        })
    }

    fn written(&self, part: &Path, progress: &mut Progress<'_>) -> Result<u64, StudyError> {
        let mut source = frames(&self.experiment, &self.clip)?;
        let all = (self.last - self.first) / self.request.every + 1;
        let (mut done, mut stretch, mut view) = (0, None, None);
        let mut film: Option<FilmWriter> = None;
        for due in (self.first..=self.last).step_by(self.request.every.try_into().unwrap_or(usize::MAX)) {
            source.skip_to(due)?;
            let Some(frame) = source.next_frame()? else { break };
            let bodies = self.bodies(frame.index)?;
            let region =
                *view.get_or_insert_with(|| self.request.shown.close.then(|| self.region()).flatten());
            let style = Style {
                time: self.time(&frame),
                frame: frame.index,
                covered: covers(&self.experiment, frame.index),
                stretch: Some(*stretch.get_or_insert_with(|| Stretch::of(&frame.plane))),
                view: region,
                ..Style::default()
            };
            let canvas = draw(&frame.plane, &bodies, &style);
            let writer = match film.take() {
                Some(writer) => writer,
                None => FilmWriter::create(
                    part,
                    canvas.width,
                    canvas.height,
                    self.request.rate_fps,
                    TO_LOOK_AT,
                )?,
            };
            film.insert(writer).push(&canvas.rgb)?;
            done += 1;
            if progress(done, Some(all)) == ControlFlow::Break(()) {
                return Err(StudyError::Stopped);
            }
        }
        match film {
            Some(film) => film.finish()?,
            None => return Err(wrong("overlay".into(), "the clip holds none of these frames")),
        }
        Ok(done)
    }

    fn time(&self, frame: &Frame) -> f64 {
        let place = i64::try_from(frame.index).unwrap_or(i64::MAX) - self.lanes.first;
        let time = usize::try_from(place)
            .ok()
            .and_then(|place| self.lanes.times.get(place));
        time.copied().unwrap_or(f64::NAN)
    }

    /// All that the bodies come to over the stretch, with room.
    fn region(&self) -> Option<Region> {
        let inside =
            |frame: i64| (self.first..=self.last).contains(&u64::try_from(frame).unwrap_or(u64::MAX));
        let mut ends: Option<[f64; 4]> = None;
        for body in &self.lanes.bodies {
            for i in (0..body.frame.len()).filter(|&i| inside(body.frame[i])) {
                let far = 1.6 * body.radius[i];
                let here = [body.x[i] - far, body.y[i] - far, body.x[i] + far, body.y[i] + far];
                let old = ends.unwrap_or(here);
                ends = Some([
                    old[0].min(here[0]),
                    old[1].min(here[1]),
                    old[2].max(here[2]),
                    old[3].max(here[3]),
                ]);
            }
        }
        ends.map(|[left, top, right, bottom]| Region {
            x: left,
            y: top,
            width: right - left,
            height: bottom - top,
        })
    }

    fn bodies(&self, frame: u64) -> Result<Vec<OverlayBody>, StudyError> {
        let shown = self.request.shown;
        let found = if shown.outline {
            outlines(self.request.run, frame)?
        } else {
            Vec::new()
        };
        let one = |body: &BodyLane| {
            let at = body.frame.binary_search(&i64::try_from(frame).ok()?).ok()?;
            let used = found.iter().filter(|outline| outline.body == body.body);
            let used = used.flat_map(|outline| &outline.stretches).map(|stretch| Arc {
                points: stretch.points.clone(),
                closed: stretch.closed,
            });
            Some(OverlayBody {
                number: body.body,
                used: used.collect(),
                hidden: if shown.expected {
                    self.expected(body, at)
                } else {
                    Vec::new()
                },
                centre: shown.centre.then(|| [body.x[at], body.y[at]]),
                axis_angle: (shown.axis && body.axis[at].is_finite()).then(|| body.axis[at]),
            })
        };
        Ok(self.lanes.bodies.iter().filter_map(one).collect())
    }

    /// The outline that theory expects of a body at a place in its rows; none without theory.
    fn expected(&self, body: &BodyLane, at: usize) -> Vec<Arc> {
        let own = self.lanes.modes.iter().filter(|mode| mode.body == body.body);
        let known = own.filter_map(|mode| Some((mode.degree, mode.expected?)));
        let amplitudes: Vec<(u32, f64)> = known
            .map(|(n, expected)| (n, expected.at(body.time[at])))
            .collect();
        if amplitudes.is_empty() {
            return Vec::new();
        }
        let point = |k: u32| {
            let theta = std::f64::consts::TAU * f64::from(k) / f64::from(POINTS);
            let r = body.radius[at] * reach(&amplitudes, theta);
            let angle = body.axis[at] + theta;
            [body.x[at] + r * angle.sin(), body.y[at] - r * angle.cos()]
        };
        vec![Arc {
            points: (0..POINTS).map(point).collect(),
            closed: true,
        }]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_is_chosen_by_name() {
        let of = |names: &[&str]| Shown::of(&names.iter().map(|n| (*n).to_owned()).collect::<Vec<_>>());
        let shown = of(&["outline", "axis"]).expect("known");
        assert!(shown.outline && shown.axis && !shown.centre && !shown.expected);
        assert_eq!(of(&[""]).expect("nothing"), Shown::default());
        assert!(of(&["halo"]).is_err_and(|why| why.to_string().contains("outline, centre, axis")));
    }
}
