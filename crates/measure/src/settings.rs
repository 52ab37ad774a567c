//! What the caller may say before a clip is measured. Nothing here is needed: the default finds all it can.

use crate::camera::Stated;
use std::ops::Range;
use tremolet_clip::frame::Plane;
use tremolet_shape::area::Area;

/// A part of the picture to leave alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Mask {
    /// Where it is.
    pub area: Area,
    /// Whether all but the area is left alone.
    pub outside: bool,
    /// In which frames; `None` for all.
    pub frames: Option<Range<u64>>,
}

impl Mask {
    /// An area in all frames.
    pub fn of(area: Area) -> Self {
        Self {
            area,
            outside: false,
            frames: None,
        }
    }
}

/// The masks of one frame.
#[derive(Debug, Clone, Copy, Default)]
pub struct Masks<'a> {
    all: &'a [Mask],
    /// `None` takes those of every frame together.
    frame: Option<u64>,
}

impl<'a> Masks<'a> {
    /// Those of a frame.
    pub fn of(all: &'a [Mask], frame: u64) -> Self {
        Self {
            all,
            frame: Some(frame),
        }
    }

    /// Those of all frames together.
    pub fn ever(all: &'a [Mask]) -> Self {
        Self { all, frame: None }
    }

    fn now(&self) -> impl Iterator<Item = &'a Mask> {
        let frame = self.frame;
        let among = move |frames: &Range<u64>| frame.is_none_or(|frame| frames.contains(&frame));
        self.all
            .iter()
            .filter(move |mask| mask.frames.as_ref().is_none_or(among))
    }

    /// Whether a place is to be left alone.
    pub fn hold(&self, x: f64, y: f64) -> bool {
        self.now().any(|mask| mask.area.holds([x, y]) != mask.outside)
    }

    /// Whether a place lies outside the region that is looked at.
    pub fn beyond(&self, x: f64, y: f64) -> bool {
        self.now().any(|mask| mask.outside && !mask.area.holds([x, y]))
    }

    /// Whether any whole pixel from left and top to right and bottom is to be left alone.
    pub fn touch(&self, [left, top, right, bottom]: [f64; 4]) -> bool {
        let steps = |from: f64, to: f64| {
            (0..=(to - from).max(0.0).ceil() as usize).map(move |k| (from + k as f64).min(to))
        };
        !self.all.is_empty() && steps(top, bottom).any(|y| steps(left, right).any(|x| self.hold(x, y)))
    }
}

/// Settings of a session.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// A frame of the same view without the body.
    pub empty: Option<Plane>,
    /// Direction of the body's axis, rad from image-up towards +x; found over the clip when absent.
    pub axis_angle: Option<f64>,
    /// Highest degree of the expansion.
    pub max_degree: usize,
    /// Worker threads; 0 takes as many as there are cores.
    pub threads: usize,
    /// Regions to leave alone.
    pub masks: Vec<Mask>,
    /// Frames that are passed over, as if nobody had filmed them.
    pub left_out: Vec<Range<u64>>,
    /// What is stated of the camera.
    pub camera: Stated,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            empty: None,
            axis_angle: None,
            max_degree: 16,
            threads: 0,
            masks: Vec::new(),
            left_out: Vec::new(),
            camera: Stated::default(),
        }
    }
}

impl Settings {
    /// Whether a frame is looked at.
    pub fn looks_at(&self, frame: u64) -> bool {
        !self.left_out.iter().any(|range| range.contains(&frame))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mask_holds_in_its_frames_and_a_region_keeps_what_lies_in_it() {
        let square = Area::within(vec![[10.0, 10.0], [20.0, 10.0], [20.0, 20.0], [10.0, 20.0]]);
        let timed = Mask {
            frames: Some(3..5),
            ..Mask::of(square.clone())
        };
        let masks = [timed];
        assert!(Masks::of(&masks, 3).hold(15.0, 15.0) && !Masks::of(&masks, 5).hold(15.0, 15.0));
        assert!(Masks::ever(&masks).hold(15.0, 15.0) && !Masks::default().hold(15.0, 15.0));
        let region = [Mask {
            outside: true,
            ..Mask::of(square)
        }];
        let here = Masks::of(&region, 0);
        assert!(!here.hold(15.0, 15.0) && here.hold(5.0, 15.0));
        assert!(here.touch([8.0, 12.0, 12.0, 14.0]) && !here.touch([12.0, 12.0, 14.0, 14.0]));
    }
}
