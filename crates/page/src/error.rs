//! Why a request was not answered, with the status that says whose fault it is.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};
use tremolet_record::store::StoreError;
use tremolet_study::error::StudyError;

/// Why the server could not begin, or a request was refused.
#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// The address is taken, or the folder is not there.
    #[error("cannot serve {what}: {cause}")]
    Begin {
        /// The folder or address.
        what: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// A path that leaves the folder, is hidden, or is not there.
    #[error("{path}: {why}")]
    Place {
        /// The path as it was asked for.
        path: String,
        /// Why it is refused.
        why: &'static str,
    },
    /// The file was changed by somebody else since it was read.
    #[error("{path} was changed since it was read; read it again and bring your changes into it")]
    Changed {
        /// The file.
        path: String,
    },
    /// Something is there already.
    #[error("{path} is there already; choose another name")]
    There {
        /// The file.
        path: String,
    },
    /// More than is taken.
    #[error("{what} is larger than {most} bytes")]
    TooLarge {
        /// What.
        what: &'static str,
        /// What is taken.
        most: u64,
    },
    /// Something asked for that cannot be.
    #[error("{0}")]
    Asked(String),
    /// There is no such thing.
    #[error("there is no {0}")]
    Absent(String),
    /// The child that decodes or measures died or did not answer in time.
    #[error("the clip could not be read: {0}")]
    Child(String),
    /// The study refused.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// The disk refused.
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl PageError {
    /// The status of the answer.
    pub fn status(&self) -> StatusCode {
        match self {
            Self::Place { .. } | Self::Absent(_) => StatusCode::NOT_FOUND,
            Self::Changed { .. } => StatusCode::PRECONDITION_FAILED,
            Self::There { .. } => StatusCode::CONFLICT,
            Self::TooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            Self::Asked(_) => StatusCode::BAD_REQUEST,
            Self::Child(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Study(why) if why.is_bad_input() => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Store(why) if !why.is_failure() => StatusCode::NOT_FOUND,
            Self::Begin { .. } | Self::Study(_) | Self::Store(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn body(&self) -> Value {
        match self {
            // Faults have a place in the file, which the page shows.
            Self::Study(StudyError::Experiment(faults)) => {
                json!({ "error": self.to_string(), "faults": faults.faults })
            }
            _ => json!({ "error": self.to_string() }),
        }
    }
}

impl IntoResponse for PageError {
    fn into_response(self) -> Response {
        (self.status(), Json(self.body())).into_response()
    }
}
