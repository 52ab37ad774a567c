use std::f64::consts::PI;

use super::body::{Body, Surface};
use super::curve::End;
use super::flow::Boundary;
use super::influence::Influence;
use super::joining::{gap, joined};
use super::mesh::Spacing;
use super::necks::thinnest;
use super::parting::parted;
use super::points::Rules;
use super::resolution::Resolution;
use super::setup::{Bubble, Filling, Piece, Thread};
use crate::driver::{Drivers, End as Peels, Footprint, Form, Pulse, Support};
use crate::event::Kind;
use crate::liquid::{Gas, Liquid};
use crate::potential::release::KNOWN;
use crate::run::{Course, Run, begin, run};
use crate::solver::Solver;
use crate::start::Start;

const UNIT: Liquid = Liquid {
    density: 1.0,
    tension: 1.0,
    viscosity: 0.0,
};

fn star(shape: &[f64]) -> Start {
    Start::Star {
        radius: 1.0,
        shape: shape.to_vec(),
        velocity: Vec::new(),
    }
}

fn resolution(elements: usize) -> Resolution {
    Resolution {
        elements,
        ..Resolution::default()
    }
}

fn solver(liquid: &Liquid, piece: Piece, elements: usize) -> Boundary {
    Boundary::new(
        liquid,
        &[piece],
        Filling::Stiff,
        &Drivers::default(),
        resolution(elements),
    )
    .expect("a body")
}

fn follow(solver: &mut Boundary, end: f64, count: usize) -> Run {
    let from = begin(solver);
    let times = (0..=count).map(|k| end * k as f64 / count as f64).collect();
    let free = Course {
        volume_drift: 1.0,
        energy_drift: 1.0,
        ..Course::along(times)
    };
    run(solver, &from, &free, &mut |_| true).expect("its own checkpoint")
}

/// Angular frequency from crossings of nil that are whole periods apart.
pub fn turning(times: &[f64], values: &[f64]) -> f64 {
    let mut crossings = Vec::new();
    for k in 1..values.len() {
        if values[k - 1] * values[k] < 0.0 {
            let share = values[k - 1] / (values[k - 1] - values[k]);
            crossings.push(times[k - 1] + share * (times[k] - times[k - 1]));
        }
    }
    let periods = (crossings.len() - 1) / 2;
    2.0 * PI * periods as f64 / (crossings[2 * periods] - crossings[0])
}

/// A pear and the harmonic r^3 P_3 on it.
fn pear(count: usize) -> Body {
    let point = |i: usize| {
        let t = PI * i as f64 / count as f64;
        let across = if i == 0 || i == count { 0.0 } else { t.sin() };
        [0.8 * across, 1.3 * t.cos() + 0.1 * (2.0 * t).cos()]
    };
    let points: Vec<[f64; 2]> = (0..=count).map(point).collect();
    Body {
        surfaces: vec![Surface {
            ends: [End::Axis; 2],
            r: points.iter().map(|x| x[0]).collect(),
            z: points.iter().map(|x| x[1]).collect(),
            phi: points.iter().map(|[r, z]| z.powi(3) - 1.5 * z * r * r).collect(),
            layers: Vec::new(),
        }],
    }
}

/// Normal slope of that harmonic at the nodes.
fn slopes(body: &Body) -> Vec<f64> {
    let slope = |node: &super::curve::Node| {
        let (r, z) = (node.place.r, node.place.z);
        node.normal[0] * (-3.0 * z * r) + node.normal[1] * (3.0 * z * z - 1.5 * r * r)
    };
    body.surfaces[0].curve().nodes().iter().map(slope).collect()
}

