use super::Response;
use crate::modes::host::Pair;
use crate::modes::viscous::{Motion, irrotational_decay, motion};

/// a(t)/a0 of n = 2 released from rest at t = 0.25, 0.5, 1, 2, 3, 4, 5 (Prosperetti 1977, 1980): recomputed independently by Talbot inversion in
/// mpmath and, to 5e-9, by Chebyshev collocation of the linear Navier-Stokes equations in the sphere.
#[test]
fn release_from_rest() {
    let times = [0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0];
    let rows = [
        (
            0.01,
            [
                0.7621537118,
                0.1687581137,
                -0.9032813817,
                0.7257672565,
                -0.4956077866,
                0.2375661667,
                0.0194356289,
            ],
        ),
        (
            0.1,
            [
                0.7772966095,
                0.2628592529,
                -0.5930150788,
                0.2787637202,
                -0.0808181819,
                -0.0240890028,
                0.0654974220,
            ],
        ),
        (
            0.5,
            [
                0.8250581974,
                0.5073527678,
                0.0452400404,
                -0.0347329602,
                0.0042400623,
                0.0002862317,
                -0.0001618848,
            ],
        ),
        (
            1.0,
            [
                0.8630439477,
                0.6582952705,
                0.3540890602,
                0.0986381644,
                0.0274169623,
                0.0076205046,
                0.0021181076,
            ],
        ),
    ];
    for (oh, row) in rows {
        let response = Response::new(2, oh, 1.0, 0.0).unwrap();
        for (t, expected) in times.into_iter().zip(row) {
            let found = response.at(t);
            assert!(
                (found - expected).abs() < 1.5e-10,
                "Oh {oh} t {t}: {found} for {expected}"
            );
        }
    }
}

/// (n, Oh, t, a0, v0, a): the same transform inverted in mpmath at 50 digits with 90 and 120 points.
#[test]
fn other_degrees_speeds_and_the_aperiodic_limit() {
    #[rustfmt::skip]
    let rows = [
        (2, 0.001, 0.7, 1.0, 0.0, -0.39483024143693174),
        (2, 0.001, 12.0, 1.0, 0.0, -0.7677476377487704),
        (3, 0.02, 4.3, 1.0, 0.0, -0.059777838771936744),
        (6, 0.05, 2.5, 1.0, 0.0, 0.0014560850648665403),
        (12, 0.01, 1.1, 1.0, 0.0, -0.0694555898507837),
        (12, 0.3, 0.2, 1.0, 0.0, -0.00311563964159647),
        (2, 0.1, 1.5, 0.0, 1.0, -0.1632064873341346),
        (4, 0.03, 3.2, 0.5, -2.0, -0.026233373744885418),
        (2, 0.765, 1.5, 1.0, 0.0, 0.08292960314576493),
        (2, 0.768, 1.5, 1.0, 0.0, 0.08440600079116731),
        (5, 2.0, 0.9, 1.0, 0.3, 0.30527648587416595),
        (2, 30.0, 20.0, 1.0, 0.0, 0.4957388461514756),
    ];
    for (n, oh, t, a0, v0, expected) in rows {
        let found = Response::new(n, oh, a0, v0).unwrap().at(t);
        assert!(
            (found - expected).abs() < 2e-10,
            "n {n} Oh {oh} t {t}: {found} for {expected}"
        );
    }
}

/// Taking the pole out or leaving it in must not matter: the value is continuous where the method changes, and everywhere smooth.
#[test]
fn no_seams_in_time() {
    for (n, oh) in [
        (2, 1e-5),
        (2, 0.01),
        (2, 0.7),
        (2, 0.7664),
        (4, 0.1),
        (12, 1e-4),
        (12, 0.3),
        (3, 2.0),
    ] {
        let response = Response::new(n, oh, 1.0, 0.0).unwrap();
        let step = 1e-3 / f64::from(n);
        let mut a = [
            response.at(0.0),
            response.at(step),
            response.at(2.0 * step),
            response.at(3.0 * step),
        ];
        for i in 4..4000 {
            let next = response.at(f64::from(i) * step);
            // Fourth difference of a smooth curve: below (w step)^4, so what is left is noise.
            let fourth = a[0] - 4.0 * a[1] + 6.0 * a[2] - 4.0 * a[3] + next;
            let w = crate::modes::inviscid::drop_unit(n);
            assert!(
                i < 40 || fourth.abs() < 4.0 * (w * step).powi(4) + 3e-9,
                "n {n} Oh {oh} i {i}: {fourth:e}"
            );
            a = [a[1], a[2], a[3], next];
        }
    }
}

/// First instants: a = 1 - w^2 t^2/2, and Lamb's damping acts, not the exact mode's: the speed after a start with speed falls as
/// e^(-2 decay t) with the irrotational decay.
#[test]
fn the_first_instants_are_irrotational() {
    let response = Response::new(2, 0.01, 0.0, 1.0).unwrap();
    let t = 1e-3;
    let speed = (response.at(1.01 * t) - response.at(0.99 * t)) / (0.02 * t);
    let loss = (1.0 - speed - 8.0 * t * t / 2.0) / t;
    let expected = 2.0 * irrotational_decay(2, 0.01);
    assert!((loss / expected - 1.0).abs() < 0.05, "{loss} for {expected}");
    let rest = Response::new(3, 0.05, 1.0, 0.0).unwrap();
    assert!((rest.at(1e-3) - (1.0 - 15e-6)).abs() < 1e-8);
}

