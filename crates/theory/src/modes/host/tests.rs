use super::{Pair, Root, exact, root};
use crate::modes::inviscid;
use std::f64::consts::TAU;
use tremolet_numerics::bessel::{hankel_ratio, logarithmic_derivative};
use tremolet_numerics::complex::{Complex64, I};

mod table;

const WATER_IN_AIR: Pair = Pair {
    radius: 0.010,
    tension: 0.07274,
    density: 998.2,
    viscosity: 1.0016e-3,
    host_density: 1.204,
    host_viscosity: 1.82e-5,
};

fn close(found: f64, expected: f64, relative: f64, what: &str) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "{what}: {found} for {expected}"
    );
}

/// Water in air at 20 C: R mm, n, f0 Rayleigh 1879, f inviscid two fluids (Lamb 1932), f and decay exact in vacuum, f and decay exact
/// in air (4x4 determinant after Miller & Scriven 1968), irrotational decay; recomputed independently in mpmath at 30 digits.
#[test]
fn water_drops_in_air() {
    let rows = [
        (
            1.0,
            2,
            121.5186653,
            121.4698373,
            121.4929825,
            4.861240901,
            121.3838969,
            5.251912270,
            5.0170307,
        ),
        (
            5.0,
            2,
            10.86895984,
            10.86459254,
            10.86828132,
            0.1965353071,
            10.86030577,
            0.2196611885,
            0.20068123,
        ),
        (
            10.0,
            2,
            3.842757605,
            3.841213528,
            3.842615601,
            0.04929981621,
            3.839998394,
            0.05615335267,
            0.050170307,
        ),
        (
            10.0,
            3,
            7.441468104,
            7.438104504,
            7.440928568,
            0.1371418366,
            7.435378348,
            0.1503781814,
            0.14047686,
        ),
        (
            20.0,
            2,
            1.358619980,
            1.358074067,
            1.358590246,
            0.01235974037,
            1.357725195,
            0.01439201229,
            0.012542577,
        ),
        (
            30.0,
            2,
            0.7395390459,
            0.7392418882,
            0.7395271291,
            0.005501080202,
            0.7390729789,
            0.006499372556,
            0.0055744785,
        ),
        (
            50.0,
            2,
            0.3437066890,
            0.3435685826,
            0.3437029223,
            0.001983565938,
            0.3435005902,
            0.002391319643,
            0.0020068123,
        ),
    ];
    for (mm, n, f0, f_two, f_vacuum, decay_vacuum, f_air, decay_air, lamb) in rows {
        let pair = Pair {
            radius: mm * 1e-3,
            ..WATER_IN_AIR
        };
        let in_air = root(n, &pair).unwrap();
        let in_vacuum = root(
            n,
            &Pair {
                host_density: 0.0,
                ..pair
            },
        )
        .unwrap();
        close(
            inviscid::drop(n, pair.density, pair.radius, pair.tension).unwrap() / TAU,
            f0,
            6e-10,
            "f0",
        );
        let two =
            inviscid::two_fluids(n, pair.density, pair.host_density, pair.radius, pair.tension).unwrap();
        close(two / TAU, f_two, 6e-10, "two fluids");
        close(in_vacuum.angular_frequency / TAU, f_vacuum, 6e-10, "f vacuum");
        close(in_vacuum.decay, decay_vacuum, 6e-10, "decay vacuum");
        close(in_air.angular_frequency / TAU, f_air, 6e-10, "f air");
        close(in_air.decay, decay_air, 6e-10, "decay air");
        let time = inviscid::capillary_time(pair.density, pair.radius, pair.tension).unwrap();
        let oh = pair.viscosity * time / (pair.density * pair.radius * pair.radius);
        close(
            crate::modes::viscous::irrotational_decay(n, oh) / time,
            lamb,
            6e-8,
            "irrotational",
        );
    }
}

