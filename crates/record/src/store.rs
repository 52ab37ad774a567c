//! The one place of this crate that touches the disk: files are written whole, read, hashed and moved.
//!
//! A file is written under a temporary name beside its place, flushed, and renamed: it is there whole or not at all.
//! It knows nothing of what is in a file.

use sha2::{Digest, Sha256};
use std::fs;
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// Why the disk refused.
#[derive(Debug, thiserror::Error)]
#[error("cannot {action} {}: {cause}; {advice}", path.display())]
pub struct StoreError {
    /// What was tried, e.g. `"write"`.
    pub action: &'static str,
    /// On which file or folder.
    pub path: PathBuf,
    /// What the system said.
    pub cause: std::io::Error,
    /// What to do.
    pub advice: &'static str,
}

impl StoreError {
    /// Puts what was tried, where, and what to do beside what the system said.
    pub fn new(action: &'static str, path: &Path, cause: std::io::Error) -> Self {
        let advice = advice(cause.kind());
        Self {
            action,
            path: path.to_owned(),
            cause,
            advice,
        }
    }
}

fn advice(kind: ErrorKind) -> &'static str {
    match kind {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "free some space or choose another place with --out; nothing that was there is lost"
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "choose a folder that you may write to with --out, or change its permissions"
        }
        ErrorKind::NotFound => "check the path and its spelling",
        ErrorKind::AlreadyExists => "choose another name",
        ErrorKind::InvalidData => "the file must be UTF-8 text",
        ErrorKind::NotADirectory => "a part of the path is a file where a folder is due",
        _ => "check the disk and try again",
    }
}

/// Reads a text file.
///
/// # Errors
/// The file is absent, not readable or not UTF-8.
pub fn read_text(path: &Path) -> Result<String, StoreError> {
    fs::read_to_string(path).map_err(|cause| StoreError::new("read", path, cause))
}

/// Writes a file whole: under a temporary name, then renamed. Makes the folder if need be.
///
/// # Errors
/// The disk is full or read-only; the file that was there before is then untouched.
pub fn write_whole(path: &Path, content: &[u8]) -> Result<(), StoreError> {
    if let Some(folder) = path.parent() {
        make_folder(folder)?;
    }
    let part = beside(path, "part");
    let written = write_and_flush(&part, content).and_then(|()| fs::rename(&part, path));
    written.map_err(|cause| {
        // The error of the write is the one to tell; a part that cannot be removed changes nothing.
        drop(fs::remove_file(&part));
        StoreError::new("write", path, cause)
    })
}

fn write_and_flush(path: &Path, content: &[u8]) -> std::io::Result<()> {
    let mut file = fs::File::create(path)?;
    file.write_all(content)?;
    file.sync_all()
}

/// A hidden name beside `path`, of this process: `.NAME.PROCESS.ENDING`.
pub fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.{ending}", std::process::id()));
    path.with_file_name(name)
}

/// Makes a folder and those above it.
///
/// # Errors
/// The place is read-only, or a file is in the way.
pub fn make_folder(path: &Path) -> Result<(), StoreError> {
    if path.as_os_str().is_empty() {
        return Ok(());
    }
    fs::create_dir_all(path).map_err(|cause| StoreError::new("make the folder", path, cause))
}

/// Moves a file or folder within one disk.
///
/// # Errors
/// As the system says.
pub fn rename(from: &Path, to: &Path) -> Result<(), StoreError> {
    fs::rename(from, to).map_err(|cause| StoreError::new("move", from, cause))
}

/// SHA-256 of a file, lower-case hexadecimal (FIPS 180-4).
///
/// # Errors
/// The file cannot be read.
pub fn sha256_of_file(path: &Path) -> Result<String, StoreError> {
    let told = |cause| StoreError::new("read", path, cause);
    let mut file = fs::File::open(path).map_err(told)?;
    let mut hash = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    loop {
        let count = file.read(&mut buffer).map_err(told)?;
        if count == 0 {
            break;
        }
        hash.update(&buffer[..count]);
    }
    Ok(hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
}

/// All files under a folder as paths relative to it, sorted; hidden ones are left out.
///
/// # Errors
/// A folder cannot be read.
pub fn files_under(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        let told = |cause| StoreError::new("read the folder", &next, cause);
        for entry in fs::read_dir(&next).map_err(told)? {
            let entry = entry.map_err(told)?;
            let path = entry.path();
            if entry.file_name().to_string_lossy().starts_with('.') {
                continue;
            }
            if entry.file_type().map_err(told)?.is_dir() {
                open.push(path);
            } else if let Ok(relative) = path.strip_prefix(folder) {
                found.push(relative.to_owned());
            }
        }
    }
    found.sort();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::{files_under, read_text, sha256_of_file, write_whole};

    #[test]
    fn writes_whole_and_hashes() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("a folder/Tröpfchen 7.txt");
        write_whole(&path, b"old").unwrap();
        write_whole(&path, b"abc").unwrap();
        assert_eq!(read_text(&path).unwrap(), "abc");
        // FIPS 180-4, example "abc" (from memory).
        let expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256_of_file(&path).unwrap(), expected);
        assert_eq!(
            files_under(place.path()).unwrap(),
            [std::path::PathBuf::from("a folder/Tröpfchen 7.txt")]
        );
        assert_eq!(
            std::fs::read_dir(path.parent().unwrap()).unwrap().count(),
            1,
            "no part is left"
        );
    }

    #[test]
    fn a_refused_write_says_what_where_and_what_to_do() {
        let place = tempfile::tempdir().unwrap();
        std::fs::write(place.path().join("file"), "kept").unwrap();
        let error = write_whole(&place.path().join("file/inside"), b"x")
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("file") && error.contains("cannot make the folder"),
            "{error}"
        );
        let error = read_text(&place.path().join("absent")).unwrap_err().to_string();
        assert!(
            error.contains("cannot read") && error.contains("check the path"),
            "{error}"
        );
    }
}
