//! Files of the served folder as they are: report, films, figures, tables; whole or a range of bytes, because a browser seeks that way.
//!
//! Source: \[RFC9110\] section 14 (ranges). One range at a time; several are answered with the whole file, as the source allows.

use std::io::SeekFrom;
use std::path::Path as FilePath;
use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::{Path, State};
use axum::http::header::{
    ACCEPT_RANGES, CONTENT_LENGTH, CONTENT_RANGE, CONTENT_SECURITY_POLICY, CONTENT_TYPE, RANGE,
};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::Response;
use futures_util::stream::unfold;
use tokio::fs::File;
use tokio::io::{AsyncReadExt, AsyncSeekExt};

use crate::answer::Answer;
use crate::app::App;
use crate::error::PageError;
use crate::guard::FILE_POLICY;

/// Bytes that are read at once.
const PIECE: u64 = 1 << 17;

/// Kinds of files by the ending of their names; what is not known is handed out as bytes.
const KINDS: &[(&str, &str)] = &[
    ("html", "text/html; charset=utf-8"),
    ("svg", "image/svg+xml"),
    ("png", "image/png"),
    ("jpg", "image/jpeg"),
    ("mp4", "video/mp4"),
    ("csv", "text/csv; charset=utf-8"),
    ("json", "application/json"),
    ("zip", "application/zip"),
    ("toml", "text/plain; charset=utf-8"),
    ("parquet", "application/vnd.apache.parquet"),
];

fn kind(path: &FilePath) -> &'static str {
    let ending = path
        .extension()
        .unwrap_or_default()
        .to_string_lossy()
        .to_ascii_lowercase();
    let known = KINDS.iter().find(|(known, _)| *known == ending);
    known.map_or("application/octet-stream", |(_, kind)| kind)
}

/// The first and last byte that are asked for; `None` for the whole file.
///
/// # Errors
/// A range that the file does not have.
fn range(headers: &HeaderMap, size: u64) -> Result<Option<(u64, u64)>, ()> {
    let asked = headers.get(RANGE).and_then(|value| value.to_str().ok());
    let Some(spec) = asked.and_then(|text| text.strip_prefix("bytes=")) else {
        return Ok(None);
    };
    let Some((from, to)) = spec.split_once('-').filter(|_| !spec.contains(',')) else {
        return Ok(None);
    };
    let number = |text: &str| text.trim().parse::<u64>();
    let ends = match (number(from), number(to)) {
        (Ok(from), Ok(to)) => (from, to.min(size.saturating_sub(1))),
        (Ok(from), Err(_)) if to.trim().is_empty() => (from, size.saturating_sub(1)),
        (Err(_), Ok(last)) if from.trim().is_empty() && last > 0 => {
            (size.saturating_sub(last), size.saturating_sub(1))
        }
        _ => return Ok(None),
    };
    if ends.0 > ends.1 || ends.0 >= size {
        return Err(());
    }
    Ok(Some(ends))
}

/// A file of the folder.
///
/// # Errors
/// There is none of that name in the folder.
pub async fn file(State(app): State<Arc<App>>, Path(asked): Path<String>, headers: HeaderMap) -> Answer {
    let path = app.root.existing(&asked)?;
    let absent = |_| PageError::Absent(format!("file {asked}"));
    let mut file = File::open(&path).await.map_err(absent)?;
    let about = file.metadata().await.map_err(absent)?;
    if !about.is_file() {
        return Err(PageError::Absent(format!("file {asked}")));
    }
    let size = about.len();
    let Ok(range) = range(&headers, size) else {
        let mut response = Response::new(Body::empty());
        *response.status_mut() = StatusCode::RANGE_NOT_SATISFIABLE;
        set(&mut response, CONTENT_RANGE, &format!("bytes */{size}"));
        return Ok(response);
    };
    let (first, last) = range.unwrap_or((0, size.saturating_sub(1)));
    file.seek(SeekFrom::Start(first)).await.map_err(absent)?;
    let length = if size == 0 { 0 } else { last - first + 1 };
    let mut response = Response::new(streamed(file, length));
    if range.is_some() {
        *response.status_mut() = StatusCode::PARTIAL_CONTENT;
        set(
            &mut response,
            CONTENT_RANGE,
            &format!("bytes {first}-{last}/{size}"),
        );
    }
    set(&mut response, CONTENT_TYPE, kind(&path));
    set(&mut response, CONTENT_LENGTH, &length.to_string());
    set(&mut response, ACCEPT_RANGES, "bytes");
    set(&mut response, CONTENT_SECURITY_POLICY, FILE_POLICY);
    Ok(response)
}

fn set(response: &mut Response, name: axum::http::HeaderName, value: &str) {
    if let Ok(value) = HeaderValue::from_str(value) {
        response.headers_mut().insert(name, value);
    }
}

/// So many bytes of a file, read as they are wanted.
fn streamed(file: File, length: u64) -> Body {
    Body::from_stream(unfold((file, length), |(mut file, left)| async move {
        if left == 0 {
            return None;
        }
        let mut piece = vec![0; usize::try_from(left.min(PIECE)).unwrap_or(0)];
        match file.read(&mut piece).await {
            Ok(0) => None,
            Ok(read) => {
                piece.truncate(read);
                Some((Ok(Bytes::from(piece)), (file, left - read as u64)))
            }
            Err(why) => Some((Err(why), (file, 0))),
        }
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_as_the_standard_has_them() {
        let of = |text: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(RANGE, HeaderValue::from_str(text).unwrap());
            range(&headers, 1000)
        };
        // RFC 9110, 14.1.2: the examples there, with a length of 1000.
        assert_eq!(of("bytes=0-499"), Ok(Some((0, 499))));
        assert_eq!(of("bytes=500-999"), Ok(Some((500, 999))));
        assert_eq!(of("bytes=-500"), Ok(Some((500, 999))));
        assert_eq!(of("bytes=950-"), Ok(Some((950, 999))));
        assert_eq!(of("bytes=0-99999"), Ok(Some((0, 999))));
        assert_eq!(of("bytes=1000-"), Err(()));
        assert_eq!(of("bytes=0-0,-1"), Ok(None));
        assert_eq!(of("lines=1-2"), Ok(None));
        assert_eq!(range(&HeaderMap::new(), 1000), Ok(None));
    }
}
