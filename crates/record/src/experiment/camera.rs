//! The camera, `[camera]`: real frames per second, scale, distance, exposure, and what was held fixed.
//!
//! Scale and rate may come from what is seen in the picture: [`crate::experiment::reference`], [`crate::experiment::readings`].
//!
//! Runs that name the same `calibration` share the error of their scale: its inputs then carry that name in brackets,
//! `camera.scale [cal-A]`. An input without brackets belongs to its run alone. It sees no pixels.

use crate::experiment::lens::LensDistortion;
use crate::experiment::readings;
use crate::experiment::reference::{LengthReference, held_against, read_first, read_second};
use crate::experiment::section::{Bound, Section};
use crate::findings::{Caution, Note};
use std::f64::consts::FRAC_PI_2;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::Uncertain;

/// Keys of `[camera]`.
pub const CAMERA: &[&str] = &[
    "capture_rate",
    "scale",
    "reference",
    "second_reference",
    "clock",
    "calibration",
    "distance",
    "depth",
    "exposure",
    "readout_time",
    "readout_from",
    "roll",
    "lens",
    "lamp_half_angle",
    "held",
    "axis_angle",
    "picture",
    "focal_length",
    "f_number",
    "blur",
    "contrast",
    "noise",
    "noise_dark",
    "coding",
];
/// Something that the camera could change by itself, and did not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say what they are")]
pub enum Held {
    Focus,
    Zoom,
    Exposure,
    Stabilisation,
}

const HELD: &[(&str, Held)] = &[
    ("focus", Held::Focus),
    ("zoom", Held::Zoom),
    ("exposure", Held::Exposure),
    ("stabilisation", Held::Stabilisation),
];

/// How a camera codes its clips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say what they are")]
pub enum Coding {
    Lossless,
    Fine,
    Common,
    Coarse,
}

const CODINGS: &[(&str, Coding)] = &[
    ("lossless", Coding::Lossless),
    ("fine", Coding::Fine),
    ("common", Coding::Common),
    ("coarse", Coding::Coarse),
];

impl Coding {
    /// Quantiser of H.264 that stands for it, 0 to 51; none without loss. Common practice, no published source.
    pub fn quantiser(self) -> Option<u8> {
        match self {
            Self::Lossless => None,
            Self::Fine => Some(10),
            Self::Common => Some(22),
            Self::Coarse => Some(28),
        }
    }
}

/// The row of the picture that a rolling shutter reads first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say what they are")]
pub enum FirstRow {
    Top,
    Bottom,
}

const FIRST_ROWS: &[(&str, FirstRow)] = &[("top", FirstRow::Top), ("bottom", FirstRow::Bottom)];

/// The camera as stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Real frames in one second of real time, 1/s.
    pub capture_rate: Option<Uncertain>,
    /// Scale, m/px, as stated or by the reference.
    pub scale: Option<Uncertain>,
    /// The reference from which the scale is, if it is from one.
    pub reference: Option<LengthReference>,
    /// The reference against which the scale is checked.
    pub second_reference: Option<LengthReference>,
    /// Name of the calibration that runs share.
    pub calibration: Option<String>,
    /// From the lens to the body, m.
    pub distance: Option<Uncertain>,
    /// Of the body behind the plane in which the scale was set, m; negative when it is nearer to the lens.
    pub depth: Option<Uncertain>,
    /// Exposure time, s.
    pub exposure: Option<Uncertain>,
    /// Of a rolling shutter from the first row of the picture to the last, s; absent or 0 for a global one.
    pub readout_time: Option<Uncertain>,
    /// The row that is read first; the top one when the file does not say.
    pub readout_from: Option<FirstRow>,
    /// Angle by which the camera is turned clockwise about its line of sight, seen from behind it, rad.
    pub roll: Option<Uncertain>,
    /// Distortion of the lens.
    pub lens: Option<LensDistortion>,
    /// Half the angle of a back-light as seen from the body, rad.
    pub lamp_half_angle: Option<Uncertain>,
    /// What was held fixed; `None` when the file does not say.
    pub held: Option<Vec<Held>>,
    /// Angle of the body's axis, rad from up, positive towards +x: up in the picture, or with `roll` in that of a level camera.
    pub axis_angle: Option<Uncertain>,
    /// Pixels in a row and rows; for a plan.
    pub picture: Option<[f64; 2]>,
    /// Focal length of the lens, m; for a plan.
    pub focal_length: Option<Uncertain>,
    /// Focal length over the diameter of the opening; for a plan.
    pub f_number: Option<Uncertain>,
    /// Standard deviation of the Gaussian that widens an edge, px; for a plan.
    pub blur: Option<Uncertain>,
    /// Light side less dark side of the edge, over the range of the picture; for a plan.
    pub contrast: Option<Uncertain>,
    /// Standard deviation of the noise of one pixel on the light side, over the range of the picture; for a plan.
    pub noise: Option<Uncertain>,
    /// The same on the dark side; as on the light side when absent; for a plan.
    pub noise_dark: Option<Uncertain>,
    /// How the clip will be coded; for a plan.
    pub coding: Option<Coding>,
}