#[test]
fn potential_gives_its_slope_and_slope_its_potential_in_high_order() {
    let rules = Rules::default();
    let errors = |count: usize| {
        let body = pear(count);
        let influence = Influence::of(&body, &rules, true);
        let flow = influence.flow(&body, &rules, true).expect("solved");
        let exact = slopes(&body);
        let of_slope = exact
            .iter()
            .enumerate()
            .map(|(i, q)| (flow[0].at_knot(i)[0] - q).abs());
        let found = influence.harmonic(std::slice::from_ref(&exact)).expect("solved");
        let off = found[0][0] - body.surfaces[0].phi[0];
        let of_potential = found[0]
            .iter()
            .zip(&body.surfaces[0].phi)
            .map(|(a, b)| (a - b - off).abs());
        [of_slope.fold(0.0, f64::max), of_potential.fold(0.0, f64::max)]
    };
    let (coarse, fine) = (errors(16), errors(64));
    for which in 0..2 {
        let order = (coarse[which] / fine[which]).log2() / 2.0;
        assert!(order > 5.0, "{which}: {coarse:?} {fine:?}");
    }
    assert!(fine[0] < 1e-6 && fine[1] < 1e-6, "{fine:?}");
}

#[test]
fn small_swings_have_the_frequencies_of_rayleigh() {
    // Rayleigh 1879: omega_n^2 = n (n - 1)(n + 2) in units of the drop.
    for n in [2_usize, 3, 5] {
        let mut shape = vec![0.0; n + 1];
        shape[n] = 1e-3;
        let exact = ((n * (n - 1) * (n + 2)) as f64).sqrt();
        let mut solver = solver(&UNIT, Piece::alone(star(&shape)), 32);
        let found = follow(&mut solver, 2.3 * 2.0 * PI / exact, 300);
        let times: Vec<f64> = found.samples.iter().map(|s| s.time).collect();
        let values: Vec<f64> = found.samples.iter().map(|s| s.amplitudes[n]).collect();
        let off = turning(&times, &values) / exact - 1.0;
        assert!(off.abs() < 1e-4, "{n}: {off:e}");
    }
}

#[test]
fn a_large_swing_keeps_volume_energy_and_centre() {
    let mut solver = solver(&UNIT, Piece::alone(star(&[0.0, 0.0, 0.25, 0.1])), 32);
    let found = follow(&mut solver, 3.0, 30);
    assert!(found.stop.is_end());
    let first = found.samples[0].watched;
    for sample in &found.samples {
        assert!(sample.watched.volume_drift(&first).abs() < 1e-7);
        assert!(sample.watched.energy_drift(&first).abs() < 1e-5);
        assert!((sample.watched.centroid - first.centroid).abs() < 1e-7);
    }
    // It did move.
    assert!((found.samples[12].amplitudes[2] - 0.25).abs() > 0.1);
}

// The initial-value problem of a drop let go at rest: Prosperetti 1980, inverted numerically and by collocation, Oh = 0.01, n = 2; recomputed
// independently. Lamb's rate alone would be off by 0.03 in the end.
#[test]
fn a_viscous_drop_let_go_follows_the_linear_initial_value_problem() {
    let liquid = Liquid {
        viscosity: 0.01,
        ..UNIT
    };
    let times = KNOWN.map(|[time, _]| time).to_vec();
    let mut solver = solver(&liquid, Piece::alone(star(&[0.0, 0.0, 1e-4])), 24);
    let from = begin(&mut solver);
    let course = Course {
        energy_drift: 1.0,
        ..Course::along(times)
    };
    let found = run(&mut solver, &from, &course, &mut |_| true).expect("its own checkpoint");
    for (sample, [_, known]) in found.samples.iter().zip(KNOWN) {
        let share = sample.amplitudes[2] / 1e-4;
        assert!((share - known).abs() < 1.5e-3, "{} {share} {known}", sample.time);
    }
}

