//! The catalogue of runs: which there are below a folder, which are chosen, which are left out and why.

use std::path::{Path, PathBuf};

use tremolet_record::catalogue::file::Catalogue;
pub use tremolet_record::catalogue::file::Filter;
use tremolet_record::catalogue::row::Row;
use tremolet_record::findings::Caution;

use crate::error::StudyError;
use crate::wording::caution;

/// The runs below a folder.
#[derive(Debug, serde::Serialize)]
pub struct Listed {
    /// Whole runs that the filter chooses.
    pub runs: Vec<Row>,
    /// Folders that are no whole runs, each with its reason.
    pub left_out: Vec<Row>,
    /// Whether the catalogue lies in the folder as a file.
    pub kept: bool,
}

/// Makes the catalogue of a folder anew and asks it.
///
/// # Errors
/// The folder is none, or the database refuses.
pub fn list(root: &Path, filter: &Filter) -> Result<Listed, StudyError> {
    let catalogue = Catalogue::rebuild(root)?;
    Ok(Listed {
        runs: catalogue.runs(filter)?,
        left_out: catalogue.left_out()?,
        kept: catalogue.is_kept(),
    })
}

/// Run folders for these paths: a run stands for itself, any other folder for the whole runs below it that the filter chooses; with what was
/// left out.
///
/// # Errors
/// As [`list`]; a path that is neither.
pub fn chosen(paths: &[PathBuf], filter: &Filter) -> Result<(Vec<PathBuf>, Option<Caution>), StudyError> {
    let (mut folders, mut left) = (Vec::new(), Vec::new());
    for path in paths {
        if path.join("findings.json").is_file() {
            folders.push(path.clone());
            continue;
        }
        let listed = list(path, filter)?;
        folders.extend(listed.runs.iter().map(|row| path.join(&row.folder)));
        left.extend(listed.left_out.iter().map(|row| {
            format!(
                "{} ({}: {})",
                path.join(&row.folder).display(),
                row.state.name(),
                row.reason
            )
        }));
    }
    let told =
        (!left.is_empty()).then(|| caution("runs_left_out", &format!("left out: {}", left.join("; ")), None));
    Ok((folders, told))
}

/// The list in words for a terminal.
pub fn text(listed: &Listed) -> String {
    let or = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".into());
    let mut rows = vec![
        [
            "run",
            "kind",
            "liquid",
            "calibration",
            "batch",
            "measured",
            "cautions",
        ]
        .map(String::from)
        .to_vec(),
    ];
    for row in &listed.runs {
        rows.push(vec![
            row.folder.clone(),
            or(&row.kind),
            or(&row.liquid),
            or(&row.calibration),
            or(&row.batch),
            or(&row.measured),
            row.cautions.len().to_string(),
        ]);
    }
    let mut out = format!("{} runs\n", listed.runs.len());
    if !listed.runs.is_empty() {
        crate::compare::said::columns(&mut out, &rows);
    }
    for row in &listed.left_out {
        out += &format!("\n{} is {}: {}", row.folder, row.state.name(), row.reason);
    }
    out.trim_end().to_owned()
}

/// The list as JSON, SI units.
///
/// # Errors
/// When a number has no form in JSON; no case is known.
pub fn json(listed: &Listed) -> Result<String, StudyError> {
    serde_json::to_string_pretty(listed).map_err(|why| StudyError::Write {
        what: "the list as JSON",
        why: why.to_string(),
    })
}
