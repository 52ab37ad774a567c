//! A drop let go at the desk: its run folder, how it is stopped and goes on, and what is refused.

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use tremolet_study::error::StudyError;
use tremolet_study::recorded::{findings, remake};
use tremolet_study::simulate::{Request, simulate};
use tremolet_study::tables::read;

const PEAR: &str = "format = 1\ntitle = \"A pear\"\nkind = \"release\"\n[liquid]\nname = \"water\"\ntemperature = \"20 degC\"\n\
                    [gas]\nname = \"air\"\ntemperature = \"20 degC\"\n[body]\ndiameter = \"20 +- 0.1 mm\"\n[release]\naspect_ratio = \"1.2\"\n\
                    [surroundings]\navailable_time = \"1.2 s\"\n[camera]\ncapture_rate = \"120 fps\"\nscale = \"0.1 mm/px\"\n";

fn file(folder: &Path, text: &str) -> PathBuf {
    let file = folder.join("pear.toml");
    fs::write(&file, text).expect("written");
    file
}

fn run(file: &Path, out: &Path, resume: Option<&Path>, last: u64) -> Result<PathBuf, StudyError> {
    let request = Request {
        file,
        out: Some(out),
        replace: false,
        resume,
        command: Vec::new(),
    };
    simulate(&request, &mut |done, _| {
        if done >= last {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    })
}

// 3.840 Hz: exact root of the viscous problem in air, 10 mm radius, degree 2, recomputed independently; at aspect 1.2 it begins 1 % lower.
#[test]
fn a_simulated_run_is_a_run_like_another() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = file(folder.path(), PEAR);
    let out = run(&file, &folder.path().join("whole"), None, u64::MAX).expect("simulated");
    let found = findings(&out).expect("findings");
    assert_eq!(found.clip.frames, 145);
    let two = found.modes.iter().find(|m| m.degree == 2).expect("it rings");
    assert!(
        (two.frequency.value / 3.840 - 1.0).abs() < 0.01,
        "{}",
        two.frequency.value
    );
    let tension = found
        .estimates
        .iter()
        .find(|e| e.quantity == "surface_tension")
        .expect("given");
    assert!((tension.value / 0.0727 - 1.0).abs() < 0.02, "{}", tension.value);
    let meridians = read(&out, "meridians").expect("a table");
    assert_eq!(meridians.rows(), 145 * 201);
    // Length over diameter of the first: 1.2.
    let (z, rho) = (
        meridians.reals("z").expect("z"),
        meridians.reals("rho").expect("rho"),
    );
    let wide = rho[..201].iter().copied().fold(0.0, f64::max);
    assert!(((z[0] - z[200]) / (2.0 * wide) - 1.2).abs() < 5e-3);
    let outlines = read(&out, "outlines").expect("a table");
    let most = outlines
        .reals("x")
        .expect("x")
        .iter()
        .copied()
        .fold(0.0, f64::max);
    assert!(most > 100.0 && most < 115.0, "{most}");
    let before = fs::read(out.join("report.html")).expect("a report");
    remake(&out).expect("remade");
    assert_eq!(fs::read(out.join("report.html")).expect("a report"), before);
    assert!(!out.join("unfinished.json").exists());
}

#[test]
fn a_run_that_is_stopped_is_kept_and_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = file(folder.path(), PEAR);
    let whole = run(&file, &folder.path().join("whole"), None, u64::MAX).expect("simulated");
    let cut = run(&file, &folder.path().join("cut"), None, 60).expect("kept");
    let told = findings(&cut).expect("findings");
    assert!(told.clip.frames >= 60 && told.clip.frames < 80);
    assert!(told.cautions.iter().any(|c| c.code == "simulation_ended_early"));
    let rest = run(&file, &folder.path().join("rest"), Some(&cut), u64::MAX).expect("goes on");
    let (a, b) = (
        read(&whole, "amplitudes").expect("whole"),
        read(&rest, "amplitudes").expect("rest"),
    );
    assert_eq!(a.rows(), b.rows());
    let off = a
        .reals("a_2")
        .expect("a_2")
        .iter()
        .zip(b.reals("a_2").expect("a_2"))
        .map(|(a, b)| (a - b).abs());
    assert!(off.fold(0.0, f64::max) < 1e-7);
    // A run that reached its end has nothing to go on from; another experiment cannot take one up.
    assert!(run(&file, &folder.path().join("no"), Some(&whole), u64::MAX).is_err_and(|e| e.is_bad_input()));
    assert!(!folder.path().join("no").exists());
}

#[test]
fn what_cannot_be_simulated_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let refused = |text: &str, word: &str| {
        let file = file(folder.path(), text);
        let why = run(&file, &folder.path().join("no"), None, u64::MAX).expect_err("refused");
        assert!(why.is_bad_input() && why.to_string().contains(word), "{why}");
        assert!(!folder.path().join("no").exists());
    };
    refused(
        &PEAR
            .replace("\"release\"", "\"fizz\"")
            .replace("[release]\naspect_ratio = \"1.2\"\n", ""),
        "kind",
    );
    refused(
        &PEAR.replace("[body]\ndiameter = \"20 +- 0.1 mm\"\n", ""),
        "body.diameter",
    );
    let modal = |text: &str| format!("{text}[simulation]\nsolver = \"modal\"\n");
    refused(&modal(&PEAR.replace("\"1.2\"", "\"4\"")), "degree 11 or 12");
}
