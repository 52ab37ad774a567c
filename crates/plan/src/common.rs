//! What every run has in common: drift, jitter, swirl, drying, cooling, a film on the surface.
//!
//! Each row names its formula and source; the rooms of `theory` hold them. Drift is for a body at rest at first; that a uniform acceleration does not deform a
//! free body is why no Bond number of the free drop is shown.

use tremolet_matter::uncertain::Uncertain;
use tremolet_matter::vapour;
use tremolet_record::sheet::Group;
use tremolet_theory::drift;
use tremolet_theory::drying::cooling::{self, Room};
use tremolet_theory::drying::lamp;
use tremolet_theory::drying::loss::Loss;
use tremolet_theory::error::TheoryError;
use tremolet_theory::modes::film::inextensible;
use tremolet_theory::modes::host::{Pair, root};
use tremolet_theory::modes::rotation::{axisymmetric_two_lobed, static_oblateness};
use tremolet_theory::swirl;

use crate::given::{Given, pair};
use crate::row::{CELSIUS, DEG_S, Draft, K, M_S2, MM, NUMBER, PER_S, PERCENT, S, group, row};

/// Specific heat of water, J/(kg K), at 20 degrees Celsius (handbook value, from memory).
const SPECIFIC_HEAT: f64 = 4184.0;
/// Thermal conductivity of water, W/(m K), at 20 degrees Celsius (handbook value, from memory).
const CONDUCTIVITY: f64 = 0.598;
/// Diffusivity of heat in air, m^2/s, at 20 degrees Celsius (handbook value, from memory).
const HEAT_SPREADS: f64 = 2.1e-5;
/// Emissivity of water for warmth (handbook value, from memory).
const EMISSIVITY: f64 = 0.96;
/// Swirl that is taken as quiet: a hundredth of what filling left.
const QUIET: f64 = 0.01;
/// Irradiance for which heating is told, W/m^2.
const IRRADIANCE: f64 = 100.0;

/// Drift under the residual acceleration, and the resonance of jitter with a mode.
pub fn drifting(given: &Given<'_>) -> Group {
    let a = ("surroundings.residual_acceleration", given.acceleration.as_ref());
    let t = ("surroundings.available_time", given.time.as_ref());
    let surroundings = given.experiment.surroundings.as_ref();
    let wall = ("surroundings.wall", surroundings.and_then(|s| s.wall.as_ref()));
    let formula = "s = a t^2/2";
    let source = "[Galilei1638]";
    group(
        "Drift against the cabin (a uniform acceleration moves a free body and does not deform it)",
        vec![
            row("drift", "way in the available time, from rest", formula, source)
                .of(MM, &[a, t], |x| Ok::<_, TheoryError>(drift::way(x[0], x[1]))),
            row(
                "time_to_wall",
                "time until a body at rest reaches the nearest wall",
                "t = sqrt(2 s/a)",
                source,
            )
            .of(S, &[a, wall], |x| Ok::<_, TheoryError>(drift::time(x[0], x[1]))),
            row(
                "drift_speed",
                "speed after the available time, from rest",
                "v = a t",
                source,
            )
            .of(crate::row::MM_S, &[a, t], |x| Ok::<_, TheoryError>(x[0] * x[1])),
            row(
                "jitter",
                "jitter of the acceleration; near the frequency of a mode it matters for held bodies only",
                "as stated",
                "stated, or of the place",
            )
            .of(M_S2, &[("surroundings.jitter", given.jitter.as_ref())], |x| {
                Ok::<_, TheoryError>(x[0])
            }),
        ],
    )
}

