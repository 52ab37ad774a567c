//! A folder of stills as a clip: PNG, TIFF or JPEG, in natural order of their names (`f9` before `f10`).
//!
//! A `times.csv` beside them with a column `time_s`, one row to a still in the same order, gives each its real time
//! in s; other columns and lines that start with `#` are passed over. Stills carry no stamps. One folder is one clip:
//! kinds, sizes and depths must not be mixed. Does not look into folders below.

use std::fs;
use std::path::{Path, PathBuf};

use crate::error::ClipError;
use crate::frame::Frame;
use crate::picture::read_picture;
use crate::source::{ClipInfo, FrameSource};

/// Stills of a folder, each read when its turn comes.
struct Stills {
    info: ClipInfo,
    paths: Vec<PathBuf>,
    next: usize,
    times: Option<Vec<f64>>,
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
    let times = read_times(&name, &folder.join("times.csv"), paths.len())?;
    Ok(Box::new(Stills {
        info,
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

    fn real_times(&self) -> Option<&[f64]> {
        self.times.as_deref()
    }
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

/// A piece of a name: text, or a number as its digits without leading zeros after their count.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Piece {
    Number(usize, String),
    Text(String),
}

/// Sorts numbers inside names by their value; equal ones by the name itself.
fn natural_key(name: &str) -> (Vec<Piece>, String) {
    let mut pieces = Vec::new();
    let mut rest = name;
    while let Some(first) = rest.chars().next() {
        let digits = first.is_ascii_digit();
        let end = rest
            .find(|c: char| c.is_ascii_digit() != digits)
            .unwrap_or(rest.len());
        let (piece, after) = rest.split_at(end);
        pieces.push(if digits {
            let significant = piece.trim_start_matches('0');
            Piece::Number(significant.len(), significant.into())
        } else {
            Piece::Text(piece.to_lowercase())
        });
        rest = after;
    }
    (pieces, name.into())
}

/// Real times from the table, `None` when it is absent.
fn read_times(name: &str, path: &Path, count: usize) -> Result<Option<Vec<f64>>, ClipError> {
    if !path.exists() {
        return Ok(None);
    }
    let text = fs::read_to_string(path).map_err(|source| ClipError::Unreadable {
        name: path.display().to_string(),
        source,
    })?;
    let bad = |index: usize, problem| ClipError::BadTimes {
        name: name.into(),
        index: index as u64,
        problem,
    };
    let times = parse_times(&text).map_err(|(index, problem)| bad(index, problem))?;
    if times.len() != count {
        return Err(bad(
            times.len().min(count),
            "rows of times.csv and stills are not equally many",
        ));
    }
    Ok(Some(times))
}

fn parse_times(text: &str) -> Result<Vec<f64>, (usize, &'static str)> {
    let mut lines = text
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty() && !line.starts_with('#'));
    let column = lines
        .next()
        .and_then(|header| {
            header
                .trim_start_matches('\u{feff}')
                .split(',')
                .position(|cell| cell.trim() == "time_s")
        })
        .ok_or((0, "times.csv has no column time_s"))?;
    lines
        .enumerate()
        .map(|(row, line)| {
            let cell = line
                .split(',')
                .nth(column)
                .ok_or((row, "a row of times.csv is too short"))?;
            cell.trim()
                .parse()
                .map_err(|_| (row, "a cell of time_s is not a number"))
        })
        .collect()
}

#[cfg(test)]
mod tests;
