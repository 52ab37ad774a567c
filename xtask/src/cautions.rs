//! Every caution that the program can raise is explained in docs/cautions.md, and nothing else is.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::text::{files, is_test};

/// What stands before the code of a caution where one is raised.
const BEFORE: &[&str] = &["caution(", "Caution::new(", "code: ", "add(", "Some((", "note("];

/// Faults of codes.
pub fn check(root: &Path) -> Vec<String> {
    let page = fs::read_to_string(root.join("docs/cautions.md")).unwrap_or_default();
    let explained: BTreeSet<&str> = page
        .lines()
        .filter(|line| line.starts_with("| `"))
        .flat_map(|line| line.split('|').nth(1).unwrap_or("").split('`').skip(1).step_by(2))
        .collect();
    let mut sources = String::new();
    let mut faults = Vec::new();
    for file in files(root) {
        let name = file
            .strip_prefix(root)
            .unwrap_or(&file)
            .to_string_lossy()
            .into_owned();
        if is_test(&name) || !name.starts_with("crates/") || !name.contains("/src/") {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap_or_default();
        let text = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
        for code in raised(text) {
            if !explained.contains(code) {
                faults.push(format!(
                    "{name}: the caution {code} is not explained in docs/cautions.md"
                ));
            }
        }
        sources.push_str(text);
    }
    let gone = explained
        .iter()
        .filter(|code| !sources.contains(&format!("\"{code}\"")));
    faults.extend(gone.map(|code| format!("docs/cautions.md: nothing raises {code}")));
    faults
}

/// Words in quotes, of two parts or more, right behind one of [`BEFORE`].
fn raised(text: &str) -> Vec<&str> {
    let behind = |before: &&'static str| text.match_indices(*before).map(|(at, found)| at + found.len());
    BEFORE
        .iter()
        .flat_map(behind)
        .filter_map(|at| {
            let rest = text[at..].trim_start().strip_prefix('"')?;
            let code = &rest[..rest.find('"')?];
            let parts: Vec<&str> = code.split('_').collect();
            let plain = |part: &&str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_lowercase());
            (parts.len() > 1 && parts.iter().all(plain)).then_some(code)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::raised;

    #[test]
    fn codes_are_found_where_they_are_raised() {
        let text = "caution(\n    \"no_scale\", text); Caution::new(\"few_cycles\", t); code: \"rate_off\".into(); caution(\"plain\", \"not_one\")";
        assert_eq!(raised(text), ["no_scale", "few_cycles", "rate_off"]);
    }
}