/// How long to wait for a quiet inside, and what rotation leaves.
pub fn quiet(given: &Given<'_>) -> Group {
    let inputs = [
        given.drop_inputs()[0],
        given.drop_inputs()[2],
        given.drop_inputs()[3],
    ];
    let tau = |x: &[f64]| swirl::decay_time(2, x[0], x[2] / x[1]);
    let mut rows = vec![
        row(
            "swirl_time",
            "time in which swirl left by filling falls to 1/e",
            "tau = R^2/(6.26 nu)",
            "[Chandrasekhar1961]",
        )
        .of(S, &inputs, tau),
        row(
            "quiet_time",
            "wait after filling until a hundredth of it is left",
            "t = tau ln 100",
            "[Chandrasekhar1961]",
        )
        .of(S, &inputs, |x| tau(x).map(|tau| -tau * QUIET.ln()))
        .noted("solid rotation stays"),
    ];
    let drop = given.drop_inputs();
    let split = |x: &[f64]| root(2, &pair(x)).map(|mode| 0.01 * mode.angular_frequency);
    rows.push(
        row("rotation_one_percent", "rotation that splits the two-lobed lines by 1 % of their frequency (2 m Omega (1 - 1/n), m = 1, n = 2)", "Omega = 0.01 w_2", "[Busse1984]")
            .of(DEG_S, &drop, split),
    );
    rows.push(
        row(
            "rotation_flattening",
            "flattening a_2 at that rotation",
            "a_2 = -rho Omega^2 R^3/(12 sigma)",
            "[BrownScriven1980]",
        )
        .of(PERCENT, &drop, |x| {
            split(x).map(|turn| static_oblateness(x[2], x[0], x[1], turn))
        }),
    );
    rows.push(
        row(
            "rotation_shift",
            "shift of the axisymmetric two-lobed frequency at that rotation",
            "w^2 = w_2^2 + (38/21) Omega^2",
            "[Busse1984]",
        )
        .of(PERCENT, &drop, |x| {
            root(2, &pair(x)).map(|mode| {
                axisymmetric_two_lobed(mode.angular_frequency, 0.01 * mode.angular_frequency)
                    / mode.angular_frequency
                    - 1.0
            })
        }),
    );
    group("Quiet before the release", rows)
}

/// Evaporation, wet-bulb cooling, heating; water in air only.
pub fn drying(given: &Given<'_>) -> Option<Group> {
    if !given.aqueous() || given.materials.gas.name == "vacuum" {
        return None;
    }
    let room = [
        ("body.diameter, volume or mass", given.radius.as_ref()),
        ("liquid.density", Some(&given.density)),
        ("gas.temperature", Some(&given.gas_temperature)),
        ("gas.pressure", Some(&given.pressure)),
        ("gas.relative_humidity", given.humidity()),
        ("surroundings.available_time", given.time.as_ref()),
    ];
    let draught = draught(given);
    let still = |x: &[f64]| air(x).validity(x, draught);
    let mut rest = row(
        "wet_bulb",
        "temperature at which the drop comes to rest",
        "4 pi R [k (T_a - T) + ...] = L dm/dt",
        "[Maxwell1877], [CarslawJaeger1959]",
    )
    .of(CELSIUS, &room[..5], rest_of);
    let middle: Option<Vec<f64>> = room[..5].iter().map(|(_, x)| x.map(Uncertain::value)).collect();
    if let Some(x) = &middle {
        rest = rest.valid(&still(x));
    }
    let shift = |x: &[f64]| {
        let cool = rest_of(x)?;
        cooling::change(tension_of_water, x[2], cool)
    };
    let mut rows = vec![
        rest,
        row(
            "cooling_time",
            "time in which it cools but for 1/e",
            "t = rho c R^2/(3 exchange)",
            "[Maxwell1877], heat balance",
        )
        .of(S, &room[..5], |x| air(x).cooling_time(x)),
        row(
            "tension_by_cooling",
            "change of the surface tension when it has cooled from the temperature of the air",
            "sigma(T)/sigma(T_a) - 1",
            "IAPWS R1-76(2014)",
        )
        .of(PERCENT, &room[..5], shift),
        row(
            "dried",
            "share of the volume lost in the available time, at the temperature of the air",
            "R^2 = R_0^2 - 2 D drho t/rho",
            "[Maxwell1877]",
        )
        .of(PERCENT, &room, |x| air(x).loss(x)?.volume_share(x[0], x[5])),
        row(
            "life",
            "time until the drop would be gone",
            "t = rho R_0^2/(2 D drho)",
            "[Maxwell1877]",
        )
        .of(S, &room[..5], |x| {
            air(x)
                .loss(x)?
                .life(x[0])
                .map(|life| life.unwrap_or(f64::INFINITY))
        }),
    ];
    rows.push(
        row(
            "lamp_heating",
            "warming by 100 W/m^2 of light of which a tenth is absorbed, at first, in a minute",
            "dT/dt = 3 a I/(4 rho c R)",
            "heat balance",
        )
        .of(K, &room[..2], |x| {
            lamp::rate(IRRADIANCE, 0.1, x[0], x[1], SPECIFIC_HEAT).map(|rate| 60.0 * rate)
        }),
    );
    Some(group("Drying, cooling, warming (still air)", rows))
}

