//! Scale against the law of propagation worked out by hand.

use super::*;

fn scale_of(relative: f64) -> Scale {
    let u = 5e-5 * relative;
    let input = Input {
        key: "scale [cal-A]".into(),
        unit: "m/px".into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "stated".into(),
    };
    Scale::stated(Uncertain::of_input(5e-5, u, input)).expect("positive")
}

#[test]
fn one_percent_of_scale_is_one_two_three_percent() {
    let scale = scale_of(0.01);
    let found = [
        scale.length(240.0, 0.0, "a"),
        scale.area(240.0, 0.0, "a"),
        scale.volume(240.0, 0.0, "a"),
    ];
    for (n, quantity) in (1..).zip(&found) {
        assert!((quantity.value() / (240.0 * 5e-5_f64.powi(n)) - 1.0).abs() < 1e-12);
        assert!((quantity.relative() - 0.01 * f64::from(n)).abs() < 1e-12);
    }
    assert!((found[0].correlation(&found[2]) - 1.0).abs() < 1e-12);
}

#[test]
fn image_and_scale_add_in_squares_and_keep_their_keys() {
    let length = scale_of(0.003).length(100.0, 0.4, "edge");
    assert!((length.relative() - 0.005).abs() < 1e-12);
    let keys: Vec<&str> = length
        .parts()
        .iter()
        .map(|part| part.input.key.as_str())
        .collect();
    assert_eq!(keys, ["scale [cal-A]", "edge"]);
}

#[test]
fn a_reference_carries_ruler_and_pointing() {
    let ruler = Input {
        key: "ruler".into(),
        unit: "m".into(),
        standard_uncertainty: 1e-4,
        degrees_of_freedom: f64::INFINITY,
        source: "ruler".into(),
    };
    let ruler = Uncertain::of_input(0.1, 1e-4, ruler);
    let scale = Scale::from_reference(&ruler, [0.0, 0.0], [600.0, 800.0], 0.5).expect("a scale");
    assert!((scale.metres_per_pixel().value() - 1e-4).abs() < 1e-18);
    let expected = (1e-3_f64.powi(2) + 2.0 * 0.5e-3_f64.powi(2)).sqrt();
    assert!((scale.metres_per_pixel().relative() - expected).abs() < 1e-12);
}

#[test]
fn depth_is_scale() {
    // Similar triangles: 10 mm behind the plane, 0.6 m from the lens, is 1/60 of every length.
    let distance = Uncertain::exact(0.6);
    let near = scale_of(0.0);
    let far = near.at_depth(0.010, 0.0, &distance).expect("a scale");
    let ratio = far.metres_per_pixel().value() / near.metres_per_pixel().value();
    assert!((ratio - 0.61 / 0.6).abs() < 1e-12);
    let unsure = near.at_depth(0.0, 0.010, &distance).expect("a scale");
    let volume = unsure.volume(1e6, 0.0, "edge");
    assert!((volume.relative() - 3.0 / 60.0).abs() < 1e-12);
    assert_eq!(volume.parts()[0].input.key, "depth");
}

#[test]
fn distance_matters_only_out_of_plane() {
    let input = pixels("distance", "m", 0.01);
    let distance = Uncertain::of_input(0.6, 0.01, input);
    let in_plane = scale_of(0.0).at_depth(0.0, 0.0, &distance).expect("a scale");
    assert_eq!(in_plane.metres_per_pixel().standard_uncertainty(), 0.0);
    let behind = scale_of(0.0).at_depth(0.06, 0.0, &distance).expect("a scale");
    let expected = 5e-5 * 0.06 * 0.01 / 0.36;
    assert!((behind.metres_per_pixel().standard_uncertainty() - expected).abs() < 1e-18);
}

#[test]
fn impossible_scales_are_refused() {
    for value in [0.0, -1e-5, f64::NAN] {
        assert!(Scale::stated(Uncertain::exact(value)).is_err());
    }
    let ruler = Uncertain::exact(0.05);
    assert!(Scale::from_reference(&ruler, [1.0, 1.0], [1.0, 1.0], 0.5).is_err());
    assert!(Scale::from_reference(&ruler, [1.0, 1.0], [9.0, 1.0], -0.5).is_err());
    assert!(Scale::from_reference(&Uncertain::exact(0.0), [1.0, 1.0], [9.0, 1.0], 0.5).is_err());
    let scale = scale_of(0.01);
    assert!(scale.at_depth(-0.7, 0.0, &Uncertain::exact(0.6)).is_err());
    assert!(scale.at_depth(0.0, 0.0, &Uncertain::exact(0.0)).is_err());
}
