//! What an ideal observer of a painted clip would have written down.

use std::collections::BTreeSet;
use std::io::{self, Write};

use crate::painted::body::Pose;
use crate::painted::handling::View;
use crate::painted::parts::{middle, volume};

/// The truth of a clip.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Metres in the mid-plane for each pixel.
    pub scale_m_per_px: f64,
    /// From the lens to the mid-plane, m; `None` at infinity.
    pub distance_m: Option<f64>,
    /// Volume-equivalent radius of each body, px.
    pub radius_px: Vec<f64>,
    /// The same in metres.
    pub radius_m: Vec<f64>,
    /// How much later than the frame each row was taken, s; empty when all rows were taken at once.
    pub rows: Vec<f64>,
    /// Whether the camera stood still and its exposure was one.
    pub still: bool,
    /// One entry for each frame of the clip.
    pub frames: Vec<TrueFrame>,
}

/// The truth of one frame.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueFrame {
    /// When the picture was taken, s.
    pub time: f64,
    /// What its stamp says, s.
    pub stamp: f64,
    /// Where the scene was seen at that time.
    pub view: View,
    /// Blur, px.
    pub blur_px: f64,
    /// Factor of the light by steps of the exposure.
    pub light: f64,
    /// Each body, `None` while absent; where a still camera would show it.
    pub bodies: Vec<Option<Pose>>,
}

impl Truth {
    /// Writes one line for each frame and body: frame, time, stamp, body, centre, axis, `a_0` to the highest degree.
    /// An absent body has empty cells. When any body is tilted, rippled or out of the mid-plane, the distance from the lens
    /// (empty at infinity), the tilt, the rotation and each mode of order m with its azimuth follow.
    ///
    /// # Errors
    /// What the writer gives.
    pub fn write_csv(&self, out: &mut impl Write) -> io::Result<()> {
        let degrees = self.poses().map(|pose| pose.amplitudes.len()).max().unwrap_or(1);
        let in_space = self.poses().any(|pose| !pose.stance.is_plain());
        let modes = self.modes();
        write!(
            out,
            "frame,time_s,stamp_s,body,radius_px,centre_x_px,centre_y_px,axis_rad"
        )?;
        (0..degrees).try_for_each(|n| write!(out, ",a_{n}"))?;
        if in_space {
            write!(out, ",distance_m,tilt_rad,turn_rad")?;
            modes
                .iter()
                .try_for_each(|(n, m)| write!(out, ",a_{n}_{m},phase_{n}_{m}_rad"))?;
        }
        writeln!(out)?;
        let spaces = if in_space { 3 + 2 * modes.len() } else { 0 };
        for (index, frame) in self.frames.iter().enumerate() {
            for (body, pose) in frame.bodies.iter().enumerate() {
                write!(out, "{index},{},{},{body}", frame.time, frame.stamp)?;
                match pose {
                    Some(pose) => {
                        write_pose(out, pose, degrees)?;
                        if in_space {
                            self.write_stance(out, pose, &modes)?;
                        }
                    }
                    None => write!(out, "{}", ",".repeat(4 + degrees + spaces))?,
                }
                writeln!(out)?;
            }
        }
        Ok(())
    }

    /// Writes `row,delay_s`: how much later than its frame each row was taken.
    ///
    /// # Errors
    /// What the writer gives.
    pub fn write_rows(&self, out: &mut impl Write) -> io::Result<()> {
        writeln!(out, "row,delay_s")?;
        let mut rows = self.rows.iter().enumerate();
        rows.try_for_each(|(row, delay)| writeln!(out, "{row},{delay}"))
    }

    /// Writes `frame,time_s,shift_x_px,shift_y_px,zoom,blur_px,light`: how the camera was handled at the time of each frame.
    ///
    /// # Errors
    /// What the writer gives.
    pub fn write_view(&self, out: &mut impl Write) -> io::Result<()> {
        writeln!(out, "frame,time_s,shift_x_px,shift_y_px,zoom,blur_px,light")?;
        let mut frames = self.frames.iter().enumerate();
        frames.try_for_each(|(index, frame)| {
            let [x, y] = frame.view.shift;
            let (zoom, blur, light) = (frame.view.zoom, frame.blur_px, frame.light);
            writeln!(out, "{index},{},{x},{y},{zoom},{blur},{light}", frame.time)
        })
    }

    /// Writes `frame,body,part,volume_px3,middle_px` for bodies given in parts: volume, and middle along the axis from the centre.
    ///
    /// # Errors
    /// What the writer gives.
    pub fn write_parts(&self, out: &mut impl Write) -> io::Result<()> {
        writeln!(out, "frame,body,part,volume_px3,middle_px")?;
        for (index, frame) in self.frames.iter().enumerate() {
            for (body, pose) in frame.bodies.iter().enumerate() {
                for (part, curve) in pose.iter().flat_map(|pose| pose.stance.parts.iter().enumerate()) {
                    let (volume, middle) = (volume(curve), middle(curve));
                    writeln!(out, "{index},{body},{part},{volume},{middle}")?;
                }
            }
        }
        Ok(())
    }

    /// Whether any body is given in parts.
    pub fn is_parted(&self) -> bool {
        self.poses().any(|pose| !pose.stance.parts.is_empty())
    }

    fn poses(&self) -> impl Iterator<Item = &Pose> {
        self.frames.iter().flat_map(|frame| frame.bodies.iter().flatten())
    }

    /// Degree and order of every mode of order above 0 in the clip.
    fn modes(&self) -> BTreeSet<(u32, u32)> {
        let ripples = self.poses().flat_map(|pose| &pose.stance.ripples);
        ripples.map(|ripple| (ripple.degree, ripple.order)).collect()
    }

    fn write_stance(
        &self,
        out: &mut impl Write,
        pose: &Pose,
        modes: &BTreeSet<(u32, u32)>,
    ) -> io::Result<()> {
        let stance = &pose.stance;
        match (self.distance_m, stance.distance_m) {
            (None, _) => write!(out, ",")?,
            (Some(plane), own) => write!(out, ",{}", own.unwrap_or(plane))?,
        }
        write!(out, ",{},{}", stance.tilt, stance.turn)?;
        modes.iter().try_for_each(|&(n, m)| {
            let here = stance.ripples.iter().find(|r| (r.degree, r.order) == (n, m));
            let (amplitude, phase) = here.map_or((0.0, 0.0), |r| (r.amplitude, r.phase));
            write!(out, ",{amplitude},{phase}")
        })
    }
}

fn write_pose(out: &mut impl Write, pose: &Pose, degrees: usize) -> io::Result<()> {
    write!(
        out,
        ",{},{},{},{}",
        pose.radius_px, pose.centre[0], pose.centre[1], pose.axis
    )?;
    if !pose.stance.parts.is_empty() {
        // Parts have no expansion.
        return write!(out, "{}", ",".repeat(degrees));
    }
    (0..degrees).try_for_each(|n| write!(out, ",{}", pose.amplitudes.get(n).copied().unwrap_or(0.0)))
}
