//! The whole trip on a small painted clip: what is found holds the truth, the folder is whole, a stop leaves nothing, threads do
//! not matter, a rigid sphere rings not.

use std::f64::consts::PI;
use std::fs;
use std::ops::ControlFlow;
use std::path::Path;
use std::sync::Arc;

use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_study::measure::{Request, find, measure};
use tremolet_study::recorded::remake;
use tremolet_theory::modes::host::{Pair, root};

const RADIUS: f64 = 4e-3;
const TENSION: f64 = 0.0700;
const VISCOSITY: f64 = 4e-6;
const DENSITY: f64 = 1050.0;
const SCALE: f64 = 1e-4;

const EXPERIMENT: &str = include_str!("data/own_liquid.toml");

/// Paints a drop of two modes, or a rigid sphere.
fn paint(folder: &Path, rings: bool) {
    let pair = Pair {
        radius: RADIUS,
        tension: TENSION,
        density: DENSITY,
        viscosity: VISCOSITY * DENSITY,
        host_density: 0.0,
        host_viscosity: 0.0,
    };
    let lines = [2, 3].map(|n| root(n, &pair).expect("rings"));
    let motion = move |t: f64| {
        let one =
            |i: usize, size: f64| size * (-lines[i].decay * t).exp() * (lines[i].angular_frequency * t).cos();
        if rings {
            vec![0.0, 0.0, one(0, 0.02), one(1, 0.01)]
        } else {
            vec![0.0; 4]
        }
    };
    let mut recipe = Recipe::silhouette(128, 128, 160, 240.0, SCALE);
    let mut body = PaintedBody::sphere(RADIUS / SCALE, [63.3, 64.2]);
    body.motion = Arc::new(motion);
    body.centre = Arc::new(|t: f64| [63.3 + 2.0 * t, 64.2 - t]);
    recipe.bodies.push(body);
    write_stills(
        &mut Painter::new(recipe).expect("a good recipe"),
        &folder.join("clip"),
    )
    .expect("written");
    fs::write(folder.join("run.toml"), EXPERIMENT).expect("written");
}

fn request<'a>(experiment: &'a Experiment, folder: &Path, threads: usize) -> Request<'a> {
    Request {
        experiment,
        clip: folder.join("clip"),
        out: folder.join("out"),
        replace: false,
        threads,
        overlay: true,
        truth: Vec::new(),
        command: Vec::new(),
    }
}

fn onwards(_: u64, _: Option<u64>) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

#[test]
fn a_ringing_drop_gives_its_truth_back_and_a_whole_folder() {
    let folder = tempfile::tempdir().expect("a folder");
    paint(folder.path(), true);
    let experiment = Experiment::read(&folder.path().join("run.toml")).expect("no fault");
    let run = measure(&request(&experiment, folder.path(), 0), &mut onwards).expect("measured");
    let findings =
        Findings::from_json(&fs::read_to_string(run.join("findings.json")).expect("there")).expect("read");
    let held = |quantity: &str, truth: f64| {
        let estimate = findings
            .estimates
            .iter()
            .find(|e| e.quantity == quantity)
            .expect(quantity);
        let u = estimate.standard_uncertainty;
        assert!(
            (estimate.value - truth).abs() < 4.0 * u,
            "{quantity}: {} +- {u}, true {truth}",
            estimate.value
        );
        assert!((estimate.budget.iter().map(|line| line.share).sum::<f64>() - 1.0).abs() < 1e-9);
    };
    held("surface_tension", TENSION);
    held("kinematic_viscosity", VISCOSITY);
    held("equivalent_radius", RADIUS);
    held("volume", 4.0 / 3.0 * PI * RADIUS.powi(3));
    let tension = findings
        .estimates
        .iter()
        .find(|e| e.quantity == "surface_tension")
        .expect("found");
    // 0.2 % of scale is 0.6 % of surface tension (Rayleigh 1879): the scale must fill the budget.
    assert!(
        (tension.standard_uncertainty / TENSION / 6e-3 - 1.0).abs() < 0.15,
        "{}",
        tension.standard_uncertainty
    );
    assert!(
        tension.reference.is_none(),
        "no reference is known for a liquid of one's own"
    );
    let files = [
        "experiment.toml",
        "findings.json",
        "report.html",
        "overlay.mp4",
        "provenance.json",
    ];
    let more = [
        "ro-crate-metadata.json",
        "series/shapes.parquet",
        "series/amplitudes.parquet",
        "tables/fits.csv",
    ];
    for name in files.iter().chain(&more) {
        assert!(fs::metadata(run.join(name)).is_ok_and(|m| m.len() > 0), "{name}");
    }
    let metadata = fs::read_to_string(run.join("ro-crate-metadata.json")).expect("there");
    assert!(metadata.contains("series/shapes.parquet") && metadata.contains("report.html"));
    the_report_is_remade_from_the_folder_alone(folder.path(), &run);
}

