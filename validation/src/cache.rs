//! Keeps what a case found, so that a run broken off goes on where it stopped.
//!
//! One JSON file for each case, effort, version of the case and digest of this program, which holds all that is under test.

use std::fs;
use std::path::PathBuf;
use std::sync::OnceLock;

use tremolet_record::store::sha256_of_file;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};

/// The kept outcome of a case, or a new one.
///
/// # Errors
/// What the case gives, and files that cannot be read or written.
pub fn run(bench: &Bench, case: &Case) -> Result<Outcome, Failure> {
    if bench.in_parts() {
        return (case.run)(bench);
    }
    let path = place(bench, case.name, case.version, "outcome")?;
    part(bench, &path, || (case.run)(bench))
}

/// The kept result of a part of a case (one run of many), or a new one.
///
/// # Errors
/// What the work gives, and files that cannot be read or written.
pub fn part<T: serde::Serialize + serde::de::DeserializeOwned>(
    bench: &Bench,
    path: &PathBuf,
    work: impl FnOnce() -> Result<T, Failure>,
) -> Result<T, Failure> {
    let kept = fs::read_to_string(path)
        .ok()
        .and_then(|text| serde_json::from_str(&text).ok());
    if let (Some(kept), false) = (kept, bench.fresh) {
        return Ok(kept);
    }
    let found = work()?;
    let broken = |cause: serde_json::Error| Failure::Text {
        what: path.display().to_string(),
        cause: cause.to_string(),
    };
    let text = serde_json::to_string_pretty(&found).map_err(broken)?;
    fs::write(path, text).map_err(Failure::file(path))?;
    Ok(found)
}

/// Where the result of `part` of a case is kept.
///
/// # Errors
/// When this program cannot be read.
pub fn place(bench: &Bench, case: &str, version: u32, part: &str) -> Result<PathBuf, Failure> {
    let (effort, digest) = (bench.effort.name(), digest()?);
    Ok(bench
        .kept
        .join(format!("{case}-{version}-{effort}-{part}-{digest}.json")))
}

/// The first figures of the digest of this program.
///
/// # Errors
/// When it cannot be read.
pub fn digest() -> Result<&'static str, Failure> {
    static DIGEST: OnceLock<String> = OnceLock::new();
    if let Some(digest) = DIGEST.get() {
        return Ok(digest);
    }
    let own = std::env::current_exe().map_err(Failure::file("this program"))?;
    let digest = sha256_of_file(&own).map_err(|cause| Failure::Text {
        what: "this program".into(),
        cause: cause.to_string(),
    })?;
    Ok(DIGEST.get_or_init(|| digest[..12].into()))
}
