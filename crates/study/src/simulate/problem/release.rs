//! A release: a spheroid or a rounded cylinder at rest, let go at once or by a skin that peels away.
//!
//! ```text
//! front    speed = way / removal time,   way = pi R from one end, pi R / 2 from both
//! ```
//! Before the front has passed, the skin presses as it did on the body at rest; the passing front leaves its impulse.

use std::f64::consts::PI;

use tremolet_matter::uncertain::Uncertain;
use tremolet_plan::given::Given;
use tremolet_plan::release::{ASPECT, begun};
use tremolet_record::experiment::clip::{Front, Release, StartForm, Support as Held};
use tremolet_report::input::Row;
use tremolet_simulate::driver::{End, Support};
use tremolet_simulate::liquid::InputError;
use tremolet_simulate::start::Start;
use tremolet_theory::modes::host::Pair;

use super::{POINTS, Problem, Refusal, at_rest, fault, size, spheroid};
use crate::error::StudyError;

/// Share of the radius that the last degrees of a start may hold when it is told by its degrees.
const SHAPE_ERROR: f64 = 1e-3;
/// Angle over which a front is spread, rad.
const WIDTH: f64 = 0.2;
/// Least radius of an edge over that of the body.
const EDGE: f64 = 0.05;

/// The problem of a release.
///
/// # Errors
/// When the shape cannot be, or what is stated of the front does not fit together.
pub fn release(given: &Given<'_>, pair: &Pair) -> Result<Problem, StudyError> {
    let told = |why: String| fault(given, "release", &why, "a start shape");
    let (start, _) = begun(given, pair).map_err(|why| told(why.to_string()))?;
    let star = held(&start.amplitudes)
        .map_err(Refusal::Shape)
        .map(|()| Start::Star {
            radius: pair.radius,
            shape: start.amplitudes.clone(),
            velocity: Vec::new(),
        });
    let any = Start::Profile {
        meridian: meridian(given.experiment.release.as_ref(), pair.radius)?,
    };
    let mut set = at_rest(pair, star, any);
    set.rows.insert(0, size(pair.radius));
    let second = format!("{:.4}", start.amplitudes[2]);
    set.rows
        .push(Row::new("Amplitude of degree 2 at the start", second));
    set.assumptions.push(
        "the drop is one of revolution, at rest when it is let go, and nothing touches it afterwards".into(),
    );
    if let Some(front) = front(given, pair.radius)? {
        set.free_from = front.gone(pair.radius);
        set.rows.push(Row::new(
            "Speed of the front of the skin",
            format!("{:.3} m/s", front.speed),
        ));
        set.assumptions.push(format!(
            "the skin presses as on the body at rest until its front has passed, {:.2} ms after it began, and leaves {} Pa s on the liquid",
            1e3 * set.free_from,
            front.impulse
        ));
        set.drivers.support = Some(front);
    }
    Ok(set)
}

/// Refuses a shape whose highest amplitudes say that more of them are cut off than the accuracy bears.
fn held(amplitudes: &[f64]) -> Result<(), InputError> {
    let last = &amplitudes[amplitudes.len().saturating_sub(2)..];
    let found = last.iter().fold(0.0_f64, |most, a| most.max(a.abs()));
    if found <= SHAPE_ERROR {
        return Ok(());
    }
    Err(InputError::Resolution {
        what: "amplitude of degree 11 or 12 of the start shape",
        found,
        expected: format!("at most {SHAPE_ERROR:e}"),
        advice: "a shape that is less drawn out and has rounder edges, or the boundary solver",
    })
}

