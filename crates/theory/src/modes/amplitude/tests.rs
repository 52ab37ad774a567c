use super::{frequency_factor, second_order, shape, shift_coefficient};
use tremolet_numerics::legendre;
use tremolet_numerics::quadrature::gauss_legendre;

mod lindstedt;

/// k_n and second-order shapes, the problem of Tsamopoulos & Brown 1983 (their printed coefficients not seen): recomputed independently by a third-order
/// expansion on a grid and by nonlinear spectral integration. Degrees 0, 2, 4 .. 2n: steady, cos 2 tau.
#[test]
fn shifts_and_shapes_to_the_digits_of_the_table() {
    assert!((shift_coefficient(2).unwrap() + 0.585187074830).abs() < 6e-13);
    assert!((shift_coefficient(3).unwrap() + 0.988782681965).abs() < 6e-13);
    assert!((shift_coefficient(4).unwrap() + 1.398515836934).abs() < 6e-13);
    let rows: [(u32, &[f64], &[f64]); 3] = [
        (
            2,
            &[-0.1, 11.0 / 28.0, 9.0 / 35.0],
            &[-0.1, -29.0 / 84.0, 27.0 / 175.0],
        ),
        (
            3,
            &[-1.0 / 14.0, 0.5238095238, 0.2186147186, 0.2813852814],
            &[-1.0 / 14.0, -0.1904761905, -0.4902597403, 0.0216450216],
        ),
        (
            4,
            &[
                -1.0 / 18.0,
                0.6448412698,
                0.2315184815,
                0.1925505051,
                0.2991452991,
            ],
            &[
                -1.0 / 18.0,
                -0.1413368378,
                -0.2255244755,
                -0.8301767677,
                -0.0895836190,
            ],
        ),
    ];
    for (n, steady, double) in rows {
        let parts = second_order(n).unwrap();
        assert_eq!(parts.len(), steady.len());
        for (i, part) in parts.iter().enumerate() {
            assert_eq!(part.degree, 2 * i as u32);
            assert!(
                (part.steady - steady[i]).abs() < 6e-11 && (part.double - double[i]).abs() < 6e-11,
                "n {n} {part:?}"
            );
        }
    }
}

/// The expansion carried out anew: nothing in it knows the stored numbers.
#[test]
fn the_expansion_gives_the_stored_numbers() {
    for n in [2, 3, 4] {
        let found = lindstedt::expand(n);
        let k = shift_coefficient(n as u32).unwrap();
        assert!((found.shift - k).abs() < 2e-12, "n {n}: {} for {k}", found.shift);
        for part in second_order(n as u32).unwrap() {
            let j = part.degree as usize;
            assert!(
                (found.steady[j] - part.steady).abs() < 1e-11,
                "n {n} j {j}: {}",
                found.steady[j]
            );
            assert!(
                (found.double[j] - part.double).abs() < 1e-11,
                "n {n} j {j}: {}",
                found.double[j]
            );
        }
        let beyond = found
            .steady
            .iter()
            .chain(&found.double)
            .filter(|c| c.abs() > 1e-10)
            .count();
        assert_eq!(beyond, 2 * second_order(n as u32).unwrap().len(), "no other part");
    }
}

/// Fully nonlinear spectral integration, recomputed independently: (w/w_n - 1)/eps^2 at eps 0.05, 0.1, 0.15.
#[test]
fn shifts_against_nonlinear_integration() {
    let rows = [
        (3, [-0.98718, -0.98245, -0.97482], 0.015),
        (2, [-0.58672, -0.58718, -0.58659], 0.004),
    ];
    for (n, measured, tolerance) in rows {
        for (eps, expected) in [0.05, 0.1, 0.15].into_iter().zip(measured) {
            let k = (frequency_factor(n, eps).unwrap() - 1.0) / (eps * eps);
            assert!((k / expected - 1.0).abs() < tolerance, "n {n} eps {eps}");
        }
    }
}

/// Zrnic & Brenn 2021, abstract: 5 % frequency drop of the two-lobed mode at aspect ratio 1.5 (eps = 2/7).
#[test]
fn five_percent_at_aspect_ratio_one_and_a_half() {
    let drop = 1.0 - frequency_factor(2, 2.0 / 7.0).unwrap();
    assert!((drop - 0.048).abs() < 5e-4, "{drop}");
}

/// The volume stays that of the sphere to second order: what is left falls as eps^3.
#[test]
fn shapes_keep_their_volume() {
    let rule = gauss_legendre(40);
    for n in [2, 3, 4] {
        let excess = |eps: f64, phase: f64| {
            let c = shape(n, eps, phase).unwrap();
            rule.integral(-1.0, 1.0, |x| legendre::series(&c, x).powi(3)) / 2.0 - 1.0
        };
        for phase in [0.0, 0.7, 2.0, 3.1] {
            assert!(
                excess(1e-3, phase).abs() < 3e-9,
                "n {n}: {:e}",
                excess(1e-3, phase)
            );
        }
    }
}

#[test]
fn out_of_range_is_refused() {
    assert!(shift_coefficient(5).is_err() && shift_coefficient(1).is_err() && second_order(0).is_err());
    assert!(frequency_factor(2, 0.5).is_err() && frequency_factor(2, f64::NAN).is_err());
}
