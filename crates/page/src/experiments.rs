//! Requests about experiment files: read, check, change, write, plan.
//!
//! A file is written whole, and only by whoever has seen what stands in it: the tag of the text that was read comes back with the new one.

use std::path::Path;
use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::http::header::{IF_MATCH, IF_NONE_MATCH};
use serde::Deserialize;
use serde_json::{Value, json as object};
use tremolet_record::experiment::file::Experiment;
use tremolet_record::experiment::form::Change;
use tremolet_record::store::{exists, read_text, sha256_of_file, write_whole};
use tremolet_study::{files, form};

use crate::answer::{Answer, json, tagged};
use crate::app::App;
use crate::error::PageError;
use crate::place::Root;

/// Most bytes of an experiment file.
const LONGEST: usize = 256 << 10;

/// A path in a query.
#[derive(Debug, Deserialize)]
pub struct Named {
    /// The path.
    pub path: String,
}

/// A text that is being written.
#[derive(Debug, Deserialize)]
pub struct Draft {
    /// Where its file lies or will lie.
    pub path: String,
    /// The text.
    pub text: String,
}

/// A new text.
#[derive(Debug, Deserialize)]
pub struct Text {
    text: String,
}

/// Changes to a text.
#[derive(Debug, Deserialize)]
pub struct Altering {
    text: String,
    changes: Vec<Asked>,
}

/// One change as a page asks for it.
#[derive(Debug, Deserialize)]
#[serde(tag = "do", rename_all = "lowercase")]
enum Asked {
    Set {
        key: String,
        value: Value,
    },
    Remove {
        key: String,
    },
    Add {
        table: String,
        values: Vec<(String, Value)>,
    },
    Drop {
        table: String,
        place: usize,
    },
}

impl From<Asked> for Change {
    fn from(asked: Asked) -> Self {
        match asked {
            Asked::Set { key, value } => Change::Set(key, value),
            Asked::Remove { key } => Change::Remove(key),
            Asked::Add { table, values } => Change::Add(table, values),
            Asked::Drop { table, place } => Change::Drop(table, place),
        }
    }
}

/// A file to start from.
#[derive(Debug, Deserialize)]
pub struct Start {
    path: String,
    kind: String,
    #[serde(default)]
    values: Vec<(String, Value)>,
    /// All keys of the kind, with comments; else only what is given.
    #[serde(default)]
    commented: bool,
    /// A run whose experiment is taken over.
    #[serde(default)]
    run: Option<String>,
}

/// Refuses an experiment that names files outside the served folder.
///
/// # Errors
/// It does.
pub fn confined(app: &App, experiment: &Experiment) -> Result<(), PageError> {
    confines(&app.root, experiment)
}

/// As [`confined`], of a folder.
///
/// # Errors
/// It does.
pub fn confines(root: &Root, experiment: &Experiment) -> Result<(), PageError> {
    let outside = |path: &Path| path.exists() && !root.holds_all(path);
    match form::named(experiment).iter().find(|path| outside(path)) {
        None => Ok(()),
        Some(path) => Err(PageError::Asked(format!(
            "{} lies outside the served folder; serve a folder that holds it too",
            path.file_name().unwrap_or_default().to_string_lossy()
        ))),
    }
}

fn is_toml(path: &str) -> Result<(), PageError> {
    if path.ends_with(".toml") {
        Ok(())
    } else {
        Err(PageError::Asked(
            "an experiment file has a name that ends in .toml".into(),
        ))
    }
}

/// The clip of an experiment as the page asks for its frames: path, rate, times.
pub fn clip(app: &App, experiment: &Experiment) -> Value {
    let Some(clip) = &experiment.clip else {
        return Value::Null;
    };
    let rate = experiment
        .camera
        .as_ref()
        .and_then(|camera| camera.capture_rate.as_ref());
    let times = clip
        .times
        .as_ref()
        .map(|times| app.root.named(&experiment.path_of(times)));
    object!({
        "path": app.root.named(&experiment.path_of(&clip.path)), "rate": rate.map(|rate| rate.value()), "times": times,
        "written": clip.path, "first": clip.frames.as_ref().map_or(0, |frames| frames.start),
    })
}

/// An experiment file with its tag.
///
/// # Errors
/// It is not there.
pub async fn read(State(app): State<Arc<App>>, Query(named): Query<Named>) -> Answer {
    is_toml(&named.path)?;
    let (body, tag) = app
        .blocking(move |app| {
            let path = app.root.existing(&named.path)?;
            let text = read_text(&path)?;
            Ok((
                object!({ "path": named.path, "text": text }),
                sha256_of_file(&path)?,
            ))
        })
        .await?;
    tagged(&body, &tag)
}

/// Writes an experiment file: `If-Match` with the tag of what was read, or `If-None-Match: *` for a new one.
///
/// # Errors
/// It was changed since, is there already, belongs to a run, or is too long.
pub async fn write(
    State(app): State<Arc<App>>,
    Query(named): Query<Named>,
    headers: HeaderMap,
    Json(text): Json<Text>,
) -> Answer {
    let text_of = |name| {
        headers
            .get(name)
            .and_then(|value| value.to_str().ok())
            .map(str::to_owned)
    };
    let (known, fresh) = (text_of(IF_MATCH), text_of(IF_NONE_MATCH));
    let _turn = app.writing.lock().await;
    let tag = app
        .blocking(move |app| written(app, &named.path, &text.text, known.as_deref(), fresh.as_deref()))
        .await?;
    tagged(&object!({ "written": true }), &tag)
}