/// A film on the surface: what it does to the damping.
pub fn film(given: &Given<'_>) -> Group {
    let inputs = given.drop_inputs();
    let rows = [2_u32, 3, 4].map(|n| {
        row(
            format!("film_decay_{n}"),
            format!("decay rate of degree {n} under a film that does not stretch"),
            "exact roots",
            "[MillerScriven1968]",
        )
        .of(PER_S, &inputs, |x| {
            inextensible(n, &pair(x)).map(|root| root.decay)
        })
    });
    let ratio = |x: &[f64]| -> Result<f64, tremolet_theory::modes::error::ModeError> {
        let clean: Pair = pair(x);
        Ok(inextensible(2, &clean)?.decay / root(2, &clean)?.decay)
    };
    let mut rows: Vec<Draft> = rows.into();
    rows.push(
        row(
            "film_ratio",
            "that of degree 2 over the clean one: a decay that is so much faster is a film, not a viscosity",
            "ratio",
            "[MillerScriven1968]",
        )
        .of(NUMBER, &inputs, ratio),
    );
    group("If a film covers the surface", rows)
}

fn draught(given: &Given<'_>) -> f64 {
    let surroundings = given.experiment.surroundings.as_ref();
    surroundings
        .and_then(|s| s.draught.as_ref())
        .map_or(0.0, Uncertain::value)
}

/// Air round the drop, from radius, density of the liquid, temperature and pressure of the air, humidity.
struct Air {
    room: Room,
}

fn air(x: &[f64]) -> Air {
    let [_, _, temperature, pressure, humidity] = [x[0], x[1], x[2], x[3], x[4]];
    Air {
        room: Room {
            temperature,
            vapour: humidity * vapour::saturation_density(temperature),
            conductivity: vapour::conductivity_of_air(temperature),
            diffusivity: vapour::diffusivity(temperature, pressure),
            heat: vapour::heat_of_vaporisation(temperature),
            emissivity: EMISSIVITY,
        },
    }
}

impl Air {
    fn loss(&self, x: &[f64]) -> Result<Loss, TheoryError> {
        let excess = vapour::saturation_density(self.room.temperature) - self.room.vapour;
        Loss::new(x[1], self.room.diffusivity, excess)
    }

    fn cooling_time(&self, x: &[f64]) -> Result<f64, TheoryError> {
        let rest = rest_of(x)?;
        self.room
            .time(x[0], x[1], SPECIFIC_HEAT, rest, vapour::saturation_density)
    }

    fn validity(&self, x: &[f64], draught: f64) -> tremolet_theory::validity::Validity {
        let exchange = self
            .room
            .exchange(x[0], self.room.temperature, vapour::saturation_density)
            .unwrap_or(f64::NAN);
        cooling::validity(exchange, CONDUCTIVITY, x[0], draught, HEAT_SPREADS)
    }
}

fn rest_of(x: &[f64]) -> Result<f64, TheoryError> {
    air(x).room.rest(x[0], 0.0, vapour::saturation_density)
}

/// Surface tension of water, N/m, by the formula of IAPWS R1-76(2014).
fn tension_of_water(temperature: f64) -> f64 {
    tremolet_matter::water::surface_tension(temperature)
}
