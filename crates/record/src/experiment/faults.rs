//! What is wrong in an experiment file: one fault, and all of them together.
//!
//! A fault says what was found, where, and what is due. Together they print one below the other, so that a file is
//! mended in one go. It does not know what a file should hold.

use serde::Serialize;
use std::fmt;

/// One thing that is wrong in a file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fault {
    /// Name of the file.
    pub file: String,
    /// Line, from 1; 0 when the fault is something absent or concerns the file as a whole.
    pub line: usize,
    /// Column in characters, from 1; 0 when `line` is.
    pub column: usize,
    /// Key with its table, e.g. `camera.scale`.
    pub key: String,
    /// What stands there.
    pub found: String,
    /// What is due, with an example.
    pub expected: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            file,
            key,
            found,
            expected,
            ..
        } = self;
        if self.line == 0 {
            write!(f, "{file}: {key}\n  found {found}\n  expected {expected}")
        } else {
            let (line, column) = (self.line, self.column);
            write!(
                f,
                "{file}:{line}:{column}: {key}\n  found {found}\n  expected {expected}"
            )
        }
    }
}

/// Everything that is wrong in a file, by line and column; never empty where it is returned as an error.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Faults {
    /// The faults.
    pub faults: Vec<Fault>,
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.faults.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

#[cfg(test)]
mod tests {
    use super::{Fault, Faults};

    #[test]
    fn each_fault_has_its_place_and_its_lines() {
        let fault = |line| Fault {
            file: "run.toml".into(),
            line,
            column: line,
            key: "body.mass".into(),
            found: "nothing".into(),
            expected: "a mass".into(),
        };
        let faults = Faults {
            faults: vec![fault(3), fault(0)],
        };
        assert_eq!(
            faults.to_string(),
            "run.toml:3:3: body.mass\n  found nothing\n  expected a mass\n\
             run.toml: body.mass\n  found nothing\n  expected a mass"
        );
    }
}
