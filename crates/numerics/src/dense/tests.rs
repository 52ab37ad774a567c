use super::*;

fn hilbert(n: usize) -> Matrix {
    Matrix::from_fn(n, n, |i, j| 1.0 / (i + j + 1) as f64)
}

// The inverse of the 3 x 3 Hilbert matrix is integer: [[9,-36,30],[-36,192,-180],[30,-180,180]] (closed form
// by binomials, checked by hand).
#[test]
fn inverse_of_hilbert() {
    let inverse = hilbert(3).inverse_positive().unwrap();
    let known = [9.0, -36.0, 30.0, -36.0, 192.0, -180.0, 30.0, -180.0, 180.0];
    for (x, y) in inverse.data().iter().zip(known) {
        assert!((x - y).abs() < 1e-9, "{x} {y}");
    }
    let x = hilbert(3)
        .solve_positive(&[11.0 / 6.0, 13.0 / 12.0, 47.0 / 60.0])
        .unwrap();
    assert!(x.iter().all(|v| (v - 1.0).abs() < 1e-12));
}

#[test]
fn least_squares_of_a_line() {
    let a = Matrix::from_fn(5, 2, |i, j| if j == 0 { 1.0 } else { i as f64 });
    // y = 1, 3, 2, 5, 4: slope 0.8, intercept 1.4 by the normal equations by hand.
    let x = a.least_squares(&[1.0, 3.0, 2.0, 5.0, 4.0]).unwrap();
    assert!((x[0] - 1.4).abs() < 1e-12 && (x[1] - 0.8).abs() < 1e-12);
}

#[test]
fn dependent_columns_are_named() {
    let a = Matrix::from_fn(5, 2, |i, j| (i + 1) as f64 * (j + 1) as f64);
    assert_eq!(
        a.least_squares(&[0.0; 5]),
        Err(DenseError::Rank { rank: 1, columns: 2 })
    );
}

#[test]
fn decompositions_rebuild_the_matrix() {
    let a = Matrix::from_fn(7, 4, |i, j| ((3 * i + 5 * j) as f64).sin());
    let svd = a.svd().unwrap();
    let back = svd
        .u
        .product(&Matrix::diagonal(&svd.s))
        .product(&svd.v.transpose());
    assert!(
        a.data()
            .iter()
            .zip(back.data())
            .all(|(x, y)| (x - y).abs() < 1e-13)
    );
    assert!(svd.s.windows(2).all(|w| w[0] >= w[1]));
    let (w, v) = a.gram().symmetric_eigen().unwrap();
    for (s, w) in svd.s.iter().rev().zip(&w) {
        assert!((s * s - w).abs() < 1e-12);
    }
    let back = v.product(&Matrix::diagonal(&w)).product(&v.transpose());
    assert!(
        a.gram()
            .data()
            .iter()
            .zip(back.data())
            .all(|(x, y)| (x - y).abs() < 1e-12)
    );
}

#[test]
fn eigenvalues_of_a_turn() {
    let (s, c) = 0.3_f64.sin_cos();
    let turn = Matrix::from_rows(2, 2, vec![c, -s, s, c]).unwrap();
    let mut found = turn.eigenvalues().unwrap();
    found.sort_by(|a, b| a.1.total_cmp(&b.1));
    assert!((found[1].0 - c).abs() < 1e-14 && (found[1].1 - s).abs() < 1e-14);
}

#[test]
fn bad_input_is_refused() {
    assert!(matches!(
        hilbert(2).scaled(-1.0).cholesky(),
        Err(DenseError::NotPositive { place: 0, .. })
    ));
    assert!(Matrix::from_rows(2, 2, vec![1.0]).is_err());
    assert!(Matrix::zeros(2, 3).eigenvalues().is_err());
    assert!(Matrix::from_fn(2, 2, |_, _| f64::NAN).svd().is_err());
}

#[test]
fn square_systems_are_solved_and_singular_ones_refused() {
    let a = Matrix::from_fn(7, 7, |i, j| {
        1.0 / (1.0 + i as f64 + 2.0 * j as f64) + if i == j { 1.0 } else { 0.0 }
    });
    let x = Matrix::from_fn(7, 2, |i, j| (1 + i) as f64 - 3.0 * j as f64);
    let found = a.solve(&a.product(&x)).expect("regular");
    for (found, x) in found.data().iter().zip(x.data()) {
        assert!((found - x).abs() < 1e-12, "{found} {x}");
    }
    assert!(matches!(
        a.solve(&Matrix::zeros(6, 1)),
        Err(DenseError::Shape { .. })
    ));
    let singular = Matrix::from_fn(3, 3, |_, j| if j == 1 { 0.0 } else { 1.0 });
    assert!(singular.solve(&Matrix::identity(3)).is_err());
}
