//! Draws a chart: places panels, axes, ticks, marks and the legend.
//!
//! The legend stands above the panels, outside the data; panels share their left and right edges. Lengths are CSS
//! pixels at full size; the drawing scales with the page.

use crate::figure::chart::{Axis, Chart, Drawing, Mark, Panel, Sample};
use crate::figure::look::{Look, own_rules};
use crate::figure::scale::{Run, Scale};
use crate::figure::svg::{Anchor, Svg, number, path};
use crate::figure::thin::{stretches, thinned, thinned_to};
use crate::figure::ticks::{Ticks, decades, even};
use crate::text::{escape, superscript};

const LEFT: f64 = 78.0;
const RIGHT: f64 = 18.0;
const LEGEND: f64 = 30.0;
const NAME: f64 = 24.0;
const MARKED: f64 = 14.0;
const X_NUMBERS: f64 = 44.0;
const GAP: f64 = 12.0;

/// About how wide a text of the charts is.
pub fn text_width(text: &str) -> f64 {
    text.chars()
        .map(|c| match c {
            'i' | 'l' | 'j' | '.' | ',' | ':' | ' ' | '\u{a0}' | 'I' | '\'' | '|' => 3.6,
            'm' | 'w' | 'M' | 'W' | '%' => 11.0,
            c if c.is_uppercase() => 8.8,
            _ => 7.0,
        })
        .sum()
}

/// The plot of one panel on the drawing.
struct Place {
    x: Scale,
    y: Scale,
}

impl Place {
    fn point(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [self.x.place(x), self.y.place(y)]
    }
}

/// Draws a chart.
pub fn draw(chart: &Chart) -> Drawing {
    let mut svg = Svg::default();
    let mut top = 2.0;
    if !chart.legend.is_empty() {
        top += legend(&mut svg, chart, top);
    }
    for (i, panel) in chart.panels.iter().enumerate() {
        let clip = format!("clip-{}-{i}", chart.name);
        top = draw_panel(&mut svg, panel, top, chart.width, &clip);
    }
    Drawing {
        name: chart.name.clone(),
        title: chart.title.clone(),
        caption: chart.caption.clone(),
        description: chart.description.clone(),
        content: svg.finish(),
        width: chart.width.round() as u32,
        height: top.ceil() as u32,
    }
}

/// The svg element for a page that has the rules of [`crate::figure::look::page_rules`].
pub fn inline(drawing: &Drawing) -> String {
    element(drawing, "")
}

/// A file of its own, with its colours in it.
pub fn alone(drawing: &Drawing) -> String {
    let (w, h) = (drawing.width, drawing.height);
    let inside = format!(
        "<style>{}</style>\n<rect class=\"paper\" width=\"{w}\" height=\"{h}\"/>\n",
        own_rules()
    );
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}",
        element(drawing, &inside)
    )
}

fn element(drawing: &Drawing, inside: &str) -> String {
    let Drawing {
        name, width, height, ..
    } = drawing;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         height=\"{height}\" role=\"img\" aria-labelledby=\"{name}-title {name}-desc\">\n<title id=\"{name}-title\">{}\
         </title>\n<desc id=\"{name}-desc\">{}</desc>\n{inside}{}</svg>\n",
        escape(&drawing.title),
        escape(&drawing.description),
        drawing.content
    )
}

fn legend(svg: &mut Svg, chart: &Chart, top: f64) -> f64 {
    let (mut x, mut y) = (LEFT, top + 12.0);
    for (sample, label) in &chart.legend {
        let width = 34.0 + text_width(label) + 20.0;
        if x + width > chart.width && x > LEFT {
            x = LEFT;
            y += 20.0;
        }
        draw_sample(svg, *sample, x, y);
        svg.text("strong", [x + 32.0, y + 4.5], Anchor::Start, label);
        x += width;
    }
    y - top - 12.0 + LEGEND
}

