//! The run folder: whole or absent.
//!
//! A new one is filled under the hidden name `.NAME.PROCESS-NUMBER.unfinished` beside its place and renamed when it is whole; if
//! it is dropped before, it is removed. A folder that is replaced is moved aside, never deleted. Findings that are remade
//! go to `history/` with their provenance. It does not know what the files say.

use crate::store::{self, StoreError};
use std::path::{Path, PathBuf};

/// Why a run folder could not be begun, filled or finished.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// There is one already.
    #[error("{} exists already: give another --out, or --replace to move it aside", .0.display())]
    Exists(PathBuf),
    /// The path has no last part, such as `..`.
    #[error("{} is no name for a run folder: give a path that ends in a name", .0.display())]
    NoName(PathBuf),
    /// A file name that leaves the folder.
    #[error("{} would lie outside the run folder: expected a relative path without `..`", .0.display())]
    Outside(PathBuf),
    /// There is no run here.
    #[error("{} is no run folder: it holds no findings.json; give the folder that `measure` made", .0.display())]
    NoRun(PathBuf),
    /// The disk refused.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// A run folder that is being filled.
#[derive(Debug)]
pub struct RunFolder {
    target: PathBuf,
    working: PathBuf,
    stale: Vec<PathBuf>,
    replace: bool,
    finished: bool,
}

impl RunFolder {
    /// Begins a run folder that will be at `out`.
    ///
    /// # Errors
    /// `out` exists and `replace` is false; the place is read-only or full.
    pub fn begin(out: &Path, replace: bool) -> Result<Self, FolderError> {
        if out.file_name().is_none() {
            return Err(FolderError::NoName(out.to_owned()));
        }
        if store::exists(out) && !replace {
            return Err(FolderError::Exists(out.to_owned()));
        }
        let working = store::beside(out, "unfinished");
        store::make_folder(out.parent().unwrap_or(Path::new("")))?;
        let stale = unfinished_beside(out);
        store::make_new_folder(&working)?;
        Ok(Self {
            target: out.to_owned(),
            working,
            stale,
            replace,
            finished: false,
        })
    }

    /// Where the files lie until the folder is finished.
    pub fn path(&self) -> &Path {
        &self.working
    }

    /// Unfinished folders for the same place, left by a crash or by a run that still goes on; to be told, not removed.
    pub fn stale(&self) -> &[PathBuf] {
        &self.stale
    }

    /// Writes one file, e.g. `"series/modes.parquet"`.
    ///
    /// # Errors
    /// A name that leaves the folder; a full disk.
    pub fn write(&self, name: &str, content: &[u8]) -> Result<(), FolderError> {
        Ok(store::write_whole(&self.place(name)?, content)?)
    }

    /// The path of a file in the folder while it is being filled.
    ///
    /// # Errors
    /// A name that leaves the folder.
    pub fn place(&self, name: &str) -> Result<PathBuf, FolderError> {
        inside(&self.working, name)
    }

    /// Puts the folder in its place. A folder that was there is moved to `NAME.replaced-TIME` (`time` as the caller
    /// gives it, e.g. `"20260103T101500Z"`), with a number if that exists too.
    ///
    /// # Errors
    /// The place was taken meanwhile, or the disk refuses; what was there before is then back in its place.
    pub fn finish(mut self, time: &str) -> Result<PathBuf, FolderError> {
        let mut aside = None;
        if store::exists(&self.target) {
            if !self.replace {
                return Err(FolderError::Exists(self.target.clone()));
            }
            let old = free_name(&self.target, &format!("replaced-{time}"));
            store::rename(&self.target, &old)?;
            aside = Some(old);
        }
        if let Err(error) = store::rename(&self.working, &self.target) {
            if let Some(old) = aside {
                store::rename(&old, &self.target)?;
            }
            return Err(error.into());
        }
        self.finished = true;
        Ok(self.target.clone())
    }
}

impl Drop for RunFolder {
    fn drop(&mut self) {
        if !self.finished {
            // Nobody is left to tell; what stays is named as stale by the next run.
            drop(store::remove_folder(&self.working));
        }
    }
}

/// Writes new findings into an existing run folder; those replaced go to `history/TIME/` with their provenance.
///
/// Both new files are whole on the disk before either takes its place, so a full disk changes nothing. Two names cannot
/// change at once: a crash in the instant between leaves the new provenance beside the old findings, and both old files
/// are then in `history/` too.
///
/// # Errors
/// The folder holds no findings, or the disk refuses; the old findings are then still in place.
pub fn remake_findings(
    run: &Path,
    findings: &[u8],
    provenance: &[u8],
    time: &str,
) -> Result<(), FolderError> {
    if !run.join("findings.json").is_file() {
        return Err(FolderError::NoRun(run.to_owned()));
    }
    let new_findings = staged(&run.join("findings.json"), findings)?;
    let new_provenance = staged(&run.join("provenance.json"), provenance)?;
    let history = free_name(&run.join("history").join(time), "");
    for name in ["findings.json", "provenance.json"] {
        let path = run.join(name);
        if path.is_file() {
            store::write_whole(&history.join(name), &store::read_bytes(&path)?)?;
        }
    }
    new_provenance.finish()?;
    Ok(new_findings.finish()?)
}

fn staged(path: &Path, content: &[u8]) -> Result<store::WholeFile, StoreError> {
    let mut file = store::WholeFile::create(path)?;
    file.add(content)?;
    file.settle()?;
    Ok(file)
}

