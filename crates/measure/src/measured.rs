//! What a session found: the scene, the bodies, their shape in every frame, and the blemishes. Lengths in px.

use crate::aside::Points;
use crate::camera::motion::{Verdict, View};
use tremolet_clip::frame::Frame;
use tremolet_shape::symmetry::Harmonics;

/// A blemish that still allows a result.
#[derive(Debug, Clone, PartialEq)]
pub struct Caution {
    /// Stable name, lower_snake.
    pub code: &'static str,
    /// For the reader.
    pub text: String,
    /// First and last frame concerned; `None` for the whole clip.
    pub frames: Option<(u64, u64)>,
}

/// How the bodies are lit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lighting {
    /// Dark bodies before a light that changes smoothly over the picture.
    BackLit,
    /// Anything else: the surroundings are not a smooth light.
    Cluttered,
}

/// What was found of the scene in the first frames.
#[derive(Debug, Clone, PartialEq)]
pub struct SceneSummary {
    /// How the bodies are lit.
    pub lighting: Lighting,
    /// Level of the background in the middle of the picture, camera codes.
    pub background_level: f64,
    /// Largest over smallest level of the smooth background.
    pub background_unevenness: f64,
    /// Root mean square of the background about its smooth map, relative to it.
    pub background_roughness: f64,
    /// Standard deviation of the background's level from frame to frame, relative to it.
    pub flicker: f64,
    /// Median width of the blur of the outlines, one standard deviation, pixel included, px; 0 without outlines.
    pub blur_px: f64,
    /// Standard uncertainty of the edge that all frames share the same way, from the open shape of a dark rim, px; 0 where
    /// no rim was fitted.
    pub u_edge_px: f64,
}

/// The shape of one body in one frame.
#[derive(Debug, Clone, PartialEq)]
pub struct BodyShape {
    /// Place in the clip.
    pub frame: u64,
    /// Centre of the expansion, or centroid of the area where there is none.
    pub centre_px: [f64; 2],
    /// Area of the outline.
    pub area_px2: f64,
    /// Volume of the body of revolution.
    pub volume_px3: f64,
    /// Surface of the body of revolution.
    pub surface_px2: f64,
    /// Radius of the sphere of the same volume.
    pub equivalent_radius_px: f64,
    /// Its standard uncertainty from noise alone.
    pub u_radius_px: f64,
    /// `c_0` to `c_order`; empty where the expansion does not hold.
    pub coefficients_px: Vec<f64>,
    /// `a_n = c_n / R` for n = 2 to order.
    pub amplitude: Vec<f64>,
    /// Covariance of `coefficients_px`, px^2, packed lower triangle: (0,0), (1,0), (1,1), (2,0) and so on.
    pub covariance: Vec<f64>,
    /// Root mean square distance of the points from the expansion.
    pub residual_rms_px: f64,
    /// Residual variance against the stated one.
    pub reduced_chi_squared: f64,
    /// Mirror misfit about the axis against what the uncertainties allow; about 1 when symmetric.
    pub asymmetry: f64,
    /// Fourier coefficients of the outline about its own centre, from image-up towards +x; none where no centre sees it all or a part is hidden.
    pub harmonics: Option<Harmonics>,
    /// Share of the outline that was seen.
    pub coverage: f64,
    /// Whether the body reaches the border of the picture.
    pub touches_frame: bool,
    /// Whether something crosses or touches the outline.
    pub touched: bool,
    /// Whether a ray from the centre meets the outline once.
    pub star_shaped: bool,
    /// Highest degree of the expansion.
    pub order: usize,
    /// Width of the blur of this outline, px.
    pub blur_px: f64,
    /// Points that were used, in order, as they are seen in the picture: x, y, standard uncertainty along the normal. All else
    /// is of the straight ones (see [`crate::camera`]).
    pub outline: Points<3>,
    /// Places along the outline that were left out, drawn across what is in the way.
    pub hidden: Points<2>,
}

/// One body through the clip.
#[derive(Debug, Clone, PartialEq)]
pub struct BodyTrack {
    /// Number, from 1, in order of appearance and size.
    pub body: u32,
    /// Direction of its axis, rad from image-up towards +x.
    pub axis_angle: f64,
    /// Standard uncertainty of the axis, rad; 0 when the caller gave it, above 1 when the shapes show none.
    pub axis_uncertainty: f64,
    /// Standard uncertainty of the radius because another direction would do as well as the axis and the longer one was taken, px;
    /// nil where the shapes tell the axis.
    pub u_axis_px: f64,
    /// Standard uncertainty of the back-lit edge that all frames share, px (see [`crate::edge::doubt`]); nil for a rim, whose
    /// doubt is [`SceneSummary::u_edge_px`].
    pub u_edge_px: f64,
    /// Shares of the pixels beside the outline that are cut off at the top of the camera's scale outside, at its bottom inside.
    pub clipped: [f64; 2],
    /// Shapes in order of frames; frames without the body are absent.
    pub shapes: Vec<BodyShape>,
}

/// When the shapes of a body were taken, under a rolling shutter.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Taken {
    /// How much later than its frame each shape was taken, s.
    pub delay: f64,
    /// Frames whose rows could not be brought to one instant.
    pub left: Vec<u64>,
}

/// What was seen of the camera itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CameraSeen {
    /// What fixed marks say.
    pub verdict: Verdict,
    /// What they say frame by frame; empty where there are none.
    pub views: Vec<View>,
    /// Light of each frame over that of the first.
    pub light: Vec<f64>,
}

impl CameraSeen {
    /// Standard uncertainty of the zoom that all frames share, relative; 0 where no zoom was taken out.
    pub fn u_zoom(&self) -> f64 {
        match &self.verdict {
            Verdict::Moved(motion) => motion.u_zoom(),
            _ => 0.0,
        }
    }
}

/// Something that happened between bodies.
#[derive(Debug, Clone, PartialEq)]
pub struct Happening {
    /// Stable name, lower_snake: `overlap`, `pinch_off`, `coalescence`, `joined_in_view`.
    pub name: &'static str,
    /// First and last frame between which it happened.
    pub frames: (u64, u64),
    /// The bodies concerned, those before first.
    pub bodies: Vec<u32>,
}

/// Everything found in a clip.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The scene.
    pub scene: SceneSummary,
    /// Frames looked at.
    pub frames: u64,
    /// The bodies.
    pub bodies: Vec<BodyTrack>,
    /// When the shapes of each body were taken, in the order of the bodies.
    pub taken: Vec<Taken>,
    /// What was seen of the camera.
    pub camera: CameraSeen,
    /// What happened between bodies, in order of time.
    pub happenings: Vec<Happening>,
    /// Blemishes.
    pub cautions: Vec<Caution>,
    /// Frames that are worth showing, in order, a few; see [`crate::views`].
    pub views: Vec<Frame>,
}
