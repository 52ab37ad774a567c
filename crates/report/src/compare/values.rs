//! The values of one quantity, a row for each run, and their mean: a dot with two bars, a mark where a run disagrees, a band for the mean.
//!
//! The thick bar is what a run has alone, the thin one all of its uncertainty, both 95 %: thick bars that miss each other are runs that
//! differ, thin ones that overlap may still share an error.

use tremolet_record::comparison::{Compared, Entry};

use crate::figure::chart::{COVERAGE, Drawing};
use crate::figure::draw::text_width;
use crate::figure::look::Look;
use crate::figure::scale::{Run, Scale, extent, widened};
use crate::figure::svg::{Anchor, Svg, number, path};
use crate::figure::ticks::even;
use crate::number::{Handy, labelled, shown};
use crate::plot::amplitude::WIDTH;
use crate::text::{slug, superscript, words};

const ROW: f64 = 28.0;
const FOOT: f64 = 46.0;
const TOP: f64 = 4.0;

/// The drawing of one quantity; `None` with fewer than two values.
pub fn values(compared: &Compared) -> Option<Drawing> {
    if compared.entries.len() < 2 {
        return None;
    }
    let handy = Handy::of(&compared.unit, compared.entries[0].value.abs());
    let reach = |value: f64, u: f64| {
        [
            handy.value(value - COVERAGE * u),
            handy.value(value + COVERAGE * u),
        ]
    };
    let mut ends: Vec<f64> = compared
        .entries
        .iter()
        .flat_map(|e| reach(e.value, e.standard_uncertainty))
        .collect();
    let reference = compared.mean.as_ref().and_then(|m| m.reference.as_ref());
    ends.extend(
        compared
            .mean
            .iter()
            .flat_map(|m| m.interval_95.map(|end| handy.value(end))),
    );
    ends.extend(
        reference
            .iter()
            .flat_map(|r| reach(r.value, r.standard_uncertainty.unwrap_or(0.0))),
    );
    let range = widened(extent(ends)?, 0.05);
    let several = compared.entries.iter().any(|e| e.body > 1);
    let rows: Vec<(String, String)> = compared
        .entries
        .iter()
        .map(|e| (named(e, several), said(e, &compared.unit)))
        .collect();
    let widest = |texts: &mut dyn Iterator<Item = &String>| texts.map(|t| text_width(t)).fold(60.0, f64::max);
    let left = widest(&mut rows.iter().map(|r| &r.0)).min(0.35 * WIDTH) + 16.0;
    let right = widest(&mut rows.iter().map(|r| &r.1)).min(0.4 * WIDTH) + 16.0;
    let scale = Scale {
        low: range.0,
        high: range.1,
        start: left,
        end: WIDTH - right,
        run: Run::Even,
    };
    let extra = usize::from(compared.mean.is_some()) + usize::from(reference.is_some());
    let bottom = TOP + ROW * (rows.len() + extra) as f64;
    let mut svg = Svg::default();
    axis(&mut svg, compared, &handy, &scale, bottom);
    for (i, (entry, (name, text))) in compared.entries.iter().zip(&rows).enumerate() {
        let y = TOP + ROW * (i as f64 + 0.5);
        texts(&mut svg, &scale, y, name, text);
        bars(&mut svg, &scale, y, entry, &handy);
    }
    let y = TOP + ROW * (rows.len() as f64 + 0.5);
    mean(&mut svg, compared, &scale, y, &handy);
    let of = compared
        .liquid
        .as_ref()
        .map(|l| format!(" of {l}"))
        .unwrap_or_default();
    let title = format!("{}{of}", words(&compared.quantity));
    Some(Drawing {
        name: slug(&format!("values-{title}")),
        caption: caption(compared),
        description: rows
            .iter()
            .map(|(name, text)| format!("{name}: {text}"))
            .collect::<Vec<_>>()
            .join("; "),
        title,
        content: svg.finish(),
        width: WIDTH.round() as u32,
        height: (bottom + FOOT).ceil() as u32,
    })
}

/// The run, with the body where a run has several.
pub fn named(entry: &Entry, several: bool) -> String {
    if several {
        format!("{}, body {}", entry.run, entry.body)
    } else {
        entry.run.clone()
    }
}

fn said(entry: &Entry, unit: &str) -> String {
    let text = shown(entry.value, Some(entry.standard_uncertainty), unit).text();
    if entry.disagrees {
        format!("{text}, disagrees")
    } else {
        text
    }
}

