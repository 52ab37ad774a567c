use super::{
    axisymmetric_two_lobed, laboratory_frequency, oblateness_pattern, rotating_frequency, static_oblateness,
};
use crate::modes::inviscid;
use tremolet_numerics::legendre;
use tremolet_numerics::quadrature::gauss_legendre;

/// Coriolis integral of u = grad r^n Y, recomputed independently: inertial shift m Omega (1 - 1/n), rotating frame -m Omega/n; n = 2, m = +-2: +-Omega.
#[test]
fn first_order_splitting() {
    for (m, shift) in [(-2, -1.0), (-1, -0.5), (0, 0.0), (1, 0.5), (2, 1.0)] {
        assert!((laboratory_frequency(2, m, 5.0, 0.25).unwrap() - 5.0 - 0.25 * shift).abs() < 1e-14);
    }
    assert!((rotating_frequency(3, 3, 5.0, 0.3).unwrap() - 4.7).abs() < 1e-14);
    assert!((laboratory_frequency(3, 3, 5.0, 0.3).unwrap() - 5.6).abs() < 1e-14);
}

/// The first-order shift from the integral itself. Displacement x = grad(r^n P_n^m e^{i m phi}); projecting
/// -w^2 x - 2 i w Omega (z cross x) = F x on conj x gives dw = -2 Omega * integral of Im(conj(x_s) x_phi) / integral of |x|^2,
/// x_s being the part away from the axis. Orders 1 and 2, whose P_n^m are sin P_n' and sin^2 P_n''.
#[test]
fn coriolis_integral() {
    let rule = gauss_legendre(40);
    for n in 2..=6_usize {
        let degree = n as f64;
        for order in [1_i32, 2] {
            let m = f64::from(order);
            let flow = |x: f64| {
                let (table, sine) = (legendre::table(n, x), (1.0 - x * x).sqrt());
                let (slope, bend) = (table.slope[n], table.bend[n]);
                // Third derivative from the differentiated Legendre equation.
                let third = (4.0 * x * bend - (degree * (degree + 1.0) - 2.0) * slope) / (1.0 - x * x);
                let (p, p_theta) = match order {
                    1 => (sine * slope, x * slope - sine * sine * bend),
                    _ => (sine * sine * bend, 2.0 * sine * x * bend - sine.powi(3) * third),
                };
                (degree * p, p_theta, m * p / sine, sine)
            };
            let cross = rule.integral(-1.0, 1.0, |x| {
                let (radial, polar, round, sine) = flow(x);
                (radial * sine + polar * x) * round
            });
            let square = rule.integral(-1.0, 1.0, |x| {
                let (radial, polar, round, _) = flow(x);
                radial * radial + polar * polar + round * round
            });
            let found = rotating_frequency(n as u32, order, 10.0, 1.0).unwrap() - 10.0;
            let expected = -2.0 * cross / square;
            assert!(
                (found - expected).abs() < 1e-12,
                "n {n} m {m}: {found} for {expected}"
            );
        }
    }
}

/// 38/21 (variational reduction and finite-Omega solution, recomputed independently; 19/21 of Busse 1984 from memory):
/// w = w_2 [1 + (19/21)(Omega/w_2)^2].
#[test]
fn axisymmetric_second_order() {
    let (w, rotation) = (8f64.sqrt(), 0.02);
    let expected = w * (1.0 + 19.0 / 21.0 * (rotation / w).powi(2));
    assert!((axisymmetric_two_lobed(w, rotation) - expected).abs() < 1e-8);
    assert!(
        (axisymmetric_two_lobed(w, rotation).powi(2) - 8.0 - 38.0 / 21.0 * rotation * rotation).abs() < 1e-14
    );
    assert_eq!(axisymmetric_two_lobed(w, 0.0), w);
}

/// r = 1 - (Omega^2/12) P_2 of the unit drop (normal stress 4 eps = -Omega^2/3; variational, recomputed independently); here against the
/// energy: tension against the work of the centrifugal force.
#[test]
fn static_oblateness_is_where_the_energy_is_least() {
    assert!((static_oblateness(1.0, 1.0, 1.0, 0.6) + 0.03).abs() < 1e-15);
    let rotation = 0.01;
    let rule = gauss_legendre(30);
    let energy = |a: f64| {
        let r = |x: f64| 1.0 + a * legendre::value(2, x) - a * a / 5.0;
        // -1/2 Omega^2 times the integral of (r sin)^2 over the volume
        let centrifugal = rule.integral(-1.0, 1.0, |x| (1.0 - x * x) * r(x).powi(5) / 5.0);
        inviscid::energy(2, 1.0, a) - 0.5 * rotation * rotation * std::f64::consts::TAU * centrifugal
    };
    let h = 1e-3;
    let slope = (energy(h) - energy(-h)) / (2.0 * h);
    let bend = (energy(h) - 2.0 * energy(0.0) + energy(-h)) / (h * h);
    let expected = static_oblateness(1.0, 1.0, 1.0, rotation);
    assert!(
        (-slope / bend / expected - 1.0).abs() < 1e-3,
        "{} {expected}",
        -slope / bend
    );
}

/// Mean of P_2 over |Y_n^m|^2 (Gaunt integral), here for the zonal and sectoral modes by quadrature; the sum over the orders is zero.
#[test]
fn oblateness_pattern_is_the_mean_of_p2() {
    let rule = gauss_legendre(40);
    let p2 = |x: f64| legendre::value(2, x);
    for n in 2..=8_u32 {
        let mean = |density: &dyn Fn(f64) -> f64| {
            rule.integral(-1.0, 1.0, |x| p2(x) * density(x)) / rule.integral(-1.0, 1.0, density)
        };
        let zonal = mean(&|x: f64| legendre::value(n as usize, x).powi(2));
        let sectoral = mean(&|x: f64| (1.0 - x * x).powi(n as i32));
        assert!((oblateness_pattern(n, 0).unwrap() - zonal).abs() < 1e-13);
        assert!((oblateness_pattern(n, n as i32).unwrap() - sectoral).abs() < 1e-13);
        let orders = -(n as i32)..=n as i32;
        let sum: f64 = orders.map(|m| oblateness_pattern(n, m).unwrap()).sum();
        assert!(sum.abs() < 1e-12);
    }
    for (m, value) in [(0, 2.0 / 7.0), (1, 1.0 / 7.0), (-2, -2.0 / 7.0)] {
        assert!((oblateness_pattern(2, m).unwrap() - value).abs() < 1e-15);
    }
}

/// Brown & Scriven 1980, from memory: the drop turns two-lobed at 0.559 sqrt(8 sigma/(rho R^3)).
#[test]
fn bifurcation_value() {
    assert_eq!(super::TWO_LOBE_BIFURCATION, 0.559);
}

#[test]
fn impossible_orders_are_refused() {
    assert!(laboratory_frequency(2, 3, 1.0, 0.1).is_err() && rotating_frequency(1, 0, 1.0, 0.1).is_err());
    assert!(oblateness_pattern(4, -5).is_err());
}
