//! Many runs of one case, kept line by line, so that a stop at any time loses the run under way and no other.
//!
//! A ledger is a file of JSON lines under `target/validation/`, one run each, named by the digest of this program, the case and its
//! version. Shard `k` of `n` does the runs whose number is `k - 1` modulo `n` and writes a file of its own; whoever reads takes the
//! lines of all shards. A last line that was cut off is passed over, and its run is done again.

use std::collections::BTreeMap;
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::path::PathBuf;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::bench::Bench;
use crate::cache::digest;
use crate::case::{Case, Failure};

/// One line.
#[derive(Debug, Serialize, Deserialize)]
struct Line<T> {
    run: u64,
    found: T,
}

/// The runs of a part of a case that are done, by number.
pub struct Ledger<T> {
    own: PathBuf,
    done: BTreeMap<u64, T>,
}

impl<T: Serialize + DeserializeOwned> Ledger<T> {
    /// Reads what all shards of this program have done of `part` of a case.
    ///
    /// # Errors
    /// When a file cannot be read.
    pub fn open(bench: &Bench, case: &Case, part: &str) -> Result<Self, Failure> {
        let effort = bench.effort.name();
        let stem = format!("{}-{}-{effort}-{part}-{}", case.name, case.version, digest()?);
        let own = bench.kept.join(match bench.shard {
            Some([number, of]) => format!("{stem}-{number}of{of}.lines"),
            None => format!("{stem}-all.lines"),
        });
        if bench.fresh && own.exists() {
            fs::remove_file(&own).map_err(Failure::file(&own))?;
        }
        let mut done = BTreeMap::new();
        for entry in fs::read_dir(&bench.kept).map_err(Failure::file(&bench.kept))? {
            let path = entry.map_err(Failure::file(&bench.kept))?.path();
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            if name.starts_with(&format!("{stem}-")) && name.ends_with(".lines") {
                let text = fs::read_to_string(&path).map_err(Failure::file(&path))?;
                done.extend(lines(&text));
            }
        }
        Ok(Self { own, done })
    }

    /// Does the runs that are wanted of this shard and not yet done, as far as the time given allows.
    ///
    /// # Errors
    /// What `work` gives, and files that cannot be written.
    pub fn fill(
        &mut self,
        bench: &Bench,
        runs: u64,
        work: &mut dyn FnMut(u64) -> Result<T, Failure>,
    ) -> Result<(), Failure> {
        for run in (0..runs).filter(|run| bench.mine(*run)) {
            if self.done.contains_key(&run) {
                continue;
            }
            if bench.time_is_up() {
                break;
            }
            let line = Line {
                run,
                found: work(run)?,
            };
            self.write(&line)?;
            self.done.insert(run, line.found);
        }
        Ok(())
    }

    fn write(&self, line: &Line<T>) -> Result<(), Failure> {
        let mut text = serde_json::to_string(line).map_err(|cause| Failure::Text {
            what: self.own.display().to_string(),
            cause: cause.to_string(),
        })?;
        text.push('\n');
        let mut file = OpenOptions::new()
            .create(true)
            .append(true)
            .open(&self.own)
            .map_err(Failure::file(&self.own))?;
        // In one piece, so that a stop leaves a line whole or cut off at its end.
        file.write_all(text.as_bytes()).map_err(Failure::file(&self.own))
    }

    /// The first `runs` as far as they are done, by number.
    pub fn done(&self, runs: u64) -> impl Iterator<Item = &T> {
        self.done.range(..runs).map(|(_, found)| found)
    }
}

/// The runs of whole lines.
fn lines<T: DeserializeOwned>(text: &str) -> impl Iterator<Item = (u64, T)> {
    text.lines()
        .filter_map(|line| serde_json::from_str::<Line<T>>(line).ok())
        .map(|line| (line.run, line.found))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_that_was_cut_off_is_passed_over() {
        let text = "{\"run\":3,\"found\":1.5}\n{\"run\":4,\"found\":2.5}\n{\"run\":5,\"fou";
        let found: Vec<(u64, f64)> = lines(text).collect();
        assert_eq!(found, [(3, 1.5), (4, 2.5)]);
    }

    #[test]
    fn shards_share_the_runs_and_a_stop_loses_none_that_was_done() {
        let folder = tempfile::tempdir().expect("a folder");
        let case = crate::cases::all()[0];
        let fill = |shard: Option<[u64; 2]>, most: usize| {
            let bench = Bench::for_test(folder.path(), shard);
            let mut ledger: Ledger<u64> = Ledger::open(&bench, &case, "part").expect("a ledger");
            let mut did = Vec::new();
            let ended = ledger.fill(&bench, 10, &mut |run| {
                if did.len() == most {
                    return Err(Failure::Refused("stopped".into()));
                }
                did.push(run);
                Ok(run * run)
            });
            (did, ended.is_ok(), ledger.done(10).copied().collect::<Vec<_>>())
        };
        assert_eq!(fill(Some([2, 3]), 1), (vec![1], false, vec![1]));
        assert_eq!(fill(Some([2, 3]), 9), (vec![4, 7], true, vec![1, 16, 49]));
        assert_eq!(fill(Some([1, 3]), 9).0, [0, 3, 6, 9]);
        let (did, _, found) = fill(None, 9);
        assert_eq!(did, [2, 5, 8]);
        assert_eq!(found, [0, 1, 4, 9, 16, 25, 36, 49, 64, 81]);
    }
}
