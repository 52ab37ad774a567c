//! One folder as the catalogue lists it: a whole run with what it was of, or why it is none.

use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::experiment::file::Experiment;
use crate::findings::Findings;
use crate::provenance::Provenance;
use crate::store;

/// What became of a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// A run that can be read.
    Whole,
    /// A run that cannot be read; the reason says why.
    Broken,
    /// Left by a measurement that was interrupted, or still goes on.
    Unfinished,
    /// Moved aside when it was measured again.
    Replaced,
}

const STATES: &[(State, &str)] = &[
    (State::Whole, "whole"),
    (State::Broken, "broken"),
    (State::Unfinished, "unfinished"),
    (State::Replaced, "replaced"),
];

impl State {
    /// The word for it.
    pub fn name(self) -> &'static str {
        STATES
            .iter()
            .find(|(state, _)| *state == self)
            .map_or("", |(_, name)| name)
    }

    /// The state that a word stands for; broken for a word that is none.
    pub fn of_name(name: &str) -> Self {
        STATES
            .iter()
            .find(|(_, known)| *known == name)
            .map_or(Self::Broken, |(state, _)| *state)
    }
}

/// A quantity that a run found, as the catalogue keeps it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// Lower_snake name.
    pub quantity: String,
    /// Which body, from 1.
    pub body: u32,
    /// The value, in `unit`.
    pub value: f64,
    /// SI unit.
    pub unit: String,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

/// A folder in the catalogue.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Row {
    /// Path below the catalogue's folder, with `/` between parts.
    pub folder: String,
    /// What became of it.
    pub state: State,
    /// Why it is not whole, empty where it is.
    pub reason: String,
    /// Title.
    pub title: Option<String>,
    /// What was done to the liquid.
    pub kind: Option<String>,
    /// Name of the liquid.
    pub liquid: Option<String>,
    /// Mass fraction of the solute.
    pub mass_fraction: Option<f64>,
    /// Temperature of the liquid, K.
    pub temperature: Option<f64>,
    /// Calibration that it shares.
    pub calibration: Option<String>,
    /// Batch of liquid that it shares.
    pub batch: Option<String>,
    /// Frames that were looked at.
    pub frames: Option<u64>,
    /// When it was measured, UTC.
    pub measured: Option<String>,
    /// Version of the program that did.
    pub version: Option<String>,
    /// SHA-256 of the clip.
    pub clip: Option<String>,
    /// Codes of its cautions.
    pub cautions: Vec<String>,
    /// What was found.
    pub found: Vec<Found>,
}

impl Row {
    /// A folder that is no whole run.
    pub fn not_whole(folder: String, state: State, reason: String) -> Self {
        Self {
            folder,
            state,
            reason,
            title: None,
            kind: None,
            liquid: None,
            mass_fraction: None,
            temperature: None,
            calibration: None,
            batch: None,
            frames: None,
            measured: None,
            version: None,
            clip: None,
            cautions: Vec::new(),
            found: Vec::new(),
        }
    }

    /// Reads the run in `path`, called `folder`; one that cannot be read is broken.
    pub fn read(path: &Path, folder: String) -> Self {
        match Self::whole(path, &folder) {
            Ok(row) => row,
            Err(reason) => Self::not_whole(folder, State::Broken, reason),
        }
    }

    fn whole(path: &Path, folder: &str) -> Result<Self, String> {
        let text =
            store::read_text(&path.join("findings.json")).map_err(|why| format!("findings.json: {why}"))?;
        let findings = Findings::from_json(&text).map_err(|why| format!("findings.json: {why}"))?;
        let experiment =
            Experiment::read(&path.join("experiment.toml")).map_err(|faults| faults.to_string())?;
        // Runs may lack it; one that is there but cannot be read is a sign of damage.
        let provenance = match store::read_text(&path.join("provenance.json")) {
            Ok(text) => Some(Provenance::from_json(&text).map_err(|why| format!("provenance.json: {why}"))?),
            Err(_) => None,
        };
        let liquid = experiment.liquid.as_ref();
        let clip = provenance
            .as_ref()
            .and_then(|p| p.inputs.iter().find(|input| input.role == "clip"));
        let clip = clip.map(|input| input.sha256.clone());
        let found = findings.estimates.iter().map(|e| Found {
            quantity: e.quantity.clone(),
            body: e.body,
            value: e.value,
            unit: e.unit.clone(),
            standard_uncertainty: e.standard_uncertainty,
        });
        Ok(Self {
            state: State::Whole,
            title: experiment.title.clone(),
            kind: Some(experiment.kind.name().to_owned()),
            liquid: liquid.map(|l| l.name.clone().unwrap_or_else(|| "own".to_owned())),
            mass_fraction: liquid.and_then(|l| l.mass_fraction.as_ref()).map(|w| w.value()),
            temperature: liquid.and_then(|l| l.temperature.as_ref()).map(|t| t.value()),
            calibration: experiment.camera.as_ref().and_then(|c| c.calibration.clone()),
            batch: liquid.and_then(|l| l.batch.clone()),
            frames: Some(findings.clip.frames),
            measured: provenance.as_ref().map(|p| p.started.clone()),
            version: provenance.as_ref().map(|p| p.program.version.clone()),
            clip: clip.or(findings.clip.sha256.clone()),
            cautions: findings.cautions.iter().map(|c| c.code.clone()).collect(),
            found: found.collect(),
            ..Self::not_whole(folder.to_owned(), State::Whole, String::new())
        })
    }
}
