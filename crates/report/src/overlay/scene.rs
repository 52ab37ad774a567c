//! A frame with what was measured drawn on it, over a strip that says when.
//!
//! Used parts of an outline are drawn whole, hidden ones dashed; a cross marks the centre and a long-dashed line the
//! axis of symmetry. Covered regions are filled before anything is drawn, with every pixel that they touch, so that
//! nothing of them is left in the picture. Axis angles are radians from image-up, positive towards +x.

use tremolet_clip::frame::{Levels, Plane};
use tremolet_shape::area::Area;

use crate::figure::scale::extent;
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
const LINE: f64 = 30.0;

/// Narrower pictures have two lines of words.
const ONE_LINE: f64 = 620.0;

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

/// A rectangle of the plane, pixels; the pixel at the origin reaches from -0.5 to 0.5.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Region {
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
    /// What is covered, so that nothing of the frame is seen there.
    pub covered: Vec<Area>,
    /// The part of the plane that is shown; all of it when `None`.
    pub view: Option<Region>,
    /// Widest and highest picture, pixels.
    pub most: usize,
    /// How heavy lines and letters are: 1 for a picture shown at its full size, 2 at half its size.
    pub weight: f64,
}

impl Default for Style {
    fn default() -> Self {
        Self {
            time: 0.0,
            decimals: 4,
            frame: 0,
            stretch: None,
            covered: Vec::new(),
            view: None,
            most: 1280,
            weight: 1.0,
        }
    }
}

impl Region {
    /// The region around all parts of the bodies that were used, with `margin` times its size added on every side.
    pub fn around(bodies: &[OverlayBody], margin: f64) -> Option<Self> {
        let points = || {
            bodies
                .iter()
                .flat_map(|b| b.used.iter().flat_map(|arc| arc.points.iter()))
        };
        let (left, right) = extent(points().map(|p| p[0]))?;
        let (top, bottom) = extent(points().map(|p| p[1]))?;
        let room = margin * (right - left).max(bottom - top);
        Some(Self {
            x: left - room,
            y: top - room,
            width: right - left + 2.0 * room,
            height: bottom - top + 2.0 * room,
        })
    }

    /// First and last column and row of the plane that it touches; `None` when it lies outside.
    fn pixels(&self, plane: &Plane) -> Option<[usize; 4]> {
        let inside = |from: f64, length: f64, size: usize| {
            let first = (from + 0.5).floor().max(0.0);
            let last = ((from + length + 0.5).ceil() - 1.0).min(size as f64 - 1.0);
            (first <= last).then_some((first as usize, last as usize))
        };
        let (left, right) = inside(self.x, self.width, plane.width)?;
        let (top, bottom) = inside(self.y, self.height, plane.height)?;
        Some([left, right, top, bottom])
    }
}

/// How the places of a plane and the weights of a style come onto the canvas.
#[derive(Debug, Clone, Copy)]
struct Sheet {
    size: Size,
    /// Column and row of the plane at the canvas' corner.
    corner: [f64; 2],
    weight: f64,
}

impl Sheet {
    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        self.size.place([x - self.corner[0], y - self.corner[1]])
    }

    fn placed(&self, arcs: &[Arc]) -> Vec<Vec<[f64; 2]>> {
        let one = |arc: &Arc| {
            let first = arc.points.first().filter(|_| arc.closed);
            arc.points.iter().chain(first).map(|p| self.place(*p)).collect()
        };
        arcs.iter().map(one).collect()
    }

    fn letter(&self) -> f64 {
        LETTER * self.weight
    }

    fn line(&self) -> usize {
        (LINE * self.weight).round() as usize
    }

    /// Whether the strip has two lines of words.
    fn narrow(&self) -> bool {
        (self.size.width as f64) < ONE_LINE * self.weight
    }

    /// A line with a dark edge, so that it is seen on light and on dark.
    fn edged(&self, canvas: &mut Canvas, lines: &[Vec<[f64; 2]>], pen: Pen) {
        let pen = pen.times(self.weight);
        let edge = Pen {
            colour: BLACK,
            width: pen.width + 2.0 * self.weight,
            strength: 0.55,
            ..pen
        };
        stroke(canvas, lines, edge);
        stroke(canvas, lines, pen);
    }
}

