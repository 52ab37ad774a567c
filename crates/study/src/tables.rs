//! The tidy tables of a run, each as Parquet and, all but the outlines, as CSV too; and the way back.

use std::path::Path;

use tremolet_measure::measured::BodyTrack;
use tremolet_record::folder::RunFolder;
use tremolet_record::mode_table;
use tremolet_record::parquet::error::ParquetError;
use tremolet_record::parquet::{reader, writer::TableWriter};
use tremolet_record::store::{StoreError, WholeFile};
use tremolet_record::table::{ShapeError, Table};

use crate::body::BodyFound;
use crate::error::StudyError;
use crate::look::Seen;

pub mod camera;
pub mod column;
pub mod line;
pub mod logged;
pub mod shape;
pub mod told;

/// Writes the tables of what was measured and fitted; before the frame `free_from` nothing is free.
///
/// # Errors
/// When a file cannot be written.
pub fn write(
    folder: &RunFolder,
    seen: &Seen,
    bodies: &[BodyFound],
    free_from: Option<u64>,
) -> Result<(), StudyError> {
    let tracks = &seen.measured.bodies;
    keep(
        folder,
        &shape::shapes(tracks, free_from.unwrap_or(0), |body, frame| {
            seen.time_of(body, frame)
        }),
    )?;
    if !seen.measured.camera.views.is_empty() {
        keep(folder, &camera::views(seen))?;
    }
    keep(folder, &camera::light(seen))?;
    outlines(folder, tracks)?;
    fitted(folder, bodies)
}

/// Writes the tables of amplitudes and what was fitted to them.
///
/// # Errors
/// When a file cannot be written.
pub fn fitted(folder: &RunFolder, bodies: &[BodyFound]) -> Result<(), StudyError> {
    let series = bodies.iter().map(|b| &b.series);
    let series: Vec<_> = series.filter(|s| !s.samples.is_empty()).collect();
    for (i, one) in series.iter().copied().enumerate() {
        let mut table =
            mode_table::table_of(std::slice::from_ref(one)).map_err(|why| failed("amplitudes", &why))?;
        table.name = if series.len() == 1 {
            "amplitudes".into()
        } else {
            format!("amplitudes-{}", i + 1)
        };
        keep(folder, &table)?;
    }
    keep_pieces(folder, line::fits(bodies))?;
    keep(folder, &line::curves(bodies))?;
    keep(folder, &line::spectra(bodies))
}

/// Writes the outlines, which have no CSV.
///
/// # Errors
/// When the file cannot be written.
pub fn outlines(folder: &RunFolder, tracks: &[BodyTrack]) -> Result<(), StudyError> {
    let schema = shape::no_outlines();
    let told = |why| failed("a table", &why);
    let mut file = TableWriter::create(&series(folder, &schema.name)?, &schema).map_err(told)?;
    shape::outlines(tracks, |piece| file.append(piece)).map_err(told)?;
    file.finish().map_err(told)
}

fn failed(what: &'static str, why: &dyn std::fmt::Display) -> StudyError {
    StudyError::Write {
        what,
        why: why.to_string(),
    }
}

/// Writes a table under its name, as Parquet and as CSV.
///
/// # Errors
/// When a file cannot be written.
pub fn keep(folder: &RunFolder, table: &Table) -> Result<(), StudyError> {
    let rows = (0..table.rows().max(1)).step_by(ROWS);
    let piece = |first: usize| table.piece(first..table.rows().min(first + ROWS));
    keep_pieces(folder, rows.map(piece))
}

/// Writes a table that comes in pieces, one or more, each with its name and its columns.
///
/// # Errors
/// When a file cannot be written.
pub fn keep_pieces(folder: &RunFolder, pieces: impl Iterator<Item = Table>) -> Result<(), StudyError> {
    let told = |why: ParquetError| failed("a table", &why);
    let mut files: Option<(TableWriter, WholeFile)> = None;
    for piece in pieces {
        let headed = files.is_none();
        let (series, text) = match &mut files {
            Some(files) => files,
            none => {
                let series = TableWriter::create(&series(folder, &piece.name)?, &piece).map_err(told)?;
                let text = WholeFile::create(&folder.place(&format!("tables/{}.csv", piece.name))?)?;
                none.insert((series, text))
            }
        };
        series.append(&piece).map_err(told)?;
        piece.csv_in_pieces(headed, |some| -> Result<(), Cause> {
            Ok(text.add(some.as_bytes())?)
        })?;
    }
    if let Some((series, text)) = files {
        series.finish().map_err(told)?;
        text.finish()?;
    }
    Ok(())
}

/// Writes a table into a run that is there already, in the place of one of that name.
///
/// # Errors
/// When a file cannot be written.
pub fn keep_in(run: &Path, table: &Table) -> Result<(), StudyError> {
    let told = |why: ParquetError| failed("a table", &why);
    let place = run.join(format!("series/{}.parquet", table.name));
    let mut series = TableWriter::create(&place, &table.emptied()).map_err(told)?;
    series.append(table).map_err(told)?;
    series.finish().map_err(told)?;
    let mut text = WholeFile::create(&run.join(format!("tables/{}.csv", table.name)))?;
    table.csv_in_pieces(true, |some| -> Result<(), Cause> {
        Ok(text.add(some.as_bytes())?)
    })?;
    Ok(text.finish()?)
}

/// Rows of a Parquet table that are laid out at once.
const ROWS: usize = 1 << 15;

/// What can stop a table that is written piece by piece.
enum Cause {
    Shape(ShapeError),
    Store(StoreError),
}

impl From<ShapeError> for Cause {
    fn from(why: ShapeError) -> Self {
        Self::Shape(why)
    }
}

impl From<StoreError> for Cause {
    fn from(why: StoreError) -> Self {
        Self::Store(why)
    }
}

impl From<Cause> for StudyError {
    fn from(cause: Cause) -> Self {
        match cause {
            Cause::Shape(why) => failed("a table", &why),
            Cause::Store(why) => why.into(),
        }
    }
}

/// The place of a Parquet table; the writer makes the folder.
fn series(folder: &RunFolder, name: &str) -> Result<std::path::PathBuf, StudyError> {
    Ok(folder.place(&format!("series/{name}.parquet"))?)
}

/// Reads `series/NAME.parquet` of a run.
///
/// # Errors
/// When the run lacks the table or it is damaged.
pub fn read(run: &Path, name: &str) -> Result<Table, StudyError> {
    let file = format!("series/{name}.parquet");
    let mut table = reader::read(&run.join(&file)).map_err(|why| StudyError::Run {
        file,
        why: why.to_string(),
    })?;
    table.name = name.into();
    Ok(table)
}

/// As [`read`], with nothing for a table that this run does not have.
///
/// # Errors
/// When the table is damaged.
pub fn read_if_there(run: &Path, name: &str) -> Result<Option<Table>, StudyError> {
    let there = run.join(format!("series/{name}.parquet")).is_file();
    there.then(|| read(run, name)).transpose()
}
