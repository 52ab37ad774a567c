//! A painted ball that an invented push carries through the picture, with an accelerometer beside it that is noisy, off its zero and on a
//! clock of its own, measured as a user would.

use std::f64::consts::TAU;
use std::fmt::Write;
use std::fs;
use std::ops::ControlFlow;
use std::path::Path;

use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::{Estimate, Findings};
use tremolet_study::check::check;
use tremolet_study::error::StudyError;
use tremolet_study::measure::{Request, find, measure};
use tremolet_study::recorded;

const EXPERIMENT: &str = include_str!("data/water.toml");

/// Seconds that the log's clock shows less than the clip's.
const OFFSET: f64 = -0.73;
/// Steps of a second that the log takes.
const RATE: u32 = 200;

/// Acceleration of a free body in the picture at a time of the clip, m/s^2: rightwards a slow swing and a jolt, downwards another swing.
fn push(t: f64) -> [f64; 2] {
    [
        6e-4 + 4e-3 * (TAU * 0.9 * t).sin() + 8e-3 * (-((t - 1.1) / 0.1).powi(2)).exp(),
        -3e-4 + 3e-3 * (TAU * 0.6 * t + 1.0).sin(),
    ]
}

/// The path by the midpoint rule, px at 0.1 mm/px, every 0.1 ms.
fn path() -> Vec<[f64; 2]> {
    let step = 1e-4;
    let (mut place, mut speed) = ([3.6e-3, 5.2e-3], [4e-4, -3e-4]);
    let mut all = Vec::new();
    for k in 0..20_001 {
        all.push(place.map(|x| x / 1e-4));
        let push = push(step * (f64::from(k) + 0.5));
        for i in 0..2 {
            place[i] += step * (speed[i] + 0.5 * step * push[i]);
            speed[i] += step * push[i];
        }
    }
    all
}

/// An accelerometer whose `ax` points leftwards and `ay` downwards, in thousandths of standard gravity, with its noise and its zero.
fn log(noise: f64, zero: f64) -> String {
    let mut text = String::from("# invented\ntime_s;ax [mg];ay [mg];box [degC]\n");
    let mut state = 9_u64;
    // The sum of twelve even numbers of a linear congruence (Knuth's MMIX constants) is nearly normal with variance 1.
    let mut normal = || {
        let draw = |_| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        (0..12).map(draw).sum::<f64>() - 6.0
    };
    for k in 0..4 * RATE {
        let t = f64::from(k) / f64::from(RATE) - 1.0;
        let [right, down] = push(t);
        // The case goes the other way than a free body.
        let ax = (right + zero + noise * normal()) / 9.80665e-3;
        let ay = (-down + zero + noise * normal()) / 9.80665e-3;
        let row = format!("{:.4};{ax:.5};{ay:.5};21", t - OFFSET).replace('.', ",");
        writeln!(text, "{row}").expect("a text");
    }
    text
}

fn painted(folder: &Path) {
    let mut recipe = Recipe::silhouette(96, 96, 96, 50.0, 1e-4);
    let path = path();
    let at = move |t: f64| path[(t * 1e4).round() as usize];
    recipe.bodies = vec![PaintedBody::sphere(18.0, [36.0, 42.0]).along(at)];
    let mut painter = Painter::new(recipe).expect("a good recipe");
    write_stills(&mut painter, &folder.join("clip")).expect("written");
}

fn experiment(folder: &Path, log: &str) -> Experiment {
    fs::write(folder.join("run.toml"), format!("{EXPERIMENT}{log}")).expect("written");
    Experiment::read(&folder.join("run.toml")).expect("no fault")
}

fn request<'a>(experiment: &'a Experiment, folder: &Path) -> Request<'a> {
    Request {
        experiment,
        clip: folder.join("clip"),
        out: folder.join("out"),
        replace: true,
        threads: 0,
        overlay: false,
        truth: Vec::new(),
        command: Vec::new(),
    }
}

fn found(folder: &Path, log: &str) -> Findings {
    let experiment = experiment(folder, log);
    let request = request(&experiment, folder);
    let found = find(&request, &mut |_, _| ControlFlow::Continue(()));
    found.expect("measured").findings
}

fn estimate<'f>(findings: &'f Findings, quantity: &str) -> &'f Estimate {
    let found = findings.estimates.iter().find(|e| e.quantity == quantity);
    found.unwrap_or_else(|| panic!("no {quantity} in {:?}", findings.cautions))
}

