//! A frame with what was measured drawn on it, over a strip that says when.
//!
//! Used parts of an outline are drawn whole, hidden ones dashed; a cross marks the centre and a long-dashed line the
//! axis of symmetry. Covered regions are filled before anything is drawn, with every pixel that they touch, so that
//! nothing of them is left in the picture. Axis angles are radians from image-up, positive towards +x.

use tremolet_clip::frame::Plane;

use crate::number::fixed;
use crate::overlay::canvas::{Canvas, Colour};
use crate::overlay::letters::{width, written};
use crate::overlay::stretch::{Size, Stretch, greys};
use crate::overlay::stroke::{Pen, stroke};

const OUTLINE: Colour = [255, 178, 36];
const HIDDEN: Colour = [120, 205, 255];
const WHITE: Colour = [255, 255, 255];
const BLACK: Colour = [0, 0, 0];
const COVER: Colour = [112, 112, 112];
const STRIP: Colour = [21, 24, 28];
const WORDS: Colour = [231, 229, 224];

/// Height of the letters, canvas pixels.
const LETTER: f64 = 12.0;

/// Height of a line of words in the strip, canvas pixels.
const LINE: usize = 30;

/// Narrower pictures have two lines of words.
const ONE_LINE: usize = 620;

/// A stretch of an outline: places in the plane (x right, y down, pixels), in order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Arc {
    /// The places.
    pub points: Vec<[f64; 2]>,
    /// Whether the last is joined to the first.
    pub closed: bool,
}

/// What was measured of one body in one frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OverlayBody {
    /// Its number, from 1.
    pub number: u32,
    /// Parts of the outline that were used.
    pub used: Vec<Arc>,
    /// Parts that are hidden, bridged only for the eye; may be empty.
    pub hidden: Vec<Arc>,
    /// Its centre, pixels.
    pub centre: Option<[f64; 2]>,
    /// Direction of its axis, rad from image-up towards +x.
    pub axis_angle: Option<f64>,
}

/// A rectangle of the plane that must not be seen, pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cover {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

/// How a scene is drawn and what its strip says.
#[derive(Debug, Clone, PartialEq)]
pub struct Style {
    /// Time of the frame, s.
    pub time: f64,
    /// Decimals of the time.
    pub decimals: u32,
    /// Frame in the clip.
    pub frame: u64,
    /// The same for a whole clip, or `None` for [`Stretch::of`] this plane.
    pub stretch: Option<Stretch>,
    /// Regions to cover.
    pub covered: Vec<Cover>,
    /// Widest and highest picture, pixels.
    pub most: usize,
}

impl Default for Style {
    fn default() -> Self {
        Self {
            time: 0.0,
            decimals: 4,
            frame: 0,
            stretch: None,
            covered: Vec::new(),
            most: 1280,
        }
    }
}

/// Draws a frame with its bodies; both sides of the canvas are even, as encoders want them.
pub fn draw(plane: &Plane, bodies: &[OverlayBody], style: &Style) -> Canvas {
    let stretch = style.stretch.unwrap_or_else(|| Stretch::of(plane));
    let size = Size::of(plane, 480, style.most);
    let mut canvas = blank(plane, size, stretch);
    for cover in &style.covered {
        hide(&mut canvas, cover, size);
    }
    for body in bodies {
        draw_body(&mut canvas, body, size);
    }
    draw_strip(&mut canvas, size, style, &stretch.said(plane));
    canvas
}

fn blank(plane: &Plane, size: Size, stretch: Stretch) -> Canvas {
    let stretched = stretch != Stretch::none(plane);
    let lines = if size.width < ONE_LINE && stretched { 2 } else { 1 };
    let even = |n: usize| n + n % 2;
    let mut canvas = Canvas::plain(even(size.width), even(size.height + LINE * lines), STRIP);
    for (i, grey) in greys(plane, size, stretch).into_iter().enumerate() {
        let at = 3 * (i / size.width * canvas.width + i % size.width);
        canvas.rgb[at..at + 3].fill(grey);
    }
    canvas
}