fn inside(folder: &Path, name: &str) -> Result<PathBuf, FolderError> {
    let path = Path::new(name);
    let plain = path
        .components()
        .all(|part| matches!(part, std::path::Component::Normal(_)));
    if plain && !name.is_empty() {
        Ok(folder.join(path))
    } else {
        Err(FolderError::Outside(path.to_owned()))
    }
}

fn free_name(path: &Path, ending: &str) -> PathBuf {
    let dotted = if ending.is_empty() {
        String::new()
    } else {
        format!(".{ending}")
    };
    let named = |number: String| {
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(format!("{dotted}{number}"));
        path.with_file_name(name)
    };
    let numbers = std::iter::once(String::new()).chain((2..).map(|number| format!("-{number}")));
    let mut names = numbers.map(named);
    names
        .find(|name| !store::exists(name))
        .expect("there are more numbers than folders")
}

fn unfinished_beside(out: &Path) -> Vec<PathBuf> {
    let start = format!(".{}.", out.file_name().unwrap_or_default().to_string_lossy());
    let folder = out
        .parent()
        .filter(|parent| !parent.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let mut found = store::entries(folder);
    found.retain(|path| {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        name.starts_with(&start) && name.ends_with(".unfinished")
    });
    found
}

#[cfg(test)]
mod tests {
    use super::{FolderError, RunFolder, remake_findings};
    use std::fs;

    #[test]
    fn whole_or_absent() {
        let place = tempfile::tempdir().unwrap();
        let out = place.path().join("Lauf 7 – Öl");
        let folder = RunFolder::begin(&out, false).unwrap();
        folder.write("series/modes.csv", b"x").unwrap();
        assert!(!out.exists());
        drop(folder);
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0);
        let folder = RunFolder::begin(&out, false).unwrap();
        folder.write("series/modes.csv", b"x").unwrap();
        folder.finish("t").unwrap();
        assert_eq!(fs::read(out.join("series/modes.csv")).unwrap(), b"x");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1);
    }

    #[test]
    fn two_runs_of_one_process_do_not_meet() {
        let place = tempfile::tempdir().unwrap();
        let out = place.path().join("run");
        let first = RunFolder::begin(&out, false).unwrap();
        let second = RunFolder::begin(&out, false).unwrap();
        assert_eq!(second.stale(), [first.path().to_owned()]);
        first.write("a", b"first").unwrap();
        second.write("a", b"second").unwrap();
        second.finish("t").unwrap();
        assert!(matches!(first.finish("t"), Err(FolderError::Exists(_))));
        assert_eq!(fs::read(out.join("a")).unwrap(), b"second");
        assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1);
    }

    #[test]
    fn an_old_folder_is_kept_or_moved_aside() {
        let place = tempfile::tempdir().unwrap();
        let out = place.path().join("run");
        fs::create_dir(&out).unwrap();
        fs::write(out.join("old"), "old").unwrap();
        assert!(matches!(
            RunFolder::begin(&out, false),
            Err(FolderError::Exists(_))
        ));
        for _ in 0..2 {
            RunFolder::begin(&out, true).unwrap().finish("t").unwrap();
        }
        assert_eq!(fs::read(place.path().join("run.replaced-t/old")).unwrap(), b"old");
        assert!(place.path().join("run.replaced-t-2").is_dir());
    }

    #[test]
    fn a_crash_is_told_and_names_stay_inside() {
        let place = tempfile::tempdir().unwrap();
        let left = place.path().join(".run.1.unfinished");
        fs::create_dir(&left).unwrap();
        let folder = RunFolder::begin(&place.path().join("run"), false).unwrap();
        assert_eq!(folder.stale(), [left]);
        for bad in ["../x", "/x", "a/../../x", ""] {
            assert!(
                matches!(folder.write(bad, b""), Err(FolderError::Outside(_))),
                "{bad}"
            );
        }
    }

    #[test]
    fn replaced_findings_go_to_history() {
        let place = tempfile::tempdir().unwrap();
        let run = place.path();
        assert!(matches!(
            remake_findings(run, b"", b"", "t"),
            Err(FolderError::NoRun(_))
        ));
        fs::write(run.join("findings.json"), "one").unwrap();
        fs::write(run.join("provenance.json"), "who").unwrap();
        remake_findings(run, b"two", b"she", "t").unwrap();
        remake_findings(run, b"three", b"he", "t").unwrap();
        assert_eq!(fs::read(run.join("findings.json")).unwrap(), b"three");
        assert_eq!(fs::read(run.join("history/t/provenance.json")).unwrap(), b"who");
        assert_eq!(fs::read(run.join("history/t-2/findings.json")).unwrap(), b"two");
        assert_eq!(fs::read(run.join("provenance.json")).unwrap(), b"he");
        // A disk that refuses the history: a file lies where its folder is due.
        fs::remove_dir_all(run.join("history")).unwrap();
        fs::write(run.join("history"), "").unwrap();
        assert!(remake_findings(run, b"four", b"it", "t").is_err());
        assert_eq!(fs::read(run.join("findings.json")).unwrap(), b"three");
        assert_eq!(fs::read(run.join("provenance.json")).unwrap(), b"he");
        assert_eq!(fs::read_dir(run).unwrap().count(), 3);
    }
}
