//! A commented experiment file to start from.
//!
//! The text reads without a fault as it stands; its values are invented and are to be replaced.

use crate::experiment::file::Kind;

const TEMPLATE: &str = include_str!("template.toml");
const RELEASE: &str = include_str!("template_release.toml");
const PUFF: &str = include_str!("template_puff.toml");
const COLUMN: &str = include_str!("template_column.toml");
const SHELL: &str = include_str!("template_shell.toml");
const FIZZ: &str = include_str!("template_fizz.toml");

/// A file of `kind` to start from.
pub fn template(kind: Kind) -> String {
    let name = kind.name();
    let first = TEMPLATE.replace("KIND", name);
    let of_kind = match kind {
        Kind::Release => RELEASE,
        Kind::Puff => PUFF,
        Kind::Column => COLUMN,
        Kind::Shell => SHELL,
        Kind::Fizz => FIZZ,
    };
    format!("{first}\n{of_kind}")
}

#[cfg(test)]
mod tests {
    use super::template;
    use crate::experiment::file::{Experiment, KINDS};

    #[test]
    fn every_template_reads_without_a_fault_and_suffices_to_measure() {
        for (name, kind) in KINDS {
            let text = template(*kind);
            let experiment = Experiment::parse(&text, name).unwrap_or_else(|faults| panic!("{faults}"));
            assert_eq!(experiment.kind, *kind);
            experiment.needed_to_measure().unwrap();
            assert!(experiment.cautions.is_empty(), "{:?}", experiment.cautions);
            let comments = text.lines().filter(|line| line.contains('#')).count();
            assert!(comments > 20, "{comments}");
        }
    }
}
