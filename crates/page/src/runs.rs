//! Requests about the folder and its runs: what is there, findings for a reader, lanes, outlines.

use std::sync::Arc;

use axum::extract::{Query, State};
use serde::Deserialize;
use serde_json::json as object;
use tremolet_record::experiment::file::Experiment;
use tremolet_study::{folder, lanes, outline, understood};

use crate::answer::{Answer, json};
use crate::app::App;
use crate::experiments::{Named, clip};

/// What the folder holds.
///
/// # Errors
/// None; what cannot be read is told as such.
pub async fn held(State(app): State<Arc<App>>) -> Answer {
    let held = app.blocking(|app| Ok(folder::held(app.root.path()))).await?;
    json(&held)
}

/// A run for a reader, with the clip that it was measured from where that lies in the folder.
///
/// # Errors
/// It is no run, or a file of it is damaged.
pub async fn run(State(app): State<Arc<App>>, Query(named): Query<Named>) -> Answer {
    let body = app
        .blocking(move |app| {
            let run = app.root.existing(&named.path)?;
            let read = understood::understood(&run)?;
            // The clip that an experiment names was not seen by a run that was computed.
            let experiment = Experiment::read(&run.join("experiment.toml")).ok();
            let seen = experiment.filter(|_| !read.simulated);
            let clip = seen.map(|experiment| clip(app, &experiment));
            Ok(object!({ "path": named.path, "run": read, "clip": clip }))
        })
        .await?;
    json(&body)
}

/// Which stretch of the lanes.
#[derive(Debug, Deserialize)]
pub struct Stretch {
    path: String,
    from: Option<f64>,
    to: Option<f64>,
    most: Option<usize>,
}

/// The lanes of a run.
///
/// # Errors
/// It is no run, or a table is damaged.
pub async fn lanes_of(State(app): State<Arc<App>>, Query(asked): Query<Stretch>) -> Answer {
    let lanes = app
        .blocking(move |app| {
            let run = app.root.existing(&asked.path)?;
            let span = asked.from.unwrap_or(f64::NEG_INFINITY)..asked.to.unwrap_or(f64::INFINITY);
            let most = asked.most.unwrap_or(4000).clamp(10, 100_000);
            Ok(lanes::lanes(&run, span, most)?)
        })
        .await?;
    json(&lanes)
}

/// A frame of a run.
#[derive(Debug, Deserialize)]
pub struct Framed {
    path: String,
    frame: u64,
}

/// The outlines of a run in a frame.
///
/// # Errors
/// It is no run, or its outlines are damaged.
pub async fn outline_of(State(app): State<Arc<App>>, Query(asked): Query<Framed>) -> Answer {
    let found = app
        .blocking(move |app| {
            let run = app.root.existing(&asked.path)?;
            Ok(outline::outlines(&run, asked.frame)?)
        })
        .await?;
    json(&found)
}
