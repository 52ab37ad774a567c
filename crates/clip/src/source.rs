//! Where frames come from: one frame at a time, in display order.
//!
//! A source hands out each frame once, so memory does not grow with the length of the clip. Sizes are in pixels,
//! the header's rate in frames per second of playback. Does not know real time (that is the clock's) nor metres.

use tremolet_record::findings::Caution;

use crate::error::ClipError;
use crate::frame::Frame;

/// What is known of a clip before its frames are read.
#[derive(Debug, Clone, PartialEq)]
pub struct ClipInfo {
    /// Path or name, for messages.
    pub name: String,
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Bits of the storage, 8 or 16.
    pub bits: u32,
    /// Frames, when the container says so.
    pub frame_count: Option<u64>,
    /// Frames per second in the header: playback, a hint only.
    pub header_rate_fps: Option<f64>,
    /// Container, e.g. `mp4`.
    pub container: String,
    /// Coding of the pictures, e.g. `h264`.
    pub codec: String,
    /// What decodes them, e.g. `embedded H.264`.
    pub decoder: String,
}

/// Codings that keep every level of a grey picture.
const LOSSLESS: &[&str] = &[
    "none", "raw", "rawvideo", "png", "apng", "tiff", "bmp", "pgm", "pnm", "ffv1", "huffyuv", "ffvhuff",
    "utvideo", "qtrle",
];

impl ClipInfo {
    /// Whether the coding loses something of the picture; a coding that is not known counts as one that does.
    pub fn lossy(&self) -> bool {
        !LOSSLESS.contains(&self.codec.as_str())
    }
}

/// Frames in display order, each once.
pub trait FrameSource: Send {
    /// What is known of the clip.
    fn info(&self) -> &ClipInfo;

    /// The next frame, or `None` past the last.
    ///
    /// # Errors
    /// When the clip cannot be read further.
    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError>;

    /// Says that frames before `frame` are not wanted any more, so that they need not be decoded; some of them may still
    /// come. Never leads back.
    ///
    /// # Errors
    /// When the clip cannot be read further.
    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        let _: u64 = frame;
        Ok(())
    }

    /// The frame with which decoding has to begin so that `frame` can be had: the first of its group of pictures; `frame` itself where
    /// each picture is coded by itself.
    ///
    /// # Errors
    /// When the clip cannot be read there.
    fn group_of(&mut self, frame: u64) -> Result<u64, ClipError> {
        Ok(frame)
    }

    /// Real times of all frames of the clip in s, from any zero, where they lie beside it.
    fn real_times(&self) -> Option<&[f64]> {
        None
    }

    /// Real times of the frames that have been handed out, s, in their order; none where no clock is beside the source.
    fn passed(&self) -> &[f64] {
        &[]
    }

    /// For each frame of the clip the slot of the camera that it fills, from 0, where names carry it: the numbers of
    /// stills, of which some may be missing. Rises; as many as the frames.
    fn slots(&self) -> Option<&[u64]> {
        None
    }

    /// Frames so far whose pictures were coded by themselves, ascending, where all others were coded from earlier ones and the reader knows
    /// both. Grows while frames are read, so ask again at the end.
    fn keys(&self) -> &[u64] {
        &[]
    }

    /// What the reader noticed that still allows a result: what was assumed, what is missing. Grows while frames are
    /// read, so ask again at the end.
    fn cautions(&self) -> Vec<Caution> {
        Vec::new()
    }
}

impl ClipInfo {
    /// Refuses a frame that differs from the clip in size or depth.
    ///
    /// # Errors
    /// [`ClipError::Mixed`].
    pub fn check(&self, frame: &Frame) -> Result<(), ClipError> {
        let (plane, bits) = (&frame.plane, frame.plane.bits());
        if (plane.width, plane.height, bits) == (self.width, self.height, self.bits) {
            return Ok(());
        }
        Err(ClipError::Mixed {
            name: self.name.clone(),
            index: frame.index,
            width: plane.width,
            height: plane.height,
            bits,
            first_width: self.width,
            first_height: self.height,
            first_bits: self.bits,
        })
    }
}

/// A clip that lies in memory, for tests and painted clips.
pub struct FramesInMemory {
    info: ClipInfo,
    frames: std::vec::IntoIter<Frame>,
}

impl FramesInMemory {
    /// A source over `frames`, which are in display order.
    ///
    /// # Errors
    /// [`ClipError::Empty`] without frames, [`ClipError::Mixed`] when sizes or depths differ.
    pub fn new(name: &str, frames: Vec<Frame>) -> Result<Self, ClipError> {
        let Some(first) = frames.first().map(|f| &f.plane) else {
            return Err(ClipError::Empty { name: name.into() });
        };
        let (width, height, bits) = (first.width, first.height, first.bits());
        for Frame { index, plane, .. } in &frames {
            if (plane.width, plane.height, plane.bits()) != (width, height, bits) {
                return Err(ClipError::Mixed {
                    name: name.into(),
                    index: *index,
                    width: plane.width,
                    height: plane.height,
                    bits: plane.bits(),
                    first_width: width,
                    first_height: height,
                    first_bits: bits,
                });
            }
        }
        let info = ClipInfo {
            name: name.into(),
            width,
            height,
            bits,
            frame_count: Some(frames.len() as u64),
            header_rate_fps: None,
            container: "memory".into(),
            codec: "none".into(),
            decoder: "none".into(),
        };
        Ok(Self {
            info,
            frames: frames.into_iter(),
        })
    }

    /// The same frames, said to come from a container, a coding and a decoder.
    #[must_use]
    pub fn described(mut self, container: &str, codec: &str, decoder: &str) -> Self {
        self.info.container = container.into();
        self.info.codec = codec.into();
        self.info.decoder = decoder.into();
        self
    }
}

impl FrameSource for FramesInMemory {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        Ok(self.frames.next())
    }
}
