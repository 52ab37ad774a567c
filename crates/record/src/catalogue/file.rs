//! The catalogue as an SQLite file, and the questions it answers.
//!
//! | table | a row is |
//! |---|---|
//! | `run` | a folder: state, reason, what it is of |
//! | `found` | a quantity of a body of a run, SI |
//! | `caution` | a caution of a run, by its code |
//!
//! It is made in memory and put in place whole, so a crash leaves the old one or none. Where the folder cannot be written to, it stays in
//! memory and serves all the same.

use std::path::{Path, PathBuf};

use rusqlite::{Connection, OptionalExtension, Row as SqlRow, params};

use crate::catalogue::row::{Found, Row, State};
use crate::catalogue::walk::rows;
use crate::store;

/// Name of the file in the folder that it is of.
pub const NAME: &str = "catalogue.sqlite";
/// Version of the tables; a file of another one is made anew.
pub const VERSION: i64 = 1;

const TABLES: &str = "
CREATE TABLE run (
  folder TEXT PRIMARY KEY, state TEXT NOT NULL, reason TEXT NOT NULL, title TEXT, kind TEXT, liquid TEXT, mass_fraction REAL,
  temperature REAL, calibration TEXT, batch TEXT, frames INTEGER, measured TEXT, version TEXT, clip TEXT
) STRICT;
CREATE TABLE found (
  folder TEXT NOT NULL REFERENCES run(folder), place INTEGER NOT NULL, quantity TEXT NOT NULL, body INTEGER NOT NULL, value REAL NOT NULL,
  unit TEXT NOT NULL, standard_uncertainty REAL NOT NULL
) STRICT;
CREATE TABLE caution (folder TEXT NOT NULL REFERENCES run(folder), place INTEGER NOT NULL, code TEXT NOT NULL) STRICT;
CREATE INDEX found_quantity ON found(quantity);
CREATE INDEX found_folder ON found(folder);
CREATE INDEX caution_folder ON caution(folder);
";

/// Why there is no catalogue.
#[derive(Debug, thiserror::Error)]
pub enum CatalogueError {
    /// The folder is none.
    #[error("{} is no folder: give one that holds runs", .0.display())]
    NoFolder(PathBuf),
    /// The database refused.
    #[error(
        "the catalogue cannot be made or read: {0}; delete {NAME} and try again, it is made anew from the folders"
    )]
    Sqlite(#[from] rusqlite::Error),
}

/// Which runs are asked for; what is absent does not choose.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Filter {
    /// What was done to the liquid, exactly.
    pub kind: Option<String>,
    /// Part of the liquid's name, large and small letters alike.
    pub liquid: Option<String>,
    /// The calibration, exactly.
    pub calibration: Option<String>,
    /// The batch of liquid, exactly.
    pub batch: Option<String>,
}

/// An open catalogue.
#[derive(Debug)]
pub struct Catalogue {
    connection: Connection,
    kept: bool,
}

impl Catalogue {
    /// Reads every run below `root` and keeps the catalogue there as [`NAME`].
    ///
    /// # Errors
    /// `root` is no folder; the database refuses.
    pub fn rebuild(root: &Path) -> Result<Self, CatalogueError> {
        if !root.is_dir() {
            return Err(CatalogueError::NoFolder(root.to_owned()));
        }
        let mut made = Self::of(&rows(root))?;
        let place = root.join(NAME);
        let part = store::beside(&place, "part");
        let written = made
            .connection
            .execute("VACUUM INTO ?1", params![part.to_string_lossy()]);
        made.kept = written.is_ok() && store::rename(&part, &place).is_ok();
        if !made.kept {
            // What could not be put in place is not left beside it.
            drop(std::fs::remove_file(&part));
        }
        Ok(made)
    }

    /// A catalogue in memory of these rows.
    ///
    /// # Errors
    /// The database refuses.
    pub fn of(rows: &[Row]) -> Result<Self, CatalogueError> {
        let mut connection = Connection::open_in_memory()?;
        connection.execute_batch(TABLES)?;
        connection.pragma_update(None, "user_version", VERSION)?;
        let work = connection.transaction()?;
        for row in rows {
            add(&work, row)?;
        }
        work.commit()?;
        Ok(Self {
            connection,
            kept: false,
        })
    }

