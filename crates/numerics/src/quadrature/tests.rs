use super::gauss_legendre;

/// (points, i-th from the upper end, node, weight): Newton's method in mpmath at 30 digits; the five-point row is also
/// in Abramowitz & Stegun Table 25.4.
const REFERENCE: [(usize, usize, f64, f64); 13] = [
    (2, 0, 0.5773502691896257, 1.0),
    (3, 0, 0.7745966692414834, 0.5555555555555556),
    (5, 0, 0.906179845938664, 0.23692688505618908),
    (5, 1, 0.5384693101056831, 0.47862867049936647),
    (16, 0, 0.9894009349916499, 0.027152459411754096),
    (16, 4, 0.6178762444026438, 0.14959598881657674),
    (16, 7, 0.09501250983763744, 0.1894506104550685),
    (64, 0, 0.9993050417357722, 0.001783280721696433),
    (64, 16, 0.6852363130542333, 0.035472213256882386),
    (64, 31, 0.024350292663424433, 0.048690957009139724),
    (200, 0, 0.99992807128507, 0.00018459009747129744),
    (200, 50, 0.7001461155444901, 0.011187442349738355),
    (200, 99, 0.00783429114230637, 0.015668261715832254),
];

#[test]
fn nodes_and_weights_against_thirty_digit_values() {
    for (points, i, node, weight) in REFERENCE {
        let rule = gauss_legendre(points);
        let at = points - 1 - i;
        assert!(
            (rule.nodes[at] - node).abs() < 1e-15,
            "{points} {i}: {}",
            rule.nodes[at]
        );
        assert!(
            (rule.weights[at] - weight).abs() < 1e-15,
            "{points} {i}: {}",
            rule.weights[at]
        );
    }
}

#[test]
fn a_rule_is_symmetric_and_exact_to_twice_its_points() {
    for points in [1, 2, 3, 7, 20, 65] {
        let rule = gauss_legendre(points);
        for i in 0..points {
            assert_eq!(rule.nodes[i], -rule.nodes[points - 1 - i]);
        }
        for power in 0..2 * points as i32 {
            let expected = if power % 2 == 0 {
                2.0 / f64::from(power + 1)
            } else {
                0.0
            };
            let found = rule.integral(-1.0, 1.0, |x| x.powi(power));
            assert!(
                (found - expected).abs() < 4e-15,
                "{points} points, x^{power}: {found}"
            );
        }
        // One degree further it must fail, or the test proves nothing.
        if points < 20 {
            let beyond = 2 * points as i32;
            let found = rule.integral(-1.0, 1.0, |x| x.powi(beyond));
            assert!((found - 2.0 / f64::from(beyond + 1)).abs() > 1e-13);
        }
    }
}

#[test]
fn another_interval_and_the_empty_rule() {
    let rule = gauss_legendre(12);
    assert!((rule.integral(1.0, 4.0, f64::ln) - (4.0 * 4f64.ln() - 3.0)).abs() < 1e-10);
    assert_eq!(gauss_legendre(0).integral(0.0, 1.0, |x| x), 0.0);
}
