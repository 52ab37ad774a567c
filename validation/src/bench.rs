//! Where the validation works: folders, effort, the program under test.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

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
    /// Which of how many shares of many runs this process does, from 1; all when absent.
    pub shard: Option<[u64; 2]>,
    /// When no further run is begun.
    pub until: Option<Instant>,
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
            shard: None,
            until: None,
            root,
            kept,
            program,
        })
    }

    /// Whether many runs may be done in part only, so that what comes out is not to be kept as the outcome.
    pub fn in_parts(&self) -> bool {
        self.shard.is_some() || self.until.is_some()
    }

    /// Whether this process does the run.
    pub fn mine(&self, run: u64) -> bool {
        self.shard.is_none_or(|[number, of]| run % of == number - 1)
    }

    /// Whether no further run is to be begun.
    pub fn time_is_up(&self) -> bool {
        self.until.is_some_and(|until| Instant::now() >= until)
    }

    /// A bench that keeps its results in `kept`.
    #[cfg(test)]
    pub fn for_test(kept: &Path, shard: Option<[u64; 2]>) -> Self {
        Self {
            effort: Effort::Coarse,
            fresh: false,
            shard,
            until: None,
            root: kept.into(),
            kept: kept.into(),
            program: kept.into(),
        }
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
