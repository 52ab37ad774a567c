use super::{derivative, projection, series, table, value, values};
use crate::quadrature::gauss_legendre;

/// Explicit polynomials, DLMF Table 18.6.1 and Abramowitz & Stegun 22.4: P_2 to P_4 and P_8(0) = 35/128.
#[test]
fn explicit_polynomials() {
    for x in [-1.0_f64, -0.3, 0.0, 0.7, 1.0] {
        let x2 = x * x;
        let expected = [
            1.0,
            x,
            (3.0 * x2 - 1.0) / 2.0,
            (5.0 * x2 - 3.0) * x / 2.0,
            (35.0 * x2 * x2 - 30.0 * x2 + 3.0) / 8.0,
        ];
        let mut found = [0.0; 5];
        values(x, &mut found);
        for k in 0..5 {
            assert!((found[k] - expected[k]).abs() < 1e-15, "P_{k}({x})");
            assert_eq!(value(k, x), found[k]);
        }
    }
    assert_eq!(value(8, 0.0), 35.0 / 128.0);
}

/// P_k(+-1) = (+-1)^k, P'_k(1) = k(k+1)/2, P''_k(1) = (k-1)k(k+1)(k+2)/8 (Taylor series of the Legendre equation at 1).
#[test]
fn derivatives_at_the_poles() {
    let north = table(20, 1.0);
    let south = table(20, -1.0);
    for k in 0..=20_u32 {
        let f = f64::from(k);
        let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
        let slope = f * (f + 1.0) / 2.0;
        let bend = (f - 1.0) * f * (f + 1.0) * (f + 2.0) / 8.0;
        let i = k as usize;
        assert!((north.value[i] - 1.0).abs() < 1e-14 && (south.value[i] - sign).abs() < 1e-14);
        assert!((north.slope[i] - slope).abs() < 1e-11 && (south.slope[i] + sign * slope).abs() < 1e-11);
        assert!((north.bend[i] - bend).abs() < 1e-9 && (south.bend[i] - sign * bend).abs() < 1e-9);
    }
}

/// The Legendre equation (1-x^2) P'' - 2x P' + k(k+1) P = 0 ties value, slope and bend together.
#[test]
fn legendre_equation_holds() {
    for i in -20..=20 {
        let x = f64::from(i) / 20.0;
        let t = table(30, x);
        for k in 0..=30 {
            let n = (k * (k + 1)) as f64;
            let left = (1.0 - x * x) * t.bend[k] - 2.0 * x * t.slope[k] + n * t.value[k];
            assert!(left.abs() < 1e-9, "degree {k} at {x}: {left}");
        }
    }
}

#[test]
fn series_agrees_with_the_sum_of_terms_and_its_derivative() {
    let c = [0.3, -1.0, 0.25, 0.0, 2.0, -0.125, 0.7];
    let slope = derivative(&c);
    assert_eq!(slope.len(), 6);
    for i in -10..=10 {
        let x = f64::from(i) / 10.0;
        let t = table(6, x);
        let sum: f64 = c.iter().zip(&t.value).map(|(c, p)| c * p).sum();
        let sum_slope: f64 = c.iter().zip(&t.slope).map(|(c, p)| c * p).sum();
        assert!((series(&c, x) - sum).abs() < 1e-14);
        assert!((series(&slope, x) - sum_slope).abs() < 1e-13);
    }
    assert_eq!(series(&[], 0.5), 0.0);
    assert!(derivative(&[1.0]).is_empty() && derivative(&[]).is_empty());
}

/// Orthogonality: projecting a series returns its coefficients.
#[test]
fn projection_returns_what_was_put_in() {
    let rule = gauss_legendre(40);
    let c: Vec<f64> = (0..=30)
        .map(|k| (1.0 + f64::from(k)).recip() * if k % 3 == 0 { -1.0 } else { 1.0 })
        .collect();
    let samples: Vec<f64> = rule.nodes.iter().map(|x| series(&c, *x)).collect();
    let found = projection(&rule, &samples, 35);
    for (k, found) in found.iter().enumerate() {
        let expected = c.get(k).copied().unwrap_or(0.0);
        assert!(
            (found - expected).abs() < 2e-14,
            "degree {k}: {found} for {expected}"
        );
    }
}

/// High degrees stay bounded by one and keep their parity.
#[test]
fn high_degrees_stay_stable() {
    for i in 0..=50 {
        let x = f64::from(i) / 50.0;
        for k in [100, 501, 2000] {
            let p = value(k, x);
            let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
            assert!(p.abs() <= 1.0 + 1e-12);
            assert!((value(k, -x) - sign * p).abs() < 1e-12);
        }
    }
}