fn said(findings: &Findings, code: &str) -> Option<String> {
    let found = findings.cautions.iter().find(|c| c.code == code);
    found.map(|c| c.text.clone())
}

const AXES: &str = "right = \"-ax\"\ndown = \"ay\"\nzero = \"1 +- 0.1 mm/s^2\"\n";

#[test]
fn clip_and_log_agree_and_tell_how_their_clocks_lie() {
    let folder = tempfile::tempdir().expect("a folder");
    painted(folder.path());
    fs::write(folder.path().join("cabin.csv"), log(1e-3, 1e-3)).expect("written");
    let stated = format!("[log]\npath = \"cabin.csv\"\nclock_offset = \"-0.70 +- 0.05 s\"\n{AXES}");
    let findings = found(folder.path(), &stated);
    let offset = estimate(&findings, "log_clock_offset");
    let off = (offset.value - OFFSET) / offset.standard_uncertainty;
    assert!(
        off.abs() < 4.0 && offset.standard_uncertainty < 0.01,
        "{offset:?}"
    );
    let reference = offset.reference.as_ref().expect("the stated one");
    assert!((reference.value + 0.7).abs() < 1e-12 && reference.source == "log.clock_offset");
    for quantity in ["seen_over_logged_right", "seen_over_logged_down"] {
        let share = estimate(&findings, quantity);
        assert!(
            (share.value - 1.0).abs() < 4.0 * share.standard_uncertainty,
            "{share:?}"
        );
        assert!(share.standard_uncertainty < 0.1, "{share:?}");
        assert!(share.normalised_deviation.is_some());
    }
    for quantity in ["residual_acceleration_right", "residual_acceleration_down"] {
        let mean = estimate(&findings, quantity);
        let reference = mean.reference.as_ref().expect("the log");
        assert!(reference.source.contains("cabin.csv"));
        // The zero is known to 0.1 mm/s^2.
        assert!(
            reference.standard_uncertainty.is_some_and(|u| u > 0.99e-4),
            "{reference:?}"
        );
        assert!(
            mean.normalised_deviation.is_some_and(|d| d.abs() < 3.0),
            "{mean:?}"
        );
    }
    for code in [
        "log_disagrees",
        "log_offset_disagrees",
        "log_offset_not_told",
        "log_zero_not_stated",
        "log_not_compared",
    ] {
        assert_eq!(said(&findings, code), None);
    }
}

// The sign is that of the body and not of the case: nothing fits, and the program says how it would.
#[test]
fn a_log_with_the_wrong_sign_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    painted(folder.path());
    fs::write(folder.path().join("cabin.csv"), log(1e-3, 1e-3)).expect("written");
    let stated = "[log]\npath = \"cabin.csv\"\nclock_offset = \"-0.73 +- 0.02 s\"\nright = \"-ax\"\ndown = \"ay\"\ngives = \"free_body\"\n";
    let findings = found(folder.path(), stated);
    let told = said(&findings, "log_disagrees").expect("told");
    assert!(told.contains("with the opposite sign"), "{told}");
    assert!(said(&findings, "log_zero_not_stated").is_some());
    let share = estimate(&findings, "seen_over_logged_right");
    assert!(
        share.value < 0.0 && share.normalised_deviation.is_some_and(|d| d < -4.0),
        "{share:?}"
    );
}

#[test]
fn offsets_come_from_an_event_or_from_the_data_and_are_doubted() {
    let folder = tempfile::tempdir().expect("a folder");
    painted(folder.path());
    fs::write(folder.path().join("cabin.csv"), log(1e-3, 1e-3)).expect("written");
    let with = |clock: &str| {
        found(
            folder.path(),
            &format!("[log]\npath = \"cabin.csv\"\n{AXES}{clock}"),
        )
    };
    // The jolt seen in frame 50, at 1.0 s, begins at 1.0 + 0.73 s of the log.
    let by_event = with("[log.event]\nframe = 50\ntime = \"1.72 +- 0.02 s\"\n");
    let alone = with("");
    for findings in [&by_event, &alone] {
        let offset = estimate(findings, "log_clock_offset");
        assert!(
            (offset.value - OFFSET).abs() < 4.0 * offset.standard_uncertainty,
            "{offset:?}"
        );
    }
    let reference = estimate(&by_event, "log_clock_offset")
        .reference
        .clone()
        .expect("the event");
    // Half a frame before frame 50, +- 20 ms / sqrt 12 and 20 ms.
    assert!((reference.value - (0.99 - 1.72)).abs() < 1e-9 && reference.source == "log.event");
    assert!(
        reference
            .standard_uncertainty
            .is_some_and(|u| (u - 0.0208).abs() < 1e-4),
        "{reference:?}"
    );
    assert!(estimate(&alone, "log_clock_offset").reference.is_none());
    let wrong = with("clock_offset = \"-0.85 +- 0.03 s\"\n");
    assert!(
        said(&wrong, "log_offset_disagrees").is_some_and(|told| told.contains("-0.85")),
        "{:?}",
        wrong.cautions
    );
    let elsewhere = with("clock_offset = \"60 +- 0.03 s\"\n");
    assert!(
        said(&elsewhere, "log_not_compared").is_some_and(|told| told.contains("59.73")),
        "{:?}",
        elsewhere.cautions
    );
    let absent = found(folder.path(), "[log]\npath = \"cabin.csv\"\n");
    assert!(said(&absent, "log_not_compared").is_some_and(|told| told.contains("log.right")));
}

