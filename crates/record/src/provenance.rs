//! Where a run's results come from, as `provenance.json` holds it: program, inputs, settings, seed, time, machine.
//!
//! Together with the inputs, which are known by their SHA-256, it suffices to make the same results again. It holds no name
//! of a person and of the machine only its kind. Nothing is run here.

use crate::clock;
use crate::store::{self, StoreError};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::Path;
use std::time::SystemTime;

/// The format that this program writes.
pub const FORMAT: u32 = 1;

/// The program that made the results.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Program {
    /// Name.
    pub name: String,
    /// Version.
    pub version: String,
}

/// A file, or a folder of stills, that went in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct InputFile {
    /// What it is for, e.g. `experiment`, `clip`, `log`.
    pub role: String,
    /// Path as it was given.
    pub path: String,
    /// SHA-256, lower-case hexadecimal; of a folder that of the lines `HASH  NAME` of its files in order.
    pub sha256: String,
    /// Size, bytes; absent for a folder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bytes: Option<u64>,
}

/// The kind of machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Platform {
    /// Operating system, e.g. `linux`.
    pub system: String,
    /// Processor, e.g. `x86_64`.
    pub architecture: String,
}

/// Where results come from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Provenance {
    /// Format of the file, [`FORMAT`].
    pub format: u32,
    /// The program.
    pub program: Program,
    /// The command, word by word.
    #[serde(default)]
    pub command: Vec<String>,
    /// What went in, in order.
    pub inputs: Vec<InputFile>,
    /// Settings by name.
    #[serde(default)]
    pub settings: BTreeMap<String, serde_json::Value>,
    /// Seed of the random numbers; absent when none were drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// When the work began, UTC.
    pub started: String,
    /// When it ended, UTC; absent until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub finished: Option<String>,
    /// On what kind of machine.
    pub platform: Platform,
}

/// Why provenance could not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum ProvenanceError {
    /// Written by a newer program.
    #[error(
        "the provenance has format {found}, this program reads up to {FORMAT}: use a newer version of it"
    )]
    Newer {
        /// The format that the file states.
        found: u64,
    },
    /// Not provenance, or damaged.
    #[error("the provenance cannot be read or written as format {FORMAT}: {0}; remake the run")]
    Json(#[from] serde_json::Error),
}

impl Provenance {
    /// Provenance of work that begins now, at `started`, with this program on this machine.
    pub fn begin(command: &[String], started: SystemTime) -> Self {
        Self {
            format: FORMAT,
            program: Program {
                name: "tremolet".to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
            },
            command: command.to_vec(),
            inputs: Vec::new(),
            settings: BTreeMap::new(),
            seed: None,
            started: clock::utc(started),
            finished: None,
            platform: Platform {
                system: std::env::consts::OS.to_owned(),
                architecture: std::env::consts::ARCH.to_owned(),
            },
        }
    }

    /// Adds a file or folder that goes in, and reads it whole for its SHA-256.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn add_input(&mut self, role: &str, path: &Path) -> Result<(), StoreError> {
        let (sha256, bytes) = if path.is_dir() {
            (store::sha256_of_folder(path)?, None)
        } else {
            (store::sha256_of_file(path)?, Some(store::size_of_file(path)?))
        };
        self.inputs.push(InputFile {
            role: role.to_owned(),
            path: path.display().to_string(),
            sha256,
            bytes,
        });
        Ok(())
    }

    /// Notes a setting; one of the same name is replaced.
    pub fn set(&mut self, name: &str, value: impl Into<serde_json::Value>) {
        self.settings.insert(name.to_owned(), value.into());
    }

    /// Notes when the work ended.
    pub fn finish(&mut self, finished: SystemTime) {
        self.finished = Some(clock::utc(finished));
    }

    /// Reads the text of a `provenance.json`.
    ///
    /// # Errors
    /// A newer format, or text that is not provenance.
    pub fn from_json(text: &str) -> Result<Self, ProvenanceError> {
        let tree: serde_json::Value = serde_json::from_str(text)?;
        match tree.get("format").and_then(serde_json::Value::as_u64) {
            Some(found) if found > u64::from(FORMAT) => Err(ProvenanceError::Newer { found }),
            _ => Ok(serde_json::from_value(tree)?),
        }
    }

    /// The text of `provenance.json`, with a newline at its end.
    ///
    /// # Errors
    /// None that we know of: every field has a form in JSON.
    pub fn to_json(&self) -> Result<String, ProvenanceError> {
        Ok(serde_json::to_string_pretty(self)? + "\n")
    }
}

#[cfg(test)]
mod tests {
    use super::{Provenance, ProvenanceError};
    use std::time::{Duration, UNIX_EPOCH};

    /// A file written once and never changed: it must keep loading.
    const KEPT: &str = include_str!("../tests/data/provenance-format-1.json");

    #[test]
    fn the_kept_file_loads_and_goes_round() {
        let kept = Provenance::from_json(KEPT).unwrap();
        assert_eq!(kept.inputs[1].bytes, None);
        assert_eq!(
            (kept.seed, kept.settings["degrees"].as_u64()),
            (Some(u64::MAX), Some(6))
        );
        assert_eq!(Provenance::from_json(&kept.to_json().unwrap()).unwrap(), kept);
        let newer = KEPT.replace("\"format\": 1", "\"format\": 2");
        assert!(matches!(
            Provenance::from_json(&newer),
            Err(ProvenanceError::Newer { found: 2 })
        ));
        assert!(Provenance::from_json("{}").is_err());
    }

    #[test]
    fn files_and_folders_are_known_by_their_content() {
        let place = tempfile::tempdir().unwrap();
        std::fs::create_dir(place.path().join("stills")).unwrap();
        std::fs::write(place.path().join("stills/1.png"), "abc").unwrap();
        let mut run = Provenance::begin(&["measure".to_owned()], UNIX_EPOCH);
        run.add_input("clip", &place.path().join("stills")).unwrap();
        run.add_input("log", &place.path().join("stills/1.png")).unwrap();
        assert!(run.add_input("log", &place.path().join("none")).is_err());
        run.set("degrees", 5);
        run.set("degrees", 6);
        run.finish(UNIX_EPOCH + Duration::from_secs(61));
        assert_eq!(run.inputs.len(), 2);
        assert_eq!(run.inputs[0].bytes, None);
        // FIPS 180-4, example "abc" (from memory).
        assert_eq!(
            (run.inputs[1].sha256.as_str(), run.inputs[1].bytes),
            (
                "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
                Some(3)
            )
        );
        assert_eq!(run.finished.as_deref(), Some("1970-01-01T00:01:01Z"));
        assert_eq!(run.settings["degrees"], 6);
        assert!(!run.program.version.is_empty() && !run.platform.system.is_empty());
    }
}
