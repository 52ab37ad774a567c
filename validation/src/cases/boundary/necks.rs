//! Pinch-off: the law of the neck, the cones on its two sides, what comes off.

use tremolet_numerics::ode::Stepper;
use tremolet_simulate::driver::Drivers;
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::necks::thinnest;
use tremolet_simulate::potential::boundary::resolution::Resolution;
use tremolet_simulate::potential::boundary::setup::{Filling, Thread};
use tremolet_simulate::potential::boundary::state::unpacked;
use tremolet_simulate::run::begin;
use tremolet_simulate::solver::Solver;
use tremolet_simulate::start::volume;

use super::UNIT;
use crate::bench::{Bench, Effort};
use crate::case::{Failure, Outcome};

/// Constant of the law of the neck and angles of its cones \[DayHinchLister1998\], from memory.
const CONSTANT: f64 = 0.717;
const CONES: [f64; 2] = [18.1, 112.8];

/// A neck as it went.
struct Course {
    /// Time and radius.
    neck: Vec<[f64; 2]>,
    /// The meridian at the end.
    last: Vec<[f64; 2]>,
    /// How it ended.
    ended: String,
}

/// All of it.
pub fn all(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let (elements, finest) = if bench.effort == Effort::Full {
        (32, 1.2e-4)
    } else {
        (20, 4e-3)
    };
    let course = follow(elements, finest)?;
    let clip = format!("thread, neck to {finest:e} of its radius");
    let Some((end, constant)) = law(&course.neck, 5.0 * finest) else {
        outcome.must(&clip, "neck", course.ended, "pinched off", false);
        return Ok(());
    };
    outcome.must(&clip, "end", course.ended, "pinched off", true);
    let what = "constant C of r = C (sigma t^2/rho)^(1/3) while the neck is thinner than five times its last, less 0.717";
    outcome.within(&clip, what, Some(constant - CONSTANT), 0.05, "");
    // The exponent over the last decades of time that are well away from the last neck.
    let decades: i32 = if bench.effort == Effort::Full { 2 } else { 1 };
    let late = course
        .neck
        .iter()
        .filter(|[t, r]| end - t > 0.0 && *r > 1.5 * finest);
    let logarithms: Vec<[f64; 2]> = late.map(|[t, r]| [(end - t).ln(), r.ln()]).collect();
    let from = logarithms.last().map_or(0.0, |last| last[0]);
    let to = from + 10_f64.powi(decades).ln();
    let within: Vec<[f64; 2]> = logarithms
        .into_iter()
        .filter(|[t, _]| (from..=to).contains(t))
        .collect();
    let exponent = slope(&within) - 2.0 / 3.0;
    let what = format!("exponent of the neck, decades of time {decades}, less 2/3");
    outcome.within(&clip, &what, Some(exponent), 0.03, "");
    outcome.tell(
        &clip,
        "radii of what one wave becomes, in radii of the thread",
        sizes(&course.last),
    );
    let [slender, blunt] = cones(&course.last);
    let bound = if bench.effort == Effort::Full { 2.0 } else { 10.0 };
    outcome.within(
        &clip,
        "angle of the slender cone, less 18.1 deg",
        Some(slender - CONES[0]),
        2.0,
        " deg",
    );
    outcome.within(
        &clip,
        "angle of the blunt cone, less 112.8 deg",
        Some(blunt - CONES[1]),
        bound,
        " deg",
    );
    Ok(())
}