/// Massless bubble in a liquid of unit density and tension (Miller & Scriven 1968), recomputed independently: (n, Oh, decay, omega).
#[test]
fn bubbles_in_a_liquid() {
    let rows = [
        (2, 0.001, 0.0192319375974, 3.46334778944),
        (2, 0.01, 0.175803834051, 3.44109392041),
        (2, 0.1, 1.18839818291, 2.81465342944),
        (3, 0.001, 0.0336669168165, 6.32324242215),
        (3, 0.01, 0.307845715406, 6.28430075483),
        (3, 0.1, 2.07418511645, 5.20371949618),
    ];
    for (n, oh, decay, omega) in rows {
        let empty = Pair {
            radius: 1.0,
            tension: 1.0,
            density: 0.0,
            viscosity: 0.0,
            host_density: 1.0,
            host_viscosity: oh,
        };
        let found = root(n, &empty).unwrap();
        close(found.decay, decay, 5e-12, "decay");
        close(found.angular_frequency, omega, 5e-12, "omega");
        let thin_gas = root(
            n,
            &Pair {
                density: 1e-9,
                viscosity: 1e-9 * oh,
                ..empty
            },
        )
        .unwrap();
        close(thin_gas.decay, decay, 1e-6, "thin gas");
    }
    // Irrotational decay (n+2)(2n+1) nu, 20 and 35 nu, is the limit of small Oh: remainder of order sqrt(Oh).
    for (n, factor) in [(2, 20.0), (3, 35.0)] {
        let oh = 1e-8;
        let pair = Pair {
            radius: 1.0,
            tension: 1.0,
            density: 0.0,
            viscosity: 0.0,
            host_density: 1.0,
            host_viscosity: oh,
        };
        close(
            root(n, &pair).unwrap().decay,
            factor * oh,
            3e-4,
            "irrotational bubble",
        );
    }
}

/// A host that thins out leaves the vacuum root, as the first power of its density.
#[test]
fn a_vanishing_host_is_vacuum() {
    for n in [2, 6, 12] {
        for viscosity in [1e-3, 0.05, 1.5] {
            let base = Pair {
                viscosity,
                ..WATER_IN_AIR
            };
            let vacuum = exact(
                n,
                &Pair {
                    host_density: 0.0,
                    ..base
                },
            )
            .unwrap();
            for thin in [1e-7, 1e-9] {
                let host = Pair {
                    host_density: base.density * thin,
                    host_viscosity: base.viscosity * thin,
                    ..base
                };
                let gap = (exact(n, &host).unwrap() - vacuum).norm() / vacuum.norm();
                assert!(gap < 3e3 * thin, "n {n} mu {viscosity} thin {thin}: {gap:e}");
            }
        }
    }
}

/// Values of the 4x4 boundary determinant in mpmath at 30 digits, followed from weak viscosity.
#[test]
fn independent_table() {
    for &(n, [radius, tension, density, viscosity, host_density, host_viscosity], decay, omega) in
        table::ROOTS
    {
        let pair = Pair {
            radius,
            tension,
            density,
            viscosity,
            host_density,
            host_viscosity,
        };
        let s = exact(n, &pair).unwrap();
        let gap = (s - Complex64::new(-decay, omega)).norm() / s.norm();
        assert!(gap < 2e-12, "n {n} {pair:?}: {s} for {decay} {omega}");
        // The decay by itself, at its own scale.
        close(-s.re, decay, 1e-10, "decay");
    }
}