/// The skin that peels away, if one is stated.
fn front(given: &Given<'_>, radius: f64) -> Result<Option<Support>, StudyError> {
    let Some(release) = &given.experiment.release else {
        return Ok(None);
    };
    let value = |x: &Option<Uncertain>| x.as_ref().map(Uncertain::value);
    let stated =
        release.front_from.is_some() || release.front_speed.is_some() || release.front_impulse.is_some();
    let is_skin = release.support == Some(Held::Skin);
    if stated && !is_skin {
        let found = release.support.map_or("no support", |_| "another support");
        return Err(fault(
            given,
            "release.support",
            found,
            "\"skin\": only a skin peels away with a front",
        ));
    }
    if !is_skin {
        return Ok(None);
    }
    let end = match release.front_from {
        Some(Front::Lower) => End::Lower,
        Some(Front::Both) => End::Both,
        Some(Front::Upper) | None => End::Upper,
    };
    let by_time = value(&release.removal_time).map(|time| end.furthest() * radius / time);
    let Some(speed) = value(&release.front_speed).or(by_time) else {
        if stated {
            let due = "the speed of the front, e.g. \"40 m/s\", or removal_time";
            return Err(fault(given, "release.front_speed", "nothing", due));
        }
        return Ok(None);
    };
    Ok(Some(Support {
        end,
        speed,
        impulse: value(&release.front_impulse).unwrap_or(0.0),
        width: WIDTH,
    }))
}

/// The start shape by its meridian, with the volume of the ball of `radius` m.
fn meridian(release: Option<&Release>, radius: f64) -> Result<Vec<[f64; 2]>, StudyError> {
    let value = |x: Option<&Uncertain>| x.map(Uncertain::value);
    let aspect = value(release.and_then(|r| r.aspect_ratio.as_ref())).unwrap_or(ASPECT);
    let across = radius * aspect.powf(-1.0 / 3.0);
    if release.and_then(|r| r.shape) != Some(StartForm::RoundedCylinder) {
        return Ok(spheroid(aspect * across, across));
    }
    let most = across.min(aspect * across);
    let edge = value(release.and_then(|r| r.edge.as_ref()))
        .unwrap_or(across / 2.0)
        .min(most);
    if edge < EDGE * radius {
        return Err(InputError::Resolution {
            what: "radius of the edges over that of the body",
            found: edge / radius,
            expected: format!("at least {EDGE}"),
            advice: "rounder edges",
        }
        .into());
    }
    let points = cylinder(aspect * across, across, edge);
    // Scaled to the volume, as its degrees are.
    let own = Start::Profile {
        meridian: points.clone(),
    }
    .radius();
    Ok(points.into_iter().map(|p| p.map(|x| x * radius / own)).collect())
}

/// A cylinder of half length `along` and radius `across` with round edges, in even steps.
fn cylinder(along: f64, across: f64, edge: f64) -> Vec<[f64; 2]> {
    let (flat, side, bend) = (across - edge, 2.0 * (along - edge), 0.5 * PI * edge);
    let whole = 2.0 * (flat + bend) + side;
    let upper = |s: f64| {
        if s < flat {
            return [along, s];
        }
        let (sin, cos) = ((s - flat) / edge).min(0.5 * PI).sin_cos();
        [along - edge + edge * cos, flat + edge * sin]
    };
    let point = |k: u32| {
        let s = whole * f64::from(k) / f64::from(POINTS);
        if s < flat + bend {
            upper(s)
        } else if s > whole - flat - bend {
            let [z, r] = upper((whole - s).max(0.0));
            [-z, r]
        } else {
            [along - edge - (s - flat - bend), across]
        }
    };
    (0..=POINTS).map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rounded_cylinder_is_closed_and_holds_its_volume() {
        let points = cylinder(2.0, 1.0, 0.4);
        let start = Start::Profile {
            meridian: points.clone(),
        };
        start.check().expect("a body");
        // By hand: a cylinder of length 4 less what the edges lack: 2 [pi e^2 (2 - pi/2)(1 - e) + pi e^3 / 3 ...] by Pappus:
        // square of side e less its quarter disc, its middle at 1 - e + e (5/6 ... ) from the axis.
        let e = 0.4_f64;
        let area = e * e * (1.0 - PI / 4.0);
        // Middle of that piece from the corner: e (10 - 3 pi) / (12 - 3 pi).
        let middle = 1.0 - e * (10.0 - 3.0 * PI) / (12.0 - 3.0 * PI);
        let volume = 4.0 * PI - 2.0 * 2.0 * PI * middle * area;
        let due = (0.75 * volume / PI).cbrt();
        assert!(
            (start.radius() / due - 1.0).abs() < 1e-4,
            "{} {due}",
            start.radius()
        );
    }
}
