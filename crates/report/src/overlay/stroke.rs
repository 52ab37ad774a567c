//! Lines with soft edges on a canvas.
//!
//! ```text
//! coverage = clamp(w/2 + 1/2 - d, 0, 1)
//! ```
//!
//! with d the distance of a pixel's centre from the line and w its width, both in pixels. A whole stroke is laid on at
//! once, so that its joints are not darker than the rest.

use std::ops::Range;

use crate::overlay::canvas::{Canvas, Colour};

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub colour: Colour,
    /// Its width, pixels.
    pub width: f64,
    /// How much it covers, 0 to 1.
    pub strength: f32,
    /// Lengths of dash and gap, pixels; none for a whole line.
    pub dash: Option<[f64; 2]>,
}

impl Pen {
    /// A whole line that covers fully.
    pub fn solid(colour: Colour, width: f64) -> Self {
        Self {
            colour,
            width,
            strength: 1.0,
            dash: None,
        }
    }

    /// The same line with all lengths times `weight`.
    pub fn times(self, weight: f64) -> Self {
        Self {
            width: self.width * weight,
            dash: self.dash.map(|lengths| lengths.map(|length| length * weight)),
            ..self
        }
    }

    /// The same line with dashes.
    pub fn dashed(self, dash: f64, gap: f64) -> Self {
        Self {
            dash: Some([dash, gap]),
            ..self
        }
    }
}

/// Draws the polylines as one stroke; points are places on the canvas.
pub fn stroke(canvas: &mut Canvas, lines: &[Vec<[f64; 2]>], pen: Pen) {
    let Some(mut cover) = Cover::around(canvas, lines, pen.width) else {
        return;
    };
    for line in lines {
        match pen.dash {
            None => cover.line(line, pen.width),
            Some(dash) => dashes(line, dash)
                .iter()
                .for_each(|piece| cover.line(piece, pen.width)),
        }
    }
    cover.lay(canvas, pen);
}

/// How much of each pixel a stroke covers, over the part of the canvas that it can reach.
struct Cover {
    x: Range<usize>,
    y: Range<usize>,
    parts: Vec<f32>,
}

impl Cover {
    fn around(canvas: &Canvas, lines: &[Vec<[f64; 2]>], width: f64) -> Option<Self> {
        let reach = 0.5 * width + 0.5;
        let along = |k: usize, size: usize| {
            let values = lines.iter().flatten().map(|p| p[k]).filter(|v| v.is_finite());
            let (low, high) = values.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            pixels(low, high, reach, 0..size)
        };
        let (x, y) = (along(0, canvas.width), along(1, canvas.height));
        let parts = vec![0.0; x.len() * y.len()];
        (!parts.is_empty()).then_some(Self { x, y, parts })
    }

    fn line(&mut self, line: &[[f64; 2]], width: f64) {
        if let [only] = line {
            self.segment(*only, *only, width);
        }
        line.windows(2)
            .for_each(|pair| self.segment(pair[0], pair[1], width));
    }

    fn segment(&mut self, a: [f64; 2], b: [f64; 2], width: f64) {
        let reach = 0.5 * width + 0.5;
        if !a.iter().chain(&b).all(|v| v.is_finite()) {
            return;
        }
        for y in pixels(a[1].min(b[1]), a[1].max(b[1]), reach, self.y.clone()) {
            for x in pixels(a[0].min(b[0]), a[0].max(b[0]), reach, self.x.clone()) {
                let part = (reach - distance([x as f64, y as f64], a, b)).clamp(0.0, 1.0) as f32;
                let known = &mut self.parts[(y - self.y.start) * self.x.len() + x - self.x.start];
                *known = known.max(part);
            }
        }
    }

    fn lay(&self, canvas: &mut Canvas, pen: Pen) {
        for (i, part) in self.parts.iter().enumerate().filter(|(_, part)| **part > 0.0) {
            let (x, y) = (self.x.start + i % self.x.len(), self.y.start + i / self.x.len());
            canvas.blend(x, y, pen.colour, part * pen.strength);
        }
    }
}

/// The pixels within `reach` of a stretch, inside `limits`.
fn pixels(low: f64, high: f64, reach: f64, limits: Range<usize>) -> Range<usize> {
    let low = (low - reach).ceil().max(limits.start as f64);
    let high = (high + reach).floor().min(limits.end as f64 - 1.0);
    if low <= high {
        low as usize..high as usize + 1
    } else {
        0..0
    }
}

