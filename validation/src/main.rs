//! Holds the whole program to its own truth: clips with known answers go in at the front door, findings come out, and the
//! differences are held against bounds.
//!
//! `cargo run --release -p tremolet-validation -- coarse` asserts the bounds on few and small clips and prints;
//! `-- full` does it on all (or on the cases named) and writes their pages in `docs/validation/` and the index `docs/validation.md`. Each case is one file in `cases/`. Finished cases are kept
//! under `target/validation/` and are not run again until the program, the case or the seed changes; `--fresh` runs all.
//! Cases of many runs keep each run: `--shard 2/8` does every eighth, `--minutes 20` begins no further run after that time, and the
//! rows then tell what is there; `--minutes 0` only tells. Further words name the cases to run. `-- decode CLIP` decodes a clip and does nothing else, to be timed.

mod bench;
mod binomial;
mod cache;
mod case;
mod cases;
mod decode;
mod door;
mod drawn;
mod ledger;
mod limit;
mod noise;
mod overlaid;
mod python;
mod ringing;
mod table;

use std::process::ExitCode;
use std::time::{Duration, Instant};

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
            eprintln!(
                "usage: tremolet-validation coarse|full [--fresh] [--shard K/N] [--minutes M] [CASE...]"
            );
            return ExitCode::from(2);
        }
    };
    let Some(asked) = Asked::of(&words[1..]) else {
        eprintln!("validation: --shard takes K/N with 1 <= K <= N, --minutes a number");
        return ExitCode::from(2);
    };
    let opened = Bench::open(effort, asked.fresh).map(|bench| Bench {
        shard: asked.shard,
        until: asked
            .minutes
            .map(|minutes| Instant::now() + Duration::from_secs_f64(60.0 * minutes)),
        ..bench
    });
    match opened.and_then(|bench| run(&bench, &asked.cases)) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(failure) => {
            eprintln!("validation: {failure}");
            ExitCode::FAILURE
        }
    }
}

/// What the words after the effort ask for.
#[derive(Debug, Default, PartialEq)]
struct Asked {
    fresh: bool,
    shard: Option<[u64; 2]>,
    minutes: Option<f64>,
    cases: Vec<String>,
}

impl Asked {
    /// `None` for a word that makes no sense.
    fn of(words: &[String]) -> Option<Self> {
        let mut asked = Self::default();
        let mut words = words.iter();
        while let Some(word) = words.next() {
            match word.as_str() {
                "--fresh" => asked.fresh = true,
                "--shard" => {
                    let (number, of) = words.next()?.split_once('/')?;
                    let shard = [number.parse().ok()?, of.parse().ok()?];
                    asked.shard = Some(shard).filter(|[number, of]| (1..=*of).contains(number));
                    asked.shard?;
                }
                "--minutes" => {
                    asked.minutes = words
                        .next()?
                        .parse()
                        .ok()
                        .filter(|minutes| (0.0..1e6).contains(minutes));
                    asked.minutes?;
                }
                other if other.starts_with("--") => return None,
                case => asked.cases.push(case.into()),
            }
        }
        Some(asked)
    }
}

/// Runs the wanted cases; true when every bound held.
fn run(bench: &Bench, wanted: &[String]) -> Result<bool, case::Failure> {
    let mut results = Vec::new();
    for case in cases::all() {
        if !wanted.is_empty() && !wanted.iter().any(|name| name == case.name) {
            continue;
        }
        println!("\n{}: {}", case.name, case.question);
        let result = cache::run(bench, &case)?;
        table::print(&result);
        if bench.effort == Effort::Full && !bench.in_parts() {
            table::write(bench, &case, &result, &cases::all())?;
        }
        results.push((case, result));
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

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(words: &[&str]) -> Option<Asked> {
        Asked::of(&words.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn words_are_understood_or_refused() {
        let all = asked(&["--shard", "2/8", "coverage", "--minutes", "1.5"]).expect("sense");
        assert_eq!(
            (all.shard, all.minutes, all.cases),
            (Some([2, 8]), Some(1.5), vec!["coverage".into()])
        );
        for nonsense in [
            &["--shard", "0/8"][..],
            &["--shard", "9/8"],
            &["--shard"],
            &["--minutes", "x"],
            &["--fast"],
        ] {
            assert_eq!(asked(nonsense), None, "{nonsense:?}");
        }
    }
}