/// Columns of the boundary determinant: radial and tangential velocity, shear stress, normal stress; each column is the flow divided by
/// its own radial velocity, so nothing overflows.
fn determinant_ratio(n: u32, s: Complex64, pair: &Pair) -> f64 {
    let degree = f64::from(n);
    let (r, big_n) = (pair.radius, degree * (degree + 1.0));
    let shear_column = |log_slope: Complex64, k2: Complex64| {
        let second = -2.0 * log_slope + big_n - k2;
        [
            Complex64::from(big_n),
            1.0 + log_slope,
            second + log_slope - 1.0 - 1.0 - log_slope + big_n,
            big_n * (log_slope - 1.0),
        ]
    };
    let q2 = -s * pair.density * r * r / pair.viscosity;
    let k2 = -s * pair.host_density * r * r / pair.host_viscosity;
    let mut k = k2.sqrt();
    if k.im < 0.0 {
        k = -k;
    }
    let inner = shear_column(logarithmic_derivative(n, q2.sqrt()), q2);
    let outer = shear_column(k * hankel_ratio(n, k) - degree - 1.0, k2);
    let up = degree + 1.0;
    let one = Complex64::from(1.0);
    let potential_in = [
        one,
        one / degree,
        one * 2.0 * (degree - 1.0) / degree,
        one * (degree - 1.0),
    ];
    let potential_out = [
        one,
        -one / up,
        one * 2.0 * (degree + 2.0) / up,
        -one * (degree + 2.0),
    ];
    let p_in = -pair.density * s * r * r / degree;
    let p_out = pair.host_density * s * r * r / up;
    let spring = pair.tension / r * (degree - 1.0) * (degree + 2.0) / s;
    let column = |c: [Complex64; 4], p: Complex64, mu: f64, sign: f64, with_spring: bool| {
        let pull = if with_spring {
            spring * c[0]
        } else {
            Complex64::ZERO
        };
        let rows = [
            sign * c[0],
            sign * c[1],
            sign * mu * c[2],
            sign * (p - 2.0 * mu * c[3]) - pull,
        ];
        let stress = pair.viscosity.max(pair.host_viscosity);
        let scaled = [rows[0], rows[1], rows[2] / stress, rows[3] / spring.norm()];
        let size = scaled.iter().map(|z| z.norm_sqr()).sum::<f64>().sqrt();
        scaled.map(|z| z / size)
    };
    let zero = Complex64::ZERO;
    let columns = [
        column(potential_in, p_in, pair.viscosity, 1.0, true),
        column(inner, zero, pair.viscosity, 1.0, true),
        column(potential_out, p_out, pair.host_viscosity, -1.0, false),
        column(outer, zero, pair.host_viscosity, -1.0, false),
    ];
    determinant(columns).norm()
}

fn determinant(mut m: [[Complex64; 4]; 4]) -> Complex64 {
    let mut product = Complex64::from(1.0);
    for i in 0..4 {
        let pivot = (i..4)
            .max_by(|a, b| m[*a][i].norm().total_cmp(&m[*b][i].norm()))
            .unwrap();
        if pivot != i {
            m.swap(pivot, i);
            product = -product;
        }
        product *= m[i][i];
        let top = m[i];
        for row in m.iter_mut().skip(i + 1) {
            let factor = row[i] / top[i];
            for (value, above) in row.iter_mut().zip(top) {
                *value -= factor * above;
            }
        }
    }
    product
}

/// The eliminated equation and the determinant built column by column vanish together: the determinant falls by many orders
/// against its size one percent away.
#[test]
fn roots_zero_the_boundary_determinant() {
    let pairs = [
        WATER_IN_AIR,
        Pair {
            viscosity: 0.05,
            ..WATER_IN_AIR
        },
        Pair {
            density: 1.2,
            viscosity: 1.8e-5,
            host_density: 998.0,
            host_viscosity: 1e-3,
            radius: 2e-3,
            ..WATER_IN_AIR
        },
        Pair {
            density: 900.0,
            viscosity: 0.02,
            host_density: 1000.0,
            host_viscosity: 1e-3,
            ..WATER_IN_AIR
        },
    ];
    for pair in pairs {
        for n in 2..=12 {
            let s = exact(n, &pair).unwrap();
            let at = determinant_ratio(n, s, &pair);
            let beside = determinant_ratio(n, s * (1.0 + 0.01 * I), &pair);
            assert!(at < 1e-8 * beside, "n {n} {pair:?}: {at:e} against {beside:e}");
        }
    }
}

