//! A drop that holds a gas bubble in its middle, and a droplet that flies in the bubble.
//!
//! Both families of modes, breathing, what centres the bubble; how the bubble looks from outside; the droplet's flight, its meeting with the wall, bounces and
//! rolling, and what authors say of merging. `[body] diameter` is that of the whole; `volume` and `mass` are those of the liquid.

mod droplet;

use std::f64::consts::{PI, TAU};

use tremolet_matter::uncertain::Uncertain;
use tremolet_optics::refraction::middle;
use tremolet_record::experiment::kinds::Shell as Stated;
use tremolet_record::sheet::{Group, Moment, Shape};
use tremolet_theory::collision::flight::Flight;
use tremolet_theory::collision::wall::Inside;
use tremolet_theory::error::TheoryError;
use tremolet_theory::shell::body::Shell;
use tremolet_theory::shell::{breathing, centring, inviscid, viscous};

use crate::camera::swing;
use crate::given::{Given, values};
use crate::row::{HZ, MM, NUMBER, PER_S, group, row};
use crate::sheet::OfKind;

/// Degrees whose two modes are told.
const DEGREES: [u32; 3] = [2, 3, 4];
/// Ratio of heats of air (handbook value, from memory).
const AIR: f64 = 1.4;
/// Everything about this kind.
pub fn shell(given: &Given<'_>) -> OfKind {
    let Some(stated) = &given.experiment.shell else {
        let none = row("shell", "the shell", "-", "-")
            .words("cannot be said")
            .noted("not stated: [shell] bubble");
        return OfKind {
            groups: vec![group("The shell", vec![none])],
            ..OfKind::default()
        };
    };
    let outer = outer(given, stated);
    let all = inputs(given, stated, outer.as_ref());
    let mut found = OfKind {
        groups: vec![size(&all), modes(&all)],
        reach: 1.1,
        ..OfKind::default()
    };
    if let Some(body) = &body(given, stated) {
        found.groups.push(bubble(given, &all, body));
        found.groups.extend(droplet::droplet(given, stated, &all, body));
        found.moments = strip(given, stated, body);
        found.shapes = vec![at_rest(body)];
        found.swings = swings(body);
        found.needed = viscous::roots(2, body)
            .ok()
            .and_then(|both| both.against)
            .map(|mode| 10_f64.ln() / mode.decay);
    }
    found
}

/// Radius of the whole, m: by diameter as stated, by volume or mass of the liquid with the bubble added.
pub fn outer(given: &Given<'_>, stated: &Stated) -> Option<Uncertain> {
    let radius = given.radius.as_ref()?;
    if given
        .experiment
        .body
        .as_ref()
        .is_some_and(|body| body.diameter.is_some())
    {
        return Some(radius.clone());
    }
    let bubble = stated.bubble.as_ref()?;
    Some(Uncertain::propagate(&[radius, bubble], |x| {
        (x[0].powi(3) + (x[1] / 2.0).powi(3)).cbrt()
    }))
}

/// The shell at the best estimates, where everything of it is known.
pub fn body(given: &Given<'_>, stated: &Stated) -> Option<Shell> {
    let outer = outer(given, stated);
    values(&inputs(given, stated, outer.as_ref())).map(|x| of(&x))
}

pub(super) type Inputs<'a> = [(&'static str, Option<&'a Uncertain>); 6];

fn inputs<'a>(given: &'a Given<'_>, stated: &'a Stated, outer: Option<&'a Uncertain>) -> Inputs<'a> {
    let [_, tension, density, viscosity, gas, _] = given.drop_inputs();
    [
        ("shell.bubble", stated.bubble.as_ref()),
        ("body.diameter, volume or mass", outer),
        tension,
        density,
        viscosity,
        gas,
    ]
}

fn of(x: &[f64]) -> Shell {
    Shell {
        inner_radius: x[0] / 2.0,
        outer_radius: x[1],
        density: x[3],
        viscosity: x[4],
        inner_tension: x[2],
        outer_tension: x[2],
        inner_gas: x[5],
        outer_gas: x[5],
    }
}