/// Fills every canvas pixel that the region touches.
fn hide(canvas: &mut Canvas, cover: &Cover, size: Size) {
    let from = |v: f64| ((v + 0.5) * size.scale).floor().max(0.0) as usize;
    let to = |v: f64| ((v + 0.5) * size.scale).ceil().max(0.0) as usize;
    let (x, y) = (from(cover.x - 0.5), from(cover.y - 0.5));
    let right = to(cover.x + cover.width + 0.5).min(size.width);
    let bottom = to(cover.y + cover.height + 0.5).min(size.height);
    canvas.fill(x, y, right.saturating_sub(x), bottom.saturating_sub(y), COVER);
}

fn placed(arcs: &[Arc], size: Size) -> Vec<Vec<[f64; 2]>> {
    let one = |arc: &Arc| {
        let first = arc.points.first().filter(|_| arc.closed);
        arc.points.iter().chain(first).map(|p| size.place(*p)).collect()
    };
    arcs.iter().map(one).collect()
}

/// A line with a dark edge, so that it is seen on light and on dark.
fn edged(canvas: &mut Canvas, lines: &[Vec<[f64; 2]>], pen: Pen) {
    let edge = Pen {
        colour: BLACK,
        width: pen.width + 2.0,
        strength: 0.55,
        ..pen
    };
    stroke(canvas, lines, edge);
    stroke(canvas, lines, pen);
}

fn draw_body(canvas: &mut Canvas, body: &OverlayBody, size: Size) {
    let used = placed(&body.used, size);
    let centre = body.centre.map(|c| size.place(c));
    let reach = centre.map_or(0.0, |c| reach(&used, c));
    if let (Some([x, y]), Some(angle)) = (centre, body.axis_angle) {
        let end = |r: f64| [x + r * angle.sin(), y - r * angle.cos()];
        let axis = vec![end(-1.12 * reach), end(1.12 * reach)];
        edged(canvas, &[axis], Pen::solid(WHITE, 1.0).dashed(14.0, 6.0));
    }
    let hidden = Pen::solid(HIDDEN, 1.6).dashed(7.0, 5.0);
    edged(canvas, &placed(&body.hidden, size), hidden);
    edged(canvas, &used, Pen::solid(OUTLINE, 1.6));
    if let Some([x, y]) = centre {
        let cross = [vec![[x - 7.0, y], [x + 7.0, y]], vec![[x, y - 7.0], [x, y + 7.0]]];
        edged(canvas, &cross, Pen::solid(WHITE, 1.4));
        label(canvas, body.number, [x, y], reach, size);
    }
}

/// The largest distance of an outline from a centre.
fn reach(outline: &[Vec<[f64; 2]>], centre: [f64; 2]) -> f64 {
    let far = |p: &[f64; 2]| (p[0] - centre[0]).hypot(p[1] - centre[1]);
    let all = outline.iter().flatten().map(far);
    all.filter(|r| r.is_finite()).fold(0.0, f64::max)
}

/// The number of a body, outside its upper right, inside the picture.
fn label(canvas: &mut Canvas, number: u32, [x, y]: [f64; 2], reach: f64, size: Size) {
    let text = number.to_string();
    let away = 0.74 * reach + 10.0;
    let right = size.width as f64 - width(&text, LETTER) - 8.0;
    let place = [
        (x + away).min(right).max(8.0),
        (y - away - LETTER).clamp(8.0, (size.height as f64 - LETTER - 8.0).max(8.0)),
    ];
    edged(canvas, &written(&text, place, LETTER), Pen::solid(OUTLINE, 1.8));
}

fn draw_strip(canvas: &mut Canvas, size: Size, style: &Style, said: &str) {
    let decimals = i32::try_from(style.decimals).unwrap_or(4);
    let when = format!("t = {} s    frame {}", fixed(style.time, decimals), style.frame);
    let top = size.height as f64 + 9.0;
    let pen = Pen::solid(WORDS, 1.5);
    stroke(canvas, &written(&when, [12.0, top], LETTER), pen);
    let place = if size.width < ONE_LINE {
        [12.0, top + LINE as f64 - 4.0]
    } else {
        [size.width as f64 - width(said, LETTER) - 12.0, top]
    };
    stroke(canvas, &written(said, place, LETTER), pen);
}

