//! The one place of this crate that touches the disk: files are written whole, read, hashed and moved.
//!
//! A file is written under a temporary name beside its place, flushed, and renamed: it is there whole or not at all.
//! It knows nothing of what is in a file.

use sha2::{Digest, Sha256};
use std::fs;
use std::io::{BufWriter, ErrorKind, Read, Write};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

pub mod scratch;

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

impl StoreError {
    /// Whether the disk failed at what it was rightly asked for: it is full, or breaks off. A path that is wrong, taken or
    /// not permitted is the asker's.
    pub fn is_failure(&self) -> bool {
        use ErrorKind as E;
        let asked = [
            E::NotFound,
            E::AlreadyExists,
            E::PermissionDenied,
            E::ReadOnlyFilesystem,
            E::NotADirectory,
            E::IsADirectory,
            E::InvalidInput,
            E::InvalidFilename,
            E::InvalidData,
        ];
        !asked.contains(&self.cause.kind())
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

/// Reads a file as bytes.
///
/// # Errors
/// The file is absent or not readable.
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, StoreError> {
    fs::read(path).map_err(|cause| StoreError::new("read", path, cause))
}

/// A file that is being written: under a temporary name beside its place until [`WholeFile::finish`]. Dropped before, it
/// leaves nothing, and what was there stays.
#[derive(Debug)]
pub struct WholeFile {
    place: PathBuf,
    part: PathBuf,
    file: BufWriter<fs::File>,
    placed: bool,
}

impl WholeFile {
    /// Begins the file that will be at `path`; makes the folder if need be.
    ///
    /// # Errors
    /// The place is read-only or full.
    pub fn create(path: &Path) -> Result<Self, StoreError> {
        if let Some(folder) = path.parent() {
            make_folder(folder)?;
        }
        let part = beside(path, "part");
        let file = fs::File::create(&part).map_err(|cause| StoreError::new("write", path, cause))?;
        Ok(Self {
            place: path.to_owned(),
            part,
            file: BufWriter::new(file),
            placed: false,
        })
    }

    /// Adds to the file.
    ///
    /// # Errors
    /// The disk is full.
    pub fn add(&mut self, content: &[u8]) -> Result<(), StoreError> {
        let told = self.file.write_all(content);
        told.map_err(|cause| StoreError::new("write", &self.place, cause))
    }

    /// Makes sure that the whole content is on the disk; what is at the place is not yet touched.
    ///
    /// # Errors
    /// The disk is full.
    pub fn settle(&mut self) -> Result<(), StoreError> {
        let settled = self.file.flush().and_then(|()| self.file.get_ref().sync_all());
        settled.map_err(|cause| StoreError::new("write", &self.place, cause))
    }

    /// Puts the file in its place.
    ///
    /// # Errors
    /// The disk is full or refuses the name; what was there is then untouched.
    pub fn finish(mut self) -> Result<(), StoreError> {
        self.settle()?;
        fs::rename(&self.part, &self.place).map_err(|cause| StoreError::new("write", &self.place, cause))?;
        self.placed = true;
        Ok(())
    }
}

impl Drop for WholeFile {
    fn drop(&mut self) {
        if !self.placed {
            // The error that led here is the one to tell; a part that cannot be removed changes nothing.
            drop(fs::remove_file(&self.part));
        }
    }
}

/// Writes a file whole: under a temporary name, then renamed. Makes the folder if need be.
///
/// # Errors
/// The disk is full or read-only; the file that was there before is then untouched.
pub fn write_whole(path: &Path, content: &[u8]) -> Result<(), StoreError> {
    let mut file = WholeFile::create(path)?;
    file.add(content)?;
    file.finish()
}

/// A hidden name beside `path` that no other part of this process and no other process uses:
/// `.NAME.PROCESS-NUMBER.ENDING`.
pub fn beside(path: &Path, ending: &str) -> PathBuf {
    static NUMBER: AtomicU64 = AtomicU64::new(0);
    let number = NUMBER.fetch_add(1, Ordering::Relaxed);
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}-{number}.{ending}", std::process::id()));
    path.with_file_name(name)
}

/// The way to `path` from inside `folder`, `..` where need be; both are seen from where the program runs. Links are not
/// followed. Where nothing leads from one to the other, the whole path.
///
/// ```
/// use std::path::Path;
/// use tremolet_record::store::seen_from;
/// let way = seen_from(Path::new("flights/run7"), Path::new("flights/../clips/run7.mp4"));
/// assert_eq!(way, Path::new("../../clips/run7.mp4"));
/// ```
pub fn seen_from(folder: &Path, path: &Path) -> PathBuf {
    let (from, to) = (plain(folder), plain(path));
    let shared = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    if shared == 0 {
        return to.iter().collect();
    }
    let up = from[shared..].iter().map(|_| Component::ParentDir);
    let way: PathBuf = up
        .chain(to[shared..].iter().map(|part| Component::Normal(part)))
        .collect();
    if way.as_os_str().is_empty() {
        PathBuf::from(".")
    } else {
        way
    }
}

/// The parts of a path from the root on, without `.` and `..`.
fn plain(path: &Path) -> Vec<std::ffi::OsString> {
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let mut parts = Vec::new();
    for part in whole.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                parts.pop();
            }
            other => parts.push(other.as_os_str().to_owned()),
        }
    }
    parts
}