fn size(all: &Inputs<'_>) -> Group {
    group(
        "The shell",
        vec![
            row(
                "outer_diameter",
                "diameter of the whole",
                "liquid and bubble",
                "volume",
            )
            .of(MM, &all[..2], |x| Ok::<_, TheoryError>(2.0 * x[1])),
            row("thickness", "thickness of the liquid", "b - a", "geometry")
                .of(MM, &all[..2], |x| Ok::<_, TheoryError>(x[1] - x[0] / 2.0)),
            row(
                "ratio",
                "radius of the bubble over that of the whole",
                "a/b",
                "geometry",
            )
            .of(NUMBER, &all[..2], |x| Ok::<_, TheoryError>(x[0] / 2.0 / x[1])),
        ],
    )
}

fn modes(all: &Inputs<'_>) -> Group {
    let none = TheoryError::Quantity {
        name: "swing",
        value: 0.0,
        expected: "less viscosity: this mode creeps",
    };
    let mut rows = Vec::new();
    for n in DEGREES {
        for slow in [true, false] {
            let (key, name) = if slow {
                ("against", "surfaces against each other")
            } else {
                ("together", "surfaces together")
            };
            let root = move |x: &[f64]| {
                let both = viscous::roots(n, &of(x))?;
                if slow { both.against } else { both.together }.ok_or(none)
            };
            let decay = root;
            rows.push(
                row(
                    format!("{key}_{n}"),
                    format!("frequency of degree {n}, {name}"),
                    "boundary determinant",
                    "[LyellWang1986]",
                )
                .of(HZ, all, move |x| root(x).map(|mode| mode.angular_frequency / TAU)),
            );
            rows.push(
                row(
                    format!("{key}_decay_{n}"),
                    format!("its decay rate ({name})"),
                    "boundary determinant",
                    "[LyellWang1986]",
                )
                .of(PER_S, all, move |x| decay(x).map(|mode| mode.decay)),
            );
        }
        rows.push(
            row(
                format!("inner_over_outer_{n}"),
                format!("inner over outer amplitude of degree {n} in the slow family"),
                "inviscid",
                "[Saffren1982]",
            )
            .of(NUMBER, all, move |x| {
                inviscid::families(n, &of(x)).map(|both| both.against.inner_over_outer)
            }),
        );
    }
    group("Modes of the shell (two for each degree)", rows)
}

/// Breathing, centring, and how the bubble looks.
fn bubble(given: &Given<'_>, all: &Inputs<'_>, body: &Shell) -> Group {
    let pressure = ("gas.pressure", Some(&given.pressure));
    let with = [all[0], all[1], all[2], all[3], all[4], all[5], pressure];
    let sound = given
        .materials
        .liquid
        .sound_speed
        .as_ref()
        .map(|speed| speed.value.value());
    let mut breath = row(
        "breathing",
        "breathing of the gas",
        "Minnaert, finite liquid",
        "[Minnaert1933]",
    )
    .of(HZ, &with, |x| {
        breathing::angular_frequency(&of(x), x[6], AIR).map(|w| w / TAU)
    });
    if let Some(sound) = sound {
        breath = breath.valid_if(breathing::validity(body, given.pressure.value(), AIR, sound));
    }
    let push = 0.01;
    let mut rows = vec![
        breath,
        row(
            "bubble_pressure",
            "pressure of the gas in the bubble above that outside",
            "2 sigma/a + 2 sigma/b",
            "[Minnaert1933]",
        )
        .of(crate::row::PA, &with, |x| {
            breathing::gas_pressure(&of(x), x[6]).map(|p| p - x[6])
        }),
        row(
            "coast_slow",
            "a bubble pushed to 10 mm/s coasts, if it stops slowly",
            "U a^2/[6 nu (1 + x + x^2)]",
            "[Levich1962], derived",
        )
        .of(MM, all, |x| centring::creeping_way(&of(x), push))
        .valid_if(centring::creeping_validity(body, push)),
        row(
            "coast_fast",
            "the rate at which a fast bubble is slowed",
            "18 (nu/b^2)(x^-5 - 1)/(x^-3 - 1)",
            "[Levich1962], derived",
        )
        .of(PER_S, all, |x| centring::fast_decay(&of(x)))
        .valid_if(centring::fast_validity(body, push)),
        row(
            "centring",
            "force that brings it to the middle at rest",
            "none: surface energy does not depend on its place",
            "geometry",
        )
        .words("none")
        .noted(
            "in flight it goes to the middle of a drop that swings strongly; how fast no formula here says",
        ),
    ];
    if let Some(index) = &given.materials.liquid.refractive_index {
        let n = index.value.value();
        let ratio = body.inner_radius / body.outer_radius;
        let looks = row(
            "looks",
            "the bubble looks, seen through the liquid from far away",
            "n a, at most b",
            "[BornWolf1999]",
        )
        .fallible(
            MM,
            middle::seen(ratio, n).map(|seen| 2.0 * seen * body.outer_radius),
        );
        rows.push(if n * ratio >= 1.0 {
            looks.noted("it fills the disc: its size cannot be read from the picture")
        } else {
            looks.noted("diameter; over the index it is the true one, while the bubble is in the middle")
        });
    }
    group("The bubble", rows)
}

