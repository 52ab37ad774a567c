//! A column: whether it parts, into what, when, and how its ends run together; the last laws of its neck.
//!
//! Growth is that of the exact balance of stress in the gas around; the ends run at Keller's speed. The disturbance at the start decides the time only by its logarithm:
//! where the file states none, a hundredth of the radius is taken and said.

use std::f64::consts::PI;

use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::kinds::Column;
use tremolet_record::sheet::{Alarm, Group, Moment, Shape};
use tremolet_theory::column::breakup::{self, time_from_rest, time_when_growing};
use tremolet_theory::column::fastest::{
    Fastest, fastest, parts, parts_validity, satellites, satellites_validity,
};
use tremolet_theory::column::neck::{self, NeckLaw, handover};
use tremolet_theory::column::retraction::{self, race, thread_speed};
use tremolet_theory::column::thread::Thread;
use tremolet_theory::error::TheoryError;

use crate::camera::swing;
use crate::given::{Given, values};
use crate::row::{Draft, M_S, MM, MS, NUMBER, PER_S, PERCENT, S, UM, group, row, text};
use crate::sheet::OfKind;

/// Disturbance over radius where none is stated.
const DISTURBANCE: f64 = 0.01;

/// Everything about this kind.
pub fn column(given: &Given<'_>) -> OfKind {
    let Some(stated) = &given.experiment.column else {
        let none = row("column", "the column", "-", "-")
            .words("cannot be said")
            .noted("not stated: [column] length, diameter");
        return OfKind {
            groups: vec![group("The column", vec![none])],
            ..OfKind::default()
        };
    };
    let mut found = OfKind {
        long: true,
        ..OfKind::default()
    };
    let start = disturbance(stated);
    let all = inputs(given, stated, start.as_ref());
    let values = values(&all[..6]);
    let thread = values.as_deref().map(of);
    found.groups.push(whole(&all, thread.as_ref(), stated));
    found.groups.push(parting(&all, thread.as_ref(), stated));
    found.groups.push(ends(&all, thread.as_ref(), stated));
    if let Some(thread) = &thread {
        found.groups.push(last(thread));
        let length = stated.length.as_ref().map(Uncertain::value);
        found
            .alarms
            .extend(length.and_then(|length| stays_whole(thread, length)));
        if let (Some(length), Some(start)) = (length, &start) {
            found.moments = strip(thread, length, start.value());
            found.needed = race(thread, length, start.value()).ok().map(|race| {
                1.5 * if race.parts.is_finite() {
                    race.parts
                } else {
                    race.ends_meet
                }
            });
            found.shapes = shapes(thread, length, start.value());
        }
        if let Ok(wave) = fastest(thread) {
            found.swings.extend(swing(
                "growth",
                "the growth of the waves (one e-folding as a period)",
                0,
                Some(wave.growth),
                None,
            ));
            found.swings.extend(rings(given, thread, &wave));
            found.speed =
                retraction::thread_speed(thread.radius, thread.density, thread.tension).unwrap_or(0.0);
        }
        if let (Some(length), Some(r)) = (length, given.radius.as_ref()) {
            found.reach = length / 2.0 / r.value();
        }
    }
    found
}

/// The disturbance, stated or assumed.
fn disturbance(stated: &Column) -> Option<Uncertain> {
    stated
        .disturbance
        .clone()
        .or_else(|| stated.diameter.as_ref().map(|d| d.scaled(DISTURBANCE / 2.0)))
}

fn inputs<'a>(
    given: &'a Given<'_>,
    stated: &'a Column,
    start: Option<&'a Uncertain>,
) -> [(&'static str, Option<&'a Uncertain>); 8] {
    let [_, tension, density, viscosity, gas_density, gas_viscosity] = given.drop_inputs();
    [
        ("column.diameter", stated.diameter.as_ref()),
        tension,
        density,
        viscosity,
        gas_density,
        gas_viscosity,
        ("column.length", stated.length.as_ref()),
        ("column.disturbance", start),
    ]
}

