//! Where the validation works: folders, effort, the program under test.

use std::fs;
use std::path::{Path, PathBuf};

use crate::case::Failure;

/// How much is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// Few and small clips, for every change.
    Coarse,
    /// Everything; writes the table.
    Full,
}

impl Effort {
    /// The word on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Coarse => "coarse",
            Self::Full => "full",
        }
    }
}

/// Folders, effort, program.
#[derive(Debug, Clone)]
pub struct Bench {
    /// How much is done.
    pub effort: Effort,
    /// Whether kept results are put aside.
    pub fresh: bool,
    /// Top of the repository.
    pub root: PathBuf,
    /// Kept results and the scripts' own surroundings.
    pub kept: PathBuf,
    /// The program under test.
    pub program: PathBuf,
}

impl Bench {
    /// Finds the folders; the program is looked for beside this one.
    ///
    /// # Errors
    /// When a folder cannot be made or found.
    pub fn open(effort: Effort, fresh: bool) -> Result<Self, Failure> {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        let root = root.canonicalize().map_err(Failure::file(&root))?;
        let own = std::env::current_exe().map_err(Failure::file("this program"))?;
        let beside = own.parent().unwrap_or(Path::new("."));
        let kept = root.join("target/validation");
        fs::create_dir_all(&kept).map_err(Failure::file(&kept))?;
        let program = beside.join(format!("tremolet{}", std::env::consts::EXE_SUFFIX));
        Ok(Self {
            effort,
            fresh,
            root,
            kept,
            program,
        })
    }

    /// The one of two that fits the effort.
    pub fn pick<T>(&self, coarse: T, full: T) -> T {
        match self.effort {
            Effort::Coarse => coarse,
            Effort::Full => full,
        }
    }

    /// An empty folder that goes away with its handle.
    ///
    /// # Errors
    /// When it cannot be made.
    pub fn scratch(&self) -> Result<tempfile::TempDir, Failure> {
        tempfile::tempdir_in(&self.kept).map_err(Failure::file(&self.kept))
    }
}
