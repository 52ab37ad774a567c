//! Requests about frames of clips: what a clip is, a frame by number, the outline tried on one.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use axum::http::HeaderValue;
use axum::http::header::CONTENT_TYPE;
use axum::response::IntoResponse;
use serde::Deserialize;

use crate::answer::{Answer, json};
use crate::app::App;
use crate::child::Ask;
use crate::error::PageError;
use crate::experiments::confined;
use crate::looks::View;
use tremolet_study::form;

/// A clip and the clock beside it.
#[derive(Debug, Deserialize)]
pub struct Asked {
    clip: String,
    rate: Option<f64>,
    times: Option<String>,
    frame: Option<u64>,
}

async fn view(app: &Arc<App>, clip: &str, rate: Option<f64>, times: Option<&str>) -> Result<View, PageError> {
    let view = View {
        clip: app.root.existing(clip)?,
        rate: rate.filter(|rate| rate.is_finite() && *rate > 0.0),
        times: times.map(|times| app.root.existing(times)).transpose()?,
    };
    // A folder may hold very many stills; they are looked through once.
    if !app.looks.has(&view).await {
        let path = view.clip.clone();
        if !app.blocking(move |app| Ok(app.root.holds_all(&path))).await? {
            return Err(PageError::Asked(format!(
                "{clip} holds links that lead out of the served folder"
            )));
        }
    }
    Ok(view)
}

/// What is known of a clip.
///
/// # Errors
/// It is not in the folder, or cannot be read.
pub async fn about(State(app): State<Arc<App>>, Query(asked): Query<Asked>) -> Answer {
    let view = view(&app, &asked.clip, asked.rate, asked.times.as_deref()).await?;
    let (head, _) = app.looks.asked(&view, Ask::Info).await?;
    json(&head["info"])
}

/// A frame: its levels as bytes, and in `x-frame` its number, time and size.
///
/// # Errors
/// There is no such frame, or the clip cannot be read.
pub async fn frame(State(app): State<Arc<App>>, Query(asked): Query<Asked>) -> Answer {
    let view = view(&app, &asked.clip, asked.rate, asked.times.as_deref()).await?;
    let ask = Ask::Frame {
        frame: asked.frame.unwrap_or(0),
    };
    let (head, bytes) = app.looks.asked(&view, ask).await?;
    let mut response = ([(CONTENT_TYPE, "application/octet-stream")], bytes).into_response();
    if let Ok(head) = HeaderValue::from_str(&head.to_string()) {
        response.headers_mut().insert("x-frame", head);
    }
    Ok(response)
}

/// An experiment text and a frame to try it on.
#[derive(Debug, Deserialize)]
pub struct Trial {
    path: String,
    text: String,
    frame: u64,
}

/// Looks for the outline on one frame.
///
/// # Errors
/// The text has faults or names no clip, or the clip cannot be read.
pub async fn tried(State(app): State<Arc<App>>, Json(trial): Json<Trial>) -> Answer {
    let place = app.root.new_file(&trial.path)?;
    let folder = place.parent().unwrap_or(std::path::Path::new("")).to_owned();
    let experiment = form::experiment(&trial.text, &trial.path, &folder)
        .map_err(tremolet_study::error::StudyError::from)?;
    confined(&app, &experiment)?;
    let clip = experiment
        .clip
        .as_ref()
        .map(|clip| experiment.path_of(&clip.path));
    let clip = clip.ok_or_else(|| PageError::Asked("the file names no clip yet".into()))?;
    let named = app
        .root
        .named(&clip)
        .ok_or_else(|| PageError::Absent("clip in the served folder".into()))?;
    let rate = experiment
        .camera
        .as_ref()
        .and_then(|camera| camera.capture_rate.as_ref());
    let times = experiment.clip.as_ref().and_then(|clip| clip.times.as_ref());
    let times = times.and_then(|times| app.root.named(&experiment.path_of(times)));
    let view = view(&app, &named, rate.map(|rate| rate.value()), times.as_deref()).await?;
    let ask = Ask::Try {
        frame: trial.frame,
        text: trial.text,
        folder,
    };
    let (head, _) = app.looks.asked(&view, ask).await?;
    json(&head["tried"])
}
