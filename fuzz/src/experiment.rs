//! An experiment file: read or refused with faults that point into the text; what is read can be asked for.

use tremolet_record::experiment::file::Experiment;

/// Reads `text` as an experiment file.
pub fn read(text: &str) {
    match Experiment::parse(text, "fuzzed.toml") {
        Ok(experiment) => {
            let _ = experiment.needed_to_measure();
        }
        Err(faults) => assert!(!faults.to_string().is_empty()),
    }
}
