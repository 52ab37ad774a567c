//! Holds the whole program to its own truth: clips with known answers go in at the front door, findings come out, and the
//! differences are held against bounds.
//!
//! `cargo run --release -p tremolet-validation -- coarse` asserts the bounds on few and small clips and prints;
//! `-- full` does it on all and writes `docs/validation.md`. Each case is one file in `cases/`. Finished cases are kept
//! under `target/validation/` and are not run again until the program, the case or the seed changes; `--fresh` runs all.
//! Further words name the cases to run. `-- decode CLIP` decodes a clip and does nothing else, to be timed.

mod bench;
mod binomial;
mod cache;
mod case;
mod cases;
mod decode;
mod door;
mod python;
mod ringing;
mod table;

use std::process::ExitCode;

use crate::bench::{Bench, Effort};

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let [verb, clip] = &words[..]
        && verb == "decode"
    {
        return match decode::all(std::path::Path::new(clip)) {
            Ok(frames) => {
                println!("{frames}");
                ExitCode::SUCCESS
            }
            Err(failure) => {
                eprintln!("validation: {failure}");
                ExitCode::FAILURE
            }
        };
    }
    let effort = match words.first().map(String::as_str) {
        Some("coarse") => Effort::Coarse,
        Some("full") => Effort::Full,
        _ => {
            eprintln!("usage: tremolet-validation coarse|full [--fresh] [CASE...]");
            return ExitCode::from(2);
        }
    };
    let fresh = words.iter().any(|word| word == "--fresh");
    let wanted: Vec<&String> = words[1..].iter().filter(|word| !word.starts_with("--")).collect();
    match Bench::open(effort, fresh).and_then(|bench| run(&bench, &wanted)) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(failure) => {
            eprintln!("validation: {failure}");
            ExitCode::FAILURE
        }
    }
}

/// Runs the wanted cases; true when every bound held.
fn run(bench: &Bench, wanted: &[&String]) -> Result<bool, case::Failure> {
    let mut results = Vec::new();
    for case in cases::all() {
        if !wanted.is_empty() && !wanted.iter().any(|name| *name == case.name) {
            continue;
        }
        println!("\n{}: {}", case.name, case.question);
        let result = cache::run(bench, &case)?;
        table::print(&result);
        results.push((case, result));
    }
    if bench.effort == Effort::Full && wanted.is_empty() {
        table::write(bench, &results)?;
    }
    let broken: Vec<&str> = results
        .iter()
        .filter(|(_, result)| !result.held())
        .map(|(case, _)| case.name)
        .collect();
    println!(
        "\n{} cases, {} broken {}",
        results.len(),
        broken.len(),
        broken.join(" ")
    );
    Ok(broken.is_empty() && !results.is_empty())
}
