//! The end of a ligament drawing back, and the neck between two drops opening.

use tremolet_simulate::driver::Drivers;
use tremolet_simulate::potential::boundary::body::{Body, Surface};
use tremolet_simulate::potential::boundary::curve::End;
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::resolution::Resolution;
use tremolet_simulate::potential::boundary::setup::{Filling, Piece};
use tremolet_theory::collision::neck::INERTIAL_FACTORS;

use super::{UNIT, let_go, star};
use crate::bench::{Bench, Effort};
use crate::case::{Failure, Outcome};

/// All of it.
pub fn all(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    ligament(outcome)?;
    if bench.effort == Effort::Full {
        merger(outcome)?;
    }
    Ok(())
}

/// Half a ligament of radius 1 with a round end, mirrored in a plane.
fn ligament(outcome: &mut Outcome) -> Result<(), Failure> {
    let (length, elements) = (14.0, 16);
    let step = std::f64::consts::PI / elements as f64;
    let (mut r, mut z) = (Vec::new(), Vec::new());
    for i in 0..elements / 2 {
        let angle = step * i as f64;
        r.push(angle.sin());
        z.push(angle.cos() - 1.0);
    }
    let count = (length / step).ceil() as usize;
    for i in 0..=count {
        r.push(1.0);
        z.push(-1.0 - length * i as f64 / count as f64);
    }
    let phi = vec![0.0; r.len()];
    let ends = [End::Axis, End::Plane];
    let body = Body {
        surfaces: vec![Surface {
            ends,
            r,
            z,
            phi,
            layers: Vec::new(),
        }],
    };
    let resolution = Resolution {
        elements,
        tolerance: 1e-7,
        ..Resolution::default()
    };
    let made = Boundary::of_bodies(
        &UNIT,
        1.0,
        vec![body],
        Filling::Stiff,
        &Drivers::default(),
        resolution,
    );
    let mut solver = made.map_err(|why| Failure::Refused(why.to_string()))?;
    let found = let_go(&mut solver, 2.25, 9)?;
    let tip = |k: usize| found.samples.get(k).map(|s| s.surfaces[0].meridian[0][0]);
    let speed = tip(5).zip(tip(9)).map(|(a, b)| a - b);
    // [Keller1983]: the tension draws in as much momentum as the end takes up. Later the rim slows down before its own neck.
    let what = "speed of the end between 1.25 and 2.25 capillary times over sqrt(sigma / rho a), less 1";
    outcome.within("ligament", what, speed.map(|speed| speed - 1.0), 0.1, "");
    Ok(())
}

/// Two equal drops that touch: the neck grows as the root of time.
fn merger(outcome: &mut Outcome) -> Result<(), Failure> {
    let finest = 6e-3;
    let apart = 0.5 * finest;
    let piece = |height: f64| Piece {
        height,
        ..Piece::alone(star(&[]))
    };
    let pieces = [piece(1.0 + 0.5 * apart), piece(-1.0 - 0.5 * apart)];
    let resolution = Resolution {
        elements: 32,
        tolerance: 1e-7,
        finest: finest / 2.0_f64.cbrt(),
    };
    let made = Boundary::new(&UNIT, &pieces, Filling::Stiff, &Drivers::default(), resolution);
    let mut solver = made.map_err(|why| Failure::Refused(why.to_string()))?;
    let found = let_go(&mut solver, 0.03, 30)?;
    let neck = |k: usize| {
        let middle = |p: &&[f64; 2]| p[0].abs() < 0.05;
        let points = found.samples.get(k)?.surfaces.first()?.meridian.iter();
        points.filter(middle).map(|p| p[1]).reduce(f64::min)
    };
    // [Duchemin2003]: the square of the radius grows evenly, C^2 t; C at most 1.62, experiments from 1.1.
    let square = |k: usize| neck(k).map(|radius| radius * radius);
    let rate = |from: usize, to: usize| {
        let pair = square(from).zip(square(to));
        pair.map(|(a, b)| (b - a) / (found.samples[to].time - found.samples[from].time))
    };
    let factor = rate(10, 30).map(f64::sqrt);
    let told = factor.map_or("absent".into(), |factor| format!("{factor:.3}"));
    let [least, most] = INERTIAL_FACTORS;
    let held = factor.is_some_and(|factor| (least..=most).contains(&factor));
    let what = "radius of the neck over the root of time, from the rate of its square between 0.01 and 0.03 capillary times of one";
    outcome.must("two drops", what, told, &format!("{least} to {most}"), held);
    let bent = rate(10, 20).zip(rate(20, 30)).map(|(a, b)| b / a - 1.0);
    let what = "change of that rate from the first half to the second: nil for a root of time";
    outcome.within("two drops", what, bent, 0.15, "");
    outcome.tell("two drops", "how it ended", found.stop.to_string());
    Ok(())
}