/// A sample of a legend at a place.
pub fn draw_sample(svg: &mut Svg, sample: Sample, x: f64, y: f64) {
    match sample {
        Sample::Dot(look) => dot(svg, look, [x + 12.0, y], true),
        Sample::Line(look) => {
            let class = format!("line {}", look.class());
            svg.line(&class, [x, y], [x + 24.0, y]);
        }
        Sample::Band(look) => {
            let class = format!("band {}", look.class());
            let (x, y) = (number(x), number(y - 6.0));
            svg.leaf(
                "rect",
                &[
                    ("class", &class),
                    ("x", &x),
                    ("y", &y),
                    ("width", "24"),
                    ("height", "12"),
                ],
            );
        }
    }
}

fn draw_panel(svg: &mut Svg, panel: &Panel, top: f64, width: f64, clip: &str) -> f64 {
    let marked = panel.marks.iter().any(|mark| matches!(mark, Mark::Upright(..)));
    let name_at = top + NAME - 8.0;
    let top = top + if panel.name.is_empty() { 0.0 } else { NAME } + if marked { MARKED } else { 0.0 };
    let bottom = top + panel.height;
    let scale = |axis: &Axis, start, end| Scale {
        low: axis.low,
        high: axis.high,
        start,
        end,
        run: axis.run,
    };
    let place = Place {
        x: scale(&panel.x, LEFT, width - RIGHT),
        y: scale(&panel.y, bottom, top),
    };
    if !panel.name.is_empty() {
        svg.text("name", [LEFT, name_at], Anchor::Start, &panel.name);
    }
    draw_y(svg, panel, &place);
    let below = draw_x(svg, panel, &place);
    let (w, h) = (number(width - RIGHT - LEFT), number(panel.height));
    let (x, y) = (number(LEFT), number(top));
    let area = [("x", x.as_str()), ("y", &y), ("width", &w), ("height", &h)];
    svg.open("clipPath", &[("id", clip)]);
    svg.leaf("rect", &area);
    svg.close();
    svg.open("g", &[("clip-path", &format!("url(#{clip})"))]);
    for mark in &panel.marks {
        draw_mark(svg, mark, &place);
    }
    svg.close();
    for mark in &panel.marks {
        draw_words(svg, mark, &place);
    }
    svg.leaf("rect", &[&[("class", "frame")][..], &area[..]].concat());
    bottom + below + GAP
}

fn ticks_of(axis: &Axis, most: usize) -> Ticks {
    let (low, high) = (axis.low.min(axis.high), axis.low.max(axis.high));
    match axis.run {
        Run::Even => even(low, high, most),
        Run::Decades => decades(low, high, most),
    }
}

fn full_label(axis: &Axis, ticks: &Ticks) -> String {
    if ticks.exponent == 0 {
        return axis.label.clone();
    }
    format!("{} (×\u{a0}10{})", axis.label, superscript(ticks.exponent))
}

fn draw_y(svg: &mut Svg, panel: &Panel, place: &Place) {
    if panel.y_ticks == 0 {
        return;
    }
    let ticks = ticks_of(&panel.y, panel.y_ticks);
    for (at, label) in ticks.at.iter().zip(&ticks.labels) {
        let y = place.y.place(*at);
        let class = if *at == 0.0 { "zero" } else { "grid" };
        svg.line(class, [place.x.start, y], [place.x.end, y]);
        svg.text("", [place.x.start - 8.0, y + 4.5], Anchor::End, label);
    }
    let middle = (place.y.start + place.y.end) / 2.0;
    let turn = format!("rotate(-90 16 {})", number(middle));
    let y = number(middle);
    let attributes = [
        ("x", "16"),
        ("y", y.as_str()),
        ("text-anchor", "middle"),
        ("transform", &turn),
    ];
    svg.said("text", &attributes, &full_label(&panel.y, &ticks));
}

