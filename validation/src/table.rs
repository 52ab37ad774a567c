//! Tells what was found: on the terminal, and as docs/validation.md.

use std::fmt::Write;
use std::fs;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};

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

/// Writes docs/validation.md.
///
/// # Errors
/// When it cannot be written.
pub fn write(bench: &Bench, results: &[(Case, Outcome)]) -> Result<(), Failure> {
    let path = bench.root.join("docs/validation.md");
    let text = markdown(results);
    fs::write(&path, text).map_err(Failure::file(&path))
}

fn markdown(results: &[(Case, Outcome)]) -> String {
    let mut text = String::from(
        "# Validation\n\nWritten by `cargo run --release -p tremolet-validation -- full`; do not edit. Every clip is made at run\n\
         time with a known answer and goes in by the function behind `tremolet measure`; the figures are those of its findings. All clips are synthetic.\n",
    );
    for (case, outcome) in results {
        // Writing to a string cannot fail.
        let _ = write!(text, "\n## {}\n\n{}\n\n", case.question, case.method);
        text.push_str("| clip | what | found | bound | held |\n|---|---|---|---|---|\n");
        for row in &outcome.rows {
            let held = if row.bound.is_empty() {
                ""
            } else if row.held {
                "yes"
            } else {
                "**no**"
            };
            let _ = writeln!(
                text,
                "| {} | {} | {} | {} | {held} |",
                row.clip, row.what, row.found, row.bound
            );
        }
        for note in &outcome.notes {
            let _ = write!(text, "\n{note}\n");
        }
    }
    text
}