#[test]
fn a_gas_around_makes_the_swing_heavier_and_keeps_energy_and_momentum() {
    // omega^2 = n (n-1)(n+1)(n+2) / [(n+1) rho_i + n rho_o]: Lamb 1932 art. 275, here rho_o = 0.3, n = 2: 24 / 3.6.
    let gas = Gas {
        density: 0.3,
        viscosity: 0.0,
    };
    let heavy = |piece: Piece| solver(&UNIT, piece, 32).with_gas(&gas).expect("alone");
    let found = follow(&mut heavy(Piece::alone(star(&[0.0, 0.0, 1e-4]))), 3.0, 12);
    for sample in &found.samples {
        let known = 1e-4 * ((24.0_f64 / 3.6).sqrt() * sample.time).cos();
        assert!((sample.amplitudes[2] - known).abs() < 1e-8, "{}", sample.time);
    }
    // A large lopsided swing of a drop that flies: the momentum of both is kept, that of the liquid and its added mass at the start
    // (1 + 0.3/2) speed (Lamb 1932 art. 92) for a ball.
    let flying = |shape: &[f64]| Piece {
        speed: 0.5,
        ..Piece::alone(star(shape))
    };
    let ball = follow(&mut heavy(flying(&[])), 0.01, 1);
    assert!((ball.samples[0].watched.velocity / (0.5 * 1.15) - 1.0).abs() < 1e-6);
    let found = follow(&mut heavy(flying(&[0.0, 0.0, 0.25, 0.1])), 2.0, 8);
    assert!(found.stop.is_end());
    let first = found.samples[0].watched;
    for sample in &found.samples {
        assert!(sample.watched.energy_drift(&first).abs() < 1e-5);
        let off = sample.watched.velocity - first.velocity;
        assert!(off.abs() < 1e-6, "{off:e}");
    }
    let shell = Piece {
        bubble: Some(Bubble {
            start: star(&[]),
            height: 0.0,
        }),
        ..Piece::alone(Start::Star {
            radius: 2.0,
            shape: Vec::new(),
            velocity: Vec::new(),
        })
    };
    assert!(solver(&UNIT, shell, 24).with_gas(&gas).is_err());
}

#[test]
fn a_shell_rings_in_its_two_families() {
    // Concentric bubble of half the radius, n = 2: omega 2.739963695766 (amplitudes -0.11022052 on the wall for 1 outside) and
    // 10.11429931131 (9.0727205), from the inviscid two-surface problem, recomputed independently.
    for (omega, ratio, size) in [
        (2.739_963_695_766, -0.110_220_52, 1e-3),
        (10.114_299_311_31, 9.072_720_5, 1e-4),
    ] {
        let wall = Start::Star {
            radius: 0.5,
            shape: vec![0.0, 0.0, ratio * size / 0.5],
            velocity: Vec::new(),
        };
        let piece = Piece {
            bubble: Some(Bubble {
                start: wall,
                height: 0.0,
            }),
            ..Piece::alone(star(&[0.0, 0.0, size]))
        };
        let pieces = [piece];
        let mut solver = Boundary::new(
            &UNIT,
            &pieces,
            Filling::Stiff,
            &Drivers::default(),
            resolution(40),
        )
        .expect("a shell");
        // Frequencies are in the time of the outer radius, as is the unit liquid.
        let found = follow(&mut solver, 1.3 * 2.0 * PI / omega, 200);
        let times: Vec<f64> = found.samples.iter().map(|s| s.time).collect();
        let values: Vec<f64> = found
            .samples
            .iter()
            .map(|s| s.surfaces[0].meridian[0][0] - 1.0)
            .collect();
        let off = turning(&times, &values) / omega - 1.0;
        assert!(off.abs() < 1e-3, "{omega}: {off:e}");
    }
}

#[test]
fn a_thread_grows_as_fast_as_it_should() {
    // Rayleigh 1879: s^2 = x (1 - x^2) I1(x)/I0(x), x = 0.7: s = 0.343326801114, recomputed independently.
    let thread = Thread {
        radius: 1.0,
        length: PI / 0.7,
        amplitude: 1e-4,
        waves: 0.5,
    };
    let body = thread.body(16).expect("a thread");
    let mut solver = Boundary::of_bodies(
        &UNIT,
        1.0,
        vec![body],
        Filling::Stiff,
        &Drivers::default(),
        resolution(16),
    )
    .expect("a body");
    let found = follow(&mut solver, 4.0, 2);
    let crest = |k: usize| found.samples[k].surfaces[0].meridian[0][1] - 1.0;
    // From rest it grows as cosh(s t).
    let growth = (crest(2) / crest(0)).acosh() / 4.0;
    assert!((growth / 0.343_326_801_114 - 1.0).abs() < 2e-3, "{growth}");
}