/// A thread of the fastest wave followed until its neck is thinner than `finest`.
fn follow(elements: usize, finest: f64) -> Result<Course, Failure> {
    let thread = Thread {
        radius: 1.0,
        length: std::f64::consts::PI / 0.697,
        amplitude: 0.3,
        waves: 0.5,
    };
    let refused = |why: tremolet_simulate::liquid::InputError| Failure::Refused(why.to_string());
    let body = thread.body(elements).map_err(refused)?;
    let resolution = Resolution {
        elements,
        tolerance: 1e-7,
        finest: 0.5 * finest,
    };
    let mut solver = Boundary::of_bodies(
        &UNIT,
        1.0,
        vec![body],
        Filling::Stiff,
        &Drivers::default(),
        resolution,
    )
    .map_err(refused)?;
    let from = begin(&mut solver);
    let scales = solver.scales(&from.state);
    let mut ode = Stepper::new(solver.pair(), 0.0, from.state, scales, from.step);
    let mut course = Course {
        neck: Vec::new(),
        last: Vec::new(),
        ended: "not in time".into(),
    };
    while ode.time() < 10.0 {
        ode.limit(solver.longest_step(ode.state()));
        if let Err(why) = ode.advance(10.0, &mut |t, y, rates| solver.rates(t, y, rates)) {
            course.ended = why.to_string();
            break;
        }
        let bodies = unpacked(&solver.layout(), ode.state(), 0).unwrap_or_default();
        let Some(surface) = bodies.first().map(|body| &body.surfaces[0]) else {
            break;
        };
        if let Some(neck) = thinnest(surface) {
            course.neck.push([ode.time(), neck.radius]);
            if neck.radius < finest {
                course.last = surface.r.iter().zip(&surface.z).map(|(r, z)| [*r, *z]).collect();
                course.ended = format!("pinched off after {} steps", ode.effort().steps);
                break;
            }
        }
        match solver.settle(ode.time(), ode.state()) {
            Ok(Some(state)) => {
                let scales = solver.scales(&state);
                ode.replace(state, scales);
            }
            Ok(None) => {}
            Err(why) => {
                course.ended = why.to_string();
                break;
            }
        }
    }
    Ok(course)
}

/// End and constant of `r^(3/2) = C^(3/2) (end - t)` fitted to necks thinner than `below`.
fn law(neck: &[[f64; 2]], below: f64) -> Option<(f64, f64)> {
    let points: Vec<[f64; 2]> = neck
        .iter()
        .filter(|p| p[1] < below)
        .map(|p| [p[0], p[1].powf(1.5)])
        .collect();
    if points.len() < 10 {
        return None;
    }
    let rate = -slope(&points);
    let count = points.len() as f64;
    let mean = |k: usize| points.iter().map(|p| p[k]).sum::<f64>() / count;
    Some((mean(0) + mean(1) / rate, rate.powf(2.0 / 3.0)))
}

/// Of the straight line through points.
fn slope(points: &[[f64; 2]]) -> f64 {
    let count = points.len() as f64;
    let mean = |k: usize| points.iter().map(|p| p[k]).sum::<f64>() / count;
    let (x, y) = (mean(0), mean(1));
    let cross: f64 = points.iter().map(|p| (p[0] - x) * (p[1] - y)).sum();
    cross / points.iter().map(|p| (p[0] - x).powi(2)).sum::<f64>()
}

/// Half angles of the slender and of the blunt side, degrees: where the slope turns round, some necks away.
fn cones(meridian: &[[f64; 2]]) -> [f64; 2] {
    let inside = 1..meridian.len() - 1;
    let neck = inside
        .min_by(|a, b| meridian[*a][0].total_cmp(&meridian[*b][0]))
        .unwrap_or(0);
    let radius = meridian[neck][0];
    // Angle of each piece from the axis, going away from the neck.
    let angle = |from: usize, to: usize| {
        let (r, z) = (
            meridian[to][0] - meridian[from][0],
            meridian[to][1] - meridian[from][1],
        );
        r.atan2(z).to_degrees()
    };
    let steepest = |angles: Vec<f64>| angles.into_iter().fold(0.0, f64::max);
    let near = |i: &usize| (2.0 * radius..30.0 * radius).contains(&meridian[*i][0]);
    let above: Vec<f64> = (1..=neck).filter(near).map(|i| angle(i, i - 1)).collect();
    let below: Vec<f64> = (neck..meridian.len() - 1)
        .filter(near)
        .map(|i| 180.0 - angle(i, i + 1))
        .collect();
    let both = [steepest(above), steepest(below)];
    [both[0].min(both[1]), both[0].max(both[1])]
}

/// The radii of the drops on both sides of the neck, each mirrored in its plane.
fn sizes(meridian: &[[f64; 2]]) -> String {
    let along: Vec<[f64; 2]> = meridian.iter().map(|[r, z]| [*z, *r]).collect();
    let inside = 1..along.len() - 1;
    let neck = inside
        .min_by(|a, b| along[*a][1].total_cmp(&along[*b][1]))
        .unwrap_or(1);
    let radius = |part: &[[f64; 2]]| (2.0 * volume(part) * 0.75 / std::f64::consts::PI).cbrt();
    let [main, satellite] = [radius(&along[..=neck]), radius(&along[neck..])];
    let whole = (main.powi(3) + satellite.powi(3)).cbrt();
    format!("{main:.3} and a satellite of {satellite:.3}; together {whole:.3}")
}
