//! The droplet in the bubble: its flight, how it meets the wall, bounces and rolling, and what authors say of droplets that meet.
//!
//! `x` are, in order: diameter, speed and offset of the droplet; diameter of the bubble; density, tension and viscosity of the liquid; density and viscosity of the gas. Formulas and
//! ranges are those of [`tremolet_theory::collision`].

use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::kinds::Shell as Stated;
use tremolet_record::sheet::Group;
use tremolet_theory::collision::boundary;
use tremolet_theory::collision::encounter::weber;
use tremolet_theory::collision::flight::Flight;
use tremolet_theory::collision::merging::Merger;
use tremolet_theory::collision::rebound::{RESTITUTIONS, Rebound, contact_time};
use tremolet_theory::collision::spread::{self, range};
use tremolet_theory::collision::wall::Inside;
use tremolet_theory::error::TheoryError;
use tremolet_theory::shell::body::Shell;

use crate::given::{Given, values};
use crate::row::{Draft, MM_S, MS, NUMBER, PERCENT, S, group, row};
use crate::shell::Inputs;

/// Time, s, beyond which the slowing of a rolling droplet is left to other causes.
const LONG: f64 = 3600.0;
/// Offsets at which the limits of separation are told.
const OFFSETS: [f64; 3] = [0.0, 0.3, 0.6];

/// The droplet: flight, wall, bounces, merging.
pub(super) fn droplet(given: &Given<'_>, stated: &Stated, all: &Inputs<'_>, body: &Shell) -> Vec<Group> {
    if stated.droplet.is_none() && stated.speed.is_none() {
        return Vec::new();
    }
    let zero = Uncertain::exact(0.0);
    let offset = stated.offset.as_ref().unwrap_or(&zero);
    let fly = [
        ("shell.droplet", stated.droplet.as_ref()),
        ("shell.speed", stated.speed.as_ref()),
        ("shell.offset", Some(offset)),
        all[0],
        all[3],
        all[2],
        all[4],
        ("gas density", Some(&given.gas_density)),
        ("gas viscosity", Some(&given.gas_viscosity)),
    ];
    let mut groups = vec![flight(&fly)];
    if let Some(x) = values(&fly) {
        groups.push(bounces(stated, &x));
        groups.push(meeting(&x, body));
    }
    groups
}

fn flyer(x: &[f64]) -> Result<Flight, TheoryError> {
    Flight::new(x[0], x[4], x[7], x[8])
}

fn inside(x: &[f64]) -> Result<Inside, TheoryError> {
    Inside::new(x[3] / 2.0, x[0] / 2.0)
}

fn stops() -> TheoryError {
    TheoryError::Quantity {
        name: "speed of the droplet",
        value: 0.0,
        expected: "fast enough to cross the bubble",
    }
}