#[test]
fn a_run_cut_in_two_goes_on_as_the_whole_one() {
    let mut solver = solver(&UNIT, Piece::alone(star(&[0.0, 0.0, 0.3, 0.1])), 24);
    let from = begin(&mut solver);
    let course = Course::along(vec![0.0, 0.4, 0.8]);
    let whole = run(&mut solver, &from, &course, &mut |_| true).expect("whole");
    let cut = run(&mut solver, &from, &course, &mut |p| p.time < 0.5).expect("cut");
    let rest = run(&mut solver, &cut.checkpoint, &course, &mut |_| true).expect("rest");
    let (a, b) = (
        whole.samples.last().expect("some"),
        rest.samples.last().expect("some"),
    );
    assert_eq!(a, b);
    let again = run(&mut solver, &from, &course, &mut |_| true).expect("again");
    assert_eq!(whole, again);
}

// A cut before and one after the neck parts: what follows is the unbroken run to the last bit, what happened included.
#[test]
fn a_run_taken_up_again_tells_the_same_bits_and_the_same_events() {
    let new = || {
        let thread = Thread {
            radius: 1.0,
            length: PI / 0.697,
            amplitude: 0.3,
            waves: 0.5,
        };
        let body = thread.body(20).expect("a thread");
        let resolution = Resolution {
            elements: 16,
            tolerance: 1e-7,
            finest: 3e-2,
        };
        let none = Drivers::default();
        Boundary::of_bodies(&UNIT, 1.0, vec![body], Filling::Stiff, &none, resolution).expect("a thread")
    };
    let mut solver = new();
    let from = begin(&mut solver);
    let course = Course {
        volume_drift: 1e-2,
        energy_drift: 1e-1,
        ..Course::along(vec![0.0, 3.0, 3.9])
    };
    let whole = run(&mut solver, &from, &course, &mut |_| true).expect("whole");
    assert!(whole.stop.is_end(), "{}", whole.stop);
    assert_eq!(whole.checkpoint.events.len(), 1);
    assert_eq!(whole.checkpoint.events[0].kind, Kind::PinchOff);
    let parted = whole.checkpoint.events[0].time;
    let mut stand = from;
    for until in [1.0, parted + 0.02] {
        let cut = run(&mut new(), &stand, &course, &mut |p| p.time < until).expect("cut");
        assert!(!cut.stop.is_end());
        stand = cut.checkpoint;
    }
    let rest = run(&mut new(), &stand, &course, &mut |_| true).expect("rest");
    assert_eq!(rest.checkpoint, whole.checkpoint);
    assert_eq!(rest.samples.last(), whole.samples.last());
    // A solver that has run before forgets what happened then.
    let early = Course::along(vec![0.1]);
    let again = run(&mut solver, &begin(&mut new()), &early, &mut |_| true).expect("again");
    assert!(again.checkpoint.events.is_empty() && solver.events().is_empty());
}

#[test]
fn what_is_no_body_is_refused() {
    let told = |pieces: &[Piece]| {
        let made = Boundary::new(&UNIT, pieces, Filling::Stiff, &Drivers::default(), resolution(24));
        made.expect_err("refused").to_string()
    };
    let bubble = |radius: f64, height: f64| Piece {
        bubble: Some(Bubble {
            start: Start::Star {
                radius,
                shape: Vec::new(),
                velocity: Vec::new(),
            },
            height,
        }),
        ..Piece::alone(star(&[]))
    };
    assert!(told(&[bubble(0.5, 0.6)]).contains("bubble"));
    assert!(told(&[bubble(1.2, 0.0)]).contains("bubble"));
    let at = |height: f64| Piece {
        height,
        ..Piece::alone(star(&[]))
    };
    assert!(told(&[at(0.0), at(1.9)]).contains("overlaps"));
    let coarse = Boundary::new(
        &UNIT,
        &[at(0.0)],
        Filling::Stiff,
        &Drivers::default(),
        resolution(8),
    );
    assert!(coarse.expect_err("refused").to_string().contains("elements"));
}

