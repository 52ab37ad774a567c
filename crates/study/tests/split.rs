//! Painted drops whose degree 2 is split into close lines, measured as a user would: told, and its decay not taken for viscosity.

use std::fs;
use std::ops::ControlFlow;

use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::space::Ripple;
use tremolet_clip::painted::stills::write_stills;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_study::measure::{Request, measure};
use tremolet_theory::modes::host::{Pair, Root, root};

const DROP: Pair = Pair {
    radius: 4e-3,
    tension: 0.0700,
    density: 1050.0,
    viscosity: 4.2e-3,
    host_density: 0.0,
    host_viscosity: 0.0,
};

const EXPERIMENT: &str = include_str!("data/own_liquid.toml");

/// Findings of 400 frames of a painted body.
fn found(body: PaintedBody) -> Findings {
    let folder = tempfile::tempdir().expect("a folder");
    let mut recipe = Recipe::silhouette(128, 128, 400, 240.0, 1e-4);
    recipe.bodies.push(body);
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
    let run = measure(&request, &mut |_, _| ControlFlow::Continue(())).expect("measured");
    Findings::from_json(&fs::read_to_string(run.join("findings.json")).expect("there")).expect("read")
}

/// A drop whose degree 2 rings at two frequencies, `apart` of the mean from each other, and degree 3 at one.
fn beating(apart: f64) -> PaintedBody {
    let [second, third] = [2, 3].map(|n| root(n, &DROP).expect("rings"));
    let motion = move |t: f64| {
        let w = second.angular_frequency;
        let pair = 0.012 * ((1.0 - 0.5 * apart) * w * t).cos() + 0.008 * ((1.0 + 0.5 * apart) * w * t).cos();
        let swing = 0.01 * (third.angular_frequency * t).cos();
        vec![
            0.0,
            0.0,
            pair * (-second.decay * t).exp(),
            swing * (-third.decay * t).exp(),
        ]
    };
    PaintedBody::moving(40.0, [63.3, 64.2], motion)
}

/// A drop that turns slowly about its axis with a pattern of order 2 on it, so that the height of degree 2 as seen swings.
fn turning(spin: f64) -> PaintedBody {
    let [second, third] = [2, 3].map(|n| root(n, &DROP).expect("rings"));
    let swing = |line: Root, t: f64| (-line.decay * t).exp() * (line.angular_frequency * t).cos();
    let motion = move |t: f64| vec![0.0, 0.0, 0.01 * swing(second, t), 0.01 * swing(third, t)];
    let ripple = move |t: f64| Ripple {
        degree: 2,
        order: 2,
        amplitude: 0.006 * swing(second, t),
        phase: 0.3,
    };
    PaintedBody::moving(40.0, [63.3, 64.2], motion).rippled(move |t| vec![ripple(t)], spin)
}

/// Surface tension and viscosity hold the truth, and the split is told or not.
fn holds(findings: &Findings, told: bool) {
    let caution = findings.cautions.iter().find(|c| c.code == "split_line");
    assert_eq!(caution.is_some(), told, "{:?}", findings.cautions);
    for (quantity, truth) in [("surface_tension", 0.0700), ("kinematic_viscosity", 4e-6)] {
        let estimate = findings.estimates.iter().find(|e| e.quantity == quantity);
        let estimate = estimate.unwrap_or_else(|| panic!("{quantity}: {:?}", findings.cautions));
        let (value, u) = (estimate.value, estimate.standard_uncertainty);
        assert!((value - truth).abs() < 4.0 * u, "{quantity}: {value} +- {u}");
        assert!(u < 0.03 * truth, "{quantity}: {value} +- {u}");
    }
}

#[test]
fn a_beat_is_not_taken_for_damping() {
    holds(&found(beating(0.04)), true);
    holds(&found(beating(0.0)), false);
}

#[test]
fn a_drop_that_turns_is_told() {
    holds(&found(turning(1.0)), true);
}

// tan^2(0.5) / 2 = 0.149 of the swing of degree 2 as seen is the swing of the size against it; 0.5 rad are 28.6 degrees.
#[test]
fn a_tilted_axis_is_named_by_the_size_that_swings() {
    let told = |tilt: f64| {
        let findings = found(beating(0.0).tilted(tilt));
        let caution = findings.cautions.into_iter().find(|c| c.code == "size_swings");
        caution.map(|c| c.text)
    };
    let text = told(0.5).expect("told");
    assert!(
        text.contains("29 degrees") || text.contains("28 degrees"),
        "{text}"
    );
    assert_eq!(told(0.0), None);
}
