use super::{
    Motion, aperiodic_limit, boundary_layer_coefficient, creeping_decay, irrotational_decay, motion,
    resistance,
};
use crate::modes::inviscid::drop_unit;
use tremolet_numerics::complex::Complex64;

mod table;

fn swinging(n: u32, oh: f64) -> (f64, f64) {
    match motion(n, oh).unwrap() {
        Motion::Swinging {
            decay,
            angular_frequency,
        } => (decay, angular_frequency),
        Motion::Aperiodic { .. } => panic!("aperiodic at n {n} Oh {oh}"),
    }
}

fn aperiodic(n: u32, oh: f64) -> (f64, f64) {
    match motion(n, oh).unwrap() {
        Motion::Aperiodic { slow, fast } => (slow, fast),
        Motion::Swinging { .. } => panic!("swinging at n {n} Oh {oh}"),
    }
}

fn close(found: f64, expected: f64, relative: f64, what: &str) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "{what}: {found} for {expected}"
    );
}

/// (n, Oh, decay, omega, irrotational decay): equation of Reid 1960 and Chandrasekhar 1961 sec. 98, recomputed independently in
/// mpmath at 30 digits; each root also zeroes a determinant built directly from the stress conditions.
const TABLE: [(u32, f64, f64, f64, f64); 18] = [
    (2, 0.001, 0.004920017988385, 2.828345263974, 0.005),
    (2, 0.01, 0.04741484376036, 2.825742374125, 0.05),
    (2, 0.03, 0.1359838743442, 2.814339858172, 0.15),
    (2, 0.1, 0.4066758796793, 2.751225909533, 0.5),
    (2, 0.3, 1.097129379809, 2.515365224852, 1.5),
    (2, 0.5, 1.796436026103, 2.066875408859, 2.5),
    (3, 0.001, 0.01369355598011, 5.476914351473, 0.014),
    (3, 0.01, 0.1301252479067, 5.467166441061, 0.14),
    (3, 0.03, 0.3668104987745, 5.425033135455, 0.42),
    (3, 0.1, 1.048045689402, 5.189390931281, 1.4),
    (3, 0.3, 2.571515252341, 4.407354528293, 4.2),
    (3, 0.5, 4.113324043226, 2.962124704569, 7.0),
    (4, 0.001, 0.02630760409751, 8.484580957082, 0.027),
    (4, 0.01, 0.2477068583888, 8.462821540737, 0.27),
    (4, 0.03, 0.6901165468279, 8.369607259499, 0.81),
    (4, 0.1, 1.908867371074, 7.854421720173, 2.7),
    (4, 0.3, 4.389847713722, 6.248000934909, 8.1),
    (4, 0.5, 6.911779705161, 3.057897639634, 13.5),
];

#[test]
fn exact_roots_to_the_digits_of_the_table() {
    for (n, oh, decay, omega, irrotational) in TABLE {
        let found = swinging(n, oh);
        close(found.0, decay, 5e-13, "decay"); // half a unit of the last digit printed
        close(found.1, omega, 5e-13, "omega");
        close(
            irrotational_decay(n, oh),
            irrotational,
            1e-15,
            "irrotational decay",
        );
    }
}

/// Every degree, from Oh = 1e-5 to far beyond the limit, against independent roots.
#[test]
fn independent_table_of_all_degrees() {
    for &(n, oh, decay, omega) in table::SWINGING {
        let found = swinging(n, oh);
        close(found.0, decay, 1e-11, "decay");
        close(found.1, omega, 1e-14, "omega");
    }
    for &(n, oh, slow, fast) in table::APERIODIC {
        let found = aperiodic(n, oh);
        close(found.0, slow, 1e-12, "slow");
        close(found.1, fast, 1e-12, "fast");
    }
    assert_eq!((table::SWINGING.len(), table::APERIODIC.len()), (55, 33));
}