/// Draws a frame with its bodies; both sides of the canvas are even, as encoders want them.
pub fn draw(plane: &Plane, bodies: &[OverlayBody], style: &Style) -> Canvas {
    let stretch = style.stretch.unwrap_or_else(|| Stretch::of(plane));
    let shown = style.view.and_then(|view| view.pixels(plane));
    let cut = shown.map(|pixels| cut(plane, pixels));
    let part = cut.as_ref().unwrap_or(plane);
    let sheet = Sheet {
        size: Size::of(part, 480, style.most),
        corner: shown.map_or([0.0; 2], |[left, _, top, _]| [left as f64, top as f64]),
        weight: style.weight,
    };
    let mut canvas = blank(part, &sheet, stretch);
    for area in &style.covered {
        cover(&mut canvas, area, &sheet);
    }
    for body in bodies {
        draw_body(&mut canvas, body, &sheet);
    }
    draw_strip(&mut canvas, &sheet, style, &stretch.said(plane));
    canvas
}

fn cut(plane: &Plane, [left, right, top, bottom]: [usize; 4]) -> Plane {
    fn rows<T: Copy>(levels: &[T], width: usize, [left, right, top, bottom]: [usize; 4]) -> Vec<T> {
        let row = |y: usize| &levels[y * width + left..=y * width + right];
        (top..=bottom).flat_map(row).copied().collect()
    }
    let pixels = [left, right, top, bottom];
    let levels = match &plane.levels {
        Levels::Eight(levels) => Levels::Eight(rows(levels, plane.width, pixels)),
        Levels::Sixteen(levels) => Levels::Sixteen(rows(levels, plane.width, pixels)),
    };
    Plane {
        width: right - left + 1,
        height: bottom - top + 1,
        levels,
    }
}

fn blank(plane: &Plane, sheet: &Sheet, stretch: Stretch) -> Canvas {
    let size = sheet.size;
    let stretched = stretch != Stretch::none(plane);
    let lines = if sheet.narrow() && stretched { 2 } else { 1 };
    let even = |n: usize| n + n % 2;
    let mut canvas = Canvas::plain(even(size.width), even(size.height + sheet.line() * lines), STRIP);
    let greys = greys(plane, size, stretch);
    let rows = canvas.rgb.chunks_exact_mut(3 * canvas.width);
    for (row, greys) in rows.zip(greys.chunks_exact(size.width)) {
        for (pixel, grey) in row.chunks_exact_mut(3).zip(greys) {
            pixel.fill(*grey);
        }
    }
    canvas
}

/// Fills every canvas pixel that shows anything of a pixel of the area.
fn cover(canvas: &mut Canvas, area: &Area, sheet: &Sheet) {
    let (scale, [left, top]) = (sheet.size.scale, sheet.corner);
    let [first_x, first_y, last_x, last_y] = area.bounds();
    // The frame's pixels that a pixel of the canvas is made of, whole ones.
    let part = |k: usize, corner: f64| {
        let low = (k as f64 / scale + corner - 0.5).round();
        let high = ((k as f64 + 1.0) / scale + corner - 0.5 - 1e-9).round();
        (low as i64)..=(high as i64)
    };
    let span = |low: f64, high: f64, corner: f64, size: usize| {
        let at = |v: f64| ((v - corner) * scale).max(0.0) as usize;
        at(low - 1.0)..(at(high + 2.0) + 1).min(size)
    };
    for y in span(first_y, last_y, top, sheet.size.height) {
        for x in span(first_x, last_x, left, sheet.size.width) {
            let held = part(y, top).any(|v| part(x, left).any(|u| area.holds([u as f64, v as f64])));
            if held {
                canvas.fill(x, y, 1, 1, COVER);
            }
        }
    }
}

fn draw_body(canvas: &mut Canvas, body: &OverlayBody, sheet: &Sheet) {
    let used = sheet.placed(&body.used);
    let centre = body.centre.map(|c| sheet.place(c));
    let reach = centre.map_or(0.0, |c| reach(&used, c));
    if let (Some([x, y]), Some(angle)) = (centre, body.axis_angle) {
        let end = |r: f64| [x + r * angle.sin(), y - r * angle.cos()];
        let axis = vec![end(-1.12 * reach), end(1.12 * reach)];
        sheet.edged(canvas, &[axis], Pen::solid(WHITE, 1.0).dashed(14.0, 6.0));
    }
    let hidden = Pen::solid(HIDDEN, 1.6).dashed(7.0, 5.0);
    sheet.edged(canvas, &sheet.placed(&body.hidden), hidden);
    sheet.edged(canvas, &used, Pen::solid(OUTLINE, 1.6));
    if let Some([x, y]) = centre {
        let arm = 7.0 * sheet.weight;
        let cross = [vec![[x - arm, y], [x + arm, y]], vec![[x, y - arm], [x, y + arm]]];
        sheet.edged(canvas, &cross, Pen::solid(WHITE, 1.4));
        label(canvas, body.number, [x, y], reach, sheet);
    }
}

