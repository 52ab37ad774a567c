//! Time from end to end: missing, doubled and thinned stills, tables of times, stamps; each blemish reaches the findings,
//! and the frequency found is that of real time.

use std::f64::consts::TAU;
use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tremolet_clip::painted::body::PaintedBody;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_study::check::check;
use tremolet_study::error::StudyError;
use tremolet_study::files::{Asked, prepare};
use tremolet_study::measure::{Request, find};

/// Frequency (Hz) and decay rate (1/s) of the one mode of the painted drop.
const FREQUENCY: f64 = 11.0;
const DECAY: f64 = 1.6;
const RATE: f64 = 120.0;
const FRAMES: u64 = 150;

/// A folder `clip` of numbered stills of a drop that rings in degree 2; returns their paths in order.
fn paint(folder: &Path) -> Vec<PathBuf> {
    let mut recipe = Recipe::silhouette(72, 72, FRAMES, RATE, 1e-4);
    let mut body = PaintedBody::sphere(21.0, [35.3, 36.2]);
    body.motion = Arc::new(|t: f64| vec![0.0, 0.0, 0.03 * (-DECAY * t).exp() * (TAU * FREQUENCY * t).cos()]);
    recipe.bodies.push(body);
    let clip = folder.join("clip");
    write_stills(&mut Painter::new(recipe).expect("a good recipe"), &clip).expect("written");
    let mut stills: Vec<PathBuf> = fs::read_dir(&clip)
        .expect("there")
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "png"))
        .collect();
    stills.sort();
    fs::remove_file(clip.join("times.csv")).expect("the painter's own times");
    assert_eq!(stills.len() as u64, FRAMES);
    stills
}

/// Writes the experiment file with these lines of `[camera]` and `[clip]`, and measures as the command line does.
fn measured(folder: &Path, camera: &str, clip: &str) -> Result<Findings, StudyError> {
    let file = folder.join("run.toml");
    let text = format!(
        "format = 1\nkind = \"release\"\n[camera]\n{camera}\nheld = [\"zoom\", \"focus\"]\n[clip]\n{clip}\n"
    );
    fs::write(&file, text).expect("written");
    let asked = Asked {
        file: &file,
        clip: None,
        out: None,
    };
    let (experiment, clip, out): (Experiment, PathBuf, PathBuf) = prepare(&asked)?;
    let request = Request {
        experiment: &experiment,
        clip,
        out,
        replace: false,
        threads: 1,
        overlay: false,
        truth: Vec::new(),
        command: Vec::new(),
    };
    Ok(find(&request, &mut |_, _| ControlFlow::Continue(()))?.findings)
}

const STATED: &str = "capture_rate = \"120 fps\"";
const STILLS: &str = "path = \"clip\"";

/// The frequency of degree 2 lies within 0.3 % of the truth, as it would not if a frame in fifty took no time.
fn assert_frequency(findings: &Findings) {
    let mode = findings
        .modes
        .iter()
        .find(|mode| mode.degree == 2)
        .expect("degree 2 rings");
    let found = mode.frequency.value;
    assert!((found / FREQUENCY - 1.0).abs() < 3e-3, "{found}");
}

fn codes(findings: &Findings) -> Vec<&str> {
    findings
        .cautions
        .iter()
        .map(|caution| caution.code.as_str())
        .collect()
}

#[test]
fn missing_stills_take_their_time_and_are_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let stills = paint(folder.path());
    for k in [30, 31, 60, 61, 62, 100] {
        fs::remove_file(&stills[k]).expect("removed");
    }
    let findings = measured(folder.path(), STATED, STILLS).expect("measured");
    assert_frequency(&findings);
    let gap = findings
        .cautions
        .iter()
        .find(|caution| caution.code == "missing_stills")
        .expect("told");
    assert!(gap.text.starts_with("6 stills"), "{}", gap.text);
    assert_eq!(gap.frames, Some([29, 95]));
    assert!((findings.clip.duration.value - 149.0 / RATE).abs() < 1e-9);
}

