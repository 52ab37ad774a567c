//! A release: the support goes, the body swings and rings down.
//!
//! Modes are exact viscous roots in the gas; the start shape is expanded in Legendre polynomials; the course is the sum of its modes to first order, and the
//! finite swing is told as the shift of its frequency. Rows follow the order of events.

mod held;

use std::f64::consts::{PI, TAU};

use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::clip::StartForm;
use tremolet_record::sheet::{Curve, Group, Moment, Shape};
use tremolet_theory::course::{Around, Course};
use tremolet_theory::error::TheoryError;
use tremolet_theory::modes::amplitude::frequency_factor;
use tremolet_theory::modes::error::ModeError;
use tremolet_theory::modes::host::{Pair, root};
use tremolet_theory::modes::viscous::{Motion, motion};
use tremolet_theory::release::flattest::{FirstSwing, first_swing};
use tremolet_theory::release::start::{StartModes, StartShape};
use tremolet_theory::release::throw::largest_share;
use tremolet_theory::release::wanes::{small_from, time_to_share, validity};

use crate::given::{Given, free, pair};
use crate::row::{HZ, MS, NUMBER, PER_S, PERCENT, S, group, row};

/// Modes that a ring-down is expected to show.
pub const DEGREES: [u32; 3] = [2, 3, 4];
/// Highest degree of the start shape.
const HIGHEST: u32 = 12;
/// Share of the amplitude at which a swing counts as over.
const OVER: f64 = 0.1;
/// Amplitude below which linear theory is good to a thousandth of the frequency: 0.6 eps^2.
const SMALL: f64 = 0.04;
/// Aspect ratio of a start that the file does not state.
pub const ASPECT: f64 = 1.1;

/// What is expected of a release.
#[derive(Debug, Clone)]
pub struct Expected {
    /// Tables.
    pub groups: Vec<Group>,
    /// Time strip.
    pub moments: Vec<Moment>,
    /// Shapes.
    pub shapes: Vec<Shape>,
    /// Courses.
    pub curves: Vec<Curve>,
    /// Greatest half width of the body over its radius.
    pub reach: f64,
    /// Speed of the surface at most, m/s.
    pub speed: f64,
}

/// Everything about the release of this run; `None` where the drop itself is not known.
pub fn release(given: &Given<'_>) -> Option<Expected> {
    let pair = given.pair()?;
    let begun = begun(given, &pair).ok();
    let mut groups = vec![modes(given), start(given, begun.as_ref())];
    groups.extend(support(given, &pair));
    let (mut moments, mut shapes, mut curves) = (Vec::new(), Vec::new(), Vec::new());
    let (mut reach, mut speed) = (1.2, 0.0);
    if let Some((start, course)) = &begun {
        let swing = first_swing(&free(&pair), course).ok();
        groups.push(swings(given, &pair, start, swing.as_ref()));
        moments = strip(given, &pair, start, swing.as_ref());
        shapes = outlines(&pair, course, swing.as_ref());
        curves = courses(given, &pair, course);
        reach = shapes
            .iter()
            .flat_map(|shape| &shape.outlines)
            .flatten()
            .map(|p| p[0].hypot(p[1]))
            .fold(pair.radius, f64::max)
            / pair.radius;
        speed = fastest(&pair, start);
    }
    Some(Expected {
        groups,
        moments,
        shapes,
        curves,
        reach,
        speed,
    })
}