/// The largest distance of an outline from a centre.
fn reach(outline: &[Vec<[f64; 2]>], centre: [f64; 2]) -> f64 {
    let far = |p: &[f64; 2]| (p[0] - centre[0]).hypot(p[1] - centre[1]);
    let all = outline.iter().flatten().map(far);
    all.filter(|r| r.is_finite()).fold(0.0, f64::max)
}

/// The number of a body, outside its upper right, inside the picture.
fn label(canvas: &mut Canvas, number: u32, [x, y]: [f64; 2], reach: f64, sheet: &Sheet) {
    let text = number.to_string();
    let (letter, room) = (sheet.letter(), 8.0 * sheet.weight);
    let away = 0.74 * reach + room;
    let right = sheet.size.width as f64 - width(&text, letter) - room;
    let place = [
        (x + away).min(right).max(room),
        (y - away - letter).clamp(room, (sheet.size.height as f64 - letter - room).max(room)),
    ];
    sheet.edged(canvas, &written(&text, place, letter), Pen::solid(OUTLINE, 1.8));
}

fn draw_strip(canvas: &mut Canvas, sheet: &Sheet, style: &Style, said: &str) {
    let decimals = i32::try_from(style.decimals).unwrap_or(4);
    let when = format!("t = {} s    frame {}", fixed(style.time, decimals), style.frame);
    let (letter, weight) = (sheet.letter(), sheet.weight);
    let top = sheet.size.height as f64 + 9.0 * weight;
    let pen = Pen::solid(WORDS, 1.5).times(weight);
    stroke(canvas, &written(&when, [12.0 * weight, top], letter), pen);
    let place = if sheet.narrow() {
        [12.0 * weight, top + 26.0 * weight]
    } else {
        [sheet.size.width as f64 - width(said, letter) - 12.0 * weight, top]
    };
    stroke(canvas, &written(said, place, letter), pen);
}

#[cfg(test)]
mod tests {
    use super::{Arc, COVER, HIDDEN, OUTLINE, OverlayBody, Region, Style, draw};
    use tremolet_clip::frame::Plane;
    use tremolet_shape::area::Area;

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
            covered: vec![Area::within(vec![
                [300.0, 100.0],
                [499.0, 100.0],
                [499.0, 199.0],
                [300.0, 199.0],
            ])],
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
    fn a_slanting_line_is_covered_and_its_surroundings_are_not() {
        let plane = Plane::eight(640, 480, vec![250; 640 * 480]);
        let style = Style {
            covered: vec![Area::along(vec![[100.0, 100.0], [300.0, 241.3]], 10.0)],
            ..Style::default()
        };
        let canvas = draw(&plane, &[], &style);
        assert_eq!(canvas.at(200, 170), Some(COVER));
        assert!(canvas.at(200, 150) != Some(COVER) && canvas.at(290, 110) != Some(COVER));
        let covered = canvas.rgb[..3 * canvas.width * 480]
            .chunks(3)
            .filter(|pixel| *pixel == COVER.as_slice())
            .count() as f64;
        // Length times width, with round ends.
        let due = 200.0_f64.hypot(141.3) * 10.0 + std::f64::consts::PI * 25.0;
        assert!((covered / due - 1.0).abs() < 0.02, "{covered} of {due}");
    }

    #[test]
    fn a_view_shows_its_part_and_the_outline_stays_on_the_edge() {
        let mut levels = vec![200; 640 * 480];
        for y in 0..480_usize {
            for x in 0..640_usize {
                if x.abs_diff(320).pow(2) + y.abs_diff(240).pow(2) < 10_000 {
                    levels[y * 640 + x] = 20;
                }
            }
        }
        let plane = Plane::eight(640, 480, levels);
        let view = Region::around(&[body()], 0.1).unwrap();
        let style = Style {
            view: Some(view),
            ..Style::default()
        };
        let canvas = draw(&plane, &[body()], &style);
        // 200 px across and a tenth of it on both sides, drawn at twice its size to be at least 480 wide.
        assert!(canvas.width.abs_diff(480) <= 4, "{}", canvas.width);
        let at = |x: f64| ((x - view.x) * 2.0) as usize;
        let row = ((240.0 - view.y) * 2.0) as usize;
        assert_eq!(canvas.at(at(215.0), row), Some([200; 3]), "outside");
        assert_eq!(canvas.at(at(226.0), row), Some([20; 3]), "inside");
        let near = (at(218.0)..at(222.0)).filter_map(|x| canvas.at(x, row));
        // Its middle lies between two pixels here, so neither is wholly covered.
        assert!(near.into_iter().any(|c| c[0] > 180 && c[2] < 90));
        assert_eq!(Region::around(&[], 0.1), None);
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
