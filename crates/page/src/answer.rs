//! Answers in the forms that requests share.

use axum::Json;
use axum::http::HeaderValue;
use axum::http::header::ETAG;
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use crate::error::PageError;

/// What a handler gives.
pub type Answer = Result<Response, PageError>;

/// A value as JSON.
///
/// # Errors
/// None; the form is that of a handler.
pub fn json(value: &impl Serialize) -> Answer {
    Ok(Json(value).into_response())
}

/// A value as JSON with the tag of the file that it was read from.
///
/// # Errors
/// None; the form is that of a handler.
pub fn tagged(value: &impl Serialize, tag: &str) -> Answer {
    let mut response = Json(value).into_response();
    if let Ok(tag) = HeaderValue::from_str(&format!("\"{tag}\"")) {
        response.headers_mut().insert(ETAG, tag);
    }
    Ok(response)
}
