//! Pictures of the telling instants of a simulated run: cuts along the axis, all at one scale, liquid dark and gas light.
//!
//! ```text
//! dark where a line across the axis at this height has met an odd number of surfaces
//! ```
//! A cut shows bubbles and craters, which a silhouette hides. Chosen are the first and last instant, the longest and flattest of the first body, and those after
//! each parting or joining, up to eight. It computes nothing.

use tremolet_clip::encode::png_rgb;
use tremolet_record::folder::RunFolder;
use tremolet_simulate::event::{Event, Kind};
use tremolet_simulate::run::Run;

use crate::error::StudyError;
use crate::simulate::bodies::{Body, Shape};
use crate::tables::told::Instant;

/// Longer side of a picture, px; the least of the shorter.
const LONG: f64 = 300.0;
const SHORT: f64 = 140.0;
/// Share of the picture that is left free about what moves.
const MARGIN: f64 = 0.08;
/// Lines across a pixel, and parts of it along them.
const FINE: usize = 4;
/// Most pictures.
const MOST: usize = 8;
/// Colours of gas and liquid.
const GAS: [f64; 3] = [244.0, 245.0, 247.0];
const LIQUID: [f64; 3] = [52.0, 92.0, 128.0];

/// Draws the pictures into the folder; the rows for its table of instants.
///
/// # Errors
/// When a file cannot be written.
pub fn pictures(folder: &RunFolder, bodies: &[Body], done: &Run) -> Result<Vec<Instant>, StudyError> {
    let Some(view) = View::of(bodies) else {
        return Ok(Vec::new());
    };
    let mut all = Vec::new();
    for (number, (instant, caption)) in (1..).zip(chosen(bodies, done)) {
        let shapes: Vec<&Shape> = bodies
            .iter()
            .flat_map(|body| body.shapes.iter().filter(|s| s.instant == instant))
            .collect();
        let file = format!("figures/instant-{number}.png");
        folder.write(&file, &png_rgb(view.size[0], view.size[1], &view.cut(&shapes))?)?;
        all.push(Instant {
            file,
            size: view.size,
            frame: instant as u64,
            time: done.samples[instant].time,
            caption,
        });
    }
    Ok(all)
}

/// The instants with what they show, in order.
fn chosen(bodies: &[Body], done: &Run) -> Vec<(usize, String)> {
    let last = done.samples.len().saturating_sub(1);
    let mut all = vec![
        (0, "As it begins.".to_string()),
        (last, "The last instant.".to_string()),
    ];
    let swing: Vec<(usize, f64)> = bodies
        .first()
        .map(|body| &body.shapes[..])
        .unwrap_or_default()
        .iter()
        .filter_map(|s| Some((s.instant, *s.amplitudes.as_ref()?.get(2)?)))
        .collect();
    let by = |a: &&(usize, f64), b: &&(usize, f64)| a.1.total_cmp(&b.1);
    if let (Some(flattest), Some(longest)) = (swing.iter().min_by(by), swing.iter().max_by(by)) {
        all.push((flattest.0, "Flattest along its axis.".into()));
        all.push((longest.0, "Longest along its axis.".into()));
    }
    let after = |event: &Event| {
        let instant = done.samples.partition_point(|s| s.time < event.time).min(last);
        let what = match event.kind {
            Kind::PinchOff => "parted",
            Kind::Merger => "ran together",
        };
        (
            instant,
            format!("The first instant after liquid {what} at {:.4} s.", event.time),
        )
    };
    all.extend(done.checkpoint.events.iter().map(after));
    let mut kept: Vec<(usize, String)> = Vec::new();
    for one in all {
        if kept.len() < MOST && !kept.iter().any(|(instant, _)| *instant == one.0) {
            kept.push((one.0, format!("{} A cut along the axis, liquid dark.", one.1)));
        }
    }
    kept.sort_by_key(|(instant, _)| *instant);
    kept
}

/// What all pictures show.
struct View {
    size: [usize; 2],
    per_px: f64,
    top: f64,
}

impl View {
    /// Room for all that moves; nothing where there are no bodies.
    fn of(bodies: &[Body]) -> Option<Self> {
        let points = bodies.iter().flat_map(|body| &body.shapes).flat_map(|s| {
            let origin = s.origin;
            s.meridian.iter().map(move |[z, rho]| [z + origin, *rho])
        });
        let ([low, high], wide) = points.fold(
            ([f64::MAX, f64::MIN], 0.0_f64),
            |([low, high], wide), [z, rho]| ([low.min(z), high.max(z)], wide.max(rho)),
        );
        let (tall, wide) = (high - low, 2.0 * wide);
        if !(tall > 0.0 && wide > 0.0) {
            return None;
        }
        let per_px = tall.max(wide) * (1.0 + 2.0 * MARGIN) / LONG;
        let side = |length: f64| {
            (length * (1.0 + 2.0 * MARGIN) / per_px)
                .clamp(SHORT, LONG)
                .round()
        };
        let size = [side(wide), side(tall)];
        Some(Self {
            size: size.map(|side| side as usize),
            per_px,
            top: 0.5 * (high + low) + 0.5 * size[1] * per_px,
        })
    }

