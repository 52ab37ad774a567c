//! What happens between bodies: they overlap in view, one parts into two, two become one.
//!
//! ```text
//! parted, joined:   sum of the volumes after = sum before, within SAME
//! ```
//! A picture alone does not tell bodies that touch from bodies that pass before each other; the volumes do once they have
//! parted. A joint outline whose volume is not that of its bodies is no body: it counts as touched.
//!
//! Source: conservation of volume, elementary. Finds no outline.

use crate::edge::Meeting;
use crate::measured::{BodyShape, BodyTrack, Caution, Happening};
use crate::track::Tracks;

/// A body that did not lie alone in a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Met {
    /// Place in the clip.
    pub frame: u64,
    /// Its number.
    pub body: u32,
    /// How.
    pub meeting: Meeting,
}

/// Volumes that agree within this share are the same.
const SAME: f64 = 0.04;
/// Frames between the last before and the first after.
const SOON: u64 = 3;

/// All of them, in order of frames.
pub fn met(tracks: &Tracks) -> Vec<Met> {
    let mut all: Vec<Met> = (1..)
        .zip(tracks.each())
        .flat_map(|(body, sightings)| {
            sightings
                .iter()
                .filter(|s| s.meeting != Meeting::Alone)
                .map(move |s| Met {
                    frame: s.frame,
                    body,
                    meeting: s.meeting,
                })
        })
        .collect();
    all.sort_by_key(|m| (m.frame, m.body));
    all
}

/// What happened, in order of time; joint outlines that are no body are marked as touched.
pub fn happenings(bodies: &mut [BodyTrack], met: &[Met]) -> Vec<Happening> {
    let mut all = overlaps(met);
    hide(bodies, met);
    let ends = ends(bodies);
    for (kind, one, many) in ends {
        let frames = kind.frames(&bodies[one], &bodies[many[0]]);
        let sum: f64 = many.iter().map(|b| kind.volume_of_part(&bodies[*b])).sum();
        let whole = kind.volume_of_whole(&bodies[one]);
        let same = (whole / sum - 1.0).abs() < SAME;
        if !same {
            bodies[one]
                .shapes
                .iter_mut()
                .for_each(|shape| shape.touched = true);
        }
        let number = |b: &usize| bodies[*b].body;
        let (one, many): (u32, Vec<u32>) = (number(&one), many.iter().map(number).collect());
        let order = match kind {
            Kind::Parted => std::iter::once(one).chain(many).collect(),
            Kind::Joined => many.into_iter().chain(std::iter::once(one)).collect(),
        };
        all.push(Happening {
            name: match (kind, same) {
                (Kind::Parted, true) => "pinch_off",
                (Kind::Joined, true) => "coalescence",
                (Kind::Parted, false) => "parted_in_view",
                (Kind::Joined, false) => "joined_in_view",
            },
            frames: widened(frames, met),
            bodies: order,
        });
    }
    all.sort_by_key(|h| h.frames);
    all
}

/// While a body is out of sight beside another, that one's outline may be the outline of both: it counts as touched.
fn hide(bodies: &mut [BodyTrack], met: &[Met]) {
    let end = bodies
        .iter()
        .filter_map(|b| b.shapes.last())
        .map(|s| s.frame)
        .max()
        .unwrap_or(0);
    let mut spans = Vec::new();
    for (place, body) in bodies.iter().enumerate() {
        let gaps = body.shapes.windows(2).map(|w| (&w[0], w[1].frame));
        let last = body.shapes.last().map(|s| (s, end + 1));
        for (before, after) in gaps.chain(last) {
            let overlaps =
                |m: &Met| m.frame == before.frame && m.body == body.body && m.meeting == Meeting::Overlaps;
            let lost = after > before.frame + 1 && met.iter().any(overlaps);
            if lost {
                spans.push((
                    place,
                    before.centre_px,
                    before.equivalent_radius_px,
                    before.frame + 1..after,
                ));
            }
        }
    }
    for (place, centre, radius, frames) in spans {
        for (_, other) in bodies.iter_mut().enumerate().filter(|(k, _)| *k != place) {
            for shape in other.shapes.iter_mut().filter(|s| frames.contains(&s.frame)) {
                let apart = (shape.centre_px[0] - centre[0]).hypot(shape.centre_px[1] - centre[1]);
                shape.touched |= apart < 1.5 * (radius + shape.equivalent_radius_px);
            }
        }
    }
}

/// A happening is not placed more closely than the frames around it that cannot be told.
fn widened((mut first, mut last): (u64, u64), met: &[Met]) -> (u64, u64) {
    let open = |frame: u64| met.iter().any(|m| m.frame == frame && m.meeting == Meeting::Open);
    while first > 0 && open(first) {
        first -= 1;
    }
    while open(last) {
        last += 1;
    }
    (first, last)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Parted,
    Joined,
}

