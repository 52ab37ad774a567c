use super::{RootError, bracketed, muller, newton};
use crate::complex::Complex64;

fn cubic(z: Complex64) -> (Complex64, Complex64) {
    // (z - 1)(z^2 + 2z + 5): roots 1, -1 +- 2i
    ((z - 1.0) * (z * z + 2.0 * z + 5.0), 3.0 * z * z + 2.0 * z + 3.0)
}

#[test]
fn both_complex_methods_find_the_root_of_a_cubic_and_say_how_well() {
    let expected = Complex64::new(-1.0, 2.0);
    let start = Complex64::new(-0.7, 1.5);
    let by_newton = newton(cubic, start, 1e-13).unwrap();
    let by_muller = muller(|z| cubic(z).0, start, 0.05, 1e-13).unwrap();
    for found in [by_newton, by_muller] {
        assert!((found.root - expected).norm() < 1e-13);
        assert!(found.residual < 1e-12 && found.evaluations < 12, "{found:?}");
    }
}

#[test]
fn a_double_root_is_found_as_well_as_rounding_allows() {
    let f = |z: Complex64| ((z - 3.0) * (z - 3.0), 2.0 * (z - 3.0));
    let found = newton(f, Complex64::new(3.5, 0.2), 1e-7).unwrap();
    assert!((found.root - 3.0).norm() < 1e-6 && found.residual < 1e-12);
}

#[test]
fn failures_are_errors_with_their_numbers() {
    let nowhere = newton(|z| (z.exp(), z.exp()), Complex64::new(0.0, 0.0), 1e-12);
    assert!(
        matches!(
            nowhere,
            Err(RootError::Unsettled { .. } | RootError::NotFinite { .. })
        ),
        "{nowhere:?}"
    );
    let flat = muller(|_| Complex64::new(1.0, 0.0), Complex64::new(1.0, 0.0), 0.1, 1e-12);
    assert!(flat.is_err());
    assert_eq!(
        bracketed(|x| x * x + 1.0, -1.0, 1.0, 0.0),
        Err(RootError::NoBracket { from: -1.0, to: 1.0 })
    );
    assert!(bracketed(|x| x, f64::NAN, 1.0, 0.0).is_err());
}

/// cos x = x at 0.739085133215160641655... (the Dottie number), and a function flat near its root.
#[test]
fn bracketed_roots_reach_rounding() {
    let found = bracketed(|x| x.cos() - x, 0.0, 1.0, 0.0).unwrap();
    assert!((found.root - 0.739_085_133_215_160_6).abs() < 3e-16 && found.evaluations < 15);
    let flat = bracketed(|x| (x - 0.3).powi(5), -10.0, 7.0, 1e-9).unwrap();
    assert!((flat.root - 0.3).abs() < 1e-3 && flat.residual < 1e-16);
    let at_end = bracketed(|x| x, 0.0, 1.0, 0.0).unwrap();
    assert!(at_end.root.abs() < 1e-15);
}
