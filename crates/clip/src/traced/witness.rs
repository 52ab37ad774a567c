//! What an ideal observer of a traced clip would have written down: where each surface is, how large, and its outline in the picture.
//!
//! The outline is that of [`crate::traced::rim`], by geometry, without the bending of light: what is inside a drop is seen elsewhere.

use std::io::{self, Write};

use crate::painted::parts::volume;
use crate::traced::error::TraceError;
use crate::traced::pinhole::Pinhole;
use crate::traced::rim::outline;
use crate::traced::shown::TracedClip;
use crate::traced::surface::Surface;
use crate::traced::vector::{Vector, along};

/// Steps along the meridian of the outlines that are written.
const STEPS: usize = 120;

/// One surface at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Witnessed {
    /// Radius of the sphere of its volume, m.
    pub radius: f64,
    /// Middle of its volume, m.
    pub middle: Vector,
    /// The same in the picture, px.
    pub centre_in_image: [f64; 2],
    /// Angle of its axis in the picture from up, positive to the right, rad.
    pub axis: f64,
    /// Axis out of the picture, its upper end towards the lens, rad.
    pub tilt: f64,
    /// Whether there is gas inside and liquid outside: less index inside.
    pub is_bubble: bool,
    /// Outline in the picture, px.
    pub outline: Vec<[f64; 2]>,
}

impl Witnessed {
    /// A surface before a camera.
    #[must_use]
    pub fn of(surface: &Surface, pinhole: &Pinhole) -> Self {
        let points: Vec<[f64; 2]> = surface
            .curve()
            .cut(1e-6 * surface.ball().1)
            .iter()
            .map(|knot| knot.at)
            .collect();
        let middle = along(surface.centre(), middle_of_volume(&points), surface.axis());
        let [x, y, z] = surface.axis();
        // The axis has no sense: its upper end is the one that counts.
        let up = if y > 0.0 || (y == 0.0 && x < 0.0) {
            -1.0
        } else {
            1.0
        };
        Self {
            radius: (0.75 * volume(&points) / std::f64::consts::PI).cbrt(),
            middle,
            centre_in_image: pinhole.in_image(middle),
            axis: (up * x).atan2(-up * y),
            tilt: (-up * z).clamp(-1.0, 1.0).asin(),
            is_bubble: surface.inside.index < surface.outside.index,
            outline: outline(surface, pinhole, STEPS),
        }
    }
}

/// Middle of a stack of cone frustums along the axis, in the unit of the points.
fn middle_of_volume(points: &[[f64; 2]]) -> f64 {
    let (mut whole, mut moment) = (0.0, 0.0);
    for pair in points.windows(2) {
        let ([z, a], [next, b]) = (pair[0], pair[1]);
        let part = (next - z) * (a * a + a * b + b * b);
        // Of a frustum from its end `a`: h (a^2 + 2 a b + 3 b^2) / (4 (a^2 + a b + b^2)).
        moment += z * part + (next - z).powi(2) * (a * a + 2.0 * a * b + 3.0 * b * b) / 4.0;
        whole += part;
    }
    moment / whole
}

/// Writes `frame,time_s,stamp_s,surface,bubble,radius_m,centre_x_px,centre_y_px,distance_m,axis_rad,tilt_rad`, one line for each frame and surface.
///
/// # Errors
/// What the writer gives, and [`TraceError`] as an error of input.
pub fn write_truth(clip: &TracedClip, out: &mut impl Write) -> io::Result<()> {
    writeln!(
        out,
        "frame,time_s,stamp_s,surface,bubble,radius_m,centre_x_px,centre_y_px,distance_m,axis_rad,tilt_rad"
    )?;
    each(clip, |frame, time, stamp, surface, seen| {
        let ([x, y], away) = (seen.centre_in_image, seen.middle[2]);
        let (bubble, radius) = (u8::from(seen.is_bubble), seen.radius);
        writeln!(
            out,
            "{frame},{time},{stamp},{surface},{bubble},{radius},{x},{y},{away},{},{}",
            seen.axis, seen.tilt
        )
    })
}

/// Writes `frame,surface,x_px,y_px`, one line for each point of each outline.
///
/// # Errors
/// As [`write_truth`].
pub fn write_outlines(clip: &TracedClip, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "frame,surface,x_px,y_px")?;
    each(clip, |frame, _, _, surface, seen| {
        let mut points = seen.outline.iter();
        points.try_for_each(|[x, y]| writeln!(out, "{frame},{surface},{x:.5},{y:.5}"))
    })
}

fn each(
    clip: &TracedClip,
    mut tell: impl FnMut(usize, f64, f64, usize, &Witnessed) -> io::Result<()>,
) -> io::Result<()> {
    for (frame, shot) in clip.shots().iter().enumerate() {
        let tracer = clip.tracer(shot.time).map_err(as_input)?;
        for (number, surface) in tracer.surfaces().iter().enumerate() {
            let seen = Witnessed::of(surface, &clip.scene().pinhole);
            tell(frame, shot.time, shot.stamp.seconds(), number, &seen)?;
        }
    }
    Ok(())
}

/// A scene that cannot be traced, for a caller that writes files.
pub fn as_input(why: TraceError) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, why)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::traced::medium::Medium;
    use crate::traced::meridian::spheroid;
    use crate::traced::pinhole::axis;
    use crate::traced::surface::Skin;

    // (a b^2)^(1/3), and the middle of a body that is not symmetric: a cone's lies at a quarter of its height.
    #[test]
    fn size_place_and_axis_are_those_of_the_body() {
        let pinhole = Pinhole {
            width: 101,
            height: 101,
            scale_m_per_px: 1e-3,
            distance: 1.0,
            opening: None,
        };
        let skin = Skin {
            meridian: spheroid(0.02, 0.01, 100),
            centre: [0.01, 0.0, 1.0],
            axis: axis(0.3, 0.2),
            inside: Medium::WATER,
            outside: Medium::GAS,
        };
        let seen = Witnessed::of(&Surface::new(&skin).expect("a body"), &pinhole);
        assert!((seen.radius - 2e-6_f64.cbrt()).abs() < 1e-7 && !seen.is_bubble);
        assert!((seen.axis - 0.3).abs() < 1e-12 && (seen.tilt - 0.2).abs() < 1e-12);
        assert!(
            (seen.centre_in_image[0] - 60.0).abs() < 1e-5 && (seen.centre_in_image[1] - 50.0).abs() < 1e-5
        );
        let cone = [[1.0, 0.0], [0.0, 1.0], [0.0, 0.0]];
        assert!((middle_of_volume(&cone) - 0.25).abs() < 1e-15);
    }
}
