use super::{bubble, capillary_time, cylinder, drop, energy, two_fluids};
use std::f64::consts::{PI, TAU};

/// Rayleigh 1879, Lamb 1932 art. 275: w_n^2 of the unit drop is n(n-1)(n+2).
#[test]
fn unit_drop() {
    for (n, squared) in [
        (0, 0.0),
        (1, 0.0),
        (2, 8.0),
        (3, 30.0),
        (4, 72.0),
        (5, 140.0),
        (6, 240.0),
        (7, 378.0),
        (8, 560.0),
    ] {
        let w = drop(n, 1.0, 1.0, 1.0).unwrap();
        assert!((w * w - squared).abs() < 1e-12 * (1.0 + squared), "n {n}");
    }
}

/// Lamb 1932: the two-fluid formula contains drop and bubble; bubble 12, 40, 90.
#[test]
fn two_fluids_contain_drop_and_bubble() {
    for (n, squared) in [(0, 0.0), (1, 0.0), (2, 12.0), (3, 40.0), (4, 90.0)] {
        let w = bubble(n, 1.0, 1.0, 1.0).unwrap();
        assert!((w * w - squared).abs() < 1e-12 * (1.0 + squared));
        assert!((two_fluids(n, 0.0, 1.0, 1.0, 1.0).unwrap() - w).abs() < 1e-14);
        let in_vacuum = drop(n, 1.0, 1.0, 1.0).unwrap();
        assert!((two_fluids(n, 1.0, 0.0, 1.0, 1.0).unwrap() - in_vacuum).abs() < 1e-14);
    }
}

/// Rayleigh 1879: cylinder, 6, 24, 60; a host of equal density halves the square.
#[test]
fn unit_cylinder() {
    for (n, squared) in [(0, 0.0), (1, 0.0), (2, 6.0), (3, 24.0), (4, 60.0)] {
        let w = cylinder(n, 1.0, 0.0, 1.0, 1.0).unwrap();
        let in_host = cylinder(n, 1.0, 1.0, 1.0, 1.0).unwrap();
        assert!((w * w - squared).abs() < 1e-12 && (in_host * in_host - squared / 2.0).abs() < 1e-12);
    }
}

/// Water at 20 C (998.2 kg/m^3, 0.07274 N/m), Hz; computed independently from Rayleigh's formula.
#[test]
fn water_drops_in_hertz() {
    let rows = [
        (0.010, [3.842_757_61, 7.441_468_10, 11.528_272_82, 16.075_408_40]),
        (0.0125, [2.749_653_51, 5.324_681_13, 8.248_960_54, 11.502_625_9]),
        (0.020, [1.358_619_98, 2.630_956_28, 4.075_859_94, 5.683_515_14]),
        (0.030, [0.739_539_05, 1.432_111_20, 2.218_617_14, 3.093_713_79]),
    ];
    for (radius, hertz) in rows {
        for (n, expected) in (2..).zip(hertz) {
            let found = drop(n, 998.2, radius, 0.07274).unwrap() / TAU;
            assert!((found - expected).abs() < 6e-8, "R {radius} n {n}: {found}");
        }
    }
    let time = capillary_time(998.2, 0.010, 0.07274).unwrap();
    assert!((8f64.sqrt() / time / TAU - 3.842_757_61).abs() < 1e-8);
}

/// The energy formula against the area of r = 1 + a P_n by quadrature, volume restored to the sphere's.
#[test]
fn energy_is_the_excess_of_area() {
    use tremolet_numerics::{legendre, quadrature::gauss_legendre};
    let rule = gauss_legendre(60);
    for n in 2..=8_u32 {
        let a = 1e-3;
        let shape = |x: f64| {
            let table = legendre::table(n as usize, x);
            (1.0 + a * table.value[n as usize], a * table.slope[n as usize])
        };
        let volume = rule.integral(-1.0, 1.0, |x| shape(x).0.powi(3)) / 2.0;
        let area = TAU
            * rule.integral(-1.0, 1.0, |x| {
                let (r, slope) = shape(x);
                r * (r * r + (1.0 - x * x) * slope * slope).sqrt()
            });
        let excess = area / volume.powf(2.0 / 3.0) - 4.0 * PI;
        let expected = energy(n, 1.0, a);
        assert!(
            (excess / expected - 1.0).abs() < 0.02,
            "n {n}: {excess:e} {expected:e}"
        );
    }
    assert_eq!((energy(0, 1.0, 0.1), energy(1, 1.0, 0.1)), (0.0, 0.0));
}

#[test]
fn impossible_inputs_are_refused() {
    assert!(drop(2, -1.0, 1.0, 1.0).is_err() && drop(2, 1.0, 0.0, 1.0).is_err());
    assert!(bubble(2, 1.0, 1.0, f64::NAN).is_err());
    assert!(two_fluids(2, 0.0, 0.0, 1.0, 1.0).is_err() && cylinder(2, -1.0, 3.0, 1.0, 1.0).is_err());
    let message = drop(2, 1.0, -3.0, 1.0).unwrap_err().to_string();
    assert_eq!(message, "radius is -3; expected a positive number in SI units");
}
