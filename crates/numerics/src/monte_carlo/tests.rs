//! The worked examples of JCGM 101:2008, and what the procedure promises.

use super::*;
use crate::statistics::student_quantile;

const PLAN: Plan = Plan {
    seed: 101,
    coverage: 0.95,
    most_blocks: 200,
};

fn rectangular(g: &mut Generator, half: f64) -> f64 {
    half * (2.0 * g.uniform() - 1.0)
}

fn one(tolerance: f64, model: impl FnMut(&mut Generator, &mut [f64])) -> Spread {
    propagate(&PLAN, &[tolerance], |_| false, model)[0]
}

fn close(found: f64, stated: f64, within: f64) {
    assert!(
        (found - stated).abs() <= within,
        "{found}, expected {stated} +- {within}"
    );
}

// JCGM 101:2008 section 9.2, Y = X1 + X2 + X3 + X4, from memory: four normals of deviation 1 give u = 2.0, ends -+3.92; four rectangular ones
// of deviation 1 give u = 2.0, ends -+3.88; three of deviation 1 and one of 10 give u = 10.1, ends -+17.0, where the law of propagation has
// -+19.9.
#[test]
fn the_additive_model() {
    let root = 3.0_f64.sqrt();
    let normal = one(0.01, |g, y| y[0] = (0..4).map(|_| g.normal()).sum());
    close(normal.standard_deviation, 2.0, 0.01);
    close(normal.interval[0], -3.92, 0.02);
    close(normal.interval[1], 3.92, 0.02);
    let even = one(0.01, |g, y| y[0] = (0..4).map(|_| rectangular(g, root)).sum());
    close(even.standard_deviation, 2.0, 0.01);
    close(even.interval[0], -3.88, 0.02);
    close(even.interval[1], 3.88, 0.02);
    let uneven = one(0.05, |g, y| {
        y[0] = (0..3).map(|_| rectangular(g, root)).sum::<f64>() + rectangular(g, 10.0 * root);
    });
    close(uneven.standard_deviation, 10.1, 0.1);
    close(uneven.interval[0], -17.0, 0.1);
    close(uneven.interval[1], 17.0, 0.1);
    assert!(normal.settled && even.settled && uneven.settled);
}

// JCGM 101:2008 section 9.3, calibration of a mass: estimate 1.2341 mg, u = 0.0754 mg, shortest interval [1.0834, 1.3825] mg; the law of
// propagation has 0.0539 mg and [1.1285, 1.3395] mg. From memory. With equal tails it is as wide and lies 0.0011 mg higher, recomputed
// independently with eight million trials of another generator.
#[test]
fn the_calibration_of_a_mass() {
    let found = one(0.0003, |g, y| {
        let reference = 100_000.0 + 0.050 * g.normal();
        let difference = 1.234 + 0.020 * g.normal();
        let air = 1.20 + rectangular(g, 0.10);
        let weight = 8e3 + rectangular(g, 1e3);
        let standard = 8e3 + rectangular(g, 50.0);
        y[0] = (reference + difference) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 1e5;
    });
    close(found.mean, 1.2341, 0.001);
    close(found.standard_deviation, 0.0754, 0.001);
    close(found.interval[1] - found.interval[0], 1.3825 - 1.0834, 0.001);
    close(found.interval[0], 1.0845, 0.001);
    close(found.interval[1], 1.3837, 0.001);
}

#[test]
fn a_variance_from_few_values_gives_the_interval_of_student() {
    for freedom in [5.0, 12.5] {
        let found = one(0.02, |g, y| {
            y[0] = g.normal() / (g.chi_square(freedom) / freedom).sqrt()
        });
        close(found.interval[1], student_quantile(0.975, freedom), 0.03);
        close(found.standard_deviation, (freedom / (freedom - 2.0)).sqrt(), 0.02);
    }
}

#[test]
fn more_is_drawn_for_a_smaller_tolerance_and_no_more_than_allowed() {
    let at = |tolerance: f64| one(tolerance, |g, y| y[0] = g.normal());
    let (rough, fine) = (at(0.1), at(0.01));
    assert!(rough.trials < fine.trials && rough.settled && fine.settled);
    // A quantile of 2.5 % of M values is known to sqrt(p (1 - p) / M) / density = 2.67 / sqrt(M).
    let due = 2.67 / (fine.trials as f64).sqrt();
    assert!(
        fine.u_interval.iter().all(|s| (0.6..1.6).contains(&(s / due))),
        "{fine:?} {due}"
    );
    let plan = Plan {
        most_blocks: 5,
        ..PLAN
    };
    let ended = propagate(&plan, &[1e-6], |_| false, |g, y| y[0] = g.normal())[0];
    assert!(!ended.settled && ended.trials == 5 * BLOCK);
}

#[test]
fn who_has_seen_enough_stops_and_the_seed_decides() {
    let draw = |plan: &Plan, blocks: f64| {
        let enough = |seen: &[([f64; 2], [f64; 2])]| seen[0].1[0] < blocks;
        propagate(plan, &[1e-6, 1e-6], enough, |g, y| {
            y[0] = g.normal();
            y[1] = 2.0 * y[0];
        })
    };
    let found = draw(&PLAN, 1.0);
    assert_eq!(found[0].trials, FEWEST * BLOCK);
    assert_eq!(found, draw(&PLAN, 1.0));
    assert_ne!(found, draw(&Plan { seed: 2, ..PLAN }, 1.0));
    assert!((found[1].interval[1] / found[0].interval[1] - 2.0).abs() < 1e-12);
}