/// Takes the clip away, spoils the report, and expects the same bytes again; then takes a table away.
fn the_report_is_remade_from_the_folder_alone(folder: &Path, run: &Path) {
    let kept = Experiment::read(&run.join("experiment.toml")).expect("no fault");
    let clip = kept.path_of(&kept.clip.as_ref().expect("stated").path);
    assert!(clip.is_dir(), "{} leads to the clip", clip.display());
    fs::rename(folder.join("clip"), folder.join("away")).expect("moved");
    let read = |name: &str| fs::read(run.join(name)).expect("there");
    let figure = fs::read_dir(run.join("figures"))
        .expect("there")
        .flatten()
        .map(|entry| format!("figures/{}", entry.file_name().to_string_lossy()))
        .find(|name| name.ends_with(".svg"))
        .expect("a figure");
    let before = [read("report.html"), read(&figure)];
    fs::write(run.join("report.html"), "spoilt").expect("written");
    fs::write(run.join(&figure), "spoilt").expect("written");
    remake(run).expect("remade");
    assert!(
        before == [read("report.html"), read(&figure)],
        "not the same report again"
    );
    let text = String::from_utf8(before[0].clone()).expect("text");
    for part in [
        "surface tension",
        "Flattest along",
        "vacuum",
        "back-lit",
        "not stated",
    ] {
        assert!(text.to_lowercase().contains(&part.to_lowercase()), "{part}");
    }
    fs::remove_file(run.join("series/spectra.parquet")).expect("removed");
    let error = remake(run).expect_err("a table is missing");
    assert!(
        error.is_bad_input() && error.to_string().contains("spectra.parquet"),
        "{error}"
    );
    assert!(before[0] == read("report.html"), "the old report stays");
}

#[test]
fn threads_do_not_change_a_digit() {
    let folder = tempfile::tempdir().expect("a folder");
    paint(folder.path(), true);
    let experiment = Experiment::read(&folder.path().join("run.toml")).expect("no fault");
    let one = find(&request(&experiment, folder.path(), 1), &mut onwards)
        .expect("measured")
        .findings;
    let three = find(&request(&experiment, folder.path(), 3), &mut onwards)
        .expect("measured")
        .findings;
    assert_eq!(one, three);
}

#[test]
fn a_rigid_sphere_gives_a_size_and_a_path_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    paint(folder.path(), false);
    let experiment = Experiment::read(&folder.path().join("run.toml")).expect("no fault");
    let found = find(&request(&experiment, folder.path(), 0), &mut onwards)
        .expect("measured")
        .findings;
    let names: Vec<&str> = found.estimates.iter().map(|e| e.quantity.as_str()).collect();
    assert_eq!(
        names,
        [
            "equivalent_radius",
            "volume",
            "residual_acceleration_right",
            "residual_acceleration_down"
        ]
    );
    assert!(found.modes.is_empty());
    assert!(found.cautions.iter().any(|c| c.code == "nothing_rings"));
}

#[test]
fn a_stop_leaves_nothing_behind() {
    let folder = tempfile::tempdir().expect("a folder");
    paint(folder.path(), true);
    let experiment = Experiment::read(&folder.path().join("run.toml")).expect("no fault");
    let stopped = measure(&request(&experiment, folder.path(), 0), &mut |done, _| {
        if done > 20 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    assert!(stopped.is_err_and(|error| !error.is_bad_input()));
    let mut names: Vec<String> = fs::read_dir(folder.path())
        .expect("there")
        .flatten()
        .map(|e| e.file_name().to_string_lossy().into())
        .collect();
    names.sort();
    assert_eq!(names, ["clip", "run.toml"]);
}