fn draw_x(svg: &mut Svg, panel: &Panel, place: &Place) -> f64 {
    let ticks = ticks_of(&panel.x, 10);
    let (top, bottom) = (place.y.end, place.y.start);
    for (at, label) in ticks.at.iter().zip(&ticks.labels) {
        let x = place.x.place(*at);
        svg.line("grid", [x, top], [x, bottom]);
        if panel.x_written {
            svg.line("tick", [x, bottom], [x, bottom + 5.0]);
            svg.text("", [x, bottom + 19.0], Anchor::Middle, label);
        }
    }
    if !panel.x_written {
        return 0.0;
    }
    let middle = (place.x.start + place.x.end) / 2.0;
    svg.text(
        "",
        [middle, bottom + 38.0],
        Anchor::Middle,
        &full_label(&panel.x, &ticks),
    );
    X_NUMBERS
}

fn draw_mark(svg: &mut Svg, mark: &Mark, place: &Place) {
    let placed = |points: &[[f64; 2]]| points.iter().map(|p| place.point(*p)).collect::<Vec<_>>();
    match mark {
        Mark::Line(look, points) => {
            for stretch in stretches(&placed(points)) {
                draw_line(svg, *look, &thinned(stretch));
            }
        }
        Mark::Path(look, points) => {
            for stretch in stretches(&placed(points)) {
                draw_line(svg, *look, stretch);
            }
        }
        Mark::Points(look, points, bars) => draw_points(svg, *look, points, bars, place),
        Mark::Band(look, band) => draw_band(svg, *look, band, place),
        Mark::Level(look, level) => {
            let y = place.y.place(*level);
            draw_line(svg, *look, &[[place.x.start, y], [place.x.end, y]]);
        }
        Mark::Upright(look, at, _) => {
            let x = place.x.place(*at);
            draw_line(svg, *look, &[[x, place.y.start], [x, place.y.end]]);
        }
        Mark::Word(..) => {}
        Mark::Squares(look, squares, room) => draw_squares(svg, *look, squares, *room, place),
    }
}

/// Squares smaller than this are not seen, CSS pixels.
const UNSEEN: f64 = 0.6;

fn draw_squares(svg: &mut Svg, look: Look, squares: &[[f64; 3]], [x, y]: [f64; 2], place: &Place) {
    let width = |scale: &Scale, room: f64| (scale.place(scale.low + room) - scale.place(scale.low)).abs();
    let most = 0.94 * width(&place.x, x).min(width(&place.y, y));
    let mut paths = [String::new(), String::new()];
    for [x, y, share] in squares.iter().filter(|s| s[2].is_finite()) {
        let side = most * share.abs().min(1.0).sqrt();
        if side >= UNSEEN {
            let [left, top] = place.point([*x, *y]).map(|middle| number(middle - side / 2.0));
            let side = number(side);
            paths[usize::from(*share < 0.0)] += &format!("M{left} {top}h{side}v{side}h-{side}z");
        }
    }
    for (path, open) in paths.iter().zip(["fine", "open"]) {
        if !path.is_empty() {
            let class = format!("dot {} {open}", look.class());
            svg.leaf("path", &[("class", &class), ("d", path)]);
        }
    }
}

/// Words stand outside the clipped part, so that none is cut.
fn draw_words(svg: &mut Svg, mark: &Mark, place: &Place) {
    match mark {
        Mark::Upright(_, at, label) => {
            let x = place.x.place(*at);
            if x.is_finite() && x >= place.x.start && x <= place.x.end {
                svg.text("strong small", [x, place.y.end - 6.0], Anchor::Middle, label);
            }
        }
        Mark::Word(at, word) => {
            let [x, y] = place.point(*at);
            let left = x + 12.0 + text_width(word) < place.x.end;
            let (x, anchor) = if left {
                (x + 10.0, Anchor::Start)
            } else {
                (x - 10.0, Anchor::End)
            };
            svg.text("strong small halo", [x, y + 4.0], anchor, word);
        }
        _ => {}
    }
}

fn draw_line(svg: &mut Svg, look: Look, points: &[[f64; 2]]) {
    let class = format!("line {}", look.class());
    svg.leaf("path", &[("class", &class), ("d", &path(points, false))]);
}

