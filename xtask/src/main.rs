//! House rules, run as a program (`cargo run --release -p xtask -- tidy`) and as a test.

use std::path::Path;
use std::process::ExitCode;

mod cautions;
mod floors;
mod sources;
mod text;

fn main() -> ExitCode {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    match std::env::args().nth(1).as_deref() {
        Some("tidy") => {
            let faults = tidy(&root);
            for fault in &faults {
                println!("{fault}");
            }
            println!("{} faults", faults.len());
            if faults.is_empty() {
                ExitCode::SUCCESS
            } else {
                ExitCode::FAILURE
            }
        }
        _ => {
            eprintln!("usage: cargo run --release -p xtask -- tidy");
            ExitCode::from(2)
        }
    }
}

/// Every broken house rule below `root`, as `file: what is wrong, what to do`.
fn tidy(root: &Path) -> Vec<String> {
    let mut faults = floors::check(root);
    faults.extend(text::check(root));
    faults.extend(sources::check(root));
    faults.extend(cautions::check(root));
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_house_is_tidy() {
        let faults = tidy(&Path::new(env!("CARGO_MANIFEST_DIR")).join(".."));
        assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    }
}
