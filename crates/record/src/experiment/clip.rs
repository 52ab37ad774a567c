//! The clip and how the body was let go: `[clip]`, with what was drawn on it ([`crate::experiment::hand`]), and `[release]`.
//!
//! Paths are kept as written; they are relative to the experiment file. Frames count from 0, a range ends before its
//! second number. Masked corners are `[x, y]`, px. It opens nothing.

use crate::experiment::hand::{JUDGED, Judged, MASK, Mask, Verdict, read_judged, read_mask};
use crate::experiment::section::{Bound, Section};
use std::ops::Range;
use std::path::PathBuf;
use toml::de::DeValue;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::Uncertain;

/// Keys of `[clip]`.
pub const CLIP: &[&str] = &["path", "times", "frames", "empty", "region", "mask", "judged"];
/// Keys of `[release]`.
pub const RELEASE: &[&str] = &[
    "support",
    "free_from",
    "support_radius",
    "removal_time",
    "shape",
    "aspect_ratio",
    "edge",
    "front_from",
    "front_speed",
    "front_impulse",
];

/// The view without the body, to tell the body from what stands still.
#[derive(Debug, Clone, PartialEq)]
pub enum Empty {
    /// Frames of the same clip.
    Frames(Range<u64>),
    /// A picture of its own.
    Picture(PathBuf),
}

/// The clip.
#[derive(Debug, Clone, PartialEq)]
pub struct Clip {
    /// A video file or a folder of stills, as written.
    pub path: PathBuf,
    /// A table with the real time of each frame of the whole clip, as written; it wins over one beside the stills.
    pub times: Option<PathBuf>,
    /// Which frames to use; `None` for all.
    pub frames: Option<Range<u64>>,
    /// The view without the body.
    pub empty: Option<Empty>,
    /// Corners of all that is looked at, `[x, y]`, px; `None` for the whole picture.
    pub region: Option<Vec<[f64; 2]>>,
    /// Where not to look.
    pub masks: Vec<Mask>,
    /// What a person says of the outlines.
    pub judged: Vec<Judged>,
}

impl Clip {
    /// Reads `[clip]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Option<Self> {
        let path = table.path("path", "run7.mp4");
        if !table.has("path") {
            table.fault_of_table(
                "no `path`",
                "a video file or a folder of stills, e.g. path = \"run7.mp4\"",
            );
        }
        let times = table.path("times", "times.csv");
        let frames = table.frames("frames");
        let empty = read_empty(&mut table);
        let region = table.corners("region");
        let masks = table.sections("mask", MASK, read_mask);
        let judged = table.sections("judged", JUDGED, read_judged);
        Some(Self {
            path: path?,
            times,
            frames,
            empty,
            region,
            masks,
            judged,
        })
    }

    /// The frames that are left out because their outlines were rejected.
    pub fn left_out(&self) -> Vec<Range<u64>> {
        let rejected = self.judged.iter().filter(|one| one.verdict == Verdict::Rejected);
        rejected.map(|one| one.frames.clone()).collect()
    }
}

fn read_empty(table: &mut Section<'_, '_>) -> Option<Empty> {
    match table.table.get("empty")?.get_ref() {
        DeValue::Array(_) => table.frames("empty").map(Empty::Frames),
        DeValue::String(_) => table.path("empty", "empty.png").map(Empty::Picture),
        _ => {
            let found = table.kind("empty");
            table.fault(
                "empty",
                &found,
                "frames without the body, e.g. [0, 20], or a picture, e.g. \"empty.png\"",
            );
            None
        }
    }
}

/// Bounds of a length over diameter.
pub(super) const ASPECT: Bound = Bound::Between(0.2, 5.0, "a length over diameter from 0.2 to 5");

/// What held the body before it was free.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say what they are")]
pub enum Support {
    Skin,
    Cup,
    Needle,
    Loop,
}

const SUPPORTS: &[(&str, Support)] = &[
    ("skin", Support::Skin),
    ("cup", Support::Cup),
    ("needle", Support::Needle),
    ("loop", Support::Loop),
];

/// How the body was let go.
#[derive(Debug, Clone, PartialEq)]
pub struct Release {
    /// What held it.
    pub support: Option<Support>,
    /// The first frame in which nothing touches it, as the experimenter saw it.
    pub free_from: Option<u64>,
    /// Radius of the loop, or of the end of the needle or cup, m.
    pub support_radius: Option<Uncertain>,
    /// Time that the support takes to go, s.
    pub removal_time: Option<Uncertain>,
    /// Shape when it is let go.
    pub shape: Option<StartForm>,
    /// Length along the axis over diameter across it when it is let go.
    pub aspect_ratio: Option<Uncertain>,
    /// Radius of the edges of a rounded cylinder, m.
    pub edge: Option<Uncertain>,
    /// Where a skin that peels away begins to.
    pub front_from: Option<Front>,
    /// Speed of its front along the surface, m/s.
    pub front_speed: Option<Uncertain>,
    /// Impulse per area that the passing front leaves on the liquid, Pa s.
    pub front_impulse: Option<Uncertain>,
}

/// Where a skin that peels away begins to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Front {
    /// At the upper end of the axis.
    Upper,
    /// At the lower end.
    Lower,
    /// At both at once.
    Both,
}

const FRONTS: &[(&str, Front)] = &[
    ("upper-end", Front::Upper),
    ("lower-end", Front::Lower),
    ("both-ends", Front::Both),
];

/// Shape of the body when it is let go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StartForm {
    /// A spheroid.
    Spheroid,
    /// A cylinder with rounded edges.
    RoundedCylinder,
}

const FORMS: &[(&str, StartForm)] = &[
    ("spheroid", StartForm::Spheroid),
    ("rounded-cylinder", StartForm::RoundedCylinder),
];

impl Release {
    /// Reads `[release]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        Self {
            support: table.word("support", SUPPORTS),
            free_from: table.frame("free_from"),
            support_radius: table.quantity("support_radius", Dimension::Length, Bound::Positive),
            removal_time: table.quantity("removal_time", Dimension::Time, Bound::Positive),
            shape: table.word("shape", FORMS),
            aspect_ratio: table.quantity("aspect_ratio", Dimension::Fraction, ASPECT),
            edge: table.quantity("edge", Dimension::Length, Bound::NotNegative),
            front_from: table.word("front_from", FRONTS),
            front_speed: table.quantity("front_speed", Dimension::Speed, Bound::Positive),
            front_impulse: table.quantity("front_impulse", Dimension::DynamicViscosity, Bound::NotNegative),
        }
    }
}