fn written(
    app: &App,
    named: &str,
    text: &str,
    known: Option<&str>,
    fresh: Option<&str>,
) -> Result<String, PageError> {
    is_toml(named)?;
    let path = app.root.new_file(named)?;
    if text.len() > LONGEST {
        return Err(PageError::TooLarge {
            what: "the experiment file",
            most: LONGEST as u64,
        });
    }
    if path.with_file_name("findings.json").exists() {
        let why = "this file belongs to a run and is never changed; take it over into a new one";
        return Err(PageError::Asked(why.into()));
    }
    match (exists(&path), known, fresh) {
        (false, None, Some("*")) => {}
        (true, Some(tag), _) if tag.trim_matches('"') == sha256_of_file(&path)? => {}
        (false, Some(_), _) | (true, Some(_), _) => return Err(PageError::Changed { path: named.into() }),
        (true, None, Some(_)) => return Err(PageError::There { path: named.into() }),
        (_, None, _) => {
            return Err(PageError::Asked(
                "say which text you have read: If-Match or If-None-Match".into(),
            ));
        }
    }
    write_whole(&path, text.as_bytes())?;
    Ok(sha256_of_file(&path)?)
}

/// Begins an experiment file: from what a person knows, or from that of a run.
///
/// # Errors
/// The name is taken, the kind is not known, or the run cannot be read.
pub async fn start(State(app): State<Arc<App>>, Json(start): Json<Start>) -> Answer {
    let _turn = app.writing.lock().await;
    let path = start.path.clone();
    let tag = app
        .blocking(move |app| {
            let place = app.root.new_file(&start.path)?;
            let text = match &start.run {
                None if start.commented => form::commented(&start.kind)?,
                None => form::begun(&start.kind, &start.values)?,
                Some(run) => {
                    let old = Experiment::read(&app.root.existing(run)?.join("experiment.toml"))
                        .map_err(tremolet_study::error::StudyError::from)?;
                    let clip = old
                        .clip
                        .as_ref()
                        .map(|clip| old.path_of(&clip.path))
                        .unwrap_or_default();
                    old.text_seen_from(place.parent().unwrap_or(Path::new("")), &clip)
                }
            };
            written(app, &start.path, &text, None, Some("*"))
        })
        .await?;
    tagged(&object!({ "path": path }), &tag)
}

/// What can be said of a draft: fields, faults, what follows; and where its clip is.
///
/// # Errors
/// The place of the draft is not in the folder, or its clip kills the child that looks at it.
pub async fn check(State(app): State<Arc<App>>, Json(draft): Json<Draft>) -> Answer {
    let place = app.root.new_file(&draft.path)?;
    let folder = place.parent().unwrap_or(Path::new("")).to_owned();
    let name = place
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let (text, file) = (draft.text.clone(), name.clone());
    let inside = folder.clone();
    let clip = app
        .blocking(move |app| match form::experiment(&text, &file, &inside) {
            Err(_) => Ok(Value::Null),
            Ok(experiment) => {
                confined(app, &experiment)?;
                Ok(clip(app, &experiment))
            }
        })
        .await?;
    let mut read = app.looks.checked(&draft.text, &name, &folder).await?;
    read["clip"] = clip;
    json(&read)
}

/// A text after changes.
///
/// # Errors
/// The text is no TOML, or a change has no place in it.
pub async fn alter(State(app): State<Arc<App>>, Json(altering): Json<Altering>) -> Answer {
    let text = app
        .blocking(move |_| {
            let changes: Vec<Change> = altering.changes.into_iter().map(Change::from).collect();
            Ok(form::altered(&altering.text, &changes)?)
        })
        .await?;
    json(&object!({ "text": text }))
}

/// The plan sheet of a draft.
///
/// # Errors
/// Everything that is wrong in it.
pub async fn plan(State(app): State<Arc<App>>, Json(draft): Json<Draft>) -> Answer {
    let sheet = app
        .blocking(move |_| Ok(form::sheet(&draft.text, &draft.path)?))
        .await?;
    json(&sheet)
}

/// Names of the liquids that are known.
///
/// # Errors
/// None; the form is that of a handler.
pub async fn liquids() -> Answer {
    json(&tremolet_study::liquids::named())
}

/// A volume as text.
#[derive(Debug, Deserialize)]
pub struct Volume {
    volume: String,
}

/// The diameter of a sphere of a volume, with its uncertainty.
///
/// # Errors
/// The text is no volume.
pub async fn diameter(Query(asked): Query<Volume>) -> Answer {
    json(&object!({ "diameter": form::diameter_of_volume(&asked.volume)? }))
}

/// Remakes the report of a run.
///
/// # Errors
/// It is no run, or the disk refuses.
pub async fn remake(State(app): State<Arc<App>>, Query(named): Query<Named>) -> Answer {
    let _turn = app.writing.lock().await;
    app.blocking(move |app| {
        let run = app.root.existing(&named.path)?;
        Ok(tremolet_study::recorded::remake(&run)?)
    })
    .await?;
    json(&object!({ "remade": true }))
}

/// The name under which a clip is begun: its experiment file beside it.
///
/// # Errors
/// The clip is not in the folder.
pub async fn suggestion(State(app): State<Arc<App>>, Query(named): Query<Named>) -> Answer {
    let clip = app.root.existing(&named.path)?;
    let stem = clip
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let folder = clip.parent().unwrap_or(Path::new("")).to_owned();
    let name = |number: usize| match number {
        1 => format!("{stem}.toml"),
        number => format!("{stem}-{number}.toml"),
    };
    let free = (1..)
        .map(name)
        .find(|name| !exists(&folder.join(name)))
        .unwrap_or_default();
    let within = app.root.named(&folder).unwrap_or_default();
    let path = if within.is_empty() {
        free
    } else {
        format!("{within}/{free}")
    };
    let written = clip
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let timed = files::has_times(&clip);
    json(&object!({ "path": path, "clip": written, "timed": timed }))
}
