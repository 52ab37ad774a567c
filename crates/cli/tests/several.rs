//! The verbs on several runs at the command line: `runs`, `compare`, `bundle`, `unbundle`, on the invented campaign of `examples/compare`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn tremolet(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tremolet"))
        .current_dir(folder)
        .args(words)
        .output()
        .expect("the program starts")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// The campaign copied to a place where it may be changed.
fn campaign() -> tempfile::TempDir {
    let place = tempfile::tempdir().expect("a folder");
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/compare");
    let runs: Vec<PathBuf> = fs::read_dir(from)
        .expect("there")
        .map(|entry| entry.expect("read").path())
        .collect();
    for run in runs.iter().filter(|run| run.join("findings.json").is_file()) {
        let to = place.path().join(run.file_name().expect("a name"));
        fs::create_dir(&to).expect("made");
        for name in ["experiment.toml", "findings.json"] {
            fs::copy(run.join(name), to.join(name)).expect("copied");
        }
    }
    place
}

// The truth of the campaign, from the script that painted it: 69.45 mN/m and 3.21 mm^2/s at 22 degrees, but 2.5 % less tension in p17.
#[test]
fn the_invented_campaign_gives_its_truth_and_names_the_dirty_drop() {
    let place = campaign();
    let output = tremolet(
        place.path(),
        &[
            "compare", ".", "--liquid", "glycerol", "--json", "--page", "all.html",
        ],
    );
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let json: serde_json::Value = serde_json::from_str(&said(&output)).expect("JSON");
    assert_eq!(json["runs"].as_array().expect("a list").len(), 8);
    let of = |name: &str| {
        let all = json["quantities"].as_array().expect("a list");
        all.iter()
            .find(|q| q["quantity"] == name)
            .unwrap_or_else(|| panic!("no {name}"))
            .clone()
    };
    for (name, truth) in [("surface_tension", 0.06945), ("kinematic_viscosity", 3.21e-6)] {
        let mean = &of(name)["mean"];
        let ends: Vec<f64> = (0..2)
            .map(|k| mean["interval_95"][k].as_f64().expect("a number"))
            .collect();
        assert!(ends[0] < truth && truth < ends[1], "{name}: {ends:?}");
        // Calibrations and batch stay, however many runs.
        let part = |key: &str| mean[key].as_f64().expect("a number");
        assert!(part("shared") > 2.0 * part("within"), "{mean}");
        let squares = part("shared").powi(2) + part("within").powi(2) + part("between").powi(2);
        assert!((squares.sqrt() / part("standard_uncertainty") - 1.0).abs() < 1e-9);
    }
    let tension = of("surface_tension");
    let entries = tension["entries"].as_array().expect("a list");
    let off: Vec<&str> = entries
        .iter()
        .filter(|e| e["disagrees"] == true)
        .filter_map(|e| e["run"].as_str())
        .collect();
    assert_eq!(off, ["p17"]);
    assert!(
        fs::read_to_string(place.path().join("all.html"))
            .expect("written")
            .contains("p17 disagrees")
    );
    let again = tremolet(place.path(), &["compare", ".", "--page", "all.html"]);
    assert_eq!(again.status.code(), Some(2), "a page that is there is left alone");
}

#[test]
fn what_lies_below_a_folder_is_listed_and_one_run_is_nothing_to_compare() {
    let place = campaign();
    fs::write(place.path().join("p18/findings.json"), "{").expect("written");
    let output = tremolet(place.path(), &["runs", "--calibration", "heron-4"]);
    let text = said(&output);
    assert!(
        text.contains("2 runs") && text.contains("p16") && !text.contains("p11"),
        "{text}"
    );
    assert!(text.contains("p18 is broken: findings.json"), "{text}");
    assert!(place.path().join("catalogue.sqlite").is_file());
    let output = tremolet(place.path(), &["compare", "p11"]);
    assert_eq!(output.status.code(), Some(2));
    let output = tremolet(place.path(), &["compare", "p11", "nowhere"]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn a_bundle_opens_again_and_one_that_was_changed_does_not() {
    let place = campaign();
    let output = tremolet(place.path(), &["bundle", "p11"]);
    assert!(said(&output).contains("packed 2 files"), "{}", said(&output));
    assert_eq!(
        tremolet(place.path(), &["bundle", "p11"]).status.code(),
        Some(2),
        "never over a file unasked"
    );
    let output = tremolet(place.path(), &["unbundle", "p11.zip", "--out", "copy"]);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let read = |folder: &str| fs::read(place.path().join(folder).join("findings.json")).expect("there");
    assert_eq!(read("p11"), read("copy"));
    let file = place.path().join("p11.zip");
    let mut bytes = fs::read(&file).expect("there");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&file, bytes).expect("written");
    let output = tremolet(place.path(), &["unbundle", "p11.zip", "--out", "other"]);
    assert_ne!(output.status.code(), Some(0));
    assert!(!place.path().join("other").exists());
}
