//! One run as a comparison reads it: experiment, findings, liquid, and a name that no other run has.

use std::path::{Path, PathBuf};

use tremolet_infer::among::identity::{self, Owner};
use tremolet_infer::known::{Materials, materials};
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::comparison::RunRow;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::{Estimate, Findings, Quantity};
use tremolet_record::provenance::Provenance;

use crate::error::StudyError;
use crate::recorded;

/// A run that was read.
pub struct Run {
    /// Short name.
    pub name: String,
    /// Its folder.
    pub folder: PathBuf,
    /// The experiment as used.
    pub experiment: Experiment,
    /// What was found.
    pub findings: Findings,
    /// Where it comes from; absent where that file is.
    pub provenance: Option<Provenance>,
    /// Liquid and gas, where the liquid is known.
    pub materials: Option<Materials>,
}

/// Reads the runs in these folders.
///
/// # Errors
/// A folder without findings or experiment, or with a damaged file.
pub fn read(folders: &[PathBuf]) -> Result<Vec<Run>, StudyError> {
    let names = names(folders);
    folders
        .iter()
        .zip(names)
        .map(|(folder, name)| one(folder, name))
        .collect()
}

fn one(folder: &Path, name: String) -> Result<Run, StudyError> {
    let named = |why: StudyError| match why {
        StudyError::Run { file, why } => StudyError::Run {
            file: format!("{}", folder.join(file).display()),
            why,
        },
        other => other,
    };
    let findings = recorded::findings(folder).map_err(named)?;
    let experiment = Experiment::read(&folder.join("experiment.toml"))?;
    let materials = experiment
        .liquid
        .as_ref()
        .and_then(|_| materials(&experiment).ok());
    Ok(Run {
        name,
        folder: folder.to_owned(),
        provenance: recorded::provenance(folder).ok(),
        experiment,
        findings,
        materials,
    })
}

/// As many of the last parts of each path as tell it from the others.
fn names(folders: &[PathBuf]) -> Vec<String> {
    let parts = |folder: &PathBuf| -> Vec<String> {
        let whole = folder.canonicalize().unwrap_or_else(|_| folder.clone());
        let names = whole.components().filter_map(|part| match part {
            std::path::Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
            _ => None,
        });
        names.collect()
    };
    let all: Vec<Vec<String>> = folders.iter().map(parts).collect();
    let last = |parts: &[String], count: usize| parts[parts.len().saturating_sub(count)..].join("/");
    let one = |i: usize| {
        let alone = |count: &usize| {
            let others = all.iter().enumerate().filter(|(k, _)| *k != i);
            others
                .into_iter()
                .all(|(_, other)| last(other, *count) != last(&all[i], *count))
        };
        let count = (1..=all[i].len()).find(alone).unwrap_or(all[i].len());
        last(&all[i], count)
    };
    (0..all.len()).map(one).collect()
}

impl Run {
    /// The run in the table of runs.
    pub fn row(&self) -> RunRow {
        let camera = self.experiment.camera.as_ref();
        let liquid = self.experiment.liquid.as_ref();
        let radius = self
            .findings
            .estimates
            .iter()
            .find(|e| e.quantity == "equivalent_radius");
        RunRow {
            name: self.name.clone(),
            folder: self.folder.display().to_string(),
            title: self.experiment.title.clone().unwrap_or_default(),
            kind: self.experiment.kind.name().into(),
            liquid: self.materials.as_ref().map(|m| m.liquid.name.clone()),
            temperature: liquid.and_then(|l| l.temperature.as_ref()).map(Uncertain::value),
            calibration: camera.and_then(|c| c.calibration.clone()),
            batch: liquid.and_then(|l| l.batch.clone()),
            frames: self.findings.clip.frames,
            measured: self.provenance.as_ref().map(|p| p.started.clone()),
            cautions: self.findings.cautions.len(),
            radius: radius.map(|e| Quantity {
                value: e.value,
                unit: e.unit.clone(),
                standard_uncertainty: Some(e.standard_uncertainty),
            }),
        }
    }

    /// Whose the inputs of a body are.
    pub fn owner(&self, body: u32) -> Owner<'_> {
        Owner {
            run: &self.name,
            body,
            calibration: self
                .experiment
                .camera
                .as_ref()
                .and_then(|c| c.calibration.as_deref()),
        }
    }

    /// An estimate with its inputs, as the budget of the findings lists them, each under the key that it has among runs.
    pub fn uncertain(&self, estimate: &Estimate) -> Uncertain {
        let owner = self.owner(estimate.body);
        let fitted = estimate
            .budget
            .iter()
            .filter(|line| identity::of_body(&line.input));
        let squares: f64 = fitted.map(|line| line.share * line.share).sum();
        let line = |sum: Uncertain, line: &tremolet_record::findings::BudgetLine| {
            // Only what was fitted rests on few values; its degrees of freedom follow from those of the whole.
            let freedom = match estimate.degrees_of_freedom {
                Some(whole) if identity::of_body(&line.input) => whole * squares,
                _ => f64::INFINITY,
            };
            let part = line.sensitivity * line.standard_uncertainty;
            sum.with_input(
                part,
                input(
                    &identity::key(&line.input, owner),
                    &line.unit,
                    line.standard_uncertainty,
                    freedom,
                ),
            )
        };
        estimate
            .budget
            .iter()
            .fold(Uncertain::exact(estimate.value), line)
    }

    /// A value of this run's materials under the keys that its inputs have among runs.
    pub fn among(&self, value: &Uncertain) -> Uncertain {
        let owner = self.owner(0);
        value
            .parts()
            .iter()
            .fold(Uncertain::exact(value.value()), |sum, part| {
                let mut input = part.input.as_ref().clone();
                input.key = identity::key(&input.key, owner);
                sum.with_input(part.contribution, input)
            })
    }

    /// SHA-256 of what was measured, a file or a folder of stills.
    pub fn clip(&self) -> Option<&str> {
        let recorded = self
            .provenance
            .as_ref()
            .and_then(|p| p.inputs.iter().find(|input| input.role == "clip"));
        recorded
            .map(|input| input.sha256.as_str())
            .or(self.findings.clip.sha256.as_deref())
    }
}

fn input(key: &str, unit: &str, standard_uncertainty: f64, degrees_of_freedom: f64) -> Input {
    Input {
        key: key.into(),
        unit: unit.into(),
        standard_uncertainty,
        degrees_of_freedom,
        source: "findings.json".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_as_short_as_tells_them_apart() {
        let folders: Vec<PathBuf> = ["/a/one/run", "/a/two/run", "/a/three"]
            .map(PathBuf::from)
            .to_vec();
        assert_eq!(names(&folders), ["one/run", "two/run", "three"]);
    }
}
