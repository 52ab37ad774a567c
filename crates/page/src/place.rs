//! Paths that a request names, confined to the served folder.
//!
//! A path is relative, has plain visible parts only, and what it leads to, links followed, lies in the folder. Nothing else of the disk can
//! be named, read or written through the page.

use std::path::{Path, PathBuf};

use crate::error::PageError;

/// The served folder, links followed.
#[derive(Debug, Clone)]
pub struct Root(PathBuf);

fn refused(path: &str, why: &'static str) -> PageError {
    PageError::Place {
        path: path.to_owned(),
        why,
    }
}

impl Root {
    /// The folder at `path`.
    ///
    /// # Errors
    /// There is no such folder.
    pub fn at(path: &Path) -> Result<Self, PageError> {
        let told = |cause| PageError::Begin {
            what: path.display().to_string(),
            cause,
        };
        let real = path.canonicalize().map_err(told)?;
        if !real.is_dir() {
            return Err(told(std::io::ErrorKind::NotADirectory.into()));
        }
        Ok(Self(real))
    }

    /// The folder itself.
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// What `asked` names, which must be there.
    ///
    /// # Errors
    /// It leaves the folder, is hidden, or is not there.
    pub fn existing(&self, asked: &str) -> Result<PathBuf, PageError> {
        let path = self.plain(asked)?;
        let real = path
            .canonicalize()
            .map_err(|_| refused(asked, "not in the served folder"))?;
        self.holds(&real)
            .then_some(real)
            .ok_or_else(|| refused(asked, "not in the served folder"))
    }

    /// Where a file of that name is or will be; its folder must be there.
    ///
    /// # Errors
    /// It leaves the folder or is hidden, or its folder is not there.
    pub fn new_file(&self, asked: &str) -> Result<PathBuf, PageError> {
        let path = self.plain(asked)?;
        let name = path
            .file_name()
            .ok_or_else(|| refused(asked, "no name"))?
            .to_owned();
        let folder = path.parent().unwrap_or(Path::new(""));
        let folder = folder
            .canonicalize()
            .map_err(|_| refused(asked, "its folder is not there"))?;
        let place = folder.join(name);
        if !self.holds(&folder) || place.is_symlink() {
            return Err(refused(asked, "not in the served folder"));
        }
        Ok(place)
    }

    /// A path of the disk as it is named to a page; `None` when it lies elsewhere.
    pub fn named(&self, path: &Path) -> Option<String> {
        let real = path.canonicalize().ok()?;
        let inside = real.strip_prefix(&self.0).ok()?;
        let parts: Vec<_> = inside.iter().map(|part| part.to_string_lossy()).collect();
        Some(parts.join("/"))
    }

    /// Whether a path, links followed, lies in the folder; a folder of stills with every link in it too.
    pub fn holds_all(&self, path: &Path) -> bool {
        let Ok(real) = path.canonicalize() else {
            return false;
        };
        let entries = std::fs::read_dir(&real).into_iter().flatten().flatten();
        let mut links = entries.filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_symlink()));
        self.holds(&real) && links.all(|link| link.path().canonicalize().is_ok_and(|p| self.holds(&p)))
    }

    fn holds(&self, real: &Path) -> bool {
        real.starts_with(&self.0)
    }

    fn plain(&self, asked: &str) -> Result<PathBuf, PageError> {
        let good =
            |part: &str| !part.is_empty() && !part.starts_with('.') && !part.contains(['\0', '\\', ':']);
        if !asked.split('/').all(good) {
            return Err(refused(asked, "not a plain path in the served folder"));
        }
        let path = Path::new(asked);
        Ok(self.0.join(path))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn root() -> (tempfile::TempDir, Root) {
        let place = tempfile::tempdir().unwrap();
        std::fs::create_dir_all(place.path().join("in/a")).unwrap();
        std::fs::create_dir(place.path().join("out")).unwrap();
        std::fs::write(place.path().join("in/a/run.toml"), "x").unwrap();
        std::fs::write(place.path().join("in/.secret"), "x").unwrap();
        std::fs::write(place.path().join("out/key"), "x").unwrap();
        let root = Root::at(&place.path().join("in")).unwrap();
        (place, root)
    }

    #[test]
    fn only_plain_names_inside_are_found() {
        let (_place, root) = root();
        assert!(root.existing("a/run.toml").is_ok());
        assert_eq!(
            root.named(&root.existing("a/run.toml").unwrap()).unwrap(),
            "a/run.toml"
        );
        for bad in [
            "../out/key",
            "a/../../out/key",
            "/etc/passwd",
            ".secret",
            "a/.",
            "a//run.toml",
            "a\\run.toml",
            "a/run.toml\0",
            "absent",
            "./a/run.toml",
        ] {
            assert!(root.existing(bad).is_err(), "{bad}");
            assert!(bad == "absent" || root.new_file(bad).is_err(), "{bad}");
        }
        assert!(root.new_file("a/new.toml").is_ok() && root.new_file("b/new.toml").is_err());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_out_is_refused_and_one_that_stays_is_not() {
        use std::os::unix::fs::symlink;
        let (place, root) = root();
        let link = |to: &str, name: &str| symlink(place.path().join(to), place.path().join(name)).unwrap();
        link("out", "in/leads_out");
        link("out/key", "in/key");
        link("in/a", "in/stays");
        assert!(root.existing("leads_out/key").is_err() && root.existing("key").is_err());
        assert!(root.new_file("leads_out/new").is_err() && root.new_file("key").is_err());
        assert!(root.existing("stays/run.toml").is_ok());
        assert!(!root.holds_all(&place.path().join("in")) && root.holds_all(&place.path().join("in/a")));
    }
}