#[cfg(test)]
mod tests {
    use super::{Arc, COVER, Cover, HIDDEN, OUTLINE, OverlayBody, Style, draw};
    use tremolet_clip::frame::Plane;

    fn circle(centre: [f64; 2], radius: f64, from: f64, to: f64) -> Vec<[f64; 2]> {
        (0..=360)
            .map(|i| {
                let a = from + (to - from) * f64::from(i) / 360.0;
                [centre[0] + radius * a.cos(), centre[1] + radius * a.sin()]
            })
            .collect()
    }

    fn body() -> OverlayBody {
        OverlayBody {
            number: 1,
            used: vec![Arc {
                points: circle([320.0, 240.0], 100.0, 0.0, 4.0),
                closed: false,
            }],
            hidden: vec![Arc {
                points: circle([320.0, 240.0], 100.0, 4.1, 6.2),
                closed: false,
            }],
            centre: Some([320.0, 240.0]),
            axis_angle: Some(0.0),
        }
    }

    fn grey() -> Plane {
        Plane::eight(640, 480, vec![128; 640 * 480])
    }

    #[test]
    fn draws_where_it_should_and_leaves_the_rest() {
        let canvas = draw(&grey(), &[body()], &Style::default());
        assert_eq!((canvas.width, canvas.height), (640, 510));
        assert_eq!(canvas.at(220, 240), Some(OUTLINE), "left end of the outline");
        assert_eq!(canvas.at(320, 340), Some(OUTLINE), "lower end");
        let blue = canvas.rgb.chunks(3).filter(|c| *c == HIDDEN).count();
        // 210 px of arc, 7 of every 12 drawn, 1.6 wide: at least 0.6 pixels wholly covered for each pixel of dash.
        assert!((73..210).contains(&blue), "{blue} pixels of hidden arc");
        assert_eq!(
            canvas.at(320, 180).map(|c| c[0] == c[2]),
            Some(true),
            "the axis is white or grey"
        );
        assert_ne!(canvas.at(320, 180 + 40), Some([128; 3]), "the axis runs upwards");
        assert_eq!(canvas.at(10, 10), Some([128; 3]));
        assert_eq!(canvas.at(400, 150), Some([128; 3]));
    }

    #[test]
    fn a_covered_region_keeps_nothing_of_the_frame() {
        let mut levels = vec![128; 2000 * 900];
        for y in 100..200 {
            levels[y * 2000 + 300..y * 2000 + 500].fill(250);
        }
        let plane = Plane::eight(2000, 900, levels);
        let style = Style {
            covered: vec![Cover {
                x: 300.0,
                y: 100.0,
                width: 199.0,
                height: 99.0,
            }],
            stretch: None,
            ..Style::default()
        };
        let canvas = draw(&plane, &[], &style);
        assert_eq!(canvas.width, 1280);
        assert_eq!(canvas.at(256, 96), Some(COVER));
        let rows = &canvas.rgb[..3 * canvas.width * 576];
        assert!(rows.chunks(3).all(|c| c[0] < 180), "no bright pixel is left");
    }

    #[test]
    fn every_frame_of_a_clip_has_one_even_size() {
        let plane = Plane::sixteen(101, 77, (0..101 * 77).map(|i| 500 + (i % 90) as u16).collect());
        let early = draw(&plane, &[], &Style::default());
        let late = draw(
            &plane,
            &[],
            &Style {
                time: 123.4,
                frame: 999_999,
                ..Style::default()
            },
        );
        assert_eq!((early.width, early.height), (late.width, late.height));
        assert_eq!((early.width % 2, early.height % 2), (0, 0));
        assert_ne!(early, late, "the strip says when");
    }
}