fn of(x: &[f64]) -> Thread {
    Thread {
        radius: x[0] / 2.0,
        tension: x[1],
        density: x[2],
        viscosity: x[3],
        host_density: x[4],
        host_viscosity: x[5],
    }
}

type Inputs<'a> = [(&'static str, Option<&'a Uncertain>); 8];

/// The limit, the waves.
fn whole(all: &Inputs<'_>, thread: Option<&Thread>, stated: &Column) -> Group {
    let liquid = &all[..6];
    let length = stated.length.as_ref().map_or(f64::NAN, Uncertain::value);
    let long = |draft: Draft| match thread {
        Some(thread) => draft.valid(&parts_validity(thread, length)),
        None => draft,
    };
    let exact = "balance of stress, gas around";
    let source = "[Rayleigh1879], [Chandrasekhar1961], [Tomotika1935]";
    group(
        "The column and its waves",
        vec![
            row(
                "ohnesorge",
                "Ohnesorge number by the radius",
                "Oh = mu/sqrt(rho sigma a)",
                "definition",
            )
            .of(NUMBER, liquid, |x| of(x).ohnesorge()),
            row(
                "limit",
                "a column shorter than this between its ends does not part",
                "pi d",
                "[Plateau1873]",
            )
            .of(MM, &all[..1], |x| Ok::<_, TheoryError>(PI * x[0])),
            row(
                "fastest_wavelength",
                "length of the wave that grows fastest",
                exact,
                source,
            )
            .of(MM, liquid, |x| fastest(&of(x)).map(|wave| wave.wavelength)),
            row("fastest_growth", "its rate of growth", exact, source)
                .of(PER_S, liquid, |x| fastest(&of(x)).map(|wave| wave.growth)),
            row(
                "inviscid_growth",
                "the same without viscosity",
                "s^2 = sigma/(rho a^3) x (1 - x^2) I_1/I_0",
                "[Rayleigh1879]",
            )
            .of(PER_S, liquid, |x| {
                let thread = of(x);
                thread.inviscid_growth(fastest(&thread)?.wavelength)
            }),
            long(
                row("drops", "number of main drops", "length over wavelength", source).of(
                    NUMBER,
                    &all[..7],
                    |x| parts(&of(x), x[6]).map(|parts| f64::from(parts.drops)),
                ),
            ),
            long(
                row("spacing", "their distance", "length over number", source)
                    .of(MM, &all[..7], |x| parts(&of(x), x[6]).map(|parts| parts.spacing)),
            ),
            long(
                row(
                    "drop_diameter",
                    "their diameter",
                    "(4/3) pi r^3 = pi a^2 spacing",
                    "volume",
                )
                .of(MM, &all[..7], |x| {
                    parts(&of(x), x[6]).map(|parts| 2.0 * parts.drop_radius)
                }),
            ),
            {
                let draft = row(
                    "satellites",
                    "diameter of satellite drops over that of the main ones",
                    "as seen in experiments",
                    "[RutlandJameson1970], [Lafrance1975] (from memory)",
                )
                .range(PERCENT, [satellites().least, satellites().most]);
                match thread {
                    Some(thread) => draft.valid_if(satellites_validity(thread)),
                    None => draft,
                }
            },
        ],
    )
}

