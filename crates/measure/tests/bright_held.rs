//! Painted bright bodies with a holder before clutter: a body that stays at it is not known to be free.

use std::ops::ControlFlow;
use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{Obstacle, Recipe};
use tremolet_measure::measured::Measured;
use tremolet_measure::session::measure;
use tremolet_measure::settings::Settings;

const MIDDLE: [f64; 2] = [160.4, 158.7];

/// A ringing body of 96 px, `drift` px a second, a rod from below to its rim where a width is given.
fn measured(drift: f64, rod_px: Option<f64>) -> Measured {
    let swing = |t: f64| {
        let two = 0.05 * (20.0 * t).sin();
        vec![0.0, 0.0, two, 0.02 * (40.0 * t).cos(), 0.01 * (60.0 * t).sin()]
    };
    let body = PaintedBody::moving(96.0, MIDDLE, swing)
        .along(move |t| [MIDDLE[0] + drift * t, MIDDLE[1] - 0.7 * drift * t])
        .turned(0.4);
    let mut recipe = Recipe::bright(320, 320, 16, 16.0, 1e-4);
    recipe.bodies = vec![body];
    recipe.obstacles = rod_px
        .map(|width_px| Obstacle::Rod {
            from: [150.0, 330.0],
            to: [162.4, 252.7],
            width_px,
            light: 0.12,
            middle: None,
        })
        .into_iter()
        .collect();
    let mut painter = Painter::new(recipe).expect("a recipe");
    measure(&mut painter, &Settings::default(), &mut |_| {
        ControlFlow::Continue(())
    })
    .expect("frames in memory")
}

#[test]
fn a_body_that_stays_at_a_thin_rod_is_not_free() {
    for width in [6.0, 2.0] {
        let found = measured(0.0, Some(width));
        assert!(
            found.cautions.iter().any(|c| c.code == "may_be_held"),
            "{width} px"
        );
        assert!(found.bodies[0].shapes.iter().all(|s| s.touched));
    }
}

#[test]
fn a_body_that_stays_with_nothing_at_its_rim_or_drifts_is_free() {
    for drift in [0.0, 9.0] {
        let found = measured(drift, None);
        assert!(!found.cautions.iter().any(|c| c.code == "may_be_held"), "{drift}");
        assert!(!found.bodies[0].shapes.iter().any(|s| s.touched), "{drift}");
    }
    // One that drifts leaves behind what ends at its rim: it is clutter.
    let found = measured(9.0, Some(4.0));
    assert!(!found.cautions.iter().any(|c| c.code == "may_be_held"));
}
