use super::*;
use tremolet_numerics::random::Generator;

fn input(key: &str) -> Input {
    Input {
        key: key.into(),
        unit: "1".into(),
        standard_uncertainty: 1.0,
        degrees_of_freedom: f64::INFINITY,
        source: "test".into(),
    }
}

fn run(y: f64, parts: &[(&str, f64)]) -> Uncertain {
    parts.iter().fold(Uncertain::exact(y), |sum, (key, u)| {
        sum.with_input(*u, input(key))
    })
}

#[test]
fn averaging_never_shrinks_what_all_runs_share() {
    let keys: Vec<String> = (0..50).map(|i| format!("own {i}")).collect();
    for count in [2, 5, 50] {
        let runs: Vec<Uncertain> = keys[..count]
            .iter()
            .map(|key| run(10.0, &[(key, 0.5), ("scale [A]", 0.3)]))
            .collect();
        let found = mean(&runs).unwrap();
        assert!((found.shared - 0.3).abs() < 1e-9, "{count}: {found:?}");
        assert!((found.within - 0.5 / (count as f64).sqrt()).abs() < 1e-9);
        let total = 0.09 + 0.25 / count as f64;
        assert!((found.mean.standard_uncertainty().powi(2) - total).abs() < 1e-9);
    }
}

#[test]
fn two_calibrations_count_as_two_however_many_runs_each_has() {
    let own = ["a", "b", "c", "d", "e", "f", "g", "h"];
    let of = |i: usize| if i < 5 { "scale [A]" } else { "scale [B]" };
    let runs: Vec<Uncertain> = (0..8)
        .map(|i| run(10.0, &[(own[i], 1e-4), (of(i), 0.3)]))
        .collect();
    let found = mean(&runs).unwrap();
    // Five and three runs of almost no error of their own: half the weight to each calibration.
    assert!(
        (found.weights[..5].iter().sum::<f64>() - 0.5).abs() < 1e-4,
        "{:?}",
        found.weights
    );
    assert!((found.shared - 0.3 / 2.0_f64.sqrt()).abs() < 1e-6);
}

// Peelle's puzzle: 1.5 and 1.0, each with 10 % of its own and 20 % that both share, relative. With the parts at the values as found, generalised
// least squares gives 0.88, below both (Peelle 1987).
#[test]
fn a_shared_relative_error_does_not_pull_the_mean_below_all_values() {
    let runs = [
        run(1.5, &[("a", 0.15), ("scale", 0.3)]),
        run(1.0, &[("b", 0.10), ("scale", 0.2)]),
    ];
    let naive = weighted(
        &runs,
        &Contrasts::of(&runs)
            .unwrap()
            .weights(&weighted(&runs, &[0.5, 0.5]), 0.0),
    );
    assert!((naive.value() - 0.882).abs() < 1e-3, "{}", naive.value());
    let found = mean(&runs).unwrap();
    assert!((found.mean.value() - 1.25).abs() < 1e-9, "{}", found.mean.value());
    assert!((found.shared - 0.25).abs() < 1e-9);
}

#[test]
fn no_run_is_used_only_to_cancel_an_error_that_it_shares() {
    let runs = [
        run(10.0, &[("a", 0.01), ("scale", 0.3)]),
        run(10.0, &[("b", 0.01), ("scale", 0.6)]),
    ];
    let found = mean(&runs).unwrap();
    assert_eq!(found.weights, [1.0, 0.0]);
    assert!((found.shared - 0.3).abs() < 1e-12);
}

#[test]
fn few_degrees_of_freedom_widen_the_interval() {
    let runs = [9.0, 10.0, 10.0, 11.0].map(|y| run(y, &[("none", 0.0)]));
    let found = mean(&runs).unwrap();
    // Mean of four values without a budget: s / 2 and Student's factor of 3 degrees of freedom, 3.18245.
    let u = (2.0_f64 / 3.0).sqrt() / 2.0;
    assert!((found.mean.standard_uncertainty() - u).abs() < 1e-9);
    assert!((found.degrees_of_freedom - 3.0).abs() < 1e-9);
    assert!((found.interval_95[1] - 10.0 - 3.182_446 * u).abs() < 1e-4);
}