/// When it parts.
fn parting(all: &Inputs<'_>, thread: Option<&Thread>, stated: &Column) -> Group {
    let note = if stated.disturbance.is_some() {
        ""
    } else {
        "disturbance not stated: a hundredth of the radius taken"
    };
    let both = [all[0], all[1], all[2], all[3], all[4], all[5], all[7]];
    let length = stated.length.as_ref().map_or(f64::NAN, Uncertain::value);
    let valid = |draft: Draft| match (thread, all[7].1) {
        (Some(thread), Some(start)) => match fastest(thread) {
            Ok(wave) => draft.valid(&breakup::validity(thread, wave.wavelength, start.value(), length)),
            Err(_) => draft,
        },
        _ => draft,
    };
    let time = |rest: bool| {
        move |x: &[f64]| {
            let thread = of(x);
            let wave = fastest(&thread)?.wavelength;
            if rest {
                time_from_rest(&thread, wave, x[6])
            } else {
                time_when_growing(&thread, wave, x[6])
            }
        }
    };
    group(
        "When it parts",
        vec![
            valid(
                row(
                    "breakup_rest",
                    "time until it parts, waves at rest at first",
                    "eps(t) = a, both motions",
                    "[Weber1931]",
                )
                .of(MS, &both, time(true))
                .noted(note),
            ),
            valid(
                row(
                    "breakup_growing",
                    "the same, waves growing from the start",
                    "ln(a/eps_0)/s",
                    "[Rayleigh1879]",
                )
                .of(MS, &both, time(false))
                .noted(note),
            ),
            row(
                "tenfold",
                "a disturbance ten times smaller delays it by",
                "ln 10/s",
                "[Rayleigh1879]",
            )
            .of(MS, &all[..6], |x| {
                fastest(&of(x)).map(|wave| 10_f64.ln() / wave.growth)
            }),
        ],
    )
}

/// The ends.
fn ends(all: &Inputs<'_>, thread: Option<&Thread>, stated: &Column) -> Group {
    let length = stated.length.as_ref().map_or(f64::NAN, Uncertain::value);
    let valid = |draft: Draft| match thread {
        Some(thread) => draft.valid(&retraction::validity(thread, length)),
        None => draft,
    };
    let run = |x: &[f64]| race(&of(x), x[6], x[7]);
    group(
        "Its ends",
        vec![
            valid(
                row(
                    "end_speed",
                    "speed of a free end",
                    "sqrt(sigma/(rho a))",
                    "[Keller1983]",
                )
                .of(M_S, &all[..6], |x| thread_speed(x[0] / 2.0, x[2], x[1])),
            ),
            valid(
                row(
                    "ends_meet",
                    "time until both ends are drawn to the middle",
                    "length/2 over speed, with the mass they gather",
                    "[Keller1983]",
                )
                .of(MS, all, |x| run(x).map(|race| race.ends_meet)),
            ),
            valid(
                row(
                    "ends_over_parting",
                    "that over the time of parting; below 1 it is drawn into one drop first, near 1 either",
                    "ratio",
                    "estimate",
                )
                .of(NUMBER, all, |x| run(x).map(|race| race.ends_meet / race.parts)),
            ),
        ],
    )
}

/// The neck.
fn last(thread: &Thread) -> Group {
    let mut rows = Vec::new();
    let over = handover(thread);
    let crossing = "tau = (0.717/0.0304)^3 mu^3/(rho sigma^2), where it meets the last law (order)";
    let inertia = "tau = (mu a/sigma) Oh^(-2/(1-2b)), b = 0.175 (order)";
    let ends = [
        (
            "handover_inertial",
            "inertial",
            crossing,
            NeckLaw::Inertial,
            over.map(|h| h.inertial),
        ),
        (
            "handover_viscous",
            "viscous",
            inertia,
            NeckLaw::Viscous,
            over.map(|h| h.viscous),
        ),
    ];
    for (key, name, formula, law, end) in ends {
        let said = row(
            key,
            format!("the {name} law of the neck ends this long before it parts"),
            formula,
            "[Eggers1993], [ListerStone1998]",
        );
        let met = end.is_ok_and(|left| neck::validity(law, thread, left).is_ok_and(|v| v.holds()));
        rows.push(if met {
            said.fallible(S, end)
        } else {
            said.words("not met: it would end while the neck still remembers the column")
        });
    }
    let laws = [
        (NeckLaw::Inertial, "inertial", "[DayHinchLister1998]"),
        (NeckLaw::Viscous, "viscous", "[Papageorgiou1995]"),
        (NeckLaw::ViscousInertial, "viscous-inertial", "[Eggers1993]"),
    ];
    for (law, name, source) in laws {
        for (left, when) in [(1e-3, "1 ms"), (1e-4, "0.1 ms")] {
            rows.push(
                row(
                    format!(
                        "neck_{}_{}",
                        name.replace('-', "_"),
                        if left > 5e-4 { "1ms" } else { "100us" }
                    ),
                    format!("radius of the neck {when} before it parts, {name} law"),
                    "least radius against time left",
                    source,
                )
                .fallible(UM, neck::radius(law, thread, left))
                .valid_if(neck::validity(law, thread, left)),
            );
        }
    }
    group("The last of the neck", rows)
}