// Noise a thousand times the push: the offset stays as stated, nothing is said to agree or not to.
#[test]
fn a_log_that_tells_nothing_is_no_witness() {
    let folder = tempfile::tempdir().expect("a folder");
    painted(folder.path());
    fs::write(folder.path().join("cabin.csv"), log(3.0, 0.0)).expect("written");
    let stated = "[log]\npath = \"cabin.csv\"\nclock_offset = \"-0.73 +- 0.02 s\"\nright = \"-ax\"\nzero = \"0 +- 0.1 mm/s^2\"\n";
    let findings = found(folder.path(), stated);
    assert!(said(&findings, "log_offset_not_told").is_some());
    assert!(
        findings
            .estimates
            .iter()
            .all(|e| e.quantity != "log_clock_offset" && !e.quantity.starts_with("seen_over"))
    );
    assert_eq!(said(&findings, "log_disagrees"), None);
}

#[test]
fn the_report_shows_both_and_is_remade_alike() {
    let folder = tempfile::tempdir().expect("a folder");
    painted(folder.path());
    fs::write(folder.path().join("cabin.csv"), log(1e-3, 1e-3)).expect("written");
    let stated = format!("[log]\npath = \"cabin.csv\"\nclock_offset = \"-0.70 +- 0.05 s\"\n{AXES}");
    let experiment = experiment(folder.path(), &stated);
    let run = measure(&request(&experiment, folder.path()), &mut |_, _| {
        ControlFlow::Continue(())
    })
    .expect("measured");
    let html = fs::read_to_string(run.join("report.html")).expect("a report");
    assert!(html.contains("as seen and as logged") && html.contains("Clip and accelerometer"));
    let figure = run.join("figures/acceleration-beside-log.svg");
    assert!(figure.is_file() && run.join("tables/accelerations.csv").is_file());
    if let Ok(place) = std::env::var("TREMOLET_KEEP") {
        fs::copy(&figure, Path::new(&place).join("log.svg")).expect("kept");
        fs::copy(run.join("report.html"), Path::new(&place).join("log.html")).expect("kept");
    }
    let remade = recorded::report(&run).expect("remade");
    assert!(
        remade
            .iter()
            .any(|(name, text)| name == "report.html" && *text == html)
    );
    let provenance = fs::read_to_string(run.join("provenance.json")).expect("there");
    assert!(provenance.contains("\"log\""));
}

#[test]
fn a_bad_log_is_refused_before_the_clip_is_looked_at_and_check_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    let stated = "[log]\npath = \"cabin.csv\"\nright = \"-ax\"\n";
    fs::write(folder.path().join("cabin.csv"), "time_s,ax\n1,2\n").expect("written");
    let experiment = experiment(folder.path(), stated);
    let told = find(&request(&experiment, folder.path()), &mut |_, _| {
        ControlFlow::Continue(())
    });
    let told = told.err().expect("refused");
    assert!(
        matches!(told, StudyError::Log(_)) && told.is_bad_input(),
        "{told}"
    );
    assert!(
        told.to_string().contains("cabin.csv:1") && told.to_string().contains("unit"),
        "{told}"
    );
    let checked = check(&folder.path().join("run.toml")).expect("read");
    assert!(
        checked
            .cautions
            .iter()
            .any(|c| c.code == "log_unread" && c.text.contains("cabin.csv:1"))
    );
}
