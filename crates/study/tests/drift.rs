//! A painted ball that is carried through the picture, measured as a user would: two components of its acceleration.

use std::fs;
use std::ops::ControlFlow;

use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;
use tremolet_record::experiment::file::Experiment;
use tremolet_study::measure::{Request, find};

const EXPERIMENT: &str = include_str!("data/water.toml");

// Rightwards 12 px/s^2 and downwards -4 px/s^2 at 0.1 mm/px, by hand: 1.2e-3 and -0.4e-3 m/s^2.
#[test]
fn a_ball_that_is_carried_has_two_components_of_acceleration() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut recipe = Recipe::silhouette(96, 96, 80, 50.0, 1e-4);
    let path = |t: f64| [40.0 + 2.0 * t + 6.0 * t * t, 50.0 + t - 2.0 * t * t];
    recipe.bodies = vec![PaintedBody::sphere(18.0, [40.0, 50.0]).along(path)];
    let mut painter = Painter::new(recipe).expect("a good recipe");
    write_stills(&mut painter, &folder.path().join("clip")).expect("written");
    fs::write(folder.path().join("run.toml"), EXPERIMENT).expect("written");
    let experiment = Experiment::read(&folder.path().join("run.toml")).expect("no fault");
    let request = Request {
        experiment: &experiment,
        clip: folder.path().join("clip"),
        out: folder.path().join("out"),
        replace: false,
        threads: 0,
        overlay: false,
        truth: Vec::new(),
        command: Vec::new(),
    };
    let found = find(&request, &mut |_, _| ControlFlow::Continue(()))
        .expect("measured")
        .findings;
    for (quantity, truth) in [
        ("residual_acceleration_right", 1.2e-3),
        ("residual_acceleration_down", -0.4e-3),
    ] {
        let estimate = found
            .estimates
            .iter()
            .find(|e| e.quantity == quantity)
            .expect("given");
        let off = (estimate.value - truth) / estimate.standard_uncertainty;
        assert!(off.abs() < 4.0 && estimate.unit == "m/s^2", "{estimate:?}");
        assert!(estimate.standard_uncertainty < 0.02 * 1.2e-3, "{estimate:?}");
        assert!(
            estimate.budget.iter().any(|line| line.input.contains("scale")),
            "{estimate:?}"
        );
    }
    assert!(found.cautions.iter().any(|c| c.code == "acceleration_in_picture"));
}
