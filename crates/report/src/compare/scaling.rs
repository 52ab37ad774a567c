//! Figures of scaling: frequency against size, frequency and decay against the rates that theory scales them with, what is left of them, and
//! the courses of an amplitude over each other.

use std::f64::consts::TAU;

use tremolet_record::comparison::{Comparison, ScaledMode};

use crate::figure::chart::{Axis, COVERAGE, Chart, Drawing, Mark, Panel, Sample};
use crate::figure::draw::draw;
use crate::figure::look::Look;
use crate::plot::amplitude::WIDTH;

/// Looks of liquids or runs, in their order; from the fifth on they begin anew.
const LOOKS: [Look; 4] = [Look::Measured, Look::Residual, Look::Fitted, Look::Reference];

/// Amplitudes of one degree of one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Name of the run, with the body where there are several.
    pub name: String,
    /// Degree n.
    pub degree: u32,
    /// Points (time from the first free frame in s, amplitude over R).
    pub points: Vec<[f64; 2]>,
    /// Capillary rate of its drop, 1/s, where it is known.
    pub capillary_rate: Option<f64>,
}

/// All figures of scaling that there are numbers for.
pub fn figures(comparison: &Comparison, courses: &[Course]) -> Vec<Drawing> {
    let modes = &comparison.scaling;
    let mut all: Vec<Drawing> = [
        against_size(modes),
        against_rate(modes),
        left(modes),
        decay(modes),
    ]
    .into_iter()
    .flatten()
    .collect();
    all.extend(overlaid(courses, false));
    all.extend(overlaid(courses, true));
    all
}

fn degrees(modes: &[ScaledMode]) -> Vec<u32> {
    let mut all: Vec<u32> = modes.iter().map(|m| m.degree).collect();
    all.sort_unstable();
    all.dedup();
    all
}

fn liquids(modes: &[ScaledMode]) -> Vec<&str> {
    let mut all: Vec<&str> = Vec::new();
    for mode in modes {
        if !all.contains(&mode.liquid.as_str()) {
            all.push(&mode.liquid);
        }
    }
    all
}

fn legend(liquids: &[&str], line: &str) -> Vec<(Sample, String)> {
    let dots = liquids.iter().zip(LOOKS.iter().cycle());
    let dots = dots.map(|(liquid, look)| (Sample::Dot(*look), (*liquid).to_owned()));
    dots.chain([(Sample::Line(Look::Guide), line.to_owned())])
        .collect()
}

/// Dots with 95 % bars, one set for each liquid.
fn dots(
    modes: &[&ScaledMode],
    liquids: &[&str],
    point: impl Fn(&ScaledMode) -> Option<([f64; 2], f64)>,
) -> Vec<Mark> {
    let of = |(liquid, look): (&&str, &Look)| {
        let (points, bars) = modes
            .iter()
            .filter(|m| m.liquid == *liquid)
            .filter_map(|m| point(m))
            .map(|(p, u)| (p, COVERAGE * u))
            .unzip();
        Mark::Points(*look, points, bars)
    };
    liquids.iter().zip(LOOKS.iter().cycle()).map(of).collect()
}

fn ends(points: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    crate::figure::scale::extent(points).map(|range| crate::figure::scale::widened(range, 0.08))
}

fn against_size(modes: &[ScaledMode]) -> Option<Drawing> {
    let liquids = liquids(modes);
    let (low, high) = ends(modes.iter().map(|m| 1e3 * m.radius))?;
    let mut panels = Vec::new();
    let degrees = degrees(modes);
    for (i, &n) in degrees.iter().enumerate() {
        let own: Vec<&ScaledMode> = modes.iter().filter(|m| m.degree == n).collect();
        let mut marks: Vec<Mark> = liquids
            .iter()
            .filter_map(|liquid| curve(&own, liquid, (low, high)))
            .collect();
        marks.extend(dots(&own, &liquids, |m| {
            Some((
                [1e3 * m.radius, m.frequency.value],
                m.frequency.standard_uncertainty.unwrap_or(0.0),
            ))
        }));
        panels.push(Panel {
            name: format!("Degree {n}"),
            height: 130.0,
            x: Axis {
                label: "radius / mm".into(),
                low,
                high,
                ..Axis::default()
            },
            y: Axis::around("frequency / Hz", own.iter().map(|m| m.frequency.value)),
            marks,
            x_written: i + 1 == degrees.len(),
            y_ticks: 4,
        });
    }
    Some(draw(&Chart {
        name: "frequency-against-size".into(),
        title: "Frequency against size".into(),
        caption: "Each mode of each run; the line is Rayleigh's frequency for the surface tension and density expected of the liquid, without \
                  viscosity and gas."
            .into(),
        description: listed(modes, |m| format!("{:.2} mm {:.3} Hz", 1e3 * m.radius, m.frequency.value)),
        width: WIDTH,
        panels,
        legend: legend(&liquids, "expected, inviscid"),
    }))
}

