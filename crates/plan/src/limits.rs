//! What breaks the plan, in the first lines: the number that breaks and the nearest that works.
//!
//! ```text
//! three periods in the time T:  R <= R_0 (T f_2/3)^(2/3)        two frames a period:  rate >= 2 f        boiling:  p_s(T) >= p
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | T, f_2, R_0 | available time, frequency of degree 2, radius as planned | s, Hz, m |
//! | p_s, p | pressure of saturated vapour, pressure of the gas | Pa |
//!
//! f_2 goes as R^(-3/2) \[Rayleigh1879\]; three periods are common practice, no published source. Boiling is looked at for water and its mixtures, taken as water. Gas that fills more than 0.64
//! of the drop (random close packing of equal balls, from memory) makes a foam that bursts: own criterion.

use std::f64::consts::{PI, TAU};

use tremolet_matter::air::saturation_pressure;
use tremolet_record::experiment::file::Kind;
use tremolet_record::sheet::Alarm;
use tremolet_theory::drift;
use tremolet_theory::modes::host::root;

use crate::camera::Moving;
use crate::given::Given;
use crate::place::preset;
use crate::row::{CELSIUS, HZ, ML, MM, PERCENT, S, text};

/// Periods of degree 2 that a run should hold.
const PERIODS: f64 = 3.0;
/// Share of gas in a drop above which it is a foam that bursts.
pub const FOAM: f64 = 0.64;

/// Everything that breaks this plan.
pub fn alarms(given: &Given<'_>, moving: &Moving) -> Vec<Alarm> {
    let mut found = Vec::new();
    found.extend(not_free(given));
    found.extend(boils(given));
    if given.experiment.kind == Kind::Release {
        found.extend(too_large(given));
    }
    found.extend(wall(given, moving));
    found.extend(rate(given, moving));
    found.extend(bubble(given));
    found
}

fn alarm(code: &str, text: String) -> Alarm {
    Alarm {
        code: code.into(),
        text,
    }
}

fn mm(x: f64) -> String {
    text(x, None, MM)
}

fn not_free(given: &Given<'_>) -> Option<Alarm> {
    let place = given.place?;
    (!preset(place).free).then(|| {
        alarm(
            "no_free_fall",
            format!("{} is no weightlessness: a body does not float freely there; what follows is for a free body, and the nearest place for it is a drop tower", place.name()),
        )
    })
}

fn boils(given: &Given<'_>) -> Option<Alarm> {
    let (t, p) = (given.temperature.value(), given.pressure.value());
    if !given.aqueous() || saturation_pressure(t) < p {
        return None;
    }
    let (mut low, mut high) = (273.16, t);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if saturation_pressure(middle) < p {
            low = middle
        } else {
            high = middle
        }
    }
    Some(alarm(
        "boils",
        format!(
            "the liquid boils: at {} its vapour has {:.2} kPa, the gas {:.2} kPa; stay well below {} or above that pressure",
            text(t, None, CELSIUS),
            saturation_pressure(t) / 1e3,
            p / 1e3,
            text(low, None, CELSIUS)
        ),
    ))
}

fn too_large(given: &Given<'_>) -> Option<Alarm> {
    let (pair, time) = (given.pair()?, given.time.as_ref()?.value());
    let f = root(2, &pair).ok()?.angular_frequency / TAU;
    (f > 0.0 && f * time < PERIODS).then(|| {
        let most = 2.0 * pair.radius * (time * f / PERIODS).powf(2.0 / 3.0);
        alarm(
            "too_large_for_time",
            format!("{} across, the drop swings {:.1} times in {}: at least {PERIODS} are needed to tell frequency and decay; the largest drop that does is {} across", mm(2.0 * pair.radius), f * time, text(time, None, S), mm(most)),
        )
    })
}

fn wall(given: &Given<'_>, moving: &Moving) -> Option<Alarm> {
    let wall = given.experiment.surroundings.as_ref()?.wall.as_ref()?.value();
    let (a, time) = (given.acceleration.as_ref()?.value(), moving.time(given)?);
    let way = drift::way(a, time);
    (way > wall).then(|| {
        alarm(
            "reaches_wall",
            format!(
                "it drifts {} in {}, and a wall is {} away: it is reached after {}",
                mm(way),
                text(time, None, S),
                mm(wall),
                text(drift::time(a, wall), None, S)
            ),
        )
    })
}

fn rate(given: &Given<'_>, moving: &Moving) -> Option<Alarm> {
    let rate = given.experiment.camera.as_ref()?.capture_rate.as_ref()?.value();
    let swing = moving.swings.iter().find(|swing| rate < 2.0 * swing.frequency)?;
    Some(alarm(
        "rate_below_modes",
        format!(
            "{rate} frames a second are fewer than two in a period of {} ({}): it will be seen at a false frequency; more than {} fps is the least, {} fps is good",
            swing.name,
            text(swing.frequency, None, HZ),
            (2.0 * swing.frequency).ceil(),
            (10.0 * swing.frequency).ceil()
        ),
    ))
}

fn bubble(given: &Given<'_>) -> Option<Alarm> {
    let bubble = given.experiment.shell.as_ref()?.bubble.as_ref()?.value();
    let drop = given.experiment.body.as_ref()?.diameter.as_ref()?.value();
    (bubble >= drop).then(|| {
        alarm("bubble_larger_than_drop", format!("the bubble ({}) is not smaller than the drop that is to hold it ({} across, bubble and all): below {} it fits", mm(bubble), mm(drop), mm(drop)))
    })
}

/// Gas that the drop cannot hold: `free` m^3 in `liquid` m^3, and the factor by which the reagents are too many.
pub fn foam(liquid: f64, free: f64) -> Option<Alarm> {
    let share = free / (free + liquid);
    (share > FOAM).then(|| {
        let most = liquid * FOAM / (1.0 - FOAM);
        alarm(
            "more_gas_than_drop_holds",
            format!(
                "{} of gas come free in {} of liquid, {} of the whole: above {} bubbles are packed to a foam and burst out; {} of gas is the most, {:.2} of what is planned",
                text(free, None, ML),
                text(liquid, None, ML),
                text(share, None, PERCENT),
                text(FOAM, None, PERCENT),
                text(most, None, ML),
                most / free
            ),
        )
    })
}

/// Volume of the drop, m^3.
pub fn volume(radius: f64) -> f64 {
    4.0 / 3.0 * PI * radius.powi(3)
}