/// Distance of a point from a segment.
fn distance(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let along = [b[0] - a[0], b[1] - a[1]];
    let to = [p[0] - a[0], p[1] - a[1]];
    let length2 = along[0].powi(2) + along[1].powi(2);
    let part = if length2 > 0.0 {
        ((to[0] * along[0] + to[1] * along[1]) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let off = [to[0] - part * along[0], to[1] - part * along[1]];
    (off[0] * off[0] + off[1] * off[1]).sqrt()
}

/// A polyline cut into dashes along its length.
fn dashes(line: &[[f64; 2]], [dash, gap]: [f64; 2]) -> Vec<Vec<[f64; 2]>> {
    let (mut pieces, mut piece) = (Vec::new(), Vec::new());
    let (mut on, mut left) = (true, dash);
    for pair in line.windows(2) {
        let (mut a, b) = (pair[0], pair[1]);
        let mut length = (b[0] - a[0]).hypot(b[1] - a[1]);
        if !length.is_finite() {
            continue;
        }
        if on && piece.is_empty() {
            piece.push(a);
        }
        while length > left {
            let k = left / length;
            a = [a[0] + k * (b[0] - a[0]), a[1] + k * (b[1] - a[1])];
            length -= left;
            if on {
                piece.push(a);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece.push(a);
            }
            on = !on;
            left = if on { dash } else { gap };
        }
        left -= length;
        if on {
            piece.push(b);
        }
    }
    if piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::{Pen, dashes, stroke};
    use crate::overlay::canvas::Canvas;

    #[test]
    fn a_line_covers_its_width_and_nothing_else() {
        let mut canvas = Canvas::plain(40, 20, [0; 3]);
        stroke(
            &mut canvas,
            &[vec![[5.0, 10.0], [34.0, 10.0]]],
            Pen::solid([200, 100, 50], 3.0),
        );
        assert_eq!(canvas.at(20, 10), Some([200, 100, 50]));
        assert_eq!(canvas.at(20, 9), Some([200, 100, 50]));
        assert_eq!(canvas.at(20, 12), Some([0, 0, 0]));
        assert_eq!(canvas.at(2, 10), Some([0, 0, 0]));
        // Coverage across a line adds up to its width.
        let sum: f64 = (0..20)
            .map(|y| f64::from(canvas.at(20, y).unwrap()[0]) / 200.0)
            .sum();
        assert!((sum - 3.0).abs() < 0.02, "{sum}");
    }

    #[test]
    fn joints_are_not_darker() {
        let pen = Pen {
            strength: 0.5,
            ..Pen::solid([200; 3], 4.0)
        };
        let mut canvas = Canvas::plain(30, 30, [0; 3]);
        stroke(&mut canvas, &[vec![[5.0, 15.0], [15.0, 15.0], [25.0, 15.0]]], pen);
        assert_eq!(canvas.at(15, 15), canvas.at(10, 15));
    }

    #[test]
    fn dashes_and_gaps_have_their_lengths() {
        let line = vec![[0.0, 0.0], [7.0, 0.0], [30.0, 0.0]];
        let pieces = dashes(&line, [6.0, 4.0]);
        let ends: Vec<[f64; 2]> = pieces.iter().map(|p| [p[0][0], p[p.len() - 1][0]]).collect();
        assert_eq!(ends.len(), 3);
        for (found, from) in ends.iter().zip([0.0, 10.0, 20.0]) {
            assert!(
                (found[0] - from).abs() < 1e-9 && (found[1] - from - 6.0).abs() < 1e-9,
                "{ends:?}"
            );
        }
    }

    #[test]
    fn outside_and_nonsense_do_nothing() {
        let mut canvas = Canvas::plain(8, 8, [9; 3]);
        let wild = vec![[f64::NAN, 1.0], [1e9, -1e9], [-50.0, -50.0]];
        stroke(
            &mut canvas,
            &[wild, vec![[100.0, 3.0], [200.0, 3.0]]],
            Pen::solid([255; 3], 2.0),
        );
        assert_eq!(canvas, Canvas::plain(8, 8, [9; 3]));
    }
}