/// Small Oh, derived independently and matched to the table: c_2, c_3, c_4; the remainder is of the next order in Oh.
#[test]
fn small_viscosity_asymptote() {
    for (n, c) in [(2, 0.5045378), (3, 0.6906001), (4, 0.8091530)] {
        assert!((boundary_layer_coefficient(n) - c).abs() < 6e-8);
    }
    for n in 2..=12 {
        let remainder = |oh: f64| {
            let asymptote = irrotational_decay(n, oh) * (1.0 - boundary_layer_coefficient(n) * oh.sqrt());
            swinging(n, oh).0 / asymptote - 1.0
        };
        let (far, near) = (remainder(1e-4), remainder(1e-5));
        assert!(
            near.abs() < 3e-4 && near.abs() < 0.15 * far.abs(),
            "n {n}: {far:e} {near:e}"
        );
    }
}

/// (n, Oh_c, s_c, w_n R^2/nu, q_c): double root of the same equation, recomputed independently. Chandrasekhar 1961 quotes 3.690 for
/// n = 2 (from memory).
#[test]
fn aperiodic_limits() {
    let rows = [
        (2, 0.7664611689450, -2.736430353105, 3.690241905718, 1.88950097758),
        (3, 0.6209177339301, -5.06162147108, 8.821177550178, 2.85514257362),
        (4, 0.5495260113971, -7.549961802931, 15.44109141015, 3.70662158183),
        (5, 0.5020049822274, -10.22042223427, 23.56980505193, 4.51211754956),
        (6, 0.4664023397086, -13.07271345327, 33.21581404268, 5.29422641648),
    ];
    for (n, oh, s, group, q) in rows {
        let limit = aperiodic_limit(n).unwrap();
        close(limit.ohnesorge, oh, 3e-13, "Oh_c");
        close(-limit.argument * limit.ohnesorge, s, 3e-13, "s_c");
        close(drop_unit(n) / limit.ohnesorge, group, 3e-13, "group");
        close(limit.argument.sqrt(), q, 3e-12, "q_c");
    }
}

/// The stored limits are the summit of y (k - y), its curvature there and its zero, for every degree.
#[test]
fn stored_limits_are_found_again() {
    for n in 2..=12 {
        let limit = aperiodic_limit(n).unwrap();
        let height = |y: f64| y * (resistance(n, Complex64::from(y)).0.re - y);
        let slope = |y: f64| {
            let (k, k_slope) = resistance(n, Complex64::from(y));
            k.re + y * k_slope.re - 2.0 * y
        };
        let y = limit.argument;
        let summit = tremolet_numerics::root::bracketed(slope, 0.5 * y, 1.5 * y, 0.0)
            .unwrap()
            .root;
        close(summit, y, 1e-12, "summit");
        close(height(y).sqrt(), drop_unit(n) / limit.ohnesorge, 1e-13, "height");
        let bend = (slope(1.0001 * y) - slope(0.9999 * y)) / (2e-4 * y);
        close((-2.0 / bend).sqrt(), limit.width, 1e-6, "width");
        assert!(height(limit.rigid).abs() < 1e-9 * limit.rigid * limit.rigid);
        assert!(
            (1..200).all(|i| height(limit.rigid * f64::from(i) / 200.0) > 0.0),
            "first zero"
        );
    }
}

/// n = 2 above the limit, slowest real rate: recomputed independently in mpmath.
#[test]
fn slow_rates_of_thick_drops() {
    let rows = [
        (0.8, 2.040236680516),
        (1.0, 1.280319533917),
        (2.0, 0.5470647287025),
        (5.0, 0.2117695107614),
        (10.0, 0.1054171798095),
    ];
    for (oh, rate) in rows {
        close(aperiodic(2, oh).0, rate, 3e-13, "slow rate");
    }
}

/// The creeping rate: 20/19 for n = 2, and the exact slow root tends to it as Oh^-2 for every degree; the fast root grows with Oh.
#[test]
fn creeping_limit() {
    close(creeping_decay(2, 1.0), 20.0 / 19.0, 1e-15, "n = 2");
    for n in 2..=12 {
        for oh in [10.0, 1e2, 1e3, 1e5] {
            let (slow, fast) = aperiodic(n, oh);
            assert!(
                (slow / creeping_decay(n, oh) - 1.0).abs() < 0.3 / (oh * oh) + 1e-12,
                "n {n} Oh {oh}"
            );
            assert!((fast / (oh * aperiodic_limit(n).unwrap().rigid) - 1.0).abs() < 20.0 / (oh * oh) + 1e-12);
        }
    }
}

