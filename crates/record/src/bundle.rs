//! A run as one file that a colleague can open: a ZIP archive of the run folder with the SHA-256 of every file in it.
//!
//! ```text
//! run7.zip
//!   run7/checksums.sha256      lines `HASH  NAME`, as `sha256sum -c` reads them
//!   run7/report.html, findings.json, experiment.toml, provenance.json, ro-crate-metadata.json, tables/, series/, figures/, ...
//! ```
//!
//! The same folder gives the same bytes: names in order, no times, no owners. Hidden files and `history/` stay at home. Opening checks every file against its sum before
//! the folder is put in place; names that would leave it are refused. The one door to ZIP; the format is that of PKWARE's APPNOTE, 6.3.

use std::fs::File;
use std::io::{self, Read, Write};
use std::path::{Component, Path, PathBuf};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use crate::folder::{FolderError, RunFolder};
use crate::store::{self, StoreError};

/// Name of the list of sums.
pub const CHECKSUMS: &str = "checksums.sha256";
/// Files of these kinds are compressed already.
const DENSE: &[&str] = &["mp4", "png", "zip"];
/// Longest list of sums that is read, bytes.
const LONGEST_LIST: u64 = 1 << 24;

/// Why a bundle could not be made or opened.
#[derive(Debug, thiserror::Error)]
pub enum BundleError {
    /// The disk refused.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The folder that it would become cannot be made.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// It is there already.
    #[error("{} is there already; give another name, or --replace to write over it", .0.display())]
    There(PathBuf),
    /// Not an archive, or a damaged one.
    #[error("{}: {why}; ask for the file again", file.display())]
    Archive {
        /// The file.
        file: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// A file that is not as its sum says.
    #[error("{name} in {} is not as its checksum says: the file was damaged on its way or changed; ask for it again", file.display())]
    Changed {
        /// The archive.
        file: PathBuf,
        /// The file in it.
        name: String,
    },
}

/// What was packed or opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// How many files, the list of sums left out.
    pub files: usize,
    /// Their size, bytes.
    pub bytes: u64,
}

/// Packs the run folder `run` into the archive `out`, which is written whole or not at all.
///
/// # Errors
/// There is no run, `out` is there and `replace` is false, or the disk refuses.
pub fn pack(run: &Path, out: &Path, replace: bool) -> Result<Packed, BundleError> {
    if !run.join("findings.json").is_file() {
        return Err(FolderError::NoRun(run.to_owned()).into());
    }
    if store::exists(out) && !replace {
        return Err(BundleError::There(out.to_owned()));
    }
    let whole = run
        .canonicalize()
        .map_err(|cause| StoreError::new("read", run, cause))?;
    let top = whole
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let mut names = store::files_under(run)?;
    names.retain(|name| !name.starts_with("history") && name != Path::new(CHECKSUMS));
    store::make_folder(out.parent().unwrap_or(Path::new("")))?;
    let part = store::beside(out, "part");
    let written =
        write(run, &top, &names, &part).and_then(|packed| Ok(store::rename(&part, out).map(|()| packed)?));
    if written.is_err() {
        // The error that led here is the one to tell.
        drop(std::fs::remove_file(&part));
    }
    written
}

fn write(run: &Path, top: &str, names: &[PathBuf], part: &Path) -> Result<Packed, BundleError> {
    let told = |cause| StoreError::new("write", part, cause);
    let refused = |why: zip::result::ZipError| BundleError::Archive {
        file: part.to_owned(),
        why: why.to_string(),
    };
    let mut list = String::new();
    let mut bytes = 0;
    for name in names {
        let path = run.join(name);
        list += &format!("{}  {}\n", store::sha256_of_file(&path)?, plain(name));
        bytes += store::size_of_file(&path)?;
    }
    let mut archive = ZipWriter::new(File::create(part).map_err(told)?);
    archive
        .start_file(format!("{top}/{CHECKSUMS}"), options(Path::new(CHECKSUMS), 0))
        .map_err(refused)?;
    archive.write_all(list.as_bytes()).map_err(told)?;
    for name in names {
        let path = run.join(name);
        let size = store::size_of_file(&path)?;
        archive
            .start_file(format!("{top}/{}", plain(name)), options(name, size))
            .map_err(refused)?;
        let mut file = File::open(&path).map_err(|cause| StoreError::new("read", &path, cause))?;
        io::copy(&mut file, &mut archive).map_err(told)?;
    }
    let file = archive.finish().map_err(refused)?;
    file.sync_all().map_err(told)?;
    Ok(Packed {
        files: names.len(),
        bytes,
    })
}