#[test]
fn a_neck_cut_keeps_volume_and_momentum() {
    let shape = [0.0, 0.0, 1.45, 0.0, 0.35];
    let rules = Rules::default();
    let calm = PI / 48.0;
    let spacing = Spacing {
        calm,
        turn: 2.5 * calm,
    };
    let mut body = Piece::alone(star(&shape)).body(1.0, 1.0, 96).expect("a body");
    for _ in 0..3 {
        spacing.improve(&mut body, &rules);
    }
    let outer = &mut body.surfaces[0];
    for (phi, z) in outer.phi.iter_mut().zip(&outer.z) {
        *phi = 0.3 * z + 0.1 * z * z;
    }
    let neck = thinnest(&body.surfaces[0]).expect("a neck");
    assert!(neck.radius < 0.3, "{neck:?}");
    let parts = parted(&body, neck, &spacing, &rules).expect("two parts");
    assert_eq!(parts.len(), 2);
    let sum = |f: &dyn Fn(&Body) -> f64| parts.iter().map(f).sum::<f64>();
    let volume = sum(&|part| part.moments(&rules)[0]);
    assert!((volume / body.moments(&rules)[0] - 1.0).abs() < 1e-12);
    assert!((sum(&|part| part.momentum(&rules)) / body.momentum(&rules) - 1.0).abs() < 1e-12);
    assert!(gap(&parts[0], &parts[1]).expect("two tips") > 0.0);
    // The parts are mirror images.
    let [a, b] = [0, 1].map(|k| parts[k].moments(&rules)[0]);
    assert!((a / b - 1.0).abs() < 1e-3, "{a} {b}");
}

#[test]
fn drops_that_touch_become_one_and_keep_volume_and_momentum() {
    let rules = Rules::default();
    let calm = PI / 32.0;
    let spacing = Spacing {
        calm,
        turn: 2.5 * calm,
    };
    let one = |height: f64, speed: f64| Piece {
        height,
        speed,
        ..Piece::alone(star(&[]))
    };
    let bodies = [one(1.005, -0.2), one(-1.005, 0.3)].map(|piece| piece.body(1.0, 1.0, 32).expect("a body"));
    let joint = joined(&bodies[0], &bodies[1], 0.01, &spacing, &rules).expect("one body");
    let sum = |f: &dyn Fn(&Body) -> f64| bodies.iter().map(f).sum::<f64>();
    assert!((joint.moments(&rules)[0] / sum(&|b| b.moments(&rules)[0]) - 1.0).abs() < 1e-12);
    assert!((joint.momentum(&rules) / sum(&|b| b.momentum(&rules)) - 1.0).abs() < 1e-10);
    let neck = thinnest(&joint.surfaces[0]).expect("a neck");
    assert!((0.05..0.4).contains(&neck.radius), "{neck:?}");
}

#[test]
fn a_support_holds_the_start_shape_until_it_goes() {
    let support = Support {
        end: Peels::Upper,
        speed: 1e-6,
        impulse: 0.0,
        width: 0.2,
    };
    let drivers = Drivers {
        support: Some(support),
        ..Drivers::default()
    };
    let shape = [0.0, 0.0, -0.2, 0.0, 0.05];
    let moved = |drivers: &Drivers| {
        let piece = [Piece::alone(star(&shape))];
        let made = Boundary::new(&UNIT, &piece, Filling::Stiff, drivers, resolution(24));
        let found = follow(&mut made.expect("a body"), 0.5, 1);
        (found.samples[1].amplitudes[2] - found.samples[0].amplitudes[2]).abs()
    };
    assert!(moved(&drivers) < 1e-3, "{}", moved(&drivers));
    assert!(moved(&Drivers::default()) > 0.05);
}

