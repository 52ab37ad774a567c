//! Tells what was found: on the terminal, as a page for each case (`docs/validation/NAME.md`), and as their index (`docs/validation.md`).
//!
//! A page says which program it is of, so that a case can be run again by itself without passing off the others as of today.

use std::fmt::Write;
use std::fs;
use std::path::PathBuf;
use std::process::Command;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};

/// Begins the line of a page that says which program it is of.
const PROGRAM: &str = "Program: ";
/// Cells of the last column.
const HELD: [&str; 2] = ["**no**", "yes"];

/// Prints the rows of one case.
pub fn print(outcome: &Outcome) {
    for row in &outcome.rows {
        let mark = match (row.bound.is_empty(), row.held) {
            (true, _) => "    ",
            (false, true) => "held",
            (false, false) => "FAIL",
        };
        println!(
            "  {mark}  {:<34} {:<34} {:<22} {}",
            row.clip, row.what, row.found, row.bound
        );
    }
    outcome.notes.iter().for_each(|note| println!("        {note}"));
}

/// Writes the page of a case, and the index anew.
///
/// # Errors
/// When they cannot be written.
pub fn write(bench: &Bench, case: &Case, outcome: &Outcome, all: &[Case]) -> Result<(), Failure> {
    let folder = bench.root.join("docs/validation");
    fs::create_dir_all(&folder).map_err(Failure::file(&folder))?;
    let path = page_of(bench, case);
    fs::write(&path, page(case, outcome, &program(bench))).map_err(Failure::file(&path))?;
    let path = bench.root.join("docs/validation.md");
    let pages: Vec<(&Case, Option<String>)> = all
        .iter()
        .map(|case| (case, fs::read_to_string(page_of(bench, case)).ok()))
        .collect();
    fs::write(&path, index(&pages)).map_err(Failure::file(&path))
}

fn page_of(bench: &Bench, case: &Case) -> PathBuf {
    bench.root.join(format!("docs/validation/{}.md", case.name))
}

/// The commit of the tree, and whether it was changed since.
fn program(bench: &Bench) -> String {
    let git = |words: &[&str]| {
        let output = Command::new("git")
            .arg("-C")
            .arg(&bench.root)
            .args(words)
            .output()
            .ok()?;
        output
            .status
            .success()
            .then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
    };
    let Some(commit) = git(&["rev-parse", "--short=10", "HEAD"]) else {
        return "commit not known".into();
    };
    let program = ["status", "--porcelain", "--", "crates", "validation"];
    match git(&program) {
        Some(changes) if changes.is_empty() => commit,
        _ => format!("{commit}, changed since"),
    }
}

fn page(case: &Case, outcome: &Outcome, program: &str) -> String {
    let mut text = format!(
        "# {}\n\nWritten by `cargo run --release -p tremolet-validation -- full {}`; do not edit. {PROGRAM}{program}.\n\n{}\n\n\
         | clip | what | found | bound | held |\n|---|---|---|---|---|\n",
        case.question, case.name, case.method
    );
    for row in &outcome.rows {
        let held = if row.bound.is_empty() {
            ""
        } else {
            HELD[usize::from(row.held)]
        };
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {held} |",
            row.clip, row.what, row.found, row.bound
        );
    }
    for note in &outcome.notes {
        let _ = write!(text, "\n{note}\n");
    }
    text
}

fn index(pages: &[(&Case, Option<String>)]) -> String {
    let mut text = String::from(
        "# Validation\n\nWritten by `cargo run --release -p tremolet-validation -- full [CASE...]`; do not edit. Every clip is made at run\n\
         time with a known answer and goes in by the function behind `tremolet measure`; the figures are those of its findings. All clips are synthetic.\n\
         A page is of the program that it names; what was changed since in the rooms it leans on is for its next run.\n\n\
         | case | question | bounds held | not held | program |\n|---|---|---|---|---|\n",
    );
    for (case, page) in pages {
        let told = page.as_deref().map_or_else(
            || "| | | no full run is kept |".to_owned(),
            |page| {
                let [no, yes] = HELD.map(|cell| page.matches(&format!("| {cell} |\n")).count());
                let program = page
                    .lines()
                    .find_map(|line| line.split_once(PROGRAM))
                    .map_or("", |(_, program)| program.trim_end_matches('.'));
                let no = if no == 0 {
                    "0".to_owned()
                } else {
                    format!("**{no}**")
                };
                format!("| {yes} | {no} | {program} |")
            },
        );
        let _ = writeln!(
            text,
            "| [{0}](validation/{0}.md) | {1} {told}",
            case.name, case.question
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nothing(_: &Bench) -> Result<Outcome, Failure> {
        Ok(Outcome::default())
    }

    fn case(name: &'static str) -> Case {
        Case {
            name,
            question: "Does it hold?",
            method: "Looked.",
            version: 1,
            run: nothing,
        }
    }

    #[test]
    fn the_index_counts_what_the_pages_say() {
        let folder = tempfile::tempdir().unwrap();
        let bench = Bench::for_test(folder.path(), None);
        let all = [case("first"), case("second")];
        let mut outcome = Outcome::default();
        outcome.within("a", "b", Some(1.0), 2.0, " px");
        outcome.within("a", "c", Some(3.0), 2.0, " px");
        outcome.within("a", "d", None, 2.0, " px");
        outcome.tell("a", "e", "yes |".into());
        write(&bench, &all[0], &outcome, &all).unwrap();
        let index = fs::read_to_string(folder.path().join("docs/validation.md")).unwrap();
        assert!(
            index.contains(
                "| [first](validation/first.md) | Does it hold? | 1 | **2** | commit not known |\n"
            ),
            "{index}"
        );
        assert!(
            index.contains("| [second](validation/second.md) | Does it hold? | | | no full run is kept |\n")
        );
        let page = fs::read_to_string(folder.path().join("docs/validation/first.md")).unwrap();
        assert!(
            page.contains("Program: commit not known.")
                && page.contains("| a | c | +3.00 px | within 2 px | **no** |"),
            "{page}"
        );
    }
}
