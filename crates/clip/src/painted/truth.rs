//! What an ideal observer of a painted clip would have written down.

use std::io::{self, Write};

use crate::painted::body::Pose;

/// The truth of a clip.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// Metres in the mid-plane for each pixel.
    pub scale_m_per_px: f64,
    /// Volume-equivalent radius of each body, px.
    pub radius_px: Vec<f64>,
    /// The same in metres.
    pub radius_m: Vec<f64>,
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
    /// Each body, `None` while absent.
    pub bodies: Vec<Option<Pose>>,
}

impl Truth {
    /// Writes one line for each frame and body: frame, time, stamp, body, centre, axis, `a_0` to the highest degree.
    /// An absent body has empty cells.
    ///
    /// # Errors
    /// What the writer gives.
    pub fn write_csv(&self, out: &mut impl Write) -> io::Result<()> {
        let bodies = self.frames.iter().flat_map(|frame| frame.bodies.iter().flatten());
        let degrees = bodies.map(|pose| pose.amplitudes.len()).max().unwrap_or(1);
        write!(
            out,
            "frame,time_s,stamp_s,body,radius_px,centre_x_px,centre_y_px,axis_rad"
        )?;
        (0..degrees).try_for_each(|n| write!(out, ",a_{n}"))?;
        writeln!(out)?;
        for (index, frame) in self.frames.iter().enumerate() {
            for (body, pose) in frame.bodies.iter().enumerate() {
                write!(out, "{index},{},{},{body}", frame.time, frame.stamp)?;
                match pose {
                    Some(pose) => write_pose(out, pose, degrees)?,
                    None => write!(out, "{}", ",".repeat(4 + degrees))?,
                }
                writeln!(out)?;
            }
        }
        Ok(())
    }
}

fn write_pose(out: &mut impl Write, pose: &Pose, degrees: usize) -> io::Result<()> {
    write!(
        out,
        ",{},{},{},{}",
        pose.radius_px, pose.centre[0], pose.centre[1], pose.axis
    )?;
    (0..degrees).try_for_each(|n| write!(out, ",{}", pose.amplitudes.get(n).copied().unwrap_or(0.0)))
}