fn draw_points(svg: &mut Svg, look: Look, points: &[[f64; 2]], bars: &[f64], place: &Place) {
    let class = format!("bar {}", look.class());
    for ([x, y], half) in points.iter().zip(bars) {
        let (low, high) = (place.point([*x, y - half]), place.point([*x, y + half]));
        if (low[1] - high[1]).abs() > 5.0 {
            svg.line(&class, low, high);
        }
    }
    let placed: Vec<[f64; 2]> = points.iter().map(|p| place.point(*p)).collect();
    if placed.len() < ROOMY {
        stretches(&placed)
            .flatten()
            .for_each(|at| dot(svg, look, *at, true));
        return;
    }
    fine_dots(svg, look, stretches(&placed).flat_map(|s| thinned_to(s, WIDE)));
}

/// Fewer points than this are drawn large.
const ROOMY: usize = 60;
/// Radius of a small dot, and width of the columns to which small dots are thinned: they would hide each other.
const FINE: f64 = 1.1;
const WIDE: f64 = 2.0;

/// Small dots, all as one path: a long series has thousands. Circles, or squares for what is left over.
pub fn fine_dots(svg: &mut Svg, look: Look, dots: impl Iterator<Item = [f64; 2]>) {
    if look == Look::Reference {
        dots.for_each(|at| dot(svg, look, at, false));
        return;
    }
    let open = look == Look::Residual;
    let mut path = String::new();
    for [x, y] in dots {
        let top = if open { y - FINE } else { y };
        path += &format!("M{} {}", number(x - FINE), number(top));
        path += if open {
            "h2.2v2.2h-2.2z"
        } else {
            "a1.1 1.1 0 1 0 2.2 0 1.1 1.1 0 1 0-2.2 0"
        };
    }
    if !path.is_empty() {
        let class = format!("dot {} fine{}", look.class(), if open { " open" } else { "" });
        svg.leaf("path", &[("class", &class), ("d", &path)]);
    }
}

fn dot(svg: &mut Svg, look: Look, at: [f64; 2], roomy: bool) {
    let [x, y] = at.map(number);
    let r = if roomy { 3.0 } else { FINE };
    let class = format!("dot {}{}", look.class(), if roomy { "" } else { " fine" });
    match look {
        Look::Residual => {
            let (left, top, side) = (number(at[0] - r), number(at[1] - r), number(2.0 * r));
            let class = format!("{class} open");
            let place = [
                ("x", left.as_str()),
                ("y", &top),
                ("width", &side),
                ("height", &side),
            ];
            svg.leaf("rect", &[&[("class", class.as_str())][..], &place[..]].concat());
        }
        Look::Reference => {
            let corner = |a: f64| [at[0] + 1.4 * r * a.cos(), at[1] + 1.4 * r * a.sin()];
            let third = std::f64::consts::TAU / 3.0;
            let up = -std::f64::consts::FRAC_PI_2;
            let d = path(&[corner(up), corner(up + third), corner(up - third)], true);
            svg.leaf("path", &[("class", &class), ("d", &d)]);
        }
        _ => svg.leaf(
            "circle",
            &[("class", &class), ("cx", &x), ("cy", &y), ("r", &number(r))],
        ),
    }
}

fn draw_band(svg: &mut Svg, look: Look, band: &[[f64; 3]], place: &Place) {
    let class = format!("band {}", look.class());
    let edge = |k: usize| {
        let all: Vec<[f64; 2]> = band.iter().map(|b| place.point([b[0], b[k]])).collect();
        thinned(
            &all.into_iter()
                .filter(|p| p[0].is_finite() && p[1].is_finite())
                .collect::<Vec<_>>(),
        )
    };
    let mut around = edge(1);
    around.extend(edge(2).into_iter().rev());
    svg.leaf("path", &[("class", &class), ("d", &path(&around, true))]);
}