/// Frequencies, decays and how long they last.
pub fn modes(given: &Given<'_>) -> Group {
    let inputs = given.drop_inputs();
    let mut rows = Vec::new();
    for n in DEGREES {
        let of = |pick: fn(tremolet_theory::modes::host::Root) -> f64| {
            move |x: &[f64]| root(n, &pair(x)).map(pick)
        };
        let exact = "root of the viscous problem in the gas";
        rows.push(
            row(
                format!("frequency_{n}"),
                format!("frequency of degree {n}"),
                exact,
                "[MillerScriven1968]",
            )
            .of(HZ, &inputs, of(|mode| mode.angular_frequency / TAU)),
        );
        rows.push(
            row(
                format!("decay_{n}"),
                format!("decay rate of degree {n}"),
                exact,
                "[MillerScriven1968]",
            )
            .of(PER_S, &inputs, of(|mode| mode.decay)),
        );
        rows.push(
            row(
                format!("lasts_{n}"),
                format!("time until a tenth of the swing of degree {n} is left"),
                "t = ln 10 / decay rate",
                "[MillerScriven1968]",
            )
            .of(S, &inputs, |x| time_to_share(n, &pair(x), OVER)),
        );
    }
    rows.push(
        row(
            "ohnesorge",
            "Ohnesorge number; degree 2 does not swing above 0.77 (in vacuum)",
            "Oh = mu/sqrt(rho sigma R)",
            "[Reid1960]",
        )
        .of(NUMBER, &inputs, |x| free(&pair(x)).ohnesorge())
        .noted(swings_at_all(given)),
    );
    group("Modes of the free drop", rows)
}