impl Kind {
    fn frames(self, one: &BodyTrack, other: &BodyTrack) -> (u64, u64) {
        let (before, after) = match self {
            Self::Parted => (one, other),
            Self::Joined => (other, one),
        };
        let last = before.shapes.last().map_or(0, |s| s.frame);
        (last, after.shapes.first().map_or(last, |s| s.frame))
    }

    /// Where the parts are nearest to the whole, outlines are cut: the middle one of the nearest dozen tells.
    fn volume_of_part(self, body: &BodyTrack) -> f64 {
        match self {
            Self::Parted => typical(body.shapes.iter().take(NEAREST)),
            Self::Joined => typical(body.shapes.iter().rev().take(NEAREST)),
        }
    }

    fn volume_of_whole(self, body: &BodyTrack) -> f64 {
        match self {
            Self::Parted => typical(body.shapes.iter().rev().take(NEAREST)),
            Self::Joined => typical(body.shapes.iter().take(NEAREST)),
        }
    }
}

const NEAREST: usize = 12;

fn typical<'a>(shapes: impl Iterator<Item = &'a BodyShape>) -> f64 {
    let mut volumes: Vec<f64> = shapes.map(|s| s.volume_px3).collect();
    volumes.sort_by(f64::total_cmp);
    volumes.get(volumes.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Tracks that end where two others begin within their reach, and the other way round.
fn ends(bodies: &[BodyTrack]) -> Vec<(Kind, usize, Vec<usize>)> {
    let mut found = Vec::new();
    for (place, one) in bodies.iter().enumerate() {
        let (Some(first), Some(last)) = (one.shapes.first(), one.shapes.last()) else {
            continue;
        };
        let others = |meets: &dyn Fn(&BodyTrack) -> bool| -> Vec<usize> {
            let near = |b: &usize| *b != place && meets(&bodies[*b]);
            (0..bodies.len()).filter(near).collect()
        };
        let follows = |before: &BodyShape, after: &BodyShape, whole: &BodyShape| {
            let soon = after.frame > before.frame && after.frame - before.frame <= SOON;
            let apart =
                (before.centre_px[0] - after.centre_px[0]).hypot(before.centre_px[1] - after.centre_px[1]);
            soon && !before.touches_frame && !after.touches_frame && apart < 2.5 * whole.equivalent_radius_px
        };
        let born = others(&|b| b.shapes.first().is_some_and(|s| follows(last, s, last)));
        let gone = others(&|b| b.shapes.last().is_some_and(|s| follows(s, first, first)));
        if born.len() >= 2 {
            found.push((Kind::Parted, place, born));
        }
        if gone.len() >= 2 {
            found.push((Kind::Joined, place, gone));
        }
    }
    found
}

/// Stretches of frames in which bodies overlap.
fn overlaps(met: &[Met]) -> Vec<Happening> {
    let mut all: Vec<Happening> = Vec::new();
    for m in met.iter().filter(|m| m.meeting == Meeting::Overlaps) {
        match all.last_mut() {
            Some(h) if m.frame <= h.frames.1 + SOON => {
                h.frames.1 = m.frame;
                if !h.bodies.contains(&m.body) {
                    h.bodies.push(m.body);
                }
            }
            _ => all.push(Happening {
                name: "overlap",
                frames: (m.frame, m.frame),
                bodies: vec![m.body],
            }),
        }
    }
    all
}

/// Frames in stretches, each frame once.
fn stretches(frames: impl Iterator<Item = u64>) -> Vec<Vec<u64>> {
    let mut all: Vec<Vec<u64>> = Vec::new();
    for frame in frames {
        match all.last_mut() {
            Some(stretch) if stretch.last() == Some(&frame) => {}
            Some(stretch) if stretch.last().is_some_and(|last| frame <= last + SOON) => stretch.push(frame),
            _ => all.push(vec![frame]),
        }
    }
    all
}

/// What has to be said of bodies that do not lie alone.
pub fn cautions(met: &[Met]) -> Vec<Caution> {
    let mut all = Vec::new();
    let mut say = |meeting: Meeting, code: &'static str, text: &dyn Fn(usize) -> String| {
        let frames = met.iter().filter(|m| m.meeting == meeting).map(|m| m.frame);
        for stretch in stretches(frames) {
            let count = stretch.len();
            all.push(Caution {
                code,
                text: text(count),
                frames: Some((stretch[0], stretch[count - 1])),
            });
        }
    };
    say(Meeting::Overlaps, "bodies_overlap", &|n| {
        format!(
            "bodies overlap in view or touch in {n} frames: each has its own arc of the outline, what is hidden is taken from its shape \
             elsewhere in the clip, and these frames do not count as free"
        )
    });
    say(Meeting::Open, "neck_or_overlap", &|n| {
        format!(
            "in {n} frames it cannot be told whether an outline is one body with a neck, or several that touch or overlap; these frames do not \
             count as free"
        )
    });
    say(Meeting::Necked, "necked", &|n| {
        format!("a body has a neck in {n} frames: it is taken as one body that turns about its long axis")
    });
    all
}

#[cfg(test)]
pub(crate) mod tests;