/// A name with `/` between its parts.
fn plain(name: &Path) -> String {
    let parts: Vec<_> = name.iter().map(|part| part.to_string_lossy()).collect();
    parts.join("/")
}

/// No time and no owner, so that the same content gives the same bytes.
fn options(name: &Path, size: u64) -> SimpleFileOptions {
    let dense = name
        .extension()
        .is_some_and(|ending| DENSE.iter().any(|known| ending.eq_ignore_ascii_case(known)));
    let method = if dense {
        CompressionMethod::Stored
    } else {
        CompressionMethod::Deflated
    };
    SimpleFileOptions::default()
        .compression_method(method)
        .compression_level(if dense { None } else { Some(6) })
        .last_modified_time(zip::DateTime::default())
        .unix_permissions(0o644)
        .large_file(size > u64::from(u32::MAX))
}

/// Opens the archive `file` into the folder `out`, which is whole and checked or absent.
///
/// # Errors
/// `out` is there, the archive is damaged or no bundle, a file is missing, is not as its sum says or would lie outside.
pub fn open(file: &Path, out: &Path) -> Result<Packed, BundleError> {
    let (mut archive, top, sums) = listed(file)?;
    let folder = RunFolder::begin(out, false)?;
    let mut bytes = 0;
    for (sum, name) in &sums {
        let path = folder.place(name)?;
        store::make_folder(path.parent().unwrap_or(Path::new("")))?;
        let mut entry = archive
            .by_name(&format!("{top}{name}"))
            .map_err(|why| damaged(file, &why))?;
        let mut to = File::create(&path).map_err(|cause| StoreError::new("write", &path, cause))?;
        bytes += io::copy(&mut entry, &mut to).map_err(|why| damaged(file, &why))?;
        to.sync_all()
            .map_err(|cause| StoreError::new("write", &path, cause))?;
        if store::sha256_of_file(&path)? != *sum {
            return Err(BundleError::Changed {
                file: file.to_owned(),
                name: name.clone(),
            });
        }
    }
    folder.finish("")?;
    Ok(Packed {
        files: sums.len(),
        bytes,
    })
}

fn damaged(file: &Path, why: &dyn std::fmt::Display) -> BundleError {
    BundleError::Archive {
        file: file.to_owned(),
        why: why.to_string(),
    }
}

/// The archive, the folder within it, and every file with its sum; what the list leaves out is refused.
#[expect(clippy::type_complexity, reason = "used in one place, named by its doc")]
fn listed(file: &Path) -> Result<(ZipArchive<File>, String, Vec<(String, String)>), BundleError> {
    let opened = File::open(file).map_err(|cause| StoreError::new("read", file, cause))?;
    let mut archive = ZipArchive::new(opened).map_err(|why| damaged(file, &why))?;
    let names: Result<Vec<String>, _> = archive
        .file_names()
        .map(|name| name.map(|name| name.into_owned()))
        .collect();
    let names = names.map_err(|why| damaged(file, &why))?;
    let list = names
        .iter()
        .find(|name| name.ends_with(&format!("/{CHECKSUMS}")) && name.matches('/').count() == 1);
    let list = list.ok_or_else(|| {
        damaged(
            file,
            &format!("it holds no {CHECKSUMS}: is it a bundle of a run?"),
        )
    })?;
    let top = list.trim_end_matches(CHECKSUMS).to_owned();
    let mut text = String::new();
    let entry = archive.by_name(list).map_err(|why| damaged(file, &why))?;
    entry
        .take(LONGEST_LIST)
        .read_to_string(&mut text)
        .map_err(|why| damaged(file, &why))?;
    let line = |line: &str| {
        line.split_once("  ")
            .map(|(sum, name)| (sum.to_owned(), name.to_owned()))
    };
    let sums: Option<Vec<(String, String)>> = text.lines().map(line).collect();
    let sums = sums.ok_or_else(|| damaged(file, &format!("its {CHECKSUMS} is damaged")))?;
    for name in &names {
        let inside = name.strip_prefix(top.as_str()).unwrap_or("");
        let safe = Path::new(inside)
            .components()
            .all(|part| matches!(part, Component::Normal(_)));
        if inside == CHECKSUMS || (safe && sums.iter().any(|(_, known)| known == inside)) {
            continue;
        }
        return Err(damaged(file, &format!("{name} is in no list of sums")));
    }
    Ok((archive, top, sums))
}

#[cfg(test)]
mod tests;