#[test]
fn a_bubble_breathes_at_its_frequency() {
    // omega^2 = [3 g p_g/a - 2 sigma/a^2 - 2 sigma a^2/b^4] / [rho a (1 - a/b)], p_g = p_0 + 2 sigma/a + 2 sigma/b: Bernoulli's equation
    // between two spheres, linearised by hand; b = 1.
    let (a, around, exponent) = (0.5_f64, 200.0, 1.4);
    let gas = around + 2.0 + 2.0 / a;
    let omega = ((3.0 * exponent * gas / a - 2.0 / (a * a) - 2.0 * a * a) / (a * (1.0 - a))).sqrt();
    let wall = Start::Star {
        radius: a,
        shape: Vec::new(),
        velocity: Vec::new(),
    };
    let piece = Piece {
        bubble: Some(Bubble {
            start: wall,
            height: 0.0,
        }),
        ..Piece::alone(star(&[]))
    };
    let squeeze = Footprint {
        peak: 0.5,
        half_angle: 4.0,
        end: Peels::Upper,
        form: Form::Cap,
        begins: 0.0,
        lasts: 0.01,
        pulse: Pulse::Even,
    };
    let drivers = Drivers {
        footprints: vec![squeeze],
        ..Drivers::default()
    };
    let filling = Filling::Polytropic { around, exponent };
    let mut solver = Boundary::new(&UNIT, &[piece], filling, &drivers, resolution(24)).expect("a shell");
    let found = follow(&mut solver, 1.8 * 2.0 * PI / omega, 300);
    let times: Vec<f64> = found.samples.iter().map(|s| s.time).collect();
    let values: Vec<f64> = found
        .samples
        .iter()
        .map(|s| s.surfaces[1].meridian[0][0] - a)
        .collect();
    let off = turning(&times, &values) / omega - 1.0;
    assert!(off.abs() < 5e-3, "{off:e}");
}

#[test]
fn half_a_body_on_a_plane_flows_as_the_whole() {
    let count = 24;
    let point = |i: usize| {
        let t = 0.5 * PI * i as f64 / count as f64;
        [
            if i == 0 { 0.0 } else { 0.9 * t.sin() },
            if i == count { 0.0 } else { 1.2 * t.cos() },
        ]
    };
    let points: Vec<[f64; 2]> = (0..=count).map(point).collect();
    let body = Body {
        surfaces: vec![Surface {
            ends: [End::Axis, End::Plane],
            r: points.iter().map(|x| x[0]).collect(),
            z: points.iter().map(|x| x[1]).collect(),
            phi: points.iter().map(|[r, z]| z * z - 0.5 * r * r).collect(),
            layers: Vec::new(),
        }],
    };
    let rules = Rules::default();
    let flow = Influence::of(&body, &rules, false)
        .flow(&body, &rules, true)
        .expect("solved");
    for (i, node) in body.surfaces[0].curve().nodes().iter().enumerate() {
        let exact = 2.0 * node.normal[1] * node.place.z - node.normal[0] * node.place.r;
        let off = flow[0].at_knot(i)[0] - exact;
        assert!(off.abs() < 1e-6, "{i}: {off:e}");
    }
}

#[test]
fn a_drop_set_turning_swings_about_its_flattened_rest() {
    // Rest shape r = 1 - (Omega^2/12) P2 of the unit drop to first order, from the balance of pressures; from rest it swings about it.
    let drivers = Drivers {
        rotation: 0.1,
        ..Drivers::default()
    };
    let pieces = [Piece::alone(star(&[]))];
    let mut solver = Boundary::new(&UNIT, &pieces, Filling::Stiff, &drivers, resolution(20)).expect("a body");
    let found = follow(&mut solver, PI / 8_f64.sqrt(), 1);
    let furthest = found.samples[1].amplitudes[2];
    assert!((furthest / (-0.01 / 6.0) - 1.0).abs() < 0.02, "{furthest:e}");
}
