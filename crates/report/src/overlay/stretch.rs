//! From the camera's codes to grey levels of the screen: how a dark or narrow frame is spread, and at what size.
//!
//! ```text
//! grey = 255 (level - low) / (high - low), cut at 0 and 255
//! ```
//!
//! One stretch serves a whole clip, so that its overlay does not flicker; it is told in the strip below the picture. It
//! changes only what is drawn, never what is measured.

use tremolet_clip::frame::{Levels, Plane};

/// Levels that become black and white.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// This level and below is black.
    pub low: f32,
    /// This level and above is white.
    pub high: f32,
}

impl Stretch {
    /// The whole range of the plane's storage: nothing is stretched.
    pub fn none(plane: &Plane) -> Self {
        Self {
            low: 0.0,
            high: plane.full_scale(),
        }
    }

    /// A stretch that lets all but a thousandth at each end be seen; none for an eight-bit plane that already fills
    /// more than half of its range.
    pub fn of(plane: &Plane) -> Self {
        let (low, high) = ends(plane, 0.001);
        let whole = Self::none(plane);
        let wide = high - low > 0.5 * plane.full_scale();
        if wide && plane.bits() == 8 || high <= low {
            return whole;
        }
        let room = 0.03 * (high - low);
        Self {
            low: (low - room).max(0.0),
            high: (high + room).min(plane.full_scale()),
        }
    }

    /// The grey of a level, 0 to 255.
    pub fn grey(&self, level: f32) -> f32 {
        (255.0 * (level - self.low) / (self.high - self.low)).clamp(0.0, 255.0)
    }

    /// Words for the strip; empty when nothing is stretched.
    pub fn said(&self, plane: &Plane) -> String {
        if *self == Self::none(plane) {
            return String::new();
        }
        format!(
            "grey {:.0} to {:.0} of {:.0}",
            self.low,
            self.high,
            plane.full_scale()
        )
    }
}

/// Levels below and above which `share` of the pixels lie.
fn ends(plane: &Plane, share: f64) -> (f32, f32) {
    let counts = match &plane.levels {
        Levels::Eight(levels) => counted(levels.iter().map(|l| usize::from(*l)), 256),
        Levels::Sixteen(levels) => counted(levels.iter().map(|l| usize::from(*l)), 65_536),
    };
    let total: usize = counts.iter().sum();
    let beyond = (share * total as f64) as usize;
    let low = first_beyond(0..counts.len(), &counts, beyond);
    let high = first_beyond((0..counts.len()).rev(), &counts, beyond);
    (low as f32, high as f32)
}

fn first_beyond(mut levels: impl Iterator<Item = usize>, counts: &[usize], beyond: usize) -> usize {
    let mut seen = 0;
    let found = levels.find(|level| {
        seen += counts[*level];
        seen > beyond
    });
    found.unwrap_or(0)
}

fn counted(levels: impl Iterator<Item = usize>, size: usize) -> Vec<usize> {
    let mut counts = vec![0; size];
    levels.for_each(|level| counts[level] += 1);
    counts
}

/// How a plane is brought to the size of the canvas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Columns of the picture.
    pub width: usize,
    /// Rows of the picture.
    pub height: usize,
    /// Canvas pixels in a pixel of the plane.
    pub scale: f64,
}

impl Size {
    /// At most `most` wide (and as many high); small planes are enlarged by whole numbers up to `least` wide.
    pub fn of(plane: &Plane, least: usize, most: usize) -> Self {
        let (w, h) = (plane.width.max(1), plane.height.max(1));
        let longest = w.max(h);
        let scale = if longest > most {
            most as f64 / longest as f64
        } else {
            // Rounded up while it fits, so that the strip has room for its words.
            (least.div_ceil(w)).clamp(1, (most / longest).max(1)) as f64
        };
        let side = |n: usize| ((n as f64 * scale).round() as usize).max(1);
        Self {
            width: side(w),
            height: side(h),
            scale,
        }
    }

    /// A place of the plane on the canvas.
    pub fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [(x + 0.5) * self.scale - 0.5, (y + 0.5) * self.scale - 0.5]
    }
}

/// The plane as grey levels of that size: averaged over areas when it shrinks, repeated when it grows.
pub fn greys(plane: &Plane, size: Size, stretch: Stretch) -> Vec<u8> {
    let columns = parts(size.width, plane.width, size.scale);
    let rows = parts(size.height, plane.height, size.scale);
    let mut out = Vec::with_capacity(size.width * size.height);
    if size.scale >= 1.0 {
        let grey = codes(plane, stretch);
        if (size.width, size.height) == (plane.width, plane.height) {
            return grey;
        }
        for row in &rows {
            let from = &grey[row.first * plane.width..][..plane.width];
            out.extend(columns.iter().map(|column| from[column.first]));
        }
        return out;
    }
    let mut sums = vec![0.0_f32; plane.width];
    for row in &rows {
        sums.fill(0.0);
        for (y, weight) in row.iter() {
            add_row(plane, y, weight, &mut sums);
        }
        for column in &columns {
            let level: f32 = column.iter().map(|(x, weight)| weight * sums[x]).sum();
            out.push(code(stretch.grey(level)));
        }
    }
    out
}