fn swings_at_all(given: &Given<'_>) -> &'static str {
    let oh = given.drop().and_then(|drop| drop.ohnesorge().ok());
    match oh.map(|oh| motion(2, oh)) {
        Some(Ok(Motion::Aperiodic { .. })) => "this drop creeps back and does not swing",
        _ => "",
    }
}

/// The start shape, its modes and its energy.
fn start(given: &Given<'_>, begun: Option<&(StartModes, Course)>) -> Group {
    let release = given.experiment.release.as_ref();
    let stated = release.and_then(|r| r.aspect_ratio.as_ref());
    let note = if stated.is_some() {
        ""
    } else {
        "not stated: 1.1 taken"
    };
    let mut rows = vec![
        row(
            "aspect_ratio",
            "length over diameter when let go",
            "as stated",
            "[release] aspect_ratio",
        )
        .number(NUMBER, stated.map_or(ASPECT, Uncertain::value))
        .noted(note),
    ];
    let Some((start, _)) = begun else {
        return group("Shape when let go", rows);
    };
    for n in [2_u32, 4, 6, 8] {
        let value = start.amplitudes.get(n as usize).copied().unwrap_or(0.0);
        if n > 4 && value.abs() < 1e-4 {
            continue;
        }
        rows.push(
            row(
                format!("amplitude_{n}"),
                format!("amplitude of degree {n} at the start, over the radius"),
                "a_n = (n + 1/2) int r P_n dm / R",
                "[DLMF]",
            )
            .number(PERCENT, value),
        );
    }
    rows.push(
        row(
            "surface_excess",
            "surface above that of the sphere",
            "A/(4 pi R^2) - 1",
            "geometry",
        )
        .number(PERCENT, start.excess),
    );
    rows.push(
        row("largest_thrown", "largest share of the volume whose splitting off that surface could pay", "(1-f)^(2/3) + f^(2/3) - 1 = A/(4 pi R^2) - 1", "energy, own criterion")
            .fallible(PERCENT, largest_share(start.excess))
            .noted("a necessary condition, no law: less than this cannot be thrown off; whether it is, the waves decide"),
    );
    group("Shape when let go", rows)
}

/// Largest flattening, shift of the frequency, when linear theory stops.
fn swings(given: &Given<'_>, drop: &Pair, start: &StartModes, swing: Option<&FirstSwing>) -> Group {
    let eps = start.amplitudes.get(2).copied().unwrap_or(0.0);
    let mut rows = Vec::new();
    if let Some(swing) = swing {
        let first = "first-order sum of the modes";
        rows.push(
            row(
                "flattest",
                "least length over diameter in the first swing",
                first,
                "[Rayleigh1879], [Prosperetti1980]",
            )
            .number(NUMBER, swing.flattest.aspect)
            .valid(&small(start)),
        );
        rows.push(
            row("flattest_time", "when", first, "[Prosperetti1980]")
                .number(MS, swing.flattest.time)
                .valid(&small(start)),
        );
        rows.push(
            row(
                "longest",
                "greatest length over diameter in the first swing",
                first,
                "[Prosperetti1980]",
            )
            .number(NUMBER, swing.longest.aspect)
            .valid(&small(start)),
        );
    }
    rows.push(
        row(
            "shift_2",
            "frequency of degree 2 at the first swing against that of small ones",
            "w/w_2 - 1 = k_2 eps^2",
            "[TsamopoulosBrown1983]",
        )
        .fallible(PERCENT, frequency_factor(2, eps).map(|factor| factor - 1.0))
        .valid_if(validity(2, drop, eps, 0.0)),
    );
    rows.push(
        row(
            "small_from",
            "time from which on the shift of degree 2 is below a thousandth",
            "t = ln(eps/0.04) / decay rate",
            "[TsamopoulosBrown1983], [MillerScriven1968]",
        )
        .of(S, &given.drop_inputs(), |x| {
            if eps == 0.0 {
                Ok(0.0)
            } else {
                small_from(2, &pair(x), eps, SMALL)
            }
        }),
    );
    group("Swings", rows)
}

fn small(start: &StartModes) -> tremolet_theory::validity::Validity {
    let sum: f64 = start.amplitudes.iter().skip(2).map(|a| a.abs()).sum();
    tremolet_theory::validity::Validity::always().with("sum of the amplitudes over radius", sum, 0.0, 0.1)
}

/// What holds the drop before, and how fast it goes.
fn support(given: &Given<'_>, drop: &Pair) -> Vec<Group> {
    let Some(release) = &given.experiment.release else {
        return Vec::new();
    };
    let mut groups = Vec::new();
    if let Some(time) = &release.removal_time {
        let inputs = given.drop_inputs();
        let [r, t, d, v, gd, gv] = inputs;
        let all = [r, t, d, v, gd, gv, ("release.removal_time", Some(time))];
        let share =
            |n: u32| move |x: &[f64]| root(n, &pair(x)).map(|mode| x[6] * mode.angular_frequency / TAU);
        let rows = DEGREES.map(|n| {
            let said = row(
                format!("removal_{n}"),
                format!("removal time over the period of degree {n}"),
                "t f_n",
                "common practice, no published source: let go at one instant below a tenth",
            )
            .of(PERCENT, &all, share(n));
            let late = said.value().is_some_and(|share| share > 0.1);
            if late {
                said.marked(
                    tremolet_record::sheet::Mark::Marginal,
                    "the support goes so slowly that this mode starts smaller than the shape says",
                )
            } else {
                said
            }
        });
        groups.push(group("Removal of the support", rows.into()));
    }
    if let Some(rim) = &release.support_radius {
        groups.push(held::held_drop(given, drop, release.support, rim));
    }
    groups
}

/// The start shape in modes and the course that follows.
///
/// # Errors
/// [`TheoryError`] for a shape or a drop that cannot be.
pub fn begun(given: &Given<'_>, drop: &Pair) -> Result<(StartModes, Course), TheoryError> {
    let release = given.experiment.release.as_ref();
    let aspect = release
        .and_then(|r| r.aspect_ratio.as_ref())
        .map_or(ASPECT, Uncertain::value);
    let form = release.and_then(|r| r.shape).unwrap_or(StartForm::Spheroid);
    // A spheroid of aspect q and radius R: across 2 R q^(-1/3). A cylinder is scaled to the volume afterwards.
    let diameter = 2.0 * drop.radius * aspect.powf(-1.0 / 3.0);
    let length = aspect * diameter;
    let shape = match form {
        StartForm::Spheroid => StartShape::Spheroid { length, diameter },
        StartForm::RoundedCylinder => {
            let edge = release
                .and_then(|r| r.edge.as_ref())
                .map_or(diameter / 4.0, Uncertain::value);
            StartShape::RoundedCylinder {
                length,
                diameter,
                edge: edge.min(diameter.min(length) / 2.0),
            }
        }
    };
    let start = shape.modes(HIGHEST)?;
    let around = Around {
        density: drop.host_density,
        viscosity: drop.host_viscosity,
    };
    // Amplitudes are shares of the radius: the beginnings are those of the stated volume.
    let scaled = StartModes {
        radius: drop.radius,
        ..start
    };
    let course = Course::within(&free(drop), &around, &scaled.beginnings())?;
    Ok((scaled, course))
}

/// The highest speed of the surface, m/s: sum of the amplitudes times their frequencies.
fn fastest(drop: &Pair, start: &StartModes) -> f64 {
    let speed = |n: u32| -> Result<f64, ModeError> {
        let a = start.amplitudes.get(n as usize).copied().unwrap_or(0.0);
        Ok(a.abs() * drop.radius * root(n, drop)?.angular_frequency)
    };
    (2..=HIGHEST).filter_map(|n| speed(n).ok()).sum()
}

fn strip(given: &Given<'_>, drop: &Pair, start: &StartModes, swing: Option<&FirstSwing>) -> Vec<Moment> {
    let at = |time: f64, text: String| Moment {
        time,
        until: None,
        text,
    };
    let mut moments = vec![at(0.0, "let go".into())];
    if let Some(swing) = swing {
        moments.push(at(
            swing.flattest.time,
            format!("flattest: {:.3}", swing.flattest.aspect),
        ));
    }
    for n in DEGREES {
        if let Ok(time) = time_to_share(n, drop, OVER) {
            moments.push(Moment {
                time: 0.0,
                until: Some(time),
                text: format!("degree {n} to a tenth"),
            });
        }
    }
    let eps = start.amplitudes.get(2).copied().unwrap_or(0.0);
    if eps != 0.0
        && let Ok(time) = small_from(2, drop, eps, SMALL)
    {
        moments.push(at(time, "from here on small swings".into()));
    }
    if let Some(time) = &given.time {
        moments.push(at(time.value(), "end of the available time".into()));
    }
    moments
}

fn outlines(drop: &Pair, course: &Course, swing: Option<&FirstSwing>) -> Vec<Shape> {
    let Ok(mode) = root(2, drop) else {
        return Vec::new();
    };
    let period = if mode.angular_frequency > 0.0 {
        TAU / mode.angular_frequency
    } else {
        1.0 / mode.decay
    };
    let mut instants = vec![
        (0.0, "let go"),
        (period / 4.0, "quarter period"),
        (period, "one period"),
    ];
    if let Some(swing) = swing {
        instants.push((swing.flattest.time, "flattest"));
    }
    instants.sort_by(|a, b| a.0.total_cmp(&b.0));
    instants.dedup_by(|b, a| (a.0 - b.0).abs() < 1e-6 * period);
    let shape = |(time, label): (f64, &str)| Shape {
        time,
        label: label.into(),
        outlines: vec![outline(drop.radius, |theta| course.displacement(theta, time))],
    };
    instants.into_iter().map(shape).collect()
}

/// The closed outline of a sphere with a displacement, `[across, along]`, m.
pub fn outline(radius: f64, displacement: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
    let point = |k: usize| {
        let angle = TAU * k as f64 / 180.0;
        let theta = if angle > PI { TAU - angle } else { angle };
        let r = radius + displacement(theta);
        [r * angle.sin(), r * angle.cos()]
    };
    (0..=180).map(point).collect()
}

fn courses(given: &Given<'_>, drop: &Pair, course: &Course) -> Vec<Curve> {
    let Ok(mode) = root(2, drop) else {
        return Vec::new();
    };
    let frequency = mode.angular_frequency.max(mode.decay) / TAU;
    let end = given
        .time
        .as_ref()
        .map_or(f64::INFINITY, Uncertain::value)
        .min(12.0 / frequency);
    let curve = |n: u32| Curve {
        name: format!("degree {n}"),
        axis: "amplitude over radius".into(),
        points: (0..=600)
            .map(|k| {
                let t = end * f64::from(k) / 600.0;
                [t, course.amplitude(n, t) / drop.radius]
            })
            .collect(),
    };
    DEGREES
        .iter()
        .filter(|n| course.amplitude(**n, 0.0).abs() > 1e-9 * drop.radius)
        .map(|n| curve(*n))
        .collect()
}
