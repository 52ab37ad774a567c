//! Length, module docs and traces of one machine in our source files.

use std::fs;
use std::path::{Path, PathBuf};

/// Longest file, tests apart.
const LONGEST: usize = 600;

/// Faults of every Rust file.
pub fn check(root: &Path) -> Vec<String> {
    files(root)
        .iter()
        .flat_map(|path| {
            let name = path
                .strip_prefix(root)
                .unwrap_or(path)
                .to_string_lossy()
                .into_owned();
            fs::read_to_string(path).map_or_else(
                |_| vec![format!("{name}: not readable")],
                |text| of_file(&name, &text),
            )
        })
        .collect()
}

/// All Rust files of the workspace, in order.
pub fn files(root: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for folder in ["crates", "validation", "xtask"] {
        walk(&root.join(folder), &mut found);
    }
    found.sort();
    found
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        let skip = ["target", "node_modules", ".venv"]
            .iter()
            .any(|name| path.ends_with(name));
        if path.is_dir() && !skip {
            walk(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Whether a file holds nothing but tests.
pub fn is_test(name: &str) -> bool {
    name.ends_with("tests.rs") || name.contains("/tests/")
}

fn of_file(name: &str, text: &str) -> Vec<String> {
    let mut faults = Vec::new();
    if !text.starts_with("//!") && !is_test(name) {
        faults.push(format!("{name}: no module doc; say what the room holds"));
    }
    let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or(text);
    let lines = code.lines().count();
    if lines > LONGEST && !is_test(name) {
        faults.push(format!(
            "{name}: {lines} lines without its tests, at most {LONGEST}; split the room"
        ));
    }
    if name != "xtask/src/text.rs" {
        for (number, line) in text.lines().enumerate() {
            let trace = ["/work/", "/root/", "/home/"].iter().find(|t| line.contains(**t));
            if let Some(trace) = trace {
                faults.push(format!("{name}:{}: path of one machine ({trace})", number + 1));
            }
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_undocumented_and_machine_bound_files_are_faults() {
        let long = "//! Doc.\n".to_string() + &"fn f() {}\n".repeat(LONGEST);
        assert_eq!(of_file("a.rs", &long).len(), 1);
        assert!(of_file("a/tests.rs", &long).is_empty());
        assert_eq!(of_file("b.rs", "fn f() {}\n").len(), 1);
        let path = format!("//! Doc.\nconst P: &str = \"{}x\";\n", ["/ro", "ot/"].concat());
        assert_eq!(of_file("c.rs", &path).len(), 1);
    }
}
