//! `bundle` and `unbundle`: a run as one file that a colleague can open, and back.

use std::path::{Path, PathBuf};

use tremolet_record::bundle::{self, Packed};

use crate::error::StudyError;

/// Packs a run; without `out` beside it, as `RUN.zip`. Returns where the file lies.
///
/// # Errors
/// There is no run, the file is there and `replace` is false, or the disk refuses.
pub fn bundle(run: &Path, out: Option<&Path>, replace: bool) -> Result<(PathBuf, Packed), StudyError> {
    let beside = || {
        let whole = run.canonicalize().unwrap_or_else(|_| run.to_owned());
        let mut name = whole.file_name().unwrap_or_default().to_owned();
        name.push(".zip");
        whole.with_file_name(name)
    };
    let out = out.map_or_else(beside, Path::to_path_buf);
    let packed = bundle::pack(run, &out, replace)?;
    Ok((out, packed))
}

/// Opens a bundle and checks every file in it; without `out` into a folder beside it, named after it. Returns where the run lies.
///
/// # Errors
/// The folder is there, or the bundle is damaged or was changed.
pub fn unbundle(file: &Path, out: Option<&Path>) -> Result<(PathBuf, Packed), StudyError> {
    let out = out.map_or_else(|| file.with_extension(""), Path::to_path_buf);
    let packed = bundle::open(file, &out)?;
    Ok((out, packed))
}
