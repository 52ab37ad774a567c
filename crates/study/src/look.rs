//! The looking part of a measurement: clip and clock in, shapes with real times out.

use std::ops::{ControlFlow, Range};
use std::path::Path;
use std::sync::Arc;

use tremolet_clip::clock::Clock;
use tremolet_clip::frame::Plane;
use tremolet_clip::open::{OpenOptions, open};
use tremolet_clip::source::{ClipInfo, FrameSource};
use tremolet_clip::times::read_times;
use tremolet_measure::aside::Shelf;
use tremolet_measure::glimpse::Glimpse;
use tremolet_measure::measured::Measured;
use tremolet_measure::session;
use tremolet_measure::settings::{Mask, Settings};
use tremolet_record::experiment::clip::{Clip, Empty};
use tremolet_record::experiment::file::Experiment;
use tremolet_record::experiment::hand;
use tremolet_record::findings::Caution;
use tremolet_shape::area::Area;

use crate::camera::stated;
use crate::error::StudyError;
use crate::timed::Timed;
use crate::wording::caution;

/// Hears of progress: frames done, and all of them where known; may ask to stop.
pub type Progress<'a> = dyn FnMut(u64, Option<u64>) -> ControlFlow<()> + 'a;

/// Sees what was just seen, in frames of a size, px.
pub type Watch<'a> = dyn FnMut([usize; 2], &[Glimpse]) + 'a;

/// What was seen.
pub struct Seen {
    /// The clip.
    pub info: ClipInfo,
    /// Shapes of all bodies.
    pub measured: Measured,
    /// First frame looked at.
    pub first: u64,
    /// Real time of each frame from the first on, s.
    pub times: Vec<f64>,
    /// Frames that are key pictures of the coding, where that is known.
    pub keys: Vec<u64>,
    /// Cautions of reader, clock and picture.
    pub cautions: Vec<Caution>,
    /// Frames that were left out by hand.
    pub left_out: Vec<Range<u64>>,
}

impl Seen {
    /// Real time of a frame, s.
    pub fn time(&self, frame: u64) -> Option<f64> {
        let place = usize::try_from(frame.checked_sub(self.first)?).ok()?;
        self.times.get(place).copied()
    }

    /// Real time at which the shape of a body in a frame was taken, s: under a rolling shutter not that of the frame.
    pub fn time_of(&self, body: u32, frame: u64) -> Option<f64> {
        let mut taken = self.measured.bodies.iter().zip(&self.measured.taken);
        let delay = taken
            .find(|(track, _)| track.body == body)
            .map_or(0.0, |t| t.1.delay);
        Some(self.time(frame)? + delay)
    }
}

/// Opens the frames that the experiment asks for.
///
/// # Errors
/// When the clip cannot be read.
pub fn frames(experiment: &Experiment, clip: &Path) -> Result<Box<dyn FrameSource>, StudyError> {
    let range = experiment.clip.as_ref().and_then(|c| c.frames.clone());
    let options = OpenOptions {
        frames: range.map(|range| (range.start, range.end)),
    };
    Ok(open(clip, &options)?)
}

/// Looks at the whole clip; its outlines go on the shelf, where one is given, and `watch` sees them on the way.
///
/// # Errors
/// When the clip cannot be read or measured, or `progress` asked to stop.
pub fn look(
    experiment: &Experiment,
    (clip, threads): (&Path, usize),
    shelf: Option<&Arc<dyn Shelf>>,
    watch: &mut Watch<'_>,
    progress: &mut Progress<'_>,
) -> Result<Seen, StudyError> {
    let mut cautions = Vec::new();
    let mut source = frames(experiment, clip)?;
    let info = source.info().clone();
    let settings = Settings {
        camera: stated(experiment, &info),
        ..settings_of(experiment, clip, threads)?
    };
    let rate = experiment
        .camera
        .as_ref()
        .and_then(|camera| camera.capture_rate.as_ref());
    let clock = Clock::of(
        source.as_ref(),
        rate.map(|rate| rate.value()),
        given_times(experiment)?,
    )?;
    let mut timed = Timed::new(source.as_mut(), clock);
    let all = info.frame_count;
    let size = [info.width, info.height];
    let mut on = |done: u64, seen: &[Glimpse]| {
        watch(size, seen);
        progress(done, all)
    };
    let measured = session::measure_on(&mut timed, &settings, shelf, &mut on)?;
    let first = timed.first().unwrap_or(0);
    let times = timed.times().to_vec();
    let keys = timed.keys().to_vec();
    cautions.extend(timed.cautions());
    cautions.extend(timed.clock().cautions());
    cautions.extend(
        measured
            .cautions
            .iter()
            .map(|c| caution(c.code, &c.text, c.frames)),
    );
    Ok(Seen {
        info,
        measured,
        first,
        times,
        keys,
        cautions,
        left_out: settings.left_out,
    })
}

/// Real times of the frames from the table that the experiment file names, s.
fn given_times(experiment: &Experiment) -> Result<Option<Vec<f64>>, StudyError> {
    let table = experiment.clip.as_ref().and_then(|clip| clip.times.as_ref());
    Ok(table
        .map(|table| read_times(&experiment.path_of(table)))
        .transpose()?)
}

/// What the meter is told of an experiment whose clip is not open, without the camera; for a glance at one frame.
///
/// # Errors
/// When the picture without the body cannot be read.
pub fn settings_of(experiment: &Experiment, clip: &Path, threads: usize) -> Result<Settings, StudyError> {
    let stated = experiment.clip.as_ref();
    let axis = experiment
        .camera
        .as_ref()
        .and_then(|camera| camera.axis_angle.as_ref());
    Ok(Settings {
        empty: empty(experiment, clip)?,
        axis_angle: axis.map(|axis| axis.value()),
        threads,
        masks: stated.map_or_else(Vec::new, masks),
        left_out: stated.map_or_else(Vec::new, Clip::left_out),
        ..Settings::default()
    })
}

/// The area of a mask.
pub fn area(mask: &hand::Mask) -> Area {
    match mask.width {
        Some(width) => Area::along(mask.corners.clone(), width),
        None => Area::within(mask.corners.clone()),
    }
}

/// What is drawn on the clip, as the meter takes it.
fn masks(clip: &Clip) -> Vec<Mask> {
    let drawn = clip.masks.iter().map(|mask| Mask {
        frames: mask.frames.clone(),
        ..Mask::of(area(mask))
    });
    let region = clip.region.as_ref().map(|corners| Mask {
        outside: true,
        ..Mask::of(Area::within(corners.clone()))
    });
    region.into_iter().chain(drawn).collect()
}

/// The view without the body: a picture of its own, or the first of the frames named.
fn empty(experiment: &Experiment, clip: &Path) -> Result<Option<Plane>, StudyError> {
    let Some(empty) = experiment.clip.as_ref().and_then(|clip| clip.empty.as_ref()) else {
        return Ok(None);
    };
    let mut source = match empty {
        Empty::Frames(range) => {
            let frames = Some((range.start, range.end));
            open(clip, &OpenOptions { frames })?
        }
        Empty::Picture(path) => open(&experiment.path_of(path), &OpenOptions::default())?,
    };
    Ok(source.next_frame()?.map(|frame| frame.plane))
}
