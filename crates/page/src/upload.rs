//! A clip dropped on the page: its bytes become a file of the served folder, whole or not at all.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::http::header::CONTENT_LENGTH;
use futures_util::StreamExt;
use serde::Deserialize;
use serde_json::json as object;
use tremolet_record::store::{WholeFile, exists};

use crate::answer::{Answer, json};
use crate::app::App;
use crate::error::PageError;

/// Most bytes of a clip that is dropped; a larger one is copied into the folder by hand.
pub const MOST: u64 = 16 << 30;

/// Where the clip goes.
#[derive(Debug, Deserialize)]
pub struct Target {
    path: String,
}

fn too_large() -> PageError {
    PageError::TooLarge {
        what: "the clip",
        most: MOST,
    }
}

/// Takes the bytes of a clip.
///
/// # Errors
/// The name is taken or leaves the folder, the clip is too large, the disk is full, or the page is closed on the way: then nothing is
/// kept.
pub async fn clip(
    State(app): State<Arc<App>>,
    Query(target): Query<Target>,
    headers: HeaderMap,
    body: Body,
) -> Answer {
    let stated = headers.get(CONTENT_LENGTH).and_then(|value| value.to_str().ok());
    if stated
        .and_then(|text| text.parse::<u64>().ok())
        .is_some_and(|size| size > MOST)
    {
        return Err(too_large());
    }
    let place = app.root.new_file(&target.path)?;
    if exists(&place) {
        return Err(PageError::There { path: target.path });
    }
    let mut file = WholeFile::create(&place)?;
    let mut pieces = body.into_data_stream();
    let mut size = 0;
    while let Some(piece) = pieces.next().await {
        let piece = piece.map_err(|_| PageError::Asked("the clip broke off".into()))?;
        size += piece.len() as u64;
        if size > MOST {
            return Err(too_large());
        }
        // Buffered, and short of a flush: the thread waits no longer than for a piece of a page.
        file.add(&piece)?;
    }
    if size == 0 {
        return Err(PageError::Asked("the clip is empty".into()));
    }
    let _turn = app.writing.lock().await;
    if exists(&place) {
        return Err(PageError::There { path: target.path });
    }
    file.finish()?;
    json(&object!({ "path": target.path, "bytes": size }))
}
