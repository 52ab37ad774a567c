//! The other side: what a child process of the server does. One line of JSON for each request on its input, one line and bytes on its
//! output.
//!
//! ```text
//! {"do":"frame","frame":7}                       {"frame":7,"time":0.029,"width":384,"height":384,"bits":8,"bytes":147456} + bytes
//! {"do":"try","frame":7,"text":..,"folder":..}   {"tried":{..}}
//! {"do":"info"}                                  {"info":{..}}
//! any                                            {"error":".."}
//! ```
//!
//! A child whose input ends stops: it never outlives the server for long.

use std::io::{BufRead, Read, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use tremolet_study::error::StudyError;
use tremolet_study::looker::Looker;
use tremolet_study::{form, levels, trial};

use crate::limits::LOOKING;

/// What a child that looks is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "do", rename_all = "lowercase")]
pub enum Ask {
    /// What is known of the clip.
    Info,
    /// A frame by number.
    Frame {
        /// The number.
        frame: u64,
    },
    /// The outline on a frame.
    Try {
        /// The number.
        frame: u64,
        /// The experiment text.
        text: String,
        /// Folder of the experiment.
        folder: PathBuf,
    },
}

/// Looks at a clip until its input ends.
///
/// # Errors
/// When its output is gone.
pub fn look(clip: &Path, rate: Option<f64>, times: Option<&Path>) -> std::io::Result<()> {
    LOOKING.set();
    let looker = Looker::open(clip, rate, times);
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let (head, bytes) = match (&looker, serde_json::from_str(&line?)) {
            (Ok(looker), Ok(ask)) => answered(looker, clip, &ask),
            (Err(why), _) => (json!({ "error": why.to_string() }), Vec::new()),
            (_, Err(why)) => (json!({ "error": why.to_string() }), Vec::new()),
        };
        writeln!(out, "{head}")?;
        out.write_all(&bytes)?;
        out.flush()?;
        if looker.as_ref().is_ok_and(Looker::is_lost) {
            // Another child will do better.
            return Ok(());
        }
    }
    Ok(())
}

fn answered(looker: &Looker, clip: &Path, ask: &Ask) -> (Value, Vec<u8>) {
    match answer(looker, clip, ask) {
        Ok(answer) => answer,
        Err(why) => (json!({ "error": why.to_string() }), Vec::new()),
    }
}

fn answer(looker: &Looker, clip: &Path, ask: &Ask) -> Result<(Value, Vec<u8>), StudyError> {
    Ok(match ask {
        Ask::Info => (json!({ "info": levels::info(&looker.info()) }), Vec::new()),
        Ask::Frame { frame } => match looker.frame(*frame)? {
            None => (
                json!({ "error": "past the end of the clip", "end": looker.info().frame_count }),
                Vec::new(),
            ),
            Some(seen) => {
                let bytes = levels::bytes(&seen.frame);
                let plane = &seen.frame.plane;
                let head = json!({
                    "frame": seen.frame.index, "time": seen.time, "width": plane.width, "height": plane.height,
                    "bits": plane.bits(), "bytes": bytes.len(),
                });
                (head, bytes)
            }
        },
        Ask::Try { frame, text, folder } => {
            let experiment = form::experiment(text, "experiment", folder)?;
            let Some(seen) = looker.frame(*frame)? else {
                return Ok((json!({ "error": "past the end of the clip" }), Vec::new()));
            };
            let tried = looker.quietly(|| trial::tried(&experiment, clip, &seen.frame))?;
            (json!({ "tried": tried }), Vec::new())
        }
    })
}

/// A text to be read and thought through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Draft {
    /// The text.
    pub text: String,
    /// Its name in messages.
    pub file: String,
    /// Its folder.
    pub folder: PathBuf,
}

/// Reads one draft from its input and says what can be said of it.
///
/// # Errors
/// When the input cannot be read or the output is gone.
pub fn check() -> std::io::Result<()> {
    LOOKING.set();
    let mut text = String::new();
    std::io::stdin().lock().read_to_string(&mut text)?;
    let draft: Draft = serde_json::from_str(&text).map_err(std::io::Error::other)?;
    let read = form::read(&draft.text, &draft.file, &draft.folder);
    writeln!(std::io::stdout(), "{}", json!(read))
}
