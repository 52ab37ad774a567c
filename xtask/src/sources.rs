//! Sources: every key cited as `\[Key\]` stands in docs/sources.bib, and every room of `theory` with a public
//! function cites at least one.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::text::{files, is_test};

/// Faults of citations.
pub fn check(root: &Path) -> Vec<String> {
    let known = keys(&fs::read_to_string(root.join("docs/sources.bib")).unwrap_or_default());
    let mut faults = Vec::new();
    for path in files(root) {
        let name = path
            .strip_prefix(root)
            .unwrap_or(&path)
            .to_string_lossy()
            .into_owned();
        let text = fs::read_to_string(&path).unwrap_or_default();
        let cited = cited(&text);
        for key in cited.iter().filter(|key| !known.contains(*key)) {
            faults.push(format!(
                "{name}: cites {key}, which docs/sources.bib does not have"
            ));
        }
        // A room of errors holds checks of what is given, no formula.
        let room = name.starts_with("crates/theory/src") && !is_test(&name) && !name.ends_with("/error.rs");
        if room && text.contains("\npub fn ") && cited.is_empty() {
            faults.push(format!(
                "{name}: a formula without a source; cite one as \\[Key\\]"
            ));
        }
    }
    faults
}

/// Keys of the entries of a bibliography.
fn keys(bibliography: &str) -> BTreeSet<String> {
    let entry = |line: &str| {
        let (_, rest) = line.trim().strip_prefix('@')?.split_once('{')?;
        Some(rest.split(',').next().unwrap_or(rest).trim().to_string())
    };
    bibliography.lines().filter_map(entry).collect()
}

/// Keys cited in doc comments: a word in escaped brackets, a capital first and a digit within.
fn cited(text: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for line in text.lines().filter(|line| line.trim_start().starts_with("//")) {
        for piece in line.split("\\[").skip(1) {
            let Some((key, _)) = piece.split_once("\\]") else {
                continue;
            };
            let plain = key
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
            let capital = key.starts_with(|c: char| c.is_ascii_uppercase());
            if plain && capital && key.contains(|c: char| c.is_ascii_digit()) {
                found.insert(key.to_string());
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_read_on_both_sides() {
        assert!(keys("@article{Rayleigh1879,\n  title = {x}\n}").contains("Rayleigh1879"));
        let cited = cited("/// After \\[Rayleigh1879\\] and \\[a\\].\nlet x = \"\\\\[Nobody2000\\\\]\";\n");
        assert_eq!(cited.into_iter().collect::<Vec<_>>(), ["Rayleigh1879"]);
    }
}