/// Rayleigh's frequency over size for one liquid: its mean `sigma / rho` from the capillary rates.
fn curve(modes: &[&ScaledMode], liquid: &str, (low, high): (f64, f64)) -> Option<Mark> {
    let own: Vec<&&ScaledMode> = modes.iter().filter(|m| m.liquid == liquid).collect();
    let first = own.first()?;
    let over: f64 = own
        .iter()
        .map(|m| m.capillary_rate[0].powi(2) * m.radius.powi(3))
        .sum::<f64>()
        / own.len() as f64;
    let at = |k: i32| {
        let radius = low + (high - low) * f64::from(k) / 60.0;
        [
            radius,
            first.inviscid * (over / (1e-3 * radius).powi(3)).sqrt() / TAU,
        ]
    };
    Some(Mark::Path(Look::Guide, (0..=60).map(at).collect()))
}

fn against_rate(modes: &[ScaledMode]) -> Option<Drawing> {
    let liquids = liquids(modes);
    let all: Vec<&ScaledMode> = modes.iter().collect();
    let (low, high) = ends(modes.iter().map(|m| m.capillary_rate[0]))?;
    let mut marks = Vec::new();
    for n in degrees(modes) {
        let slope = modes
            .iter()
            .find(|m| m.degree == n)
            .map_or(f64::NAN, |m| m.inviscid);
        marks.push(Mark::Path(
            Look::Guide,
            vec![[low, slope * low], [high, slope * high]],
        ));
        marks.push(Mark::Word(
            [low + 0.002 * (high - low), slope * low],
            format!("n = {n}"),
        ));
    }
    marks.extend(dots(&all, &liquids, |m| {
        Some((
            [m.capillary_rate[0], TAU * m.frequency.value],
            TAU * m.frequency.standard_uncertainty.unwrap_or(0.0),
        ))
    }));
    let panel = Panel {
        name: String::new(),
        height: 300.0,
        x: Axis {
            label: "√(σ/ρR³) / (1/s)".into(),
            low,
            high,
            ..Axis::default()
        },
        y: Axis::around(
            "angular frequency / (rad/s)",
            modes.iter().map(|m| TAU * m.frequency.value),
        ),
        marks,
        x_written: true,
        y_ticks: 6,
    };
    Some(draw(&Chart {
        name: "frequency-against-capillary-rate".into(),
        title: "All sizes and liquids on one line for each degree".into(),
        caption: "Angular frequency against the capillary rate of the drop: theory puts every liquid and size on the line of slope \
                  √(n(n−1)(n+2)) of its degree."
            .into(),
        description: listed(modes, |m| format!("reduced frequency {:.4}", m.reduced_frequency[0])),
        width: WIDTH,
        panels: vec![panel],
        legend: legend(&liquids, "expected, inviscid"),
    }))
}

fn left(modes: &[ScaledMode]) -> Option<Drawing> {
    let liquids = liquids(modes);
    let (low, high) = ends(modes.iter().map(|m| 1e3 * m.radius))?;
    let off = |m: &ScaledMode| {
        let due = m.expected.unwrap_or(m.inviscid);
        (
            [1e3 * m.radius, 1e2 * (m.reduced_frequency[0] / due - 1.0)],
            1e2 * m.reduced_frequency[1] / due,
        )
    };
    let degrees = degrees(modes);
    let panel = |(i, &n): (usize, &u32)| {
        let own: Vec<&ScaledMode> = modes.iter().filter(|m| m.degree == n).collect();
        let reach = own.iter().flat_map(|m| {
            let ([_, y], u) = off(m);
            [y - COVERAGE * u, y + COVERAGE * u, 0.0]
        });
        let mut marks = vec![Mark::Level(Look::Guide, 0.0)];
        let y = Axis::around("off / %", reach);
        marks.extend(dots(&own, &liquids, |m| Some(off(m))));
        Panel {
            name: format!("Degree {n}"),
            height: 100.0,
            x: Axis {
                label: "radius / mm".into(),
                low,
                high,
                ..Axis::default()
            },
            y,
            marks,
            x_written: i + 1 == degrees.len(),
            y_ticks: 4,
        }
    };
    Some(draw(&Chart {
        name: "frequency-less-expected".into(),
        title: "What is left of the frequency".into(),
        caption: "Frequency over the one expected by the exact root, with viscosity and gas, less one. Bars are 95 % with what runs share in \
                  them: runs of one calibration move together. 1 % of frequency is 2 % of surface tension or 0.7 % of length."
            .into(),
        description: listed(modes, |m| format!("{:+.3} %", off(m).0[1])),
        width: WIDTH,
        panels: degrees.iter().enumerate().map(panel).collect(),
        legend: legend(&liquids, "as expected"),
    }))
}

