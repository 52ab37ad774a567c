//! Requests about several runs, and for what can be taken away: tables as they are shown, a run packed into one file.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use serde::Deserialize;
use serde_json::json as object;
use tremolet_record::parquet::writer;
use tremolet_record::store::{beside, exists, read_bytes};
use tremolet_record::table::{Column, Data, Table};
use tremolet_study::compare::Beside;
use tremolet_study::{bundle, compare, write};

use crate::answer::{Answer, json};
use crate::app::App;
use crate::error::PageError;
use crate::experiments::Named;

/// Which runs are compared.
#[derive(Debug, Deserialize)]
pub struct Several {
    runs: Vec<String>,
}

/// Most points of a course that are told.
const POINTS: usize = 1500;

impl Several {
    fn beside(&self, app: &App) -> Result<Beside, PageError> {
        let runs: Result<Vec<PathBuf>, PageError> =
            self.runs.iter().map(|run| app.root.existing(run)).collect();
        Ok(compare::compare(&runs?)?)
    }
}

/// Runs beside each other as data: what `compare --json` prints, with the folders as the page names them, and the courses of the amplitudes.
///
/// # Errors
/// Fewer than two runs, or one that cannot be read.
pub async fn told(State(app): State<Arc<App>>, Json(asked): Json<Several>) -> Answer {
    let body = app
        .blocking(move |app| {
            let mut beside = asked.beside(app)?;
            for run in &mut beside.comparison.runs {
                run.folder = app.root.named(Path::new(&run.folder)).unwrap_or_default();
            }
            let courses = beside.courses.iter().map(|course| {
                let step = course.points.len().div_ceil(POINTS).max(1);
                let points: Vec<_> = course.points.iter().step_by(step).collect();
                object!({ "name": course.name, "degree": course.degree, "capillary_rate": course.capillary_rate, "points": points })
            });
            let courses: Vec<_> = courses.collect();
            Ok(object!({ "comparison": beside.comparison, "courses": courses }))
        })
        .await?;
    json(&body)
}

/// A table that a page shows.
#[derive(Debug, Deserialize)]
pub struct Shown {
    name: String,
    description: String,
    parquet: bool,
    columns: Vec<ShownColumn>,
}

/// One column of it: texts, or numbers with null where there is none.
#[derive(Debug, Deserialize)]
struct ShownColumn {
    name: String,
    unit: String,
    description: String,
    values: Values,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Values {
    Numbers(Vec<Option<f64>>),
    Texts(Vec<String>),
}

impl From<ShownColumn> for Column {
    fn from(shown: ShownColumn) -> Self {
        let data = match shown.values {
            Values::Numbers(values) => Data::Real(
                values
                    .into_iter()
                    .map(|value| value.unwrap_or(f64::NAN))
                    .collect(),
            ),
            Values::Texts(values) => Data::Text(values),
        };
        Column::new(&shown.name, &shown.unit, &shown.description, data)
    }
}

/// A table that a page shows as CSV or Parquet, with units as in the tables of runs.
///
/// # Errors
/// Columns of different length, or names that are none; the disk refuses.
pub async fn table(State(app): State<Arc<App>>, Json(shown): Json<Shown>) -> Answer {
    let (kind, parquet) = if shown.parquet {
        ("application/vnd.apache.parquet", true)
    } else {
        ("text/csv; charset=utf-8", false)
    };
    let bytes = app
        .blocking(move |app| {
            let table = Table {
                name: shown.name,
                description: shown.description,
                columns: shown.columns.into_iter().map(Column::from).collect(),
            };
            let wrong = |why: &dyn std::fmt::Display| PageError::Asked(format!("this is no table: {why}"));
            if !parquet {
                return Ok(table.to_csv().map_err(|why| wrong(&why))?.into_bytes());
            }
            let scratch = beside(&app.root.path().join("table"), "part");
            let written = writer::write(&scratch, &table).map_err(|why| wrong(&why));
            let bytes = written.and_then(|()| Ok(read_bytes(&scratch)?));
            // What it led to is the thing to tell; it lies under a hidden name.
            drop(std::fs::remove_file(&scratch));
            bytes
        })
        .await?;
    Ok(([(CONTENT_TYPE, kind)], bytes).into_response())
}

/// Lays runs beside each other: a folder with a page, figures, tables and JSON, named after the time.
///
/// # Errors
/// Fewer than two runs, or one that cannot be read; the disk refuses.
pub async fn several(State(app): State<Arc<App>>, Json(asked): Json<Several>) -> Answer {
    let _turn = app.writing.lock().await;
    let name = app
        .blocking(move |app| {
            let beside = asked.beside(app)?;
            let name = |number: usize| match number {
                1 => format!("compared-{}", write::stamp()),
                number => format!("compared-{}-{number}", write::stamp()),
            };
            let free = (1..).map(name).find(|name| !exists(&app.root.path().join(name)));
            let name = free.unwrap_or_default();
            let place = app.root.new_file(&name)?;
            compare::write::folder(&beside.comparison, &beside.courses, &place, false)?;
            Ok(name)
        })
        .await?;
    json(&object!({ "path": name }))
}

/// Packs a run into one file beside it, with a checksum of every file; an older one gives way.
///
/// # Errors
/// It is no run, or the disk refuses.
pub async fn packed(State(app): State<Arc<App>>, Query(named): Query<Named>) -> Answer {
    let _turn = app.writing.lock().await;
    let path = format!("{}.zip", named.path);
    let body = app
        .blocking(move |app| {
            let run = app.root.existing(&named.path)?;
            let out = app.root.new_file(&path)?;
            let (_, packed) = bundle::bundle(&run, Some(&out), true)?;
            Ok(object!({ "path": path, "files": packed.files, "bytes": packed.bytes }))
        })
        .await?;
    json(&body)
}
