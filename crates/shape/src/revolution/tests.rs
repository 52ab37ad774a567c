use super::*;
use crate::outline::Point;

fn series(pairs: &[(usize, f64)]) -> Vec<f64> {
    let mut c = vec![0.0; 8];
    c[0] = 1.0;
    for (n, a) in pairs {
        c[*n] = *a;
    }
    c
}

fn drawn(coefficients: &[f64], axis: f64, count: usize) -> Outline {
    let points = (0..count).map(|k| {
        let theta = 2.0 * PI * k as f64 / count as f64;
        let r = legendre::series(coefficients, theta.cos());
        Point {
            x: 2.0 + r * (theta + axis).sin(),
            y: 1.0 - r * (theta + axis).cos(),
            uncertainty: 0.0,
        }
    });
    Outline::new(points.collect(), true).expect("an outline")
}

/// Volume and surface against the sphere's, recomputed independently by 200-point Gauss quadrature.
#[test]
fn test_shapes_have_their_volume_and_surface() {
    let cases = [
        (series(&[(2, 0.05)]), 1.001507142857, 1.001998424328),
        (series(&[(2, 0.1)]), 1.006057142857, 1.007975357431),
        (series(&[(2, 0.3)]), 1.055542857143, 1.070221957968),
        (
            series(&[(2, 0.1), (3, 0.05), (4, 0.02)]),
            1.007332265068,
            1.010897505170,
        ),
    ];
    for (c, volume, surface) in cases {
        let exact = from_series(&c);
        assert!((exact.volume / (4.0 * PI / 3.0) - volume).abs() < 1e-11);
        assert!((exact.surface / (4.0 * PI) - surface).abs() < 1e-11);
        let walked = from_outline(&drawn(&c, 0.7, 800), 0.7, [2.0, 1.0]);
        assert!((walked.volume / exact.volume - 1.0).abs() < 1e-7);
        assert!((walked.surface / exact.surface - 1.0).abs() < 1e-5);
        assert!((walked.centroid - exact.centroid).abs() < 1e-7);
    }
}

/// Exact: V/(4 pi/3) = 1 + 3 e^2/5 + 2 e^3/35 for r = 1 + e P2; equivalent radii and aspects recomputed independently.
#[test]
fn second_degree_shapes_have_their_radius_and_aspect() {
    for (e, radius, aspect) in [
        (0.05, 0.0, 1.076923),
        (0.1, 1.002014984729, 0.0),
        (0.3, 1.018181707748, 1.529411764706),
    ] {
        let c = series(&[(2, e)]);
        let volume = from_series(&c).volume;
        let exact = 1.0 + 3.0 * e * e / 5.0 + 2.0 * e * e * e / 35.0;
        assert!((volume / (4.0 * PI / 3.0) - exact).abs() < 1e-13);
        if radius > 0.0 {
            assert!((equivalent_radius(volume) - radius).abs() < 1e-12);
        }
        if aspect > 0.0 {
            let found = legendre::series(&c, 1.0) / legendre::series(&c, 0.0);
            assert!((found - aspect).abs() < 5e-7);
        }
    }
}

/// A torus-like neck: a dumb-bell of two spheres and a cylinder has the sum of their closed-form volumes.
#[test]
fn a_necked_body_has_its_volume() {
    let (neck, half) = (0.2_f64, 2.0_f64);
    let cut = (1.0 - neck * neck).sqrt();
    let mut right = Vec::new();
    let angle = neck.asin();
    for k in 0..=400 {
        let t = (PI - angle) * f64::from(k) / 400.0;
        right.push((half + t.cos(), t.sin()));
    }
    for k in 1..400 {
        right.push(((half - cut) * (1.0 - f64::from(k) / 200.0), neck));
    }
    for k in 0..=400 {
        let t = angle + (PI - angle) * f64::from(k) / 400.0;
        right.push((-half + t.cos(), t.sin()));
    }
    let left = right.iter().rev().map(|(z, s)| (*z, -s));
    let points = right.iter().copied().chain(left).map(|(z, s)| Point {
        x: s,
        y: -z,
        uncertainty: 0.0,
    });
    let outline = Outline::new(points.collect(), true).expect("a dumb-bell");
    let cap = PI * (1.0 - cut).powi(2) * (2.0 + cut) / 3.0;
    let truth = 2.0 * (4.0 * PI / 3.0 - cap) + PI * neck * neck * 2.0 * (half - cut);
    let found = from_outline(&outline, 0.0, [0.0, 0.0]);
    assert!(
        (found.volume / truth - 1.0).abs() < 1e-4,
        "{} {}",
        found.volume,
        truth
    );
    assert!(found.centroid.abs() < 1e-6);
}
