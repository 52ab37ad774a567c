//! Requests for what can be taken away: several runs beside each other, a run packed into one file.

use std::path::PathBuf;
use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use serde::Deserialize;
use serde_json::json as object;
use tremolet_record::store::exists;
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

/// Lays runs beside each other: a folder with a page, figures, tables and JSON, named after the time.
///
/// # Errors
/// Fewer than two runs, or one that cannot be read; the disk refuses.
pub async fn several(State(app): State<Arc<App>>, Json(asked): Json<Several>) -> Answer {
    let _turn = app.writing.lock().await;
    let name = app
        .blocking(move |app| {
            let runs: Result<Vec<PathBuf>, PageError> =
                asked.runs.iter().map(|run| app.root.existing(run)).collect();
            let beside = compare::compare(&runs?)?;
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
