//! Which crate may import which, and behind which door each outside library stands.

use std::fs;
use std::path::Path;

/// Each crate with what it may import of ours.
const FLOORS: &[(&str, &[&str])] = &[
    ("numerics", &[]),
    ("matter", &[]),
    ("shape", &["numerics"]),
    ("theory", &["matter", "numerics", "shape"]),
    ("optics", &["matter", "numerics", "shape"]),
    ("record", &["matter", "shape"]),
    ("clip", &["matter", "numerics", "shape", "optics", "record"]),
    ("simulate", &["matter", "numerics", "shape", "record"]),
    (
        "measure",
        &["matter", "numerics", "shape", "optics", "record", "clip"],
    ),
    ("infer", &["matter", "numerics", "shape", "theory", "record"]),
    (
        "plan",
        &[
            "matter", "numerics", "shape", "theory", "optics", "record", "infer",
        ],
    ),
    ("report", &["matter", "shape", "record", "clip"]),
    (
        "study",
        &[
            "numerics", "matter", "shape", "theory", "optics", "record", "clip", "simulate", "measure",
            "infer", "plan", "report",
        ],
    ),
    ("page", &["study", "record"]),
    ("cli", &["study", "page"]),
];

/// Outside libraries with the only crates that may name them.
const DOORS: &[(&str, &[&str])] = &[
    ("faer", &["numerics"]),
    ("rustfft", &["numerics"]),
    ("rand", &["numerics"]),
    ("rand_xoshiro", &["numerics"]),
    ("puruspe", &["numerics"]),
    ("re_mp4", &["clip"]),
    ("rusty_h264", &["clip"]),
    ("rusty_h264-decoder", &["clip"]),
    ("muxide", &["clip"]),
    ("png", &["clip"]),
    ("tiff", &["clip"]),
    ("gif", &["clip"]),
    ("toml", &["record"]),
    ("sha2", &["record"]),
    ("rusqlite", &["record"]),
    ("zip", &["record"]),
    ("base64", &["report"]),
    ("axum", &["page"]),
    ("tokio", &["page"]),
    ("futures-util", &["page"]),
    ("getrandom", &["page"]),
    ("rlimit", &["page"]),
    ("clap", &["cli"]),
    ("indicatif", &["cli"]),
    ("ctrlc", &["cli"]),
];

/// Faults of imports and doors.
pub fn check(root: &Path) -> Vec<String> {
    let mut faults = Vec::new();
    let Ok(folders) = fs::read_dir(root.join("crates")) else {
        return vec!["crates: folder not found".into()];
    };
    for folder in folders.flatten() {
        let name = folder.file_name().to_string_lossy().into_owned();
        match fs::read_to_string(folder.path().join("Cargo.toml")) {
            Ok(manifest) => faults.extend(of_manifest(&name, &manifest)),
            Err(_) => faults.push(format!("crates/{name}: no Cargo.toml")),
        }
    }
    faults
}

fn of_manifest(name: &str, manifest: &str) -> Vec<String> {
    let Some((_, allowed)) = FLOORS.iter().find(|(floor, _)| *floor == name) else {
        return vec![format!(
            "crates/{name}: not on any floor; add it to xtask/src/floors.rs and ARCHITECTURE.md"
        )];
    };
    let mut faults = Vec::new();
    for dependency in dependencies(manifest) {
        if let Some(ours) = dependency.strip_prefix("tremolet-") {
            if !allowed.contains(&ours) {
                faults.push(format!(
                    "crates/{name}: may not import {ours}; move the code or the floor"
                ));
            }
        } else if let Some((_, doors)) = DOORS.iter().find(|(library, _)| *library == dependency)
            && !doors.contains(&name)
        {
            faults.push(format!(
                "crates/{name}: {dependency} has its door in {}",
                doors.join(", ")
            ));
        }
    }
    faults
}

/// Names under `[dependencies]` (not those for tests).
fn dependencies(manifest: &str) -> Vec<String> {
    let mut inside = false;
    let mut names = Vec::new();
    for line in manifest.lines().map(str::trim) {
        if line.starts_with('[') {
            inside = line == "[dependencies]";
        } else if inside && let Some((name, _)) = line.split_once(['.', '=', ' ']) {
            names.push(name.to_string());
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_import_upwards_and_a_second_door_are_faults() {
        let manifest = "[package]\nname = \"x\"\n[dependencies]\ntremolet-clip.workspace = true\nfaer = \"1\"\n\
                        tremolet-numerics.workspace = true\n[dev-dependencies]\ntremolet-study.workspace = true\n";
        let faults = of_manifest("theory", manifest);
        assert_eq!(faults.len(), 2, "{faults:?}");
        assert!(faults[0].contains("clip") && faults[1].contains("faer"));
        assert_eq!(of_manifest("attic", manifest).len(), 1);
    }
}
