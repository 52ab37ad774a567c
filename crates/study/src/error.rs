//! What can go wrong in a study, told apart by whose fault it is: bad input, a stop that was asked for, or a failure.

use tremolet_clip::error::ClipError;
use tremolet_matter::error::MatterError;
use tremolet_measure::error::MeasureError;
use tremolet_record::bundle::BundleError;
use tremolet_record::catalogue::file::CatalogueError;
use tremolet_record::experiment::faults::Faults;
use tremolet_record::folder::FolderError;
use tremolet_record::log::LogError;
use tremolet_record::store::StoreError;

/// Why a study gave nothing.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// The experiment file is wrong or lacks something.
    #[error("{0}")]
    Experiment(#[from] Faults),
    /// The clip gives no frames.
    #[error(transparent)]
    Clip(#[from] ClipError),
    /// The clip cannot be measured.
    #[error(transparent)]
    Measure(#[from] MeasureError),
    /// The liquid or the gas is unknown or out of range.
    #[error(transparent)]
    Matter(#[from] MatterError),
    /// No plan can be made.
    #[error(transparent)]
    Plan(#[from] tremolet_plan::error::PlanError),
    /// The run folder cannot be made.
    #[error(transparent)]
    Folder(#[from] FolderError),
    /// The log beside the clip cannot be read.
    #[error(transparent)]
    Log(#[from] LogError),
    /// A bundle cannot be made or opened.
    #[error(transparent)]
    Bundle(#[from] BundleError),
    /// The catalogue of runs cannot be made.
    #[error(transparent)]
    Catalogue(#[from] CatalogueError),
    /// A file cannot be read or written.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The synthetic camera refused its recipe or could not write.
    #[error("cannot paint the clip: {0}")]
    Paint(String),
    /// Something asked for on the command line that cannot be.
    #[error("{what}: {why}")]
    Asked {
        /// What was asked for.
        what: String,
        /// Why it cannot be, and what can.
        why: String,
    },
    /// A file that would be written over.
    #[error("{} is there already; give another name, or --replace to write over it", file.display())]
    There {
        /// The file.
        file: std::path::PathBuf,
    },
    /// The overlay or a table could not be made.
    #[error("cannot write {what}: {why}")]
    Write {
        /// What was being written.
        what: &'static str,
        /// Why not.
        why: String,
    },
    /// A run folder lacks a file or holds a damaged one.
    #[error(
        "the run cannot be read: {file}: {why}; give a folder that `measure` made, or measure the clip again"
    )]
    Run {
        /// The file, seen from the run folder.
        file: String,
        /// What is wrong with it.
        why: String,
    },
    /// The solver refuses the body, what acts on it or how finely it is asked to work.
    #[error("cannot be simulated: {0}")]
    Simulate(#[from] tremolet_simulate::liquid::InputError),
    /// The caller asked to stop; nothing was kept.
    #[error("stopped; nothing was written")]
    Stopped,
}

impl StudyError {
    /// Whether the input is to blame, not the program, its disk or a wish to stop.
    pub fn is_bad_input(&self) -> bool {
        match self {
            Self::Stopped
            | Self::Measure(MeasureError::Stopped { .. } | MeasureError::Aside { .. })
            | Self::Paint(_)
            | Self::Write { .. } => false,
            Self::Clip(ClipError::NotWritten { .. }) => false,
            Self::Log(LogError::Store(cause))
            | Self::Store(cause)
            | Self::Bundle(BundleError::Store(cause) | BundleError::Folder(FolderError::Store(cause)))
            | Self::Folder(FolderError::Store(cause)) => !cause.is_failure(),
            _ => true,
        }
    }
}
