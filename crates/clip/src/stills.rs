//! A folder of stills as a clip: PNG, TIFF or JPEG, in natural order of their names (`f9` before `f10`).
//!
//! A `times.csv` beside them, one row to a still in the same order, gives each its real time in s. Without it the numbers in
//! the names carry the time: a number that is missing is a frame that is missing, and the time runs on across it. Stills
//! carry no stamps. One folder is one clip: kinds, sizes and depths must not be mixed. Does not look into folders below.

use std::fs;
use std::path::{Path, PathBuf};

use tremolet_record::findings::Caution;

use crate::error::ClipError;
use crate::frame::Frame;
use crate::numbering::{Numbering, natural_key, numbering};
use crate::picture::read_picture;
use crate::source::{ClipInfo, FrameSource};
use crate::times::{BESIDE_STILLS, read_times};

/// Stills of a folder, each read when its turn comes.
struct Stills {
    info: ClipInfo,
    paths: Vec<PathBuf>,
    next: usize,
    times: Option<Vec<f64>>,
    numbering: Numbering,
}

/// Opens the stills in `folder` as a clip.
///
/// # Errors
/// [`ClipError::Absent`] without such a folder, [`ClipError::Empty`] when it holds no still,
/// [`ClipError::NotSupported`] when it holds several kinds, [`ClipError::BadTimes`] for an unusable `times.csv`, and
/// what the first still gives. Stills of another size or depth give [`ClipError::Mixed`] when reached.
pub fn open_stills(folder: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    let name = folder.display().to_string();
    let paths = still_paths(folder, &name)?;
    let Some(first) = paths.first() else {
        return Err(ClipError::Empty { name });
    };
    let kind = one_kind(&name, &paths)?;
    let plane = read_still(first)?;
    let info = ClipInfo {
        width: plane.width,
        height: plane.height,
        bits: plane.bits(),
        frame_count: Some(paths.len() as u64),
        header_rate_fps: None,
        container: "stills".into(),
        codec: kind.into(),
        decoder: format!("embedded {}", kind.to_uppercase()),
        name: name.clone(),
    };
    let times = times_beside(&name, &folder.join(BESIDE_STILLS), paths.len())?;
    let names: Vec<String> = paths.iter().map(|path| stem(path)).collect();
    Ok(Box::new(Stills {
        info,
        numbering: numbering(&names, times.is_some()),
        paths,
        next: 0,
        times,
    }))
}

impl FrameSource for Stills {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let Some(path) = self.paths.get(self.next) else {
            return Ok(None);
        };
        let frame = Frame {
            index: self.next as u64,
            stamp: None,
            plane: read_still(path)?,
        };
        self.info.check(&frame)?;
        self.next += 1;
        Ok(Some(frame))
    }

    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        let frame = usize::try_from(frame).unwrap_or(usize::MAX);
        self.next = self.next.max(frame.min(self.paths.len()));
        Ok(())
    }

    fn real_times(&self) -> Option<&[f64]> {
        self.times.as_deref()
    }

    fn slots(&self) -> Option<&[u64]> {
        self.numbering.slots.as_deref()
    }

    fn cautions(&self) -> Vec<Caution> {
        self.numbering.cautions.clone()
    }
}

/// The name without its folder and ending.
fn stem(path: &Path) -> String {
    path.file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

/// The real times, `None` when there is no table of them.
fn times_beside(name: &str, table: &Path, count: usize) -> Result<Option<Vec<f64>>, ClipError> {
    if !table.exists() {
        return Ok(None);
    }
    let times = read_times(table)?;
    if times.len() == count {
        return Ok(Some(times));
    }
    Err(ClipError::BadTimes {
        name: name.into(),
        index: times.len().min(count) as u64,
        problem: "rows of times.csv and stills are not equally many",
    })
}

fn read_still(path: &Path) -> Result<crate::frame::Plane, ClipError> {
    let name = path.display().to_string();
    match fs::read(path) {
        Ok(bytes) => read_picture(&name, &bytes),
        Err(source) => Err(ClipError::Unreadable { name, source }),
    }
}

/// Files that look like stills, in natural order.
fn still_paths(folder: &Path, name: &str) -> Result<Vec<PathBuf>, ClipError> {
    let unreadable = |source| ClipError::Unreadable {
        name: name.into(),
        source,
    };
    if !folder.is_dir() {
        return Err(ClipError::Absent { path: folder.into() });
    }
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let hidden = path
            .file_name()
            .is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if !hidden && path.is_file() && kind_of(&path).is_some() {
            paths.push(path);
        }
    }
    paths.sort_by_cached_key(|path| natural_key(&path.to_string_lossy()));
    Ok(paths)
}

/// The kind that the name announces.
fn kind_of(path: &Path) -> Option<&'static str> {
    let extension = path.extension()?.to_string_lossy().to_lowercase();
    match extension.as_str() {
        "png" => Some("png"),
        "tif" | "tiff" => Some("tiff"),
        "jpg" | "jpeg" => Some("jpeg"),
        _ => None,
    }
}

fn one_kind(name: &str, paths: &[PathBuf]) -> Result<&'static str, ClipError> {
    let mut kinds: Vec<&'static str> = paths.iter().filter_map(|path| kind_of(path)).collect();
    kinds.sort_unstable();
    kinds.dedup();
    match kinds[..] {
        [kind] => Ok(kind),
        _ => Err(ClipError::NotSupported {
            name: name.into(),
            found: format!("a folder that mixes {}", kinds.join(" and ")),
            advice: "keep one kind of still in the folder",
        }),
    }
}

#[cfg(test)]
mod tests;