/// Every degree, 2000 Ohnesorge numbers from 1e-5 to 100 with extra ones crowding at the limit: the residual is rounding, the branch
/// has no jumps, decay rises to the limit and the slow rate falls beyond it.
#[test]
fn the_branch_is_continuous_and_its_residual_tiny() {
    for n in 2..=12 {
        let critical = aperiodic_limit(n).unwrap().ohnesorge;
        let mut grid: Vec<f64> = (0..=2000)
            .map(|i| 1e-5 * 10f64.powf(7.0 * f64::from(i) / 2000.0))
            .collect();
        grid.extend((2..=14).flat_map(|i| {
            let share = 10f64.powi(-i);
            [critical * (1.0 - share), critical * (1.0 + share)]
        }));
        grid.sort_by(f64::total_cmp);
        let mut previous: Option<(f64, Complex64)> = None;
        for oh in grid {
            let (rates, s) = match motion(n, oh).unwrap() {
                Motion::Swinging {
                    decay,
                    angular_frequency,
                } => {
                    assert!(oh < critical && decay > 0.0 && angular_frequency > 0.0);
                    let s = Complex64::new(-decay, angular_frequency);
                    (vec![s], s)
                }
                Motion::Aperiodic { slow, fast } => {
                    assert!(
                        oh >= critical && slow > 0.0 && fast >= slow,
                        "n {n} Oh {oh}: {slow} {fast}"
                    );
                    (
                        vec![Complex64::from(-slow), Complex64::from(-fast)],
                        Complex64::from(-slow),
                    )
                }
            };
            let w2 = drop_unit(n).powi(2);
            for s in rates {
                let k = oh * resistance(n, -s / oh).0;
                let residual = (s * s + k * s + w2).norm() / (s.norm_sqr() + (k * s).norm() + w2);
                assert!(residual < 1e-13, "n {n} Oh {oh}: residual {residual:e}");
            }
            if let Some((before, last)) = previous {
                // Near the limit the root moves with the square root of the distance, whatever the step.
                let step = (oh / before).ln();
                let allowed = 3.0 * step * s.norm() + 2.5 * drop_unit(n) * step.sqrt().min(1.0);
                assert!(
                    (s - last).norm() < allowed,
                    "n {n} Oh {oh}: jump {}",
                    (s - last).norm()
                );
            }
            previous = Some((oh, s));
        }
    }
}

/// Exactly one root in the upper half of the s plane: the change of argument of the equation round a contour that holds all of it.
#[test]
fn the_swinging_root_is_the_only_one() {
    for n in [2, 5, 12] {
        for oh in [0.01, 0.1, 0.3] {
            let w = drop_unit(n);
            let value = |s: Complex64| s * s + s * oh * resistance(n, -s / oh).0 + w * w;
            let corners = [
                Complex64::new(-4.0 * w, 0.02),
                Complex64::new(4.0 * w, 0.02),
                Complex64::new(4.0 * w, 8.0 * w),
                Complex64::new(-4.0 * w, 8.0 * w),
            ];
            let mut turn = 0.0;
            for i in 0..4 {
                let (from, to) = (corners[i], corners[(i + 1) % 4]);
                let steps = 40_000;
                for j in 0..steps {
                    let at = |k: i32| from + (to - from) * f64::from(k) / f64::from(steps);
                    turn += (value(at(j + 1)) / value(at(j))).arg();
                }
            }
            assert!(
                (turn / std::f64::consts::TAU - 1.0).abs() < 1e-6,
                "n {n} Oh {oh}: {turn}"
            );
        }
    }
}

#[test]
fn impossible_inputs_are_refused() {
    for n in [0, 1, 13] {
        assert!(motion(n, 0.1).is_err());
    }
    for oh in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(motion(2, oh).is_err());
    }
}