#[test]
fn a_table_of_times_takes_the_place_of_the_rate_and_wins_over_a_wrong_one() {
    let folder = tempfile::tempdir().expect("a folder");
    paint(folder.path());
    // An uneven clock: every other still a fifth of an interval late would be noise, so the whole table is only shifted.
    let table: String = (0..FRAMES)
        .map(|k| format!("{k},{}\n", 77.25 + k as f64 / RATE))
        .collect();
    let error = measured(folder.path(), "", STILLS).expect_err("no rate");
    assert!(
        error.is_bad_input() && error.to_string().contains("times.csv"),
        "{error}"
    );
    fs::write(
        folder.path().join("clip/times.csv"),
        format!("frame,time_s\n{table}"),
    )
    .expect("written");
    let findings = measured(folder.path(), "", STILLS).expect("measured");
    assert_frequency(&findings);
    assert!(!codes(&findings).contains(&"rate_disagrees"));
    let lacking = check(&folder.path().join("run.toml")).expect("no fault").lacking;
    let keys: Vec<&str> = lacking.iter().map(|fault| fault.key.as_str()).collect();
    assert_eq!(keys, ["liquid", "camera.scale"]);
    let findings = measured(folder.path(), "capture_rate = \"1200 fps\"", STILLS).expect("measured");
    assert_frequency(&findings);
    assert!(
        codes(&findings).contains(&"rate_disagrees"),
        "{:?}",
        codes(&findings)
    );
}

#[test]
fn a_table_named_in_the_experiment_file_wins_over_the_one_beside_the_stills() {
    let folder = tempfile::tempdir().expect("a folder");
    paint(folder.path());
    let table = |rate: f64| {
        (0..FRAMES).fold("time_s\n".to_owned(), |text, k| {
            text + &format!("{}\n", k as f64 / rate)
        })
    };
    fs::write(folder.path().join("clip/times.csv"), table(30.0)).expect("written");
    fs::write(folder.path().join("of the camera.csv"), table(RATE)).expect("written");
    let named = format!("{STILLS}\ntimes = \"of the camera.csv\"");
    assert_frequency(&measured(folder.path(), "", &named).expect("measured"));
    let absent = format!("{STILLS}\ntimes = \"none.csv\"");
    let error = measured(folder.path(), STATED, &absent).expect_err("no table");
    assert!(
        error.is_bad_input() && error.to_string().contains("none.csv"),
        "{error}"
    );
    // Rows in another order than the frames.
    fs::write(folder.path().join("of the camera.csv"), table(-RATE)).expect("written");
    let error = measured(folder.path(), STATED, &named).expect_err("falling times");
    assert!(
        error.is_bad_input() && error.to_string().contains("does not rise at frame 1"),
        "{error}"
    );
}

#[test]
fn doubled_and_thinned_stills_are_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let stills = paint(folder.path());
    fs::copy(&stills[40], &stills[41]).expect("copied");
    let findings = measured(folder.path(), STATED, STILLS).expect("measured");
    let doubled = findings
        .cautions
        .iter()
        .find(|caution| caution.code == "pictures_repeated")
        .expect("told");
    assert_eq!(doubled.frames, Some([41, 41]));
    for k in (0..stills.len()).filter(|k| k % 2 == 1) {
        fs::remove_file(&stills[k]).expect("removed");
    }
    let findings = measured(folder.path(), "capture_rate = \"60 fps\"", STILLS).expect("measured");
    assert_frequency(&findings);
    assert!(
        codes(&findings).contains(&"stills_numbered_in_steps"),
        "{:?}",
        codes(&findings)
    );
}

#[test]
fn stamps_of_films_tell_of_gaps_and_unevenness() {
    let of = |name: &str| {
        let folder = tempfile::tempdir().expect("a folder");
        let from = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../clip/tests/data")
            .join(name);
        fs::copy(from, folder.path().join("clip.mp4")).expect("copied");
        let findings =
            measured(folder.path(), "capture_rate = \"960 fps\"", "path = \"clip.mp4\"").expect("measured");
        (
            codes(&findings).join(" "),
            (findings.clip.duration.value * 960.0).round(),
        )
    };
    let (said, slots) = of("gaps.mp4");
    assert!(
        said.contains("frames_missing") && said.contains("rate_disagrees"),
        "{said}"
    );
    assert_eq!(slots, 22.0, "20 frames and 3 that are missing");
    let (said, slots) = of("uneven.mp4");
    assert!(said.contains("stamps_uneven"), "{said}");
    assert_eq!(slots, 19.0);
}