/// Viscosity from weak to creeping in small steps, for drops in gas, like liquids and bubbles: the root exists, decays, and moves without
/// jumps; starting from scratch at each viscosity gives the same branch.
#[test]
fn the_branch_is_continuous_for_every_kind_of_pair() {
    let kinds = [
        (1.0, 1.0, 1.2e-3, 1.8e-2),
        (1.0, 1.0, 1e-3, 1.3e-5),
        (1.0, 1.0, 1.0, 1.0),
        (0.9, 5.0, 1.0, 1.0),
        (1.0, 0.2, 0.7, 3.0),
        (1.2e-3, 1.8e-2, 1.0, 1.0),
        (0.0, 0.0, 1.0, 1.0),
        (1.0, 1.0, 1e-2, 1e-4),
    ];
    for n in 2..=12 {
        for (density, inner, host_density, outer) in kinds {
            let mut previous: Option<Complex64> = None;
            for i in 0..=1200 {
                let scale = 1e-5 * 10f64.powf(7.0 * f64::from(i) / 1200.0);
                let pair = Pair {
                    radius: 1.0,
                    tension: 1.0,
                    density,
                    viscosity: inner * scale,
                    host_density,
                    host_viscosity: outer * scale,
                };
                let s = exact(n, &pair).unwrap_or_else(|e| panic!("n {n} {pair:?}: {e}"));
                assert!(s.re < 0.0);
                if let Some(last) = previous {
                    let jump = (s - last).norm() / s.norm().max(last.norm());
                    assert!(jump < 0.2, "n {n} {pair:?}: {last} to {s}");
                }
                previous = Some(s);
            }
        }
    }
}

#[test]
fn an_aperiodic_root_has_no_frequency() {
    let glycerol = Pair {
        tension: 0.0634,
        density: 1261.0,
        viscosity: 1.412,
        ..WATER_IN_AIR
    };
    let found = root(2, &glycerol).unwrap();
    assert!(found.decay > 0.0 && found.angular_frequency == 0.0, "{found:?}");
    let vacuum = root(
        2,
        &Pair {
            host_density: 0.0,
            ..glycerol
        },
    )
    .unwrap();
    close(found.decay, vacuum.decay, 1e-3, "air hardly slows glycerol");
}

#[test]
fn impossible_pairs_are_refused() {
    let bad = [
        Pair {
            radius: 0.0,
            ..WATER_IN_AIR
        },
        Pair {
            tension: -1.0,
            ..WATER_IN_AIR
        },
        Pair {
            density: f64::NAN,
            ..WATER_IN_AIR
        },
        Pair {
            viscosity: -1.0,
            ..WATER_IN_AIR
        },
        Pair {
            host_density: -1.0,
            ..WATER_IN_AIR
        },
        Pair {
            host_viscosity: f64::INFINITY,
            ..WATER_IN_AIR
        },
        Pair {
            density: 0.0,
            host_density: 0.0,
            ..WATER_IN_AIR
        },
        Pair {
            viscosity: 0.0,
            host_viscosity: 0.0,
            ..WATER_IN_AIR
        },
        Pair {
            viscosity: 0.0,
            host_density: 0.0,
            ..WATER_IN_AIR
        },
    ];
    for pair in bad {
        assert!(root(2, &pair).is_err(), "{pair:?}");
    }
    for n in [0, 1, 13] {
        assert!(root(n, &WATER_IN_AIR).is_err());
    }
}

/// The calls are made by the thousand; the bound is far above the measured few microseconds so that a busy machine passes, and far
/// below what a continuation for every call would need.
#[test]
fn a_root_costs_microseconds() {
    let start = std::time::Instant::now();
    let calls = 2000;
    let mut sum = 0.0;
    for i in 0..calls {
        let Root { decay, .. } = root(
            2 + i % 5,
            &Pair {
                radius: 0.01 + 1e-6 * f64::from(i),
                ..WATER_IN_AIR
            },
        )
        .unwrap();
        sum += decay;
    }
    let each = start.elapsed().as_secs_f64() / f64::from(calls);
    println!("{:.2} microseconds a root (sum {sum})", 1e6 * each);
    assert!(each < 100e-6, "{each} s");
}
