//! The polynomials against the exact roots, and their fit against the exact fit.

use super::*;
use crate::property::fit::fit;
use tremolet_numerics::random::Generator;

const DROP: Conditions = Conditions {
    radius: 0.012,
    density: 1097.0,
    host_density: 1.0,
    host_viscosity: 1.82e-5,
};

fn lines(viscosity: f64, x: &Conditions, relative: [f64; 2]) -> Lines {
    let degrees = [2, 3, 4];
    let (mut values, mut variances) = (Vec::new(), Vec::new());
    for degree in degrees {
        let pair = Pair {
            radius: x.radius,
            tension: 0.069,
            density: x.density,
            viscosity: viscosity * x.density,
            host_density: x.host_density,
            host_viscosity: x.host_viscosity,
        };
        let found = root(degree, &pair).expect("swings");
        values.extend([found.angular_frequency, found.decay]);
        variances.extend([
            (relative[0] * found.angular_frequency).powi(2),
            (relative[1] * found.decay).powi(2),
        ]);
    }
    Lines {
        degrees: degrees.to_vec(),
        values,
        covariance: Matrix::diagonal(&variances),
        degrees_of_freedom: vec![100.0; degrees.len()],
    }
}

/// For a radius that is known to `doubt`.
fn local(lines: &Lines, x: &Conditions, damping: Damping, doubt: f64) -> Local {
    let best = fit(lines, x, damping).expect("determined");
    let doubts = [3.0 * doubt, best.covariance[(1, 1)].sqrt().hypot(2.0 * doubt)];
    Local::of(lines, x, &best, damping, doubts, [doubt, 0.02]).expect("holds")
}

/// Drawn lines and conditions: the exact fit against that of the polynomials, in units of the total uncertainty.
fn worst(viscosity: f64, x: &Conditions, relative: [f64; 2], damping: Damping, doubt: f64) -> f64 {
    let exact = lines(viscosity, x, relative);
    let mut local = local(&exact, x, damping, doubt);
    let mut g = Generator::new(5);
    let mut worst: f64 = 0.0;
    for _ in 0..40 {
        let mut drawn = exact.clone();
        for (i, value) in drawn.values.iter_mut().enumerate() {
            *value += exact.covariance[(i, i)].sqrt() * g.normal();
        }
        let x = Conditions {
            radius: x.radius * (1.0 + doubt * g.normal()),
            host_density: x.host_density * (1.0 + 0.02 * g.normal()),
            ..*x
        };
        let due = fit(&drawn, &x, damping).expect("determined");
        let found = local.solve(&drawn.values, &x);
        let of_viscosity = due.covariance[(1, 1)].sqrt().hypot(2.0 * doubt);
        let off = [
            (found[0] / due.tension()).ln() / (3.0 * doubt),
            (found[1] / due.viscosity(0)).ln() / of_viscosity,
        ];
        worst = off.iter().fold(worst, |m, e| m.max(e.abs()));
    }
    worst
}

#[test]
fn the_fit_of_the_polynomials_is_that_of_the_exact_roots() {
    for damping in [Damping::Shared, Damping::Each] {
        for (viscosity, relative) in [
            (3.2e-6, [1e-4, 1e-2]),
            (3.2e-6, [1e-3, 0.1]),
            (2e-4, [2e-3, 0.02]),
        ] {
            for doubt in [0.003, 0.1] {
                let off = worst(viscosity, &DROP, relative, damping, doubt);
                assert!(off < 0.02, "{viscosity} {relative:?} {damping:?} {doubt}: {off}");
            }
        }
    }
    let vacuum = Conditions {
        host_density: 0.0,
        host_viscosity: 0.0,
        ..DROP
    };
    assert!(worst(3.2e-6, &vacuum, [1e-4, 1e-2], Damping::Shared, 0.1) < 0.02);
}

// A decay that comes out below that of the gas alone belongs to no viscosity: the trial ends at the end of the range, and surface
// tension is what the frequencies say.
#[test]
fn a_decay_of_no_viscosity_ends_at_the_end_of_the_range() {
    let exact = lines(3.2e-6, &DROP, [1e-4, 0.4]);
    let mut local = local(&exact, &DROP, Damping::Shared, 0.01);
    let mut drawn = exact.clone();
    for i in 0..3 {
        drawn.values[2 * i + 1] *= -0.2;
    }
    let [tension, viscosity] = local.solve(&drawn.values, &DROP);
    assert!((viscosity / 3.2e-6) < 0.011, "{viscosity}");
    assert!((tension / 0.069 - 1.0).abs() < 0.01, "{tension}");
}

// A drop that does not swing has no lines to begin with; near that limit the range is left and nothing is promised.
#[test]
fn where_the_roots_stop_swinging_there_is_no_local_model() {
    let thick = lines(3.2e-6, &DROP, [1e-4, 1e-2]);
    let best = fit(&thick, &DROP, Damping::Shared).expect("determined");
    let mut loose = best.clone();
    loose.covariance[(1, 1)] = 1e4;
    let x = Conditions {
        density: 1.0,
        host_density: 0.0,
        host_viscosity: 0.0,
        ..DROP
    };
    loose.logarithms = vec![0.069_f64.ln(), (0.5 * (0.069_f64 * 0.012).sqrt()).ln()];
    assert!(Local::of(&thick, &x, &loose, Damping::Shared, [0.01; 2], [0.0; 2]).is_none());
}