fn caption(compared: &Compared) -> String {
    let bars = "Each run with 95 % bars: thick what it has alone, thin all of its uncertainty, which runs may share.";
    match &compared.mean {
        Some(_) => format!(
            "{bars} The band is the 95 % interval of the mean; a run in an open square disagrees with the others."
        ),
        None => bars.to_owned(),
    }
}

fn axis(svg: &mut Svg, compared: &Compared, handy: &Handy, scale: &Scale, bottom: f64) {
    if let Some(mean) = &compared.mean {
        let [low, high] = mean.interval_95.map(|end| scale.place(handy.value(end)));
        let (x, w, h) = (number(low), number(high - low), number(bottom - TOP));
        let place = [
            ("class", "band guide"),
            ("x", x.as_str()),
            ("y", "4"),
            ("width", &w),
            ("height", &h),
        ];
        svg.leaf("rect", &place);
    }
    let ticks = even(scale.low, scale.high, 6);
    for (at, label) in ticks.at.iter().zip(&ticks.labels) {
        let x = scale.place(*at);
        svg.line("grid", [x, TOP], [x, bottom]);
        svg.text("", [x, bottom + 18.0], Anchor::Middle, label);
    }
    let label = labelled(&words(&compared.quantity).to_lowercase(), &handy.sign());
    let label = match ticks.exponent {
        0 => label,
        e => format!("{label} (×\u{a0}10{})", superscript(e)),
    };
    svg.text(
        "",
        [(scale.start + scale.end) / 2.0, bottom + 38.0],
        Anchor::Middle,
        &label,
    );
}

fn texts(svg: &mut Svg, scale: &Scale, y: f64, name: &str, text: &str) {
    svg.text("strong", [scale.start - 12.0, y + 4.5], Anchor::End, name);
    svg.text("strong", [scale.end + 12.0, y + 4.5], Anchor::Start, text);
}

fn bars(svg: &mut Svg, scale: &Scale, y: f64, entry: &Entry, handy: &Handy) {
    let look = if entry.disagrees {
        Look::Residual
    } else {
        Look::Measured
    };
    let ends = |u: f64| [-1.0, 1.0].map(|sign| scale.place(handy.value(entry.value + sign * COVERAGE * u)));
    let [low, high] = ends(entry.standard_uncertainty);
    svg.line(&format!("bar {}", look.class()), [low, y], [high, y]);
    let [low, high] = ends(entry.own);
    let (x, w, top) = (number(low), number(high - low), number(y - 3.0));
    let class = format!("block {}", look.class());
    svg.leaf(
        "rect",
        &[
            ("class", &class),
            ("x", &x),
            ("y", &top),
            ("width", &w),
            ("height", "6"),
        ],
    );
    let x = scale.place(handy.value(entry.value));
    let (cx, cy) = (number(x), number(y));
    if entry.disagrees {
        let (left, top) = (number(x - 5.0), number(y - 5.0));
        let class = format!("dot {} open", look.class());
        svg.leaf(
            "rect",
            &[
                ("class", &class),
                ("x", &left),
                ("y", &top),
                ("width", "10"),
                ("height", "10"),
            ],
        );
    } else {
        let class = format!("dot {}", look.class());
        svg.leaf(
            "circle",
            &[("class", &class), ("cx", &cx), ("cy", &cy), ("r", "4.5")],
        );
    }
}

fn mean(svg: &mut Svg, compared: &Compared, scale: &Scale, y: f64, handy: &Handy) {
    let Some(mean) = &compared.mean else { return };
    let text = shown(mean.value, Some(mean.standard_uncertainty), &compared.unit).text();
    texts(svg, scale, y, "mean", &text);
    let [low, high] = mean.interval_95.map(|end| scale.place(handy.value(end)));
    let x = scale.place(handy.value(mean.value));
    let diamond = path(&[[low, y], [x, y - 7.0], [high, y], [x, y + 7.0]], true);
    svg.leaf("path", &[("class", "block fitted"), ("d", &diamond)]);
    if let Some(reference) = &mean.reference {
        let y = y + ROW;
        let text = shown(reference.value, reference.standard_uncertainty, &compared.unit).text();
        texts(svg, scale, y, "expected", &text);
        let half = COVERAGE * reference.standard_uncertainty.unwrap_or(0.0);
        let ends = [-half, half].map(|d| scale.place(handy.value(reference.value + d)));
        svg.line("bar reference", [ends[0], y], [ends[1], y]);
        let x = scale.place(handy.value(reference.value));
        let triangle = path(&[[x, y - 6.0], [x + 5.5, y + 4.0], [x - 5.5, y + 4.0]], true);
        svg.leaf("path", &[("class", "dot reference"), ("d", &triangle)]);
    }
}