    /// The catalogue that lies in `root`, if one of this version does.
    ///
    /// # Errors
    /// It is damaged.
    pub fn open(root: &Path) -> Result<Option<Self>, CatalogueError> {
        let place = root.join(NAME);
        if !place.is_file() {
            return Ok(None);
        }
        let connection = Connection::open_with_flags(&place, rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
        Ok((version == VERSION).then_some(Self {
            connection,
            kept: true,
        }))
    }

    /// Whether it lies on the disk.
    pub fn is_kept(&self) -> bool {
        self.kept
    }

    /// The whole runs that the filter chooses, by folder.
    ///
    /// # Errors
    /// The database refuses.
    pub fn runs(&self, filter: &Filter) -> Result<Vec<Row>, CatalogueError> {
        self.rows(
            "state = 'whole' AND (?1 IS NULL OR kind = ?1) AND (?2 IS NULL OR instr(lower(liquid), lower(?2)) > 0)
             AND (?3 IS NULL OR calibration = ?3) AND (?4 IS NULL OR batch = ?4)",
            params![filter.kind, filter.liquid, filter.calibration, filter.batch],
        )
    }

    /// The folders that are no whole runs, by folder.
    ///
    /// # Errors
    /// The database refuses.
    pub fn left_out(&self) -> Result<Vec<Row>, CatalogueError> {
        self.rows("state <> 'whole'", params![])
    }

    /// One folder.
    ///
    /// # Errors
    /// The database refuses.
    pub fn run(&self, folder: &str) -> Result<Option<Row>, CatalogueError> {
        let state = "SELECT state FROM run WHERE folder = ?1";
        let there = self
            .connection
            .query_row(state, params![folder], |_| Ok(()))
            .optional()?;
        match there {
            Some(()) => Ok(self.rows("folder = ?1", params![folder])?.pop()),
            None => Ok(None),
        }
    }

    fn rows(&self, which: &str, with: &[&dyn rusqlite::ToSql]) -> Result<Vec<Row>, CatalogueError> {
        let asked = format!(
            "SELECT folder, state, reason, title, kind, liquid, mass_fraction, temperature, calibration, batch, frames, measured, version, clip
             FROM run WHERE {which} ORDER BY folder"
        );
        let mut statement = self.connection.prepare(&asked)?;
        let rows: Result<Vec<Row>, rusqlite::Error> = statement.query_map(with, row)?.collect();
        let mut rows = rows?;
        let mut found = self.connection.prepare(
            "SELECT quantity, body, value, unit, standard_uncertainty FROM found WHERE folder = ?1 ORDER BY place",
        )?;
        let mut cautions = self
            .connection
            .prepare("SELECT code FROM caution WHERE folder = ?1 ORDER BY place")?;
        for row in &mut rows {
            let all: Result<Vec<Found>, rusqlite::Error> =
                found.query_map(params![row.folder], quantity)?.collect();
            row.found = all?;
            let all: Result<Vec<String>, rusqlite::Error> = cautions
                .query_map(params![row.folder], |row| row.get(0))?
                .collect();
            row.cautions = all?;
        }
        Ok(rows)
    }
}

fn add(work: &Connection, row: &Row) -> Result<(), rusqlite::Error> {
    // SQLite counts in 64 bits with a sign; no clip has so many frames.
    let frames = row.frames.map(|frames| i64::try_from(frames).unwrap_or(i64::MAX));
    work.prepare("INSERT INTO run VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)")?
        .execute(params![
            row.folder,
            row.state.name(),
            row.reason,
            row.title,
            row.kind,
            row.liquid,
            row.mass_fraction,
            row.temperature,
            row.calibration,
            row.batch,
            frames,
            row.measured,
            row.version,
            row.clip
        ])?;
    let mut found = work.prepare("INSERT INTO found VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")?;
    for (one, place) in row.found.iter().zip(0_i64..) {
        found.execute(params![
            row.folder,
            place,
            one.quantity,
            one.body,
            one.value,
            one.unit,
            one.standard_uncertainty
        ])?;
    }
    let mut cautions = work.prepare("INSERT INTO caution VALUES (?1, ?2, ?3)")?;
    for (code, place) in row.cautions.iter().zip(0_i64..) {
        cautions.execute(params![row.folder, place, code])?;
    }
    Ok(())
}

fn row(from: &SqlRow<'_>) -> Result<Row, rusqlite::Error> {
    let state: String = from.get(1)?;
    let frames: Option<i64> = from.get(10)?;
    Ok(Row {
        title: from.get(3)?,
        kind: from.get(4)?,
        liquid: from.get(5)?,
        mass_fraction: from.get(6)?,
        temperature: from.get(7)?,
        calibration: from.get(8)?,
        batch: from.get(9)?,
        frames: frames.and_then(|frames| u64::try_from(frames).ok()),
        measured: from.get(11)?,
        version: from.get(12)?,
        clip: from.get(13)?,
        ..Row::not_whole(from.get(0)?, State::of_name(&state), from.get(2)?)
    })
}

fn quantity(from: &SqlRow<'_>) -> Result<Found, rusqlite::Error> {
    Ok(Found {
        quantity: from.get(0)?,
        body: from.get(1)?,
        value: from.get(2)?,
        unit: from.get(3)?,
        standard_uncertainty: from.get(4)?,
    })
}

#[cfg(test)]
mod tests;
