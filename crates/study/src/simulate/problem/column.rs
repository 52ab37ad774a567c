//! A column: a free thread with round ends and waves on it, at rest, whose ends draw in while the waves part it.
//!
//! ```text
//! r(z) = a (1 - e cos(2 pi m (z/l + 1/2)) g),   |z| <= l/2 - a,   closed by half balls;   m = l over the fastest wavelength, whole
//! ```
//! `g` fades the waves out over the last radius before the ends.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a, l | radius and length of the column | m |
//! | e, m | height of the waves over the radius, their number | 1 |

use std::f64::consts::{PI, TAU};

use tremolet_matter::uncertain::Uncertain;
use tremolet_plan::given::Given;
use tremolet_report::input::Row;
use tremolet_simulate::liquid::InputError;
use tremolet_simulate::start::Start;
use tremolet_theory::column::fastest::fastest;
use tremolet_theory::column::retraction::race;
use tremolet_theory::column::thread::Thread;
use tremolet_theory::modes::host::Pair;

use super::{POINTS, Problem, Refusal, at_rest, fault, size};
use crate::error::StudyError;

/// Height of the waves over the radius, where none is stated.
const DISTURBANCE: f64 = 0.01;
/// Elements on half a turn of a ball of the column's radius: enough, and too few.
const AROUND: [f64; 2] = [12.0, 6.0];
/// Times that the motion is looked at for, in times until it parts or has drawn in.
const LONGER: f64 = 2.0;
/// Share by which a stated volume may differ from that of the column before it is said.
const ANOTHER: f64 = 0.03;

/// The problem of a column.
///
/// # Errors
/// When the file does not state the column, or its waves are as high as it is thick.
pub fn column(given: &Given<'_>, pair: &Pair) -> Result<Problem, StudyError> {
    let stated = given.experiment.column.as_ref();
    let value = |x: Option<&Uncertain>| x.map(Uncertain::value);
    let sizes =
        value(stated.and_then(|c| c.length.as_ref())).zip(value(stated.and_then(|c| c.diameter.as_ref())));
    let Some((length, diameter)) = sizes else {
        return Err(fault(
            given,
            "column",
            "not both",
            "length and diameter of the column",
        ));
    };
    let (radius, told) = (0.5 * diameter, value(stated.and_then(|c| c.disturbance.as_ref())));
    let height = told.unwrap_or(DISTURBANCE * radius);
    if length < diameter || height >= radius {
        return Err(InputError::Shape {
            why: "is no column, height of its waves over its radius",
            found: height / radius,
            expected: "waves lower than the radius, a length of a diameter at least",
        }
        .into());
    }
    let thread = Thread {
        radius,
        tension: pair.tension,
        density: pair.density,
        viscosity: pair.viscosity,
        host_density: pair.host_density,
        host_viscosity: pair.host_viscosity,
    };
    let cannot =
        |why: tremolet_theory::error::TheoryError| fault(given, "column", &why.to_string(), "a column");
    let wave = fastest(&thread).map_err(cannot)?;
    let race = race(&thread, length, height).map_err(cannot)?;
    let waves = (length / wave.wavelength).round().max(1.0);
    let any = Start::Profile {
        meridian: meridian([radius, length], height / radius, waves),
    };
    let whole = any.radius();
    let kind = "a column is crossed more than once by rays from its middle";
    let mut set = at_rest(
        &Pair {
            radius: whole,
            ..*pair
        },
        Err(Refusal::Kind(kind)),
        any,
    );
    set.swing = TAU / wave.growth;
    set.lasts = LONGER * race.parts.min(race.ends_meet).max(0.5 * race.ends_meet);
    set.elements = AROUND.map(|around| (around * whole / radius).ceil() as u64);
    set.rows.insert(0, size(whole));
    set.rows.extend([
        Row::new("Length of the column", format!("{:.3} mm", 1e3 * length)),
        Row::new("Diameter of the column", format!("{:.3} mm", 1e3 * diameter)),
        Row::new("Waves on it", format!("{waves}, {:.4} mm high", 1e3 * height)),
    ]);
    set.assumptions.extend(assumed(waves, told.is_none()));
    set.assumptions.extend(another(pair.radius, whole));
    Ok(set)
}

fn assumed(waves: f64, assumed: bool) -> Vec<String> {
    let mut all = vec![
        "the column is free, round and at rest, its ends are half balls; what held it is gone".to_string(),
        format!("the waves on it are those that grow fastest, {waves} over its length"),
    ];
    if assumed {
        all.push("the height of the waves is not stated: a hundredth of the radius".into());
    }
    all
}

/// What is said when `[body]` states another volume.
fn another(stated: f64, whole: f64) -> Option<String> {
    let share = (stated / whole).powi(3) - 1.0;
    (share.abs() > ANOTHER).then(|| {
        format!(
            "the column as stated holds {:.4} mL; the volume stated for the body is {:+.1} % off that and is not used",
            4e6 / 3.0 * PI * whole.powi(3),
            100.0 * share
        )
    })
}

/// Its meridian from the upper end down.
fn meridian([radius, length]: [f64; 2], share: f64, waves: f64) -> Vec<[f64; 2]> {
    let (half, bend) = (0.5 * length - radius, 0.5 * PI * radius);
    let way = 2.0 * (half + bend);
    let plain = |s: f64| {
        if s < bend {
            let (sin, cos) = (s / radius).sin_cos();
            [half + radius * cos, radius * sin]
        } else {
            [half - (s - bend), radius]
        }
    };
    let count = (f64::from(POINTS).max(48.0 * length / radius)) as u32;
    let point = |k: u32| {
        let s = way * f64::from(k) / f64::from(count);
        let [z, r] = if s > 0.5 * way {
            let [z, r] = plain(way - s);
            [-z, r]
        } else {
            plain(s)
        };
        let across = if k == 0 || k == count { 0.0 } else { r };
        let inside = ((half - z.abs()) / radius).clamp(0.0, 1.0);
        let fade = inside * inside * (3.0 - 2.0 * inside);
        [
            z,
            across * (1.0 - share * fade * (TAU * waves * (z / length + 0.5)).cos()),
        ]
    };
    (0..=count).map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Cylinder of radius 1 and length 10 between half balls: pi 10 + 4 pi / 3 = 35.605.
    #[test]
    fn a_column_has_its_volume_its_waves_and_its_round_ends() {
        let even = Start::Profile {
            meridian: meridian([1.0, 12.0], 0.0, 3.0),
        };
        even.check().expect("a body");
        assert!((4.0 / 3.0 * PI * even.radius().powi(3) / 35.604_717 - 1.0).abs() < 1e-4);
        let waved = meridian([1.0, 12.0], 0.2, 3.0);
        // Crests in the middle of each third: at 4, 0 and -4.
        let across = |at: f64| {
            waved
                .iter()
                .min_by(|a, b| (a[0] - at).abs().total_cmp(&(b[0] - at).abs()))
                .expect("a point")[1]
        };
        assert!(
            (across(0.0) - 1.2).abs() < 1e-3
                && (across(2.0) - 0.8).abs() < 1e-3
                && (across(-4.0) - 1.2).abs() < 2e-2
        );
        assert_eq!((waved[0], waved[waved.len() - 1][1]), ([6.0, 0.0], 0.0));
    }
}