fn stays_whole(thread: &Thread, length: f64) -> Option<Alarm> {
    let limit = thread.limit().ok()?;
    (length < limit).then(|| Alarm {
        code: "column_stays_whole".into(),
        text: format!("a column {} long and {} thick is shorter than pi diameters and does not part by itself: {} is the least length, or {} the greatest diameter", text(length, None, MM), text(2.0 * thread.radius, None, MM), text(limit, None, MM), text(length / PI, None, MM)),
    })
}

fn strip(thread: &Thread, length: f64, start: f64) -> Vec<Moment> {
    let mut moments = vec![Moment {
        time: 0.0,
        until: None,
        text: "column drawn, at rest".into(),
    }];
    let Ok(race) = race(thread, length, start) else {
        return moments;
    };
    moments.push(Moment {
        time: 0.0,
        until: Some(race.ends_meet),
        text: "ends run to the middle".into(),
    });
    if race.parts.is_finite() {
        moments.push(Moment {
            time: race.parts,
            until: None,
            text: "the fastest wave parts it".into(),
        });
    }
    moments
}

/// The column with its fastest wave at the start, two thirds of the way and near the end, by linear growth.
fn shapes(thread: &Thread, length: f64, start: f64) -> Vec<Shape> {
    let Ok(Fastest {
        wavelength, growth, ..
    }) = fastest(thread)
    else {
        return Vec::new();
    };
    let Ok(parts) = time_from_rest(thread, wavelength, start) else {
        return Vec::new();
    };
    let inviscid = thread.inviscid_growth(wavelength).unwrap_or(growth);
    let other = -inviscid * inviscid / growth;
    let size = |t: f64| start * (growth * (other * t).exp() - other * (growth * t).exp()) / (growth - other);
    let outline = |t: f64| {
        let points = 240;
        let side = |sign: f64, k: usize| {
            let z = length * (k as f64 / points as f64 - 0.5);
            let r = thread.radius + size(t).min(thread.radius) * (2.0 * PI * z / wavelength).cos();
            [sign * r.max(0.0), z]
        };
        let mut closed: Vec<[f64; 2]> = (0..=points).map(|k| side(1.0, k)).collect();
        closed.extend((0..=points).rev().map(|k| side(-1.0, k)));
        closed.push(closed[0]);
        closed
    };
    [
        (0.0, "drawn"),
        (0.7, "70 % of the time"),
        (0.9, "90 % of the time"),
    ]
    .map(|(share, label)| Shape {
        time: share * parts,
        label: format!("{label} (ends not drawn)"),
        outlines: vec![outline(share * parts)],
    })
    .into()
}

/// The drops that it leaves ring.
fn rings(given: &Given<'_>, thread: &Thread, wave: &Fastest) -> Option<crate::camera::Swing> {
    let pair = tremolet_theory::modes::host::Pair {
        radius: wave.drop_radius,
        tension: thread.tension,
        density: thread.density,
        viscosity: thread.viscosity,
        host_density: given.gas_density.value(),
        host_viscosity: given.gas_viscosity.value(),
    };
    let mode = tremolet_theory::modes::host::root(2, &pair).ok()?;
    swing(
        "drop_2",
        "degree 2 of the drops it leaves",
        0,
        Some(mode.angular_frequency / (2.0 * PI)),
        None,
    )
}