/// Share of invented campaigns whose interval holds the truth: runs of calibrations as listed, own errors 0.6 to 1.5 of one unit, a calibration
/// error of `shared`, differences between runs of `tau`.
fn coverage(calibrations: &[&str], tau: f64, shared: f64, seed: u64) -> f64 {
    let mut generator = Generator::new(seed);
    let trials = 4000;
    let own: Vec<String> = (0..calibrations.len()).map(|i| format!("own {i}")).collect();
    let mut hits = 0;
    for _ in 0..trials {
        let mut offsets: Vec<(&str, f64)> = Vec::new();
        let mut runs = Vec::new();
        for (key, calibration) in own.iter().zip(calibrations) {
            let offset = match offsets.iter().find(|(name, _)| name == calibration) {
                Some((_, offset)) => *offset,
                None => {
                    offsets.push((calibration, shared * generator.normal()));
                    offsets[offsets.len() - 1].1
                }
            };
            let u = 0.6 * (2.5_f64).powf(generator.uniform());
            let y = 1000.0 + tau * generator.normal() + u * generator.normal() + offset;
            runs.push(run(y, &[(key, u), (calibration, shared)]));
        }
        let [low, high] = mean(&runs).unwrap().interval_95;
        hits += usize::from(low <= 1000.0 && 1000.0 <= high);
    }
    hits as f64 / trials as f64
}

// 4000 trials: the standard deviation of a share of 0.95 is 0.0034.
#[test]
fn intervals_of_the_mean_hold_an_invented_truth() {
    let both = ["A", "A", "A", "A", "A", "B", "B", "B"];
    let one = ["A"; 6];
    let none = ["a", "b", "c", "d", "e", "f"];
    let cases = [
        (&both[..], 0.0, 2.0, 1),
        (&both[..], 1.0, 2.0, 2),
        (&both[..], 3.0, 1.0, 3),
        (&one[..], 0.0, 3.0, 4),
        (&one[..], 0.7, 1.0, 5),
        (&one[..], 4.0, 1.0, 6),
        (&none[..], 2.0, 0.0, 7),
        (&none[..], 0.5, 0.5, 8),
    ];
    for (calibrations, tau, shared, seed) in cases {
        let found = coverage(calibrations, tau, shared, seed);
        assert!(
            (0.93..=0.97).contains(&found),
            "tau {tau}, shared {shared}: {found}"
        );
    }
}

// What a mean would promise that takes a shared calibration for six independent ones.
#[test]
fn a_mean_that_forgot_the_shared_part_would_not_hold_the_truth() {
    let found = coverage(&["A"; 6], 0.5, 2.0, 9);
    assert!((0.93..=0.97).contains(&found), "{found}");
    let mut generator = Generator::new(10);
    let trials = 2000;
    let keys = ["1", "2", "3", "4", "5", "6"];
    let inside = (0..trials).filter(|_| {
        let offset = 2.0 * generator.normal();
        let runs: Vec<Uncertain> = keys
            .iter()
            .map(|key| run(1000.0 + generator.normal() + offset, &[(key, 5.0_f64.sqrt())]))
            .collect();
        let [low, high] = mean(&runs).unwrap().interval_95;
        low <= 1000.0 && 1000.0 <= high
    });
    assert!((inside.count() as f64 / f64::from(trials)) < 0.75);
}

// Fewer than four values cannot tell how much runs differ: the intervals hold the truth in 91 to 97.5 % (two) and 94 to 97.5 % (three) of campaigns, which is
// what the caution about few runs says.
#[test]
fn intervals_of_few_runs_hold_it_nearly_so() {
    for (tau, shared, seed) in [(0.0, 1.0, 31), (1.0, 0.0, 32), (2.0, 0.0, 33), (2.0, 1.0, 34)] {
        let three = coverage(&["A"; 3], tau, shared, seed);
        assert!(
            (0.93..=0.98).contains(&three),
            "three: tau {tau}, shared {shared}: {three}"
        );
        let two = coverage(&["A"; 2], tau, shared, seed);
        assert!(
            (0.89..=0.98).contains(&two),
            "two: tau {tau}, shared {shared}: {two}"
        );
    }
}
