//! One frame: a plane of grey levels with its place in the clip and its time stamp.
//!
//! Pixel convention: `x` runs right, `y` runs down, the origin is the **centre** of the top-left pixel, so whole
//! numbers are pixel centres and the frame covers `-0.5 <= x < width - 0.5`. Levels are stored row by row from the top.
//! Sixteen-bit data stay sixteen-bit; levels are the camera's own codes, never rescaled.

/// Grey levels of a plane, row by row from the top, `width * height` of them.
#[derive(Debug, Clone, PartialEq)]
pub enum Levels {
    /// Eight bits a pixel.
    Eight(Vec<u8>),
    /// More than eight bits a pixel, in sixteen.
    Sixteen(Vec<u16>),
}

/// A rectangle of grey levels.
#[derive(Debug, Clone, PartialEq)]
pub struct Plane {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// The levels.
    pub levels: Levels,
}

impl Plane {
    /// A plane of eight-bit levels; `levels.len()` must be `width * height`.
    ///
    /// # Panics
    /// When the length does not fit: a bug of the caller.
    pub fn eight(width: usize, height: usize, levels: Vec<u8>) -> Self {
        assert_eq!(levels.len(), width * height, "plane of {width}x{height}");
        Self {
            width,
            height,
            levels: Levels::Eight(levels),
        }
    }

    /// A plane of sixteen-bit levels; `levels.len()` must be `width * height`.
    ///
    /// # Panics
    /// When the length does not fit: a bug of the caller.
    pub fn sixteen(width: usize, height: usize, levels: Vec<u16>) -> Self {
        assert_eq!(levels.len(), width * height, "plane of {width}x{height}");
        Self {
            width,
            height,
            levels: Levels::Sixteen(levels),
        }
    }

    /// The level at column `x`, row `y`.
    ///
    /// # Panics
    /// Outside the plane.
    #[inline]
    pub fn at(&self, x: usize, y: usize) -> f32 {
        let i = y * self.width + x;
        match &self.levels {
            Levels::Eight(levels) => f32::from(levels[i]),
            Levels::Sixteen(levels) => f32::from(levels[i]),
        }
    }

    /// The largest code the storage can hold: 255 or 65535.
    pub fn full_scale(&self) -> f32 {
        match self.levels {
            Levels::Eight(_) => 255.0,
            Levels::Sixteen(_) => 65535.0,
        }
    }

    /// Bits of the storage: 8 or 16.
    pub fn bits(&self) -> u32 {
        match self.levels {
            Levels::Eight(_) => 8,
            Levels::Sixteen(_) => 16,
        }
    }
}

/// A time stamp as the container gives it: whole ticks of `1 / per_second` s.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    /// Ticks since the container's own zero; need not start at zero.
    pub ticks: i64,
    /// Ticks in a second.
    pub per_second: u32,
}

impl Stamp {
    /// Seconds since the container's zero.
    pub fn seconds(self) -> f64 {
        self.ticks as f64 / f64::from(self.per_second)
    }
}

/// One frame in display order.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Place in the clip, from 0, in display order.
    pub index: u64,
    /// The container's stamp for it, when there is one.
    pub stamp: Option<Stamp>,
    /// The picture.
    pub plane: Plane,
}
