//! A canvas of red, green and blue, eight bits each, and what is laid on it.
//!
//! Colours are blended as `c = (1 - k) below + k above` with coverage k in 0 to 1, on the codes as they stand. Pixel
//! centres are whole numbers, as in a plane.

/// A colour: red, green, blue.
pub type Colour = [u8; 3];

/// A picture, row by row from the top, three bytes a pixel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Canvas {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Red, green, blue of every pixel, `3 * width * height` bytes.
    pub rgb: Vec<u8>,
}

impl Canvas {
    /// A canvas of one colour.
    pub fn plain(width: usize, height: usize, colour: Colour) -> Self {
        Self {
            width,
            height,
            rgb: colour.repeat(width * height),
        }
    }

    /// The colour at column `x`, row `y`; `None` outside.
    pub fn at(&self, x: usize, y: usize) -> Option<Colour> {
        let i = self.index(x, y)?;
        Some([self.rgb[i], self.rgb[i + 1], self.rgb[i + 2]])
    }

    /// Lays a colour over a pixel with coverage `part` (0 to 1); outside nothing happens.
    pub fn blend(&mut self, x: usize, y: usize, colour: Colour, part: f32) {
        let Some(i) = self.index(x, y) else { return };
        for (below, above) in self.rgb[i..i + 3].iter_mut().zip(colour) {
            let mixed = f32::from(*below) * (1.0 - part) + f32::from(above) * part;
            // The cast cuts at 0 and 255.
            *below = (mixed + 0.5) as u8;
        }
    }

    /// Fills the rectangle from `(x, y)` on, `width * height` pixels, cut at the edges.
    pub fn fill(&mut self, x: usize, y: usize, width: usize, height: usize, colour: Colour) {
        for row in y..(y.saturating_add(height)).min(self.height) {
            for column in x..(x.saturating_add(width)).min(self.width) {
                self.blend(column, row, colour, 1.0);
            }
        }
    }

    fn index(&self, x: usize, y: usize) -> Option<usize> {
        (x < self.width && y < self.height).then_some(3 * (y * self.width + x))
    }
}