fn strip(given: &Given<'_>, stated: &Stated, body: &Shell) -> Vec<Moment> {
    let mut moments = vec![Moment {
        time: 0.0,
        until: None,
        text: "droplet leaves the wall, or shell set swinging".into(),
    }];
    let value = |x: Option<&Uncertain>| x.map(Uncertain::value);
    if let (Some(d), Some(v)) = (value(stated.droplet.as_ref()), value(stated.speed.as_ref())) {
        let room = Inside::new(body.inner_radius, d / 2.0);
        let flight = Flight::new(
            d,
            body.density,
            given.gas_density.value(),
            given.gas_viscosity.value(),
        );
        if let (Ok(room), Ok(flight)) = (room, flight)
            && let Ok(Some(found)) = room.arrival(&flight, v, value(stated.offset.as_ref()).unwrap_or(0.0))
        {
            moments.push(Moment {
                time: found.time,
                until: None,
                text: "it meets the wall".into(),
            });
        }
    }
    if let Ok(both) = viscous::roots(2, body) {
        for (mode, name) in [
            (both.against, "surfaces against each other"),
            (both.together, "surfaces together"),
        ] {
            if let Some(mode) = mode {
                moments.push(Moment {
                    time: 0.0,
                    until: Some(10_f64.ln() / mode.decay),
                    text: format!("degree 2, {name}, to a tenth"),
                });
            }
        }
    }
    moments
}

fn at_rest(body: &Shell) -> Shape {
    let circle = |r: f64| {
        (0..=180)
            .map(|k| PI * f64::from(k) / 90.0)
            .map(|a| [r * a.sin(), r * a.cos()])
            .collect()
    };
    Shape {
        time: 0.0,
        label: "at rest".into(),
        outlines: vec![circle(body.outer_radius), circle(body.inner_radius)],
    }
}

fn swings(body: &Shell) -> Vec<crate::camera::Swing> {
    let mut found = Vec::new();
    for n in DEGREES {
        let Ok(both) = viscous::roots(n, body) else {
            continue;
        };
        found.extend(both.against.and_then(|mode| {
            swing(
                &format!("against_{n}"),
                &format!("degree {n} (against)"),
                n,
                Some(mode.angular_frequency / TAU),
                None,
            )
        }));
        found.extend(both.together.and_then(|mode| {
            swing(
                &format!("together_{n}"),
                &format!("degree {n} (together)"),
                n,
                Some(mode.angular_frequency / TAU),
                None,
            )
        }));
    }
    found
}