impl Camera {
    /// Reads `[camera]`; what allows a result but clouds it goes to `cautions`, what was checked and found right to `notes`.
    pub(super) fn read(
        mut table: Section<'_, '_>,
        cautions: &mut Vec<Caution>,
        notes: &mut Vec<Note>,
    ) -> Self {
        let calibration = table.text("calibration", "cal-A");
        let shared = calibration.as_deref();
        let scale = table.measured("scale", Dimension::LengthPerPixel, Bound::Positive, shared);
        if table.has("scale") && table.has("reference") {
            table.fault(
                "reference",
                "a second scale",
                "one of `scale` and [camera.reference]",
            );
        }
        let by_reference = read_first(&mut table, shared, cautions);
        let (reference, scale) = match by_reference {
            Some((reference, by_reference)) => (Some(reference), scale.or(Some(by_reference))),
            None => (None, scale),
        };
        let second = read_second(&mut table);
        let by_second = match (&scale, &second) {
            (None, Some(_)) => {
                table.fault(
                    "second_reference",
                    "no first scale",
                    "`scale` or [camera.reference], against which it is held",
                );
                None
            }
            (scale, second) => scale.as_ref().zip(second.as_ref().map(|second| &second.1)),
        };
        let told = by_second.map(|(first, second)| {
            let first_name = if reference.is_some() {
                "the reference"
            } else {
                "the stated scale"
            };
            held_against(
                [(first_name, first), ("the second reference", second)],
                |scale| format!("{:.5} mm/px", 1e3 * scale),
                (
                    "scales_disagree",
                    "check both lengths, and whether both things lie in the plane of the body",
                ),
            )
        });
        sorted(told, cautions, notes);
        let stated_rate = table.quantity("capture_rate", Dimension::Rate, Bound::Positive);
        let by_clock = readings::read(&mut table, cautions);
        let told = stated_rate.as_ref().zip(by_clock.as_ref()).map(|(stated, seen)| {
            held_against(
                [("the stated rate", stated), ("the clock in the picture", seen)],
                |rate| format!("{rate:.3} frames per second"),
                (
                    "rates_disagree",
                    "is the stated one the playback rate, or were frames dropped? It is used",
                ),
            )
        });
        sorted(told, cautions, notes);
        let share = Bound::Between(
            1e-6,
            1.0,
            "a share of the range of the picture, above 0 and up to 1",
        );
        let angle = Bound::Between(0.0, FRAC_PI_2, "an angle from 0 to 90 deg");
        let camera = Self {
            capture_rate: stated_rate.or(by_clock),
            scale,
            reference,
            second_reference: second.map(|second| second.0),
            distance: table.measured("distance", Dimension::Length, Bound::Positive, None),
            depth: table.measured("depth", Dimension::Length, Bound::Any, None),
            exposure: table.quantity("exposure", Dimension::Time, Bound::Positive),
            readout_time: table.quantity("readout_time", Dimension::Time, Bound::NotNegative),
            readout_from: table.word("readout_from", FIRST_ROWS),
            roll: table.quantity("roll", Dimension::Angle, Bound::Any),
            lens: LensDistortion::read(&mut table),
            lamp_half_angle: table.quantity("lamp_half_angle", Dimension::Angle, angle),
            held: table.words("held", HELD),
            axis_angle: table.quantity("axis_angle", Dimension::Angle, Bound::Any),
            picture: table.point("picture"),
            focal_length: table.quantity("focal_length", Dimension::Length, Bound::Positive),
            f_number: table.quantity("f_number", Dimension::Fraction, Bound::Positive),
            blur: table.quantity("blur", Dimension::Pixel, Bound::Positive),
            contrast: table.quantity("contrast", Dimension::Fraction, share),
            noise: table.quantity("noise", Dimension::Fraction, share),
            noise_dark: table.quantity("noise_dark", Dimension::Fraction, share),
            coding: table.word("coding", CODINGS),
            calibration,
        };
        if let (Some(depth), Some(distance)) = (&camera.depth, &camera.distance)
            && -depth.value() >= distance.value()
        {
            table.fault(
                "depth",
                "a body behind the lens",
                "a depth smaller than `distance`, e.g. \"0 +- 5 mm\"",
            );
        }
        cautions.extend(camera.spans_frames("exposure", &camera.exposure));
        cautions.extend(camera.spans_frames("readout_time", &camera.readout_time));
        cautions.extend(camera.not_held());
        camera
    }

    /// A caution when a time within one frame is longer than the frame lasts.
    fn spans_frames(&self, key: &str, time: &Option<Uncertain>) -> Option<Caution> {
        let (time, rate) = (time.as_ref()?.value(), self.capture_rate.as_ref()?.value());
        (time * rate > 1.0).then(|| Caution {
            code: format!("{key}_longer_than_frame"),
            text: format!(
                "camera.{key} is {:.3} ms, but a frame lasts {:.3} ms at {rate} real frames per second: is \
                 camera.capture_rate the playback rate, or were frames dropped?",
                time * 1e3,
                1e3 / rate
            ),
            frames: None,
        })
    }

    /// A caution when focus or zoom may have moved the scale.
    fn not_held(&self) -> Option<Caution> {
        let held = self.held.as_deref().unwrap_or(&[]);
        let free: Vec<&str> = [("focus", Held::Focus), ("zoom", Held::Zoom)]
            .into_iter()
            .filter(|(_, what)| !held.contains(what))
            .map(|(name, _)| name)
            .collect();
        (!free.is_empty()).then(|| Caution {
            code: "scale_may_drift".to_owned(),
            text: format!(
                "camera.held does not name {}: if the camera moved it during the clip, the scale changed with it",
                free.join(" and ")
            ),
            frames: None,
        })
    }
}

/// What a comparison told, to its place.
fn sorted(told: Option<Result<Note, Caution>>, cautions: &mut Vec<Caution>, notes: &mut Vec<Note>) {
    match told {
        Some(Ok(note)) => notes.push(note),
        Some(Err(caution)) => cautions.push(caution),
        None => {}
    }
}
