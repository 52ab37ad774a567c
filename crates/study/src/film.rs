//! The clip with what was found drawn on it, and pictures of the telling instants. Draws; computes nothing.

use std::ops::ControlFlow;

use tremolet_clip::encode::{FilmWriter, TO_LOOK_AT, png_rgb};
use tremolet_clip::frame::Frame;
use tremolet_clip::source::FrameSource;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::folder::RunFolder;
use tremolet_report::overlay::scene::{OverlayBody, Region, Style, draw};
use tremolet_report::overlay::stretch::Stretch;
use tremolet_shape::area::Area;

use crate::draw;
use crate::error::StudyError;
use crate::look::{Progress, area, frames};
use crate::measure::Found;
use crate::tables::told::Instant;
use crate::write::Whole;

/// The telling instants: first and last frame with a body, and the extremes of the largest mode of the first body.
fn instants(found: &Found) -> Vec<(u64, String)> {
    let mut chosen: Vec<(u64, String)> = Vec::new();
    let mut add = |frame: u64, caption: &str| {
        if !chosen.iter().any(|(known, _)| *known == frame) {
            chosen.push((frame, caption.to_string()));
        }
    };
    let tracks = &found.seen.measured.bodies;
    let first = tracks
        .iter()
        .filter_map(|t| t.shapes.first())
        .map(|s| s.frame)
        .min();
    let last = tracks
        .iter()
        .filter_map(|t| t.shapes.last())
        .map(|s| s.frame)
        .max();
    if let Some(frame) = first {
        add(frame, "The first frame in which a body was found.");
    }
    if let Some(body) = found.bodies.iter().find(|b| b.series.degrees.first() == Some(&2)) {
        let swing: Vec<(u64, f64)> = body
            .series
            .samples
            .iter()
            .map(|s| (s.frame, s.amplitude[0]))
            .collect();
        let kept: Vec<u64> = found.seen.measured.views.iter().map(|view| view.index).collect();
        if let Some(frame) = widest(&swing, -1.0, &kept) {
            let caption = "Flattest along its axis: the amplitude of degree 2 is smallest about here.";
            add(frame, caption);
        }
        if let Some(frame) = widest(&swing, 1.0, &kept) {
            let caption = "Longest along its axis: the amplitude of degree 2 is largest about here.";
            add(frame, caption);
        }
    }
    if let Some(frame) = last {
        add(frame, "The last frame in which a body was found.");
    }
    chosen.sort_by_key(|(frame, _)| *frame);
    chosen
}

/// Swings that differ by less than this share of their range look the same.
const ALIKE: f64 = 0.02;

/// The frame where the swing is widest to the side of `sign`, of those that look the same one of the `kept` frames.
fn widest(swing: &[(u64, f64)], sign: f64, kept: &[u64]) -> Option<u64> {
    let by = |a: &&(u64, f64), b: &&(u64, f64)| (sign * a.1).total_cmp(&(sign * b.1));
    let (best, range) = (
        swing.iter().max_by(by)?,
        swing.iter().max_by(by)?.1 - swing.iter().min_by(by)?.1,
    );
    let alike = |s: &&(u64, f64)| kept.contains(&s.0) && sign * (best.1 - s.1) <= ALIKE * range.abs();
    let near = swing.iter().filter(alike).max_by(by);
    Some(near.unwrap_or(best).0)
}

/// What of a frame is covered in whatever is shown: the masks of an experiment.
pub fn covers(experiment: &Experiment, frame: u64) -> Vec<Area> {
    let clip = experiment.clip.as_ref();
    let masks = clip.map_or(&[][..], |clip| &clip.masks).iter();
    let now = masks.filter(|mask| mask.frames.as_ref().is_none_or(|frames| frames.contains(&frame)));
    now.map(area).collect()
}

/// Most frames of the annotated clip; longer clips are thinned evenly.
const MOST_FRAMES: u64 = 1000;
/// Frames per second at which the annotated clip plays.
const PLAYED: f64 = 30.0;

/// Which frames are drawn.
struct Plan {
    /// Pictures of their own, with what they show; in order.
    wanted: Vec<(u64, String)>,
    first: u64,
    /// One past the last.
    end: u64,
    /// One frame of so many goes into the annotated clip, if there is one.
    every: Option<u64>,
}

impl Plan {
    fn of(whole: &Whole<'_>) -> Self {
        let (first, all) = (whole.found.seen.first, whole.found.seen.measured.frames);
        Self {
            wanted: instants(whole.found),
            first,
            end: first + all,
            every: whole.request.overlay.then(|| all.div_ceil(MOST_FRAMES).max(1)),
        }
    }

    fn caption(&self, frame: u64) -> Option<&str> {
        let found = self.wanted.iter().find(|(index, _)| *index == frame);
        found.map(|(_, caption)| caption.as_str())
    }

    fn filmed(&self, frame: u64) -> bool {
        self.every
            .is_some_and(|every| (frame - self.first).is_multiple_of(every))
    }

    /// The next frame from `from` on that is drawn.
    fn next(&self, from: u64) -> Option<u64> {
        let filmed = self
            .every
            .map(|every| self.first + (from - self.first).next_multiple_of(every));
        let wanted = self
            .wanted
            .iter()
            .map(|(index, _)| *index)
            .find(|index| *index >= from);
        filmed
            .into_iter()
            .chain(wanted)
            .filter(|frame| *frame < self.end)
            .min()
    }
}