    /// The cut, red, green and blue, row by row.
    fn cut(&self, shapes: &[&Shape]) -> Vec<u8> {
        let [width, height] = self.size;
        let mut rgb = Vec::with_capacity(3 * width * height);
        for y in 0..height {
            let mut dark = vec![0.0; width];
            for line in 0..FINE {
                let down = y as f64 + (line as f64 + 0.5) / FINE as f64;
                self.line(shapes, self.top - down * self.per_px, &mut dark);
            }
            for share in dark {
                rgb.extend([0, 1, 2].map(|i| (GAS[i] + share * (LIQUID[i] - GAS[i])).round() as u8));
            }
        }
        rgb
    }

    /// Adds the liquid along the line at the height `z` to the pixels of a row.
    fn line(&self, shapes: &[&Shape], z: f64, dark: &mut [f64]) {
        let surfaces = shapes
            .iter()
            .flat_map(|body| std::iter::once(*body).chain(&body.bubbles));
        let mut met: Vec<f64> = surfaces.flat_map(|s| crossings(s, z - s.origin)).collect();
        met.sort_by(f64::total_cmp);
        let middle = 0.5 * dark.len() as f64;
        // On either side of the axis: liquid from the axis where an odd number lies further out.
        let mut inside = met.len() % 2 == 1;
        let mut from = 0.0;
        for rho in met {
            if inside {
                for side in [-1.0, 1.0] {
                    let ends = [
                        middle + side * from / self.per_px,
                        middle + side * rho / self.per_px,
                    ];
                    fill(dark, ends[0].min(ends[1]), ends[0].max(ends[1]));
                }
            }
            (inside, from) = (!inside, rho);
        }
    }
}

/// Distances from the axis at which a surface crosses the height `z`.
fn crossings(shape: &Shape, z: f64) -> impl Iterator<Item = f64> + '_ {
    shape.meridian.windows(2).filter_map(move |pair| {
        let ([a, near], [b, far]) = (pair[0], pair[1]);
        let crosses = (a > z) != (b > z);
        crosses.then(|| near + (far - near) * (z - a) / (b - a))
    })
}

/// Adds one line's share of the stretch from `from` to `until` (px) to its pixels.
fn fill(dark: &mut [f64], from: f64, until: f64) {
    let last = dark.len() as f64;
    let (from, until) = (from.clamp(0.0, last), until.clamp(0.0, last));
    let ends = (from.floor() as usize, (until.ceil() as usize).min(dark.len()));
    for (x, share) in dark.iter_mut().enumerate().take(ends.1).skip(ends.0) {
        let covered = until.min(x as f64 + 1.0) - from.max(x as f64);
        *share += covered.max(0.0) / FINE as f64;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_simulate::outside::Outside;

    fn ball(radius: f64, height: f64, bubbles: Vec<Shape>) -> Shape {
        let point = |k: u32| {
            let (sin, cos) = (std::f64::consts::PI * f64::from(k) / 200.0).sin_cos();
            [
                height + radius * cos,
                if k == 0 || k == 200 { 0.0 } else { radius * sin },
            ]
        };
        Shape {
            instant: 0,
            time: 0.0,
            origin: 0.0,
            meridian: (0..=200).map(point).collect(),
            outside: Outside {
                volume: 1.0,
                middle: height,
                area: 1.0,
            },
            amplitudes: None,
            bubbles,
        }
    }

    // Dark area of a disc of radius R less that of one of R/2: 3/4 pi R^2; the picture is R (2 + 4 MARGIN) high.
    #[test]
    fn a_cut_shows_liquid_dark_and_the_bubble_light() {
        let shell = ball(1.0, 0.0, vec![ball(0.5, 0.1, Vec::new())]);
        let body = Body {
            number: 1,
            shapes: vec![shell],
        };
        let view = View::of(std::slice::from_ref(&body)).expect("a view");
        assert_eq!(view.size, [300, 300]);
        let rgb = view.cut(&[&body.shapes[0]]);
        let dark: f64 = rgb
            .chunks(3)
            .map(|pixel| (GAS[0] - f64::from(pixel[0])) / (GAS[0] - LIQUID[0]))
            .sum();
        let due = 0.75 * std::f64::consts::PI / view.per_px.powi(2);
        assert!((dark / due - 1.0).abs() < 5e-3, "{dark} {due}");
        let at = |x: usize, y: usize| f64::from(rgb[3 * (300 * y + x)]);
        assert_eq!([at(150, 140), at(150, 40), at(5, 5)], [GAS[0], LIQUID[0], GAS[0]]);
    }
}