fn flight(fly: &[(&'static str, Option<&Uncertain>)]) -> Group {
    let arrival = |x: &[f64]| inside(x)?.arrival(&flyer(x)?, x[1], x[2])?.ok_or_else(stops);
    let valid = |draft: Draft| match values(fly) {
        Some(x) => match flyer(&x) {
            Ok(flight) => draft.valid(&flight.validity(x[1], x[5])),
            Err(_) => draft,
        },
        None => draft,
    };
    let drag = "[SchillerNaumann1933]";
    group(
        "The droplet in the bubble",
        vec![
            row(
                "droplet_reynolds",
                "Reynolds number in the gas",
                "rho_g v d/mu_g",
                "definition",
            )
            .of(NUMBER, fly, |x| flyer(x).map(|flight| flight.reynolds(x[1]))),
            valid(
                row(
                    "relaxation",
                    "time in which the gas stops a slow droplet but for 1/e",
                    "rho d^2/(18 mu_g)",
                    "Stokes",
                )
                .of(S, fly, |x| flyer(x).map(|flight| flight.relaxation())),
            ),
            valid(
                row("flight_time", "time of flight from wall to wall", "drag", drag)
                    .of(MS, fly, move |x| arrival(x).map(|found| found.time)),
            ),
            valid(
                row(
                    "wall_speed",
                    "speed into the wall on arrival",
                    "drag, geometry",
                    drag,
                )
                .of(MM_S, fly, move |x| arrival(x).map(|found| found.touch.across)),
            ),
            row(
                "wall_offset",
                "distance of its line from the middle over the room (0 straight on, 1 grazing)",
                "geometry",
                "geometry",
            )
            .of(NUMBER, fly, move |x| arrival(x).map(|found| found.offset)),
            row(
                "wall_weber",
                "Weber number at the wall, by the speed across it",
                "rho v^2 d/sigma",
                "definition",
            )
            .of(NUMBER, fly, move |x| {
                weber(x[4], arrival(x)?.touch.across, x[0], x[5])
            }),
            row(
                "contact_time",
                "time in contact if it bounces",
                "2.6 sqrt(rho r^3/sigma)",
                "[RichardClanetQuere2002]",
            )
            .of(MS, fly, |x| contact_time(x[0] / 2.0, x[4], x[5])),
        ],
    )
}

/// Bounces along the wall with the restitution stated, or the range of authors.
fn bounces(stated: &Stated, x: &[f64]) -> Group {
    let mut rows = vec![
        row("restitution", "share of the speed across a wall that a bounce keeps, by authors", "readings", "see the sources of the bounds: from memory")
            .range(NUMBER, range(&RESTITUTIONS).map_or([f64::NAN; 2], |(least, most)| [least, most]))
            .noted("no law for a droplet at a liquid wall is known to us; state restitution_across if you measured it"),
    ];
    let value = |x: Option<&Uncertain>| x.map(Uncertain::value);
    if let Some(across) = value(stated.restitution_across.as_ref()) {
        let along = value(stated.restitution_along.as_ref()).unwrap_or(1.0);
        let rolled = Rebound::new(across, along).and_then(|rebound| {
            let room = inside(x)?;
            let first = room.arrival(&flyer(x)?, x[1], x[2])?.ok_or_else(stops)?.touch;
            room.rolling(first, rebound).ok_or(TheoryError::Quantity { name: "offset", value: x[2], expected: "an offset, and a restitution below the square of that along the wall: else it bounces on" })
        });
        rows.push(
            row(
                "rolling_after",
                "the bounces end and it rolls after",
                "sum of the bounces",
                "geometry of chords",
            )
            .fallible(
                S,
                rolled.as_ref().map(|rolling| rolling.time).map_err(Clone::clone),
            ),
        );
        rows.push(
            row(
                "rolling_speed",
                "with this speed along the wall",
                "e_t of each bounce",
                "geometry of chords",
            )
            .fallible(
                MM_S,
                rolled.as_ref().map(|rolling| rolling.speed).map_err(Clone::clone),
            ),
        );
        if let (Ok(rolling), Ok(room)) = (&rolled, inside(x)) {
            rows.push(
                row(
                    "round",
                    "time to go round the bubble once",
                    "2 pi (a - r)/v",
                    "geometry",
                )
                .fallible(S, room.round(rolling.speed))
                .valid(&room.validity(rolling.speed, x[4], x[5])),
            );
            rows.push(
                row(
                    "slowing",
                    "time in which the rolling is slowed (order of magnitude)",
                    "dissipation in the flat",
                    "[MahadevanPomeau1999]",
                )
                .fallible(S, room.slowing_time(rolling.speed, x[4], x[6], x[5]))
                .noted(
                    if room
                        .slowing_time(rolling.speed, x[4], x[6], x[5])
                        .is_ok_and(|time| time > LONG)
                    {
                        "other causes stop it first"
                    } else {
                        ""
                    },
                )
                .valid(&room.validity(rolling.speed, x[4], x[5])),
            );
        }
    }
    group("Bounces and rolling", rows)
}

/// Two droplets of this kind that meet in the bubble: limits by offset, with the spread of authors.
fn meeting(x: &[f64], body: &Shell) -> Group {
    let (diameter, speed, density, tension, viscosity) = (x[0], x[1], x[4], x[5], x[6]);
    let oh = viscosity / (density * tension * diameter / 2.0).sqrt();
    let we = weber(density, speed, diameter, tension);
    let mut rows = vec![
        row(
            "pair_weber",
            "Weber number of two such droplets that meet at this speed",
            "rho v^2 d/sigma",
            "definition",
        )
        .fallible(NUMBER, we),
    ];
    let reflexive =
        spread::reflexive(oh).map(|readings| range(&readings).map_or([f64::NAN; 2], |(a, b)| [a, b]));
    if let Ok(ends) = reflexive {
        rows.push(
            row(
                "reflexive",
                "head-on they part again above a Weber number of",
                "limits of authors",
                "[AshgrizPoo1990], [QianLaw1997]",
            )
            .range(NUMBER, ends),
        );
    }
    for offset in OFFSETS {
        let key = format!("outcome_{}", (10.0 * offset) as u32);
        let valid = we.map(|we| boundary::validity(we, 1.0, oh));
        if offset > 0.0
            && let Ok(readings) = spread::stretching(offset, 1.0)
            && let Some((least, most)) = range(&readings)
        {
            rows.push(
                row(
                    format!("stretching_{}", (10.0 * offset) as u32),
                    format!("at offset {offset} they are torn apart above a Weber number of"),
                    "limits of authors",
                    "[AshgrizPoo1990], [BrazierSmith1972]",
                )
                .range(NUMBER, [least, most]),
            );
        }
        let says = we.and_then(|we| boundary::outcome(we, offset, 1.0, false));
        let words = match says {
            Ok(outcome) => said(outcome),
            Err(_) => "cannot be said",
        };
        rows.push(
            row(
                key,
                format!("what the limits say at offset {offset}"),
                "limits",
                "[AshgrizPoo1990]",
            )
            .words(words)
            .valid_if(valid),
        );
    }
    let merger = Merger::new([diameter / 2.0, body.outer_radius], density, tension);
    rows.push(
        row(
            "freed",
            "surface energy set free if the droplet merges with the shell, of that before",
            "spheres",
            "[Rayleigh1879]",
        )
        .fallible(PERCENT, merger.map(|merger| merger.surface_share())),
    );
    group("When droplets meet", rows)
}

fn said(outcome: boundary::Outcome) -> &'static str {
    use boundary::Outcome as O;
    match outcome {
        O::Miss => "they miss",
        O::Bounce => "they bounce",
        O::Merge => "they merge",
        O::ReflexiveSeparation => "they merge and part along the line of flight",
        O::StretchingSeparation => "they are torn apart",
    }
}
