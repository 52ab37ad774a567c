use super::*;
use proptest::prelude::*;
use std::f64::consts::PI;

fn outline(series: &[f64], centre: [f64; 2], axis_angle: f64, count: usize) -> Vec<Point> {
    (0..count)
        .map(|k| {
            let theta = 2.0 * PI * (k as f64 + 0.3) / count as f64;
            let r = legendre::series(series, theta.cos());
            Point {
                x: centre[0] + r * (theta + axis_angle).sin(),
                y: centre[1] - r * (theta + axis_angle).cos(),
                uncertainty: 0.01,
            }
        })
        .collect()
}

fn wanted(axis_angle: f64) -> Wanted {
    Wanted {
        axis_angle,
        lowest_order: 8,
        highest_order: 20,
    }
}

/// Prolate spheroid 1.2 by 1/sqrt(1.2): coefficients recomputed independently by 200-point Gauss quadrature.
#[test]
fn a_prolate_spheroid_has_its_coefficients() {
    let (long, short) = (1.2_f64, 1.0 / 1.2_f64.sqrt());
    let points: Vec<Point> = (0..720)
        .map(|k| {
            let theta = 2.0 * PI * f64::from(k) / 720.0;
            let r = ((theta.cos() / long).powi(2) + (theta.sin() / short).powi(2)).powf(-0.5);
            Point {
                x: r * theta.sin(),
                y: -r * theta.cos(),
                uncertainty: 1e-6,
            }
        })
        .collect();
    let found = expand(&points, &wanted(0.0)).expect("a spheroid is star-shaped");
    let truth = [0.993448146830, 0.177841159655, 0.024777971248, 0.003396140453];
    for (n, truth) in [0, 2, 4, 6].into_iter().zip(truth) {
        assert!(
            (found.coefficients[n] - truth).abs() < 1e-8,
            "c_{n} = {}",
            found.coefficients[n]
        );
    }
    assert!((found.radius() - 1.0).abs() < 1e-8);
    assert!(found.star_shaped);
}

#[test]
fn the_order_grows_with_the_shape_and_stays_low_for_a_sphere() {
    let sphere = expand(&outline(&[50.0], [3.0, 4.0], 0.0, 400), &wanted(0.0)).expect("a sphere");
    assert_eq!(sphere.coefficients.len(), 9);
    let mut series = vec![0.0; 15];
    (series[0], series[14]) = (50.0, 0.5);
    let rippled = expand(&outline(&series, [3.0, 4.0], 0.0, 400), &wanted(0.0)).expect("ripples");
    assert!(rippled.coefficients.len() == 15, "{}", rippled.coefficients.len());
    assert!(rippled.residual_rms < 1e-6);
}

#[test]
fn a_gap_on_one_side_is_bridged_by_the_other_side() {
    let series = [100.0, 0.0, 8.0, 4.0, -2.0];
    let points = outline(&series, [200.0, 150.0], 0.0, 360);
    let found = expand(&points[..250], &wanted(0.0)).expect("two thirds of an outline");
    for (n, c) in series.iter().enumerate() {
        assert!((found.coefficients[n] - c).abs() < 1e-6);
    }
    assert!((found.centre[0] - 200.0).abs() < 1e-6);
}

#[test]
fn degenerate_input_gives_nothing() {
    let p = |x: f64, y: f64| Point {
        x,
        y,
        uncertainty: 0.1,
    };
    assert_eq!(expand(&[], &wanted(0.0)), None);
    assert_eq!(expand(&[p(1.0, 1.0); 50], &wanted(0.0)), None);
    assert_eq!(
        expand(
            &[p(f64::NAN, 0.0), p(0.0, 1.0), p(1.0, 1.0), p(2.0, 0.0)],
            &wanted(0.0)
        ),
        None
    );
}

#[test]
fn a_necked_outline_is_not_star_shaped() {
    // Two discs of radius 1 at z = +-1.5 joined by a thin neck of radius 0.1 that a ray grazes.
    let arc = |z: f64, from: f64, to: f64| {
        (0..100).map(move |k| {
            let t = from + (to - from) * f64::from(k) / 99.0;
            Point {
                x: t.sin(),
                y: z - t.cos(),
                uncertainty: 0.01,
            }
        })
    };
    let a = 3.04;
    let points: Vec<Point> = arc(-1.5, -a, a).chain(arc(1.5, PI - a, PI + a)).collect();
    assert!(!is_star_shaped(&points, [0.0, 0.0]));
}

proptest! {
    #[test]
    fn turning_the_outline_and_the_axis_changes_nothing(
        angle in -3.0..3.0_f64, x in -500.0..500.0_f64, a2 in -0.2..0.2_f64, a3 in -0.1..0.1_f64, a5 in -0.05..0.05_f64,
    ) {
        let series = [80.0, 0.0, 80.0 * a2, 80.0 * a3, 0.0, 80.0 * a5];
        let found = expand(&outline(&series, [x, 7.0], angle, 300), &wanted(angle)).expect("star-shaped");
        for (n, c) in series.iter().enumerate() {
            prop_assert!((found.coefficients[n] - c).abs() < 1e-6, "c_{} = {} not {}", n, found.coefficients[n], c);
        }
        prop_assert!((found.centre[0] - x).abs() < 1e-6);
    }
}

/// Half of the outline of a known body, seen from one end: what is believed of it fills the rest.
#[test]
fn what_is_believed_stands_in_for_what_is_hidden() {
    let series = [30.0, 0.0, 1.2, 0.5, -0.2];
    let points = outline(&series, [70.0, 60.0], 0.4, 400);
    // A third of it around one pole, where the outline alone says nothing of the other end.
    let seen = &points[..130];
    let loose = expand(seen, &wanted(0.4));
    let beliefs: Vec<Belief> = (2..=8)
        .map(|n| Belief {
            mean: series.get(n).unwrap_or(&0.0) / 30.0,
            deviation: 1e-3,
        })
        .collect();
    let found = expand_believing(seen, &wanted(0.4), &beliefs).expect("determined");
    let truth = crate::revolution::equivalent_radius(from_series(&series).volume);
    let off = (found.radius() - truth).abs();
    assert!(off < 3.0 * found.radius_uncertainty() && off < 0.02, "{off}");
    assert!(loose.is_none_or(|e| e.radius_uncertainty() > 3.0 * found.radius_uncertainty()));
    // A belief that is nearly certain is kept, whatever the points say.
    let sure: Vec<Belief> = (2..=8)
        .map(|_| Belief {
            mean: 0.02,
            deviation: 1e-9,
        })
        .collect();
    let held = expand_believing(&points, &wanted(0.4), &sure).expect("determined");
    assert!((held.coefficients[5] / held.coefficients[0] - 0.02).abs() < 1e-5);
    assert_eq!(held.coefficients.len(), 9);
}