/// Whether anything is at `path`, be it a link to nothing.
pub fn exists(path: &Path) -> bool {
    path.symlink_metadata().is_ok()
}

/// Makes a folder that must not be there yet.
///
/// # Errors
/// Something is there, the folder above is not, or the place is read-only.
pub fn make_new_folder(path: &Path) -> Result<(), StoreError> {
    fs::create_dir(path).map_err(|cause| StoreError::new("make the folder", path, cause))
}

/// Removes a folder with all that is in it.
///
/// # Errors
/// As the system says.
pub fn remove_folder(path: &Path) -> Result<(), StoreError> {
    fs::remove_dir_all(path).map_err(|cause| StoreError::new("remove", path, cause))
}

/// What lies directly in a folder, sorted; nothing when it cannot be read.
pub fn entries(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut found: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    found.sort();
    found
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

/// Size of a file, bytes.
///
/// # Errors
/// The file is absent.
pub fn size_of_file(path: &Path) -> Result<u64, StoreError> {
    let told = fs::metadata(path).map_err(|cause| StoreError::new("read", path, cause))?;
    Ok(told.len())
}

/// SHA-256 of a folder: that of the lines `HASH  NAME` of its files, sorted by name, with `/` between parts.
///
/// # Errors
/// A file cannot be read.
pub fn sha256_of_folder(folder: &Path) -> Result<String, StoreError> {
    let mut hash = Sha256::new();
    for name in files_under(folder)? {
        let parts: Vec<_> = name.iter().map(|part| part.to_string_lossy()).collect();
        let of_file = sha256_of_file(&folder.join(&name))?;
        hash.update(format!("{of_file}  {}\n", parts.join("/")));
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
    use super::{WholeFile, beside, files_under, read_text, sha256_of_file, sha256_of_folder, write_whole};

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
    fn a_file_that_is_not_finished_leaves_what_was_there() {
        let place = tempfile::tempdir().unwrap();
        let path = place.path().join("x");
        write_whole(&path, b"old").unwrap();
        let mut file = WholeFile::create(&path).unwrap();
        file.add(b"new").unwrap();
        file.settle().unwrap();
        drop(file);
        assert_eq!(read_text(&path).unwrap(), "old");
        assert_eq!(std::fs::read_dir(place.path()).unwrap().count(), 1);
        assert_ne!(beside(&path, "part"), beside(&path, "part"));
    }

    #[test]
    fn a_folder_is_known_by_its_files_and_their_names() {
        let place = tempfile::tempdir().unwrap();
        let of = |name: &str, content: &[u8]| {
            let folder = place.path().join(name);
            write_whole(&folder.join("b/1.png"), content).unwrap();
            write_whole(&folder.join("a.png"), b"").unwrap();
            sha256_of_folder(&folder).unwrap()
        };
        assert_eq!(of("one", b"abc"), of("two", b"abc"));
        assert_ne!(of("one", b"abc"), of("three", b"abd"));
        // sha256sum of the two lines of `sha256sum a.png b/1.png`, recomputed independently.
        assert_eq!(
            of("one", b"abc"),
            "63d9f63c222c4851e53c17ad67d21c1ef6b99ee320fbafc623a1586bd84b4074"
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
        let of =
            |kind: std::io::ErrorKind| super::StoreError::new("write", &place.path().join("x"), kind.into());
        assert!(of(std::io::ErrorKind::StorageFull).is_failure());
        assert!(!of(std::io::ErrorKind::ReadOnlyFilesystem).is_failure());
    }
}
