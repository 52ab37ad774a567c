//! Bad input at the command line: one clear message, exit code 2, nothing written.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const EXPERIMENT: &str =
    "format = 1\nkind = \"release\"\n[camera]\ncapture_rate = \"100 fps\"\n[clip]\npath = \"clip\"\n";

fn tremolet(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tremolet"))
        .current_dir(folder)
        .args(words)
        .output()
        .expect("the program starts")
}

/// Runs in a folder with an experiment file; expects exit code 2, a message with `words`, and no run folder.
fn refused(arguments: &[&str], words: &[&str], before: impl FnOnce(&Path)) {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("run.toml"), EXPERIMENT).expect("written");
    before(folder.path());
    let names = |folder: &Path| {
        let mut names: Vec<_> = fs::read_dir(folder)
            .expect("there")
            .flatten()
            .map(|e| e.file_name())
            .collect();
        names.sort();
        names
    };
    let there = names(folder.path());
    let output = tremolet(folder.path(), arguments);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    for word in words {
        assert!(said.contains(word), "{word:?} is not in {said:?}");
    }
    assert!(output.stdout.is_empty(), "nothing on stdout");
    assert_eq!(names(folder.path()), there, "nothing written");
}

const MEASURE: [&str; 4] = ["measure", "run.toml", "--out", "out"];

#[test]
fn a_clip_that_is_not_there() {
    refused(&MEASURE, &["no clip at clip", "[clip]"], |_| {});
}

#[test]
fn a_folder_without_stills_with_spaces_and_other_letters() {
    let words = ["measure", "run.toml", "leerer Ordner é", "--out", "out"];
    refused(&words, &["leerer Ordner é", "no frame"], |folder| {
        fs::create_dir(folder.join("leerer Ordner é")).expect("made");
    });
}

#[test]
fn an_empty_file() {
    let words = ["measure", "run.toml", "empty.mp4", "--out", "out"];
    refused(&words, &["empty.mp4", "no frame"], |folder| {
        fs::write(folder.join("empty.mp4"), b"").expect("written");
    });
}

#[test]
fn an_experiment_file_that_is_not_there() {
    refused(
        &["measure", "other.toml"],
        &["other.toml", "tremolet new release"],
        |_| {},
    );
}

#[test]
fn a_run_folder_that_is_there_is_not_touched() {
    refused(&MEASURE, &["out exists already", "--replace"], |folder| {
        fs::create_dir(folder.join("out")).expect("made");
        fs::write(folder.join("out/kept"), b"kept").expect("written");
    });
}

#[test]
fn every_fault_of_an_experiment_file_is_told_with_its_place() {
    let text = "format = 1\nkind = \"release\"\n[camra]\n[camera]\nscale = \"0.05 kg\"\ncapture_rate = nan\n[body]\n\
                diameter = \"-3 mm\"\n";
    let words = [
        "bad.toml:3",
        "`camera`",
        "bad.toml:5:9",
        "mass",
        "bad.toml:6",
        "bad.toml:8",
        "above zero",
    ];
    refused(&["check", "bad.toml"], &words, |folder| {
        fs::write(folder.join("bad.toml"), text).expect("written");
    });
}

#[test]
fn a_clip_without_a_rate_is_not_measured() {
    refused(&MEASURE, &["camera.capture_rate", "480 fps"], |folder| {
        fs::write(
            folder.join("run.toml"),
            "format = 1\nkind = \"release\"\n[clip]\npath = \"clip\"\n",
        )
        .expect("written");
    });
}

#[test]
fn an_unknown_liquid_and_one_out_of_range() {
    refused(&["liquids", "watr"], &["watr", "water"], |_| {});
    let hot = ["liquids", "water", "--temperature", "500 degC"];
    refused(&hot, &["373.15", "773.15"], |_| {});
    refused(
        &["liquids", "water", "--temperature", "20 kg"],
        &["20 kg", "mass"],
        |_| {},
    );
}

#[test]
fn a_kind_that_is_not_known() {
    refused(&["new", "splash"], &["splash", "release"], |_| {});
}

#[test]
fn a_report_of_what_is_no_run() {
    refused(
        &["report", "no run"],
        &["no run", "findings.json", "measure"],
        |folder| {
            fs::create_dir(folder.join("no run")).expect("made");
        },
    );
    refused(&["report", "half"], &["series/", "measure"], |folder| {
        fs::create_dir(folder.join("half")).expect("made");
        fs::copy(folder.join("run.toml"), folder.join("half/experiment.toml")).expect("copied");
        let findings = r#"{"format":1,"clip":{"frames":1,"duration":{"value":0,"unit":"s"}},"estimates":[],"correlations":[],"modes":[],"events":[],"cautions":[]}"#;
        fs::write(folder.join("half/findings.json"), findings).expect("written");
    });
}

#[test]
fn every_verb_shows_an_example() {
    let folder = tempfile::tempdir().expect("a folder");
    for verb in ["demo", "new", "check", "liquids", "measure", "report"] {
        let output = tremolet(folder.path(), &[verb, "--help"]);
        assert!(output.status.success());
        assert!(
            String::from_utf8_lossy(&output.stdout).contains(&format!("Example: tremolet {verb}")),
            "{verb}"
        );
    }
}

#[test]
fn a_new_experiment_file_is_read_without_a_fault() {
    let folder = tempfile::tempdir().expect("a folder");
    assert!(tremolet(folder.path(), &["new", "release"]).status.success());
    assert!(
        tremolet(folder.path(), &["check", "experiment.toml"])
            .status
            .success()
    );
}

#[test]
fn a_reader_that_has_read_enough_is_no_failure() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_tremolet"))
        .arg("liquids")
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success() && said.is_empty(), "{said}");
}