/// Second pass over the frames that are drawn: the annotated clip, and the frames at telling instants with what was found
/// drawn on them. What was kept of the first pass is not read again.
///
/// # Errors
/// When the clip cannot be read a second time, a file cannot be written, or `progress` asked to stop.
pub fn film(
    folder: &RunFolder,
    whole: &Whole<'_>,
    progress: &mut Progress<'_>,
) -> Result<Vec<Instant>, StudyError> {
    let plan = Plan::of(whole);
    let mut source = None;
    let mut stretch = None;
    let mut writer: Option<FilmWriter> = None;
    let mut pictures = Vec::new();
    let mut from = plan.first;
    while let Some(due) = plan.next(from) {
        let frame = match kept(whole, due) {
            Some(frame) => Some(frame.clone()),
            None => read(whole, &mut source, due)?,
        };
        let Some(frame) = frame else { break };
        from = frame.index + 1;
        let (caption, filmed) = (plan.caption(frame.index), plan.filmed(frame.index));
        if caption.is_some() || filmed {
            let style = Style {
                time: whole.found.seen.time(frame.index).unwrap_or(0.0),
                frame: frame.index,
                covered: covers(whole.request.experiment, frame.index),
                stretch: Some(*stretch.get_or_insert_with(|| Stretch::of(&frame.plane))),
                ..Style::default()
            };
            let bodies = draw::bodies(&whole.found.seen.measured.bodies, frame.index);
            if let Some(caption) = caption {
                let file = format!("figures/instant-{}.png", pictures.len() + 1);
                pictures.push(picture(folder, file, &frame, caption, &bodies, &style)?);
            }
            if filmed {
                let canvas = draw(&frame.plane, &bodies, &style);
                let film = match writer.take() {
                    Some(film) => film,
                    None => FilmWriter::create(
                        &folder.place("overlay.mp4")?,
                        canvas.width,
                        canvas.height,
                        PLAYED,
                        TO_LOOK_AT,
                    )?,
                };
                writer.insert(film).push(&canvas.rgb)?;
            }
        }
        if progress(from - plan.first, Some(plan.end - plan.first)) == ControlFlow::Break(()) {
            return Err(StudyError::Stopped);
        }
    }
    if let Some(writer) = writer {
        writer.finish()?;
    }
    Ok(pictures)
}

/// A frame that was kept when the clip was read.
fn kept<'a>(whole: &'a Whole<'_>, due: u64) -> Option<&'a Frame> {
    let views = &whole.found.seen.measured.views;
    views.iter().find(|view| view.index == due)
}

/// The first frame from `due` on, from the clip, which is opened when there is need for it.
fn read(
    whole: &Whole<'_>,
    source: &mut Option<Box<dyn FrameSource>>,
    due: u64,
) -> Result<Option<Frame>, StudyError> {
    let source = match source {
        Some(source) => source,
        none => none.insert(frames(whole.request.experiment, &whole.request.clip)?),
    };
    source.skip_to(due)?;
    Ok(source.next_frame()?)
}

/// Keeps a picture for the report: close to the bodies, with lines that are seen at its size.
fn picture(
    folder: &RunFolder,
    file: String,
    frame: &Frame,
    caption: &str,
    bodies: &[OverlayBody],
    style: &Style,
) -> Result<Instant, StudyError> {
    let close = Style {
        view: Region::around(bodies, 0.35),
        weight: 2.0,
        ..style.clone()
    };
    let canvas = draw(&frame.plane, bodies, &close);
    folder.write(&file, &png_rgb(canvas.width, canvas.height, &canvas.rgb)?)?;
    Ok(Instant {
        file,
        size: [canvas.width, canvas.height],
        frame: frame.index,
        time: style.time,
        caption: caption.into(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(wanted: &[u64], every: Option<u64>) -> Plan {
        Plan {
            wanted: wanted
                .iter()
                .map(|index| (*index, format!("at {index}")))
                .collect(),
            first: 10,
            end: 20,
            every,
        }
    }

    fn visited(plan: &Plan) -> Vec<u64> {
        let next = |frame: &u64| plan.next(frame + 1);
        std::iter::successors(plan.next(plan.first), next).collect()
    }

    #[test]
    fn the_widest_swing_is_shown_from_what_is_kept_where_it_looks_the_same() {
        let swing = [(3, -0.5), (4, 1.0), (5, 0.99), (6, -1.0), (7, -0.4)];
        assert_eq!(widest(&swing, 1.0, &[]), Some(4));
        assert_eq!(widest(&swing, 1.0, &[5, 3]), Some(5));
        assert_eq!(widest(&swing, -1.0, &[3, 7]), Some(6));
        assert_eq!(widest(&swing, -1.0, &[6, 3]), Some(6));
        assert_eq!(widest(&[], 1.0, &[6]), None);
    }

    #[test]
    fn only_what_is_drawn_is_visited() {
        assert_eq!(visited(&plan(&[12, 17, 25], None)), [12, 17]);
        assert_eq!(visited(&plan(&[12, 16], Some(3))), [10, 12, 13, 16, 19]);
        assert_eq!(visited(&plan(&[], Some(1))), (10..20).collect::<Vec<_>>());
        assert!(visited(&plan(&[], None)).is_empty());
        let plan = plan(&[12, 16], Some(3));
        assert!(plan.filmed(16) && !plan.filmed(12) && plan.caption(12) == Some("at 12"));
    }
}