fn decay(modes: &[ScaledMode]) -> Option<Drawing> {
    let modes: Vec<ScaledMode> = modes
        .iter()
        .filter(|m| m.viscous_rate.is_some())
        .cloned()
        .collect();
    let liquids = liquids(&modes);
    let rate = |m: &ScaledMode| m.viscous_rate.map_or(f64::NAN, |v| v[0]);
    let (low, high) = ends(modes.iter().map(rate))?;
    let degrees = degrees(&modes);
    let panel = |(i, &n): (usize, &u32)| {
        let own: Vec<&ScaledMode> = modes.iter().filter(|m| m.degree == n).collect();
        let slope = f64::from((n - 1) * (2 * n + 1));
        let mut expected: Vec<[f64; 2]> = own
            .iter()
            .filter_map(|m| Some([rate(m), m.expected_decay? * rate(m)]))
            .collect();
        expected.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let u = |m: &&ScaledMode| m.decay_rate.standard_uncertainty.unwrap_or(0.0);
        let reach = own.iter().flat_map(|m| {
            let half = COVERAGE * u(m);
            [
                m.decay_rate.value - half,
                m.decay_rate.value + half,
                slope * rate(m),
            ]
        });
        let y = Axis::around("decay rate / (1/s)", reach.chain(expected.iter().map(|p| p[1])));
        let mut marks = vec![
            Mark::Path(Look::Guide, vec![[low, slope * low], [high, slope * high]]),
            Mark::Path(Look::Reference, expected),
        ];
        marks.extend(dots(&own, &liquids, |m| {
            Some(([rate(m), m.decay_rate.value], u(&m)))
        }));
        Panel {
            name: format!("Degree {n}"),
            height: 130.0,
            x: Axis {
                label: "ν/R² / (1/s)".into(),
                low,
                high,
                ..Axis::default()
            },
            y,
            marks,
            x_written: i + 1 == degrees.len(),
            y_ticks: 4,
        }
    };
    let mut legend = legend(&liquids, "Lamb, little viscosity and no gas");
    legend.push((Sample::Line(Look::Reference), "exact root, with gas".into()));
    Some(draw(&Chart {
        name: "decay-against-viscous-rate".into(),
        title: "Decay against ν/R²".into(),
        caption: "Decay rate of each mode against the viscous rate of its drop for the viscosity expected of the liquid. Points above both lines \
                  are damped by something else, such as a film on the surface."
            .into(),
        description: listed(&modes, |m| format!("decay {:.4} 1/s", m.decay_rate.value)),
        width: WIDTH,
        panels: degrees.iter().enumerate().map(panel).collect(),
        legend,
    }))
}

fn listed(modes: &[ScaledMode], say: impl Fn(&ScaledMode) -> String) -> String {
    let one = |m: &ScaledMode| format!("{} degree {}: {}", m.run, m.degree, say(m));
    modes.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// The lowest degree that two runs or more show, over each other: in seconds, or on the clock of each drop.
fn overlaid(courses: &[Course], capillary: bool) -> Option<Drawing> {
    let degree = courses.iter().map(|c| c.degree).min()?;
    let clock = |c: &Course| if capillary { c.capillary_rate } else { Some(1.0) };
    let own: Vec<(&Course, f64)> = courses
        .iter()
        .filter(|c| c.degree == degree && !c.points.is_empty())
        .filter_map(|c| Some((c, clock(c)?)))
        .collect();
    if own.len() < 2 {
        return None;
    }
    let scaled =
        |(c, rate): &(&Course, f64)| c.points.iter().map(|p| [p[0] * rate, p[1]]).collect::<Vec<_>>();
    let lines: Vec<Vec<[f64; 2]>> = own.iter().map(scaled).collect();
    let last = lines
        .iter()
        .filter_map(|l| l.last())
        .map(|p| p[0])
        .fold(0.0, f64::max);
    let label = if capillary {
        "time × √(σ/ρR³)"
    } else {
        "time from the first free frame / s"
    };
    let heights = crate::figure::scale::extent(lines.iter().flatten().map(|p| p[1]))?;
    let panel = |i: usize| Panel {
        name: own[i].0.name.clone(),
        height: 70.0,
        x: Axis {
            label: label.into(),
            low: 0.0,
            high: last,
            ..Axis::default()
        },
        y: Axis::around(
            format!("a{}", crate::text::subscript(degree)),
            [heights.0, heights.1],
        ),
        marks: vec![
            Mark::Level(Look::Guide, 0.0),
            Mark::Line(Look::Measured, lines[i].clone()),
        ],
        x_written: i + 1 == own.len(),
        y_ticks: 3,
    };
    let (name, title) = if capillary {
        ("courses-on-capillary-time", "On the clock of each drop")
    } else {
        ("courses-in-seconds", "On one clock")
    };
    Some(draw(&Chart {
        name: name.into(),
        title: format!("{title}: amplitude of degree {degree}"),
        caption: if capillary {
            "The same with time in units of the capillary time of each drop: modes of all sizes swing in step, and what differs is damping and start."
                .into()
        } else {
            "Amplitude over radius of each run, from its first free frame on.".into()
        },
        description: own
            .iter()
            .map(|(c, _)| format!("{}: {} points", c.name, c.points.len()))
            .collect::<Vec<_>>()
            .join("; "),
        width: WIDTH,
        panels: (0..own.len()).map(panel).collect(),
        legend: Vec::new(),
    }))
}
