//! Painted bodies before light beyond the end of the scale, and bodies that the picture or a wire cuts: what is said of them.

use std::ops::ControlFlow;
use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{Lamp, Obstacle, PaintedScene, Recipe};
use tremolet_measure::measured::Measured;
use tremolet_measure::session::measure;
use tremolet_measure::settings::Settings;

const RATE: f64 = 150.0;

fn measured(recipe: Recipe) -> Measured {
    let mut painter = Painter::new(recipe).expect("a recipe");
    let settings = Settings {
        threads: 1,
        ..Settings::default()
    };
    measure(&mut painter, &settings, &mut |_| ControlFlow::Continue(())).expect("frames in memory")
}

/// Radius less the painted one, its standard uncertainty, and whether it is said that levels are cut off.
fn sphere(level: f64, dark: f64) -> (f64, f64, bool) {
    let body = PaintedBody::sphere(60.0, [99.4, 101.2]).along(|t| [99.4 + 9.0 * t, 101.2 - 7.0 * t]);
    let mut recipe = Recipe::silhouette(200, 200, 20, RATE, 1e-4);
    recipe.bodies = vec![body];
    recipe.lamp = Lamp {
        level,
        falloff: 0.0,
        slope: [0.0; 2],
        ..Lamp::default()
    };
    if let PaintedScene::Silhouette(look) = &mut recipe.scene {
        look.dark = dark;
    }
    let found = measured(recipe);
    let body = &found.bodies[0];
    let count = body.shapes.len() as f64;
    let mean = body.shapes.iter().map(|s| s.equivalent_radius_px).sum::<f64>() / count;
    let noise = body.shapes[0].u_radius_px / count.sqrt();
    let told = found.cautions.iter().any(|c| c.code == "levels_cut_off");
    (mean - 60.0, noise.hypot(body.u_edge_px), told)
}

/// Light that fills the scale hides how bright it is, and with it the place of the edge.
#[test]
fn light_beyond_the_scale_is_told_and_in_the_uncertainty() {
    for level in [1.0, 1.05, 1.2, 1.6] {
        let (off, u, told) = sphere(level, 0.2);
        assert!(told && off.abs() < 2.0 * u, "{level}: {off} +- {u}");
    }
    let (off, u, told) = sphere(0.78, 0.0);
    assert!(told && off.abs() < 2.0 * u && u < 0.03, "dark: {off} +- {u}");
}

#[test]
fn levels_within_the_scale_are_not_called_cut_off() {
    for (level, dark) in [(0.78, 0.2), (0.94, 0.2), (0.78, 0.02)] {
        let (off, u, told) = sphere(level, dark);
        assert!(!told && u < 0.004 && off.abs() < 3.0 * u, "{level}: {off} +- {u}");
    }
}

/// An outline of which a part is hidden keeps its name while it swings.
#[test]
fn a_body_that_is_partly_hidden_is_one_body() {
    let swing = |t: f64| {
        let two = 0.06 * (50.0 * t).sin();
        vec![0.0, 0.0, two, 0.02 * (90.0 * t).cos(), 0.01 * (140.0 * t).sin()]
    };
    for (centre, wire) in [
        ([48.0, 150.0], false),
        ([30.0, 150.0], false),
        ([150.0, 150.0], true),
    ] {
        let body = PaintedBody::moving(60.0, centre, swing).turned(0.4);
        let mut recipe = Recipe::silhouette(300, 300, 40, RATE, 1e-4);
        recipe.bodies = vec![body];
        if wire {
            recipe.obstacles = vec![Obstacle::Loop {
                centre: [190.0, 175.0],
                radius_px: 48.0,
                width_px: 4.0,
                light: 0.12,
            }];
        }
        let found = measured(recipe);
        assert_eq!(found.bodies.len(), 1, "at {centre:?}");
        assert_eq!(found.bodies[0].shapes.len(), 40);
    }
}