/// The nearest code; the cast cuts, and greys are not negative.
fn code(grey: f32) -> u8 {
    (grey + 0.5) as u8
}

/// The grey of every pixel; eight-bit levels are looked up.
fn codes(plane: &Plane, stretch: Stretch) -> Vec<u8> {
    match &plane.levels {
        Levels::Eight(levels) => {
            let table: [u8; 256] = std::array::from_fn(|level| code(stretch.grey(level as f32)));
            levels.iter().map(|level| table[usize::from(*level)]).collect()
        }
        Levels::Sixteen(levels) => levels
            .iter()
            .map(|level| code(stretch.grey(f32::from(*level))))
            .collect(),
    }
}

fn add_row(plane: &Plane, y: usize, weight: f32, sums: &mut [f32]) {
    let row = y * plane.width..(y + 1) * plane.width;
    match &plane.levels {
        Levels::Eight(levels) => {
            for (sum, level) in sums.iter_mut().zip(&levels[row]) {
                *sum += weight * f32::from(*level);
            }
        }
        Levels::Sixteen(levels) => {
            for (sum, level) in sums.iter_mut().zip(&levels[row]) {
                *sum += weight * f32::from(*level);
            }
        }
    }
}

/// The stretch of pixels of the plane that one canvas pixel covers: all weigh the same but the ends.
#[derive(Debug, Clone, Copy)]
struct Part {
    first: usize,
    last: usize,
    head: f32,
    body: f32,
    tail: f32,
}

impl Part {
    fn iter(&self) -> impl Iterator<Item = (usize, f32)> {
        let Part {
            first,
            last,
            head,
            body,
            tail,
        } = *self;
        (first..=last).map(move |i| match i {
            i if i == first => (i, head),
            i if i == last => (i, tail),
            _ => (i, body),
        })
    }
}

/// For each canvas pixel the pixels of the plane that it covers, with weights that add up to one.
fn parts(length: usize, of: usize, scale: f64) -> Vec<Part> {
    let whole = |i: usize| Part {
        first: i,
        last: i,
        head: 1.0,
        body: 0.0,
        tail: 0.0,
    };
    let one = |i: usize| {
        let (from, to) = (i as f64 / scale, ((i + 1) as f64 / scale).min(of as f64));
        if scale >= 1.0 {
            return whole((((from + to) / 2.0) as usize).min(of - 1));
        }
        let first = (from as usize).min(of - 1);
        let last = (to.ceil() as usize).clamp(first + 1, of) - 1;
        let covered = |x: usize| (to.min(x as f64 + 1.0) - from.max(x as f64)).max(0.0);
        let sum = to - from;
        if last == first || sum <= 0.0 {
            return whole(first);
        }
        let share = |length: f64| (length / sum) as f32;
        Part {
            first,
            last,
            head: share(covered(first)),
            body: share(1.0),
            tail: share(covered(last)),
        }
    };
    (0..length).map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::{Size, Stretch, greys};
    use tremolet_clip::frame::Plane;

    #[test]
    fn a_dark_frame_of_sixteen_bits_fills_the_range_and_says_so() {
        let levels: Vec<u16> = (0..10_000).map(|i| 1_000 + (i % 1_000) as u16).collect();
        let plane = Plane::sixteen(100, 100, levels);
        let stretch = Stretch::of(&plane);
        assert!(stretch.grey(1_000.0) < 15.0 && stretch.grey(1_999.0) > 240.0);
        assert!(stretch.said(&plane).ends_with("of 65535"));
        assert_eq!(Stretch::none(&plane).said(&plane), "");
    }

    #[test]
    fn a_wide_frame_and_a_flat_one_are_left_alone() {
        let wide = Plane::eight(16, 16, (0..=255).collect());
        assert_eq!(Stretch::of(&wide), Stretch::none(&wide));
        let flat = Plane::eight(4, 4, vec![7; 16]);
        assert_eq!(Stretch::of(&flat), Stretch::none(&flat));
    }

    #[test]
    fn shrinking_keeps_the_mean_and_growing_the_pixels() {
        let levels: Vec<u8> = (0..300 * 200).map(|i| ((i * 31) % 200) as u8).collect();
        let mean = levels.iter().map(|l| f64::from(*l)).sum::<f64>() / 60_000.0;
        let plane = Plane::eight(300, 200, levels);
        let size = Size::of(&plane, 10, 128);
        assert_eq!((size.width, size.height), (128, 85));
        let small = greys(&plane, size, Stretch::none(&plane));
        let found = small.iter().map(|l| f64::from(*l)).sum::<f64>() / small.len() as f64;
        assert!((found - mean).abs() < 1.0, "{found} {mean}");
        let tiny = Plane::eight(2, 1, vec![10, 200]);
        let size = Size::of(&tiny, 4, 128);
        assert_eq!(
            greys(&tiny, size, Stretch::none(&tiny)),
            [10, 10, 200, 200, 10, 10, 200, 200]
        );
        assert_eq!(size.place([1.0, 0.0]), [2.5, 0.5]);
    }
}