/// Late: the exact mode alone, once every faster part is gone.
#[test]
fn late_times_are_the_exact_mode() {
    let Motion::Swinging {
        decay,
        angular_frequency,
    } = motion(2, 0.05).unwrap()
    else {
        panic!("swings")
    };
    let response = Response::new(2, 0.05, 1.0, 0.0).unwrap();
    let period = std::f64::consts::TAU / angular_frequency;
    for t in [15.0, 18.3] {
        let ratio = response.at(t + period) / response.at(t);
        assert!((ratio / (-decay * period).exp() - 1.0).abs() < 2e-3, "{ratio}");
    }
    let slow = Response::new(2, 5.0, 1.0, 0.0).unwrap();
    let Motion::Aperiodic { slow: rate, .. } = motion(2, 5.0).unwrap() else {
        panic!("creeps")
    };
    assert!((slow.at(12.0) / slow.at(10.0) / (-2.0 * rate).exp() - 1.0).abs() < 1e-6);
}

#[test]
fn start_and_superposition() {
    let both = Response::new(3, 0.2, 0.3, -0.7).unwrap();
    let place = Response::new(3, 0.2, 1.0, 0.0).unwrap();
    let push = Response::new(3, 0.2, 0.0, 1.0).unwrap();
    assert_eq!((both.at(0.0), both.at(-1.0)), (0.3, 0.3));
    for t in [1e-9, 0.1, 1.0, 7.0] {
        assert!((both.at(t) - 0.3 * place.at(t) + 0.7 * push.at(t)).abs() < 1e-9);
    }
    assert!(Response::new(3, 0.2, f64::NAN, 0.0).is_err() && Response::new(1, 0.2, 1.0, 0.0).is_err());
}

/// A drop let go in a host: the whole boundary problem with its four coefficients, started as potential flow, inverted in mpmath at 50 digits (validation/theory/in_gas.py):
/// degree, host's share of the density, viscosities, start, amplitude at 0.5, 1, 2 and 5.
#[test]
fn release_in_a_host() {
    for (degree, host_density, viscosity, host_viscosity, start, row) in [
        (
            2,
            1.2e-3,
            0.01,
            2e-4,
            [1.0, 0.0],
            [
                0.169_843_324_921,
                -0.900_612_845_631,
                0.719_903_202_105,
                0.026_770_116_606_7,
            ],
        ),
        (
            3,
            1.2e-3,
            0.01,
            2e-4,
            [0.0, 1.0],
            [
                0.067_793_183_968_5,
                -0.116_554_593_384,
                -0.139_145_836_996,
                0.076_068_491_692_6,
            ],
        ),
        (
            2,
            0.5,
            0.05,
            0.02,
            [1.0, 0.0],
            [
                0.250_020_780_892,
                -0.565_663_830_485,
                0.227_398_888_198,
                0.052_679_158_020_2,
            ],
        ),
        (
            4,
            0.5,
            0.05,
            0.02,
            [0.3, -1.0],
            [
                -0.086_088_585_145_8,
                -0.007_484_261_722_32,
                -0.013_938_177_368,
                1.419_541_043_09e-5,
            ],
        ),
        (
            2,
            0.9,
            0.3,
            0.6,
            [1.0, 0.0],
            [
                0.722_624_055_313,
                0.441_277_232_157,
                0.126_995_533_813,
                -0.008_606_483_613_4,
            ],
        ),
    ] {
        let pair = Pair {
            radius: 1.0,
            tension: 1.0,
            density: 1.0 - host_density,
            viscosity,
            host_density,
            host_viscosity,
        };
        let (response, second) = Response::in_host(degree, &pair, start[0], start[1]).unwrap();
        assert!((second - 1.0).abs() < 1e-15);
        for (t, known) in [0.5, 1.0, 2.0, 5.0].into_iter().zip(row) {
            let found = response.at(t);
            assert!(
                (found - known).abs() < 2e-9,
                "{degree} {host_density} {t}: {found} {known}"
            );
        }
        assert_eq!(response.at(0.0), start[0]);
    }
}

/// Without host density it is the answer in vacuum, and a host as light as nothing leads there.
#[test]
fn a_vanishing_host_leaves_vacuum() {
    let alone = Response::new(2, 0.1, 1.0, 0.5).unwrap();
    let pair = |host_density: f64| Pair {
        radius: 1.0,
        tension: 1.0,
        density: 1.0,
        viscosity: 0.1,
        host_density,
        host_viscosity: 1e-9 * host_density.min(1e-3),
    };
    let (none, _) = Response::in_host(2, &pair(0.0), 1.0, 0.5).unwrap();
    let (light, _) = Response::in_host(2, &pair(1e-10), 1.0, 0.5).unwrap();
    for t in [0.3, 2.0, 9.0] {
        assert_eq!(none.at(t), alone.at(t));
        assert!((light.at(t) - alone.at(t)).abs() < 2e-9);
    }
    assert!(Response::in_host(2, &pair(0.0), f64::NAN, 0.0).is_err());
    assert!(Response::in_host(1, &pair(0.1), 1.0, 0.0).is_err());
}
