//! The verb `plan` at the command line: what it prints and writes, and how it refuses.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const DROP: &str = "format = 1\ntitle = \"A plum\"\nkind = \"release\"\n[liquid]\nname = \"water\"\n[body]\ndiameter = \"30 mm\"\n\
                    [surroundings]\navailable_time = \"1 s\"\n";

fn tremolet(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tremolet"))
        .current_dir(folder)
        .args(words)
        .output()
        .expect("the program starts")
}

fn with_file() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("plum.toml"), DROP).expect("written");
    folder
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn what_breaks_stands_in_the_first_lines_and_the_rest_is_given() {
    let folder = with_file();
    let output = tremolet(folder.path(), &["plan", "plum.toml"]);
    let text = said(&output);
    assert_eq!(output.status.code(), Some(0));
    assert!(
        text.lines()
            .nth(1)
            .is_some_and(|line| line.contains("too_large_for_time")),
        "{text}"
    );
    for word in [
        "frequency of degree 2",
        "Procedure",
        "Cautions",
        "no safety approval",
    ] {
        assert!(text.contains(word), "{word}");
    }
    assert_eq!(
        fs::read_dir(folder.path()).expect("there").count(),
        1,
        "nothing written unasked"
    );
}

#[test]
fn json_is_the_sheet_and_a_page_is_written_once() {
    let folder = with_file();
    let output = tremolet(
        folder.path(),
        &["plan", "plum.toml", "--json", "--page", "plum.html"],
    );
    let sheet: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(
        (sheet["format"].as_u64(), sheet["title"].as_str()),
        (Some(1), Some("A plum"))
    );
    let html = fs::read_to_string(folder.path().join("plum.html")).expect("a page");
    assert!(html.contains("This breaks") && html.contains("A plum"));
    let again = tremolet(folder.path(), &["plan", "plum.toml", "--page", "plum.html"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).contains("--replace"));
    let replaced = tremolet(
        folder.path(),
        &["plan", "plum.toml", "--page", "plum.html", "--replace"],
    );
    assert_eq!(replaced.status.code(), Some(0));
}

#[test]
fn a_sweep_prints_a_table() {
    let folder = with_file();
    let words = [
        "plan",
        "plum.toml",
        "--vary",
        "body.diameter=10..20mm:1",
        "--show",
        "frequency_2",
    ];
    let text = said(&tremolet(folder.path(), &words));
    assert!(
        text.starts_with(|c: char| c.is_whitespace() || c.is_ascii_digit()) && text.contains("frequency_2"),
        "{text}"
    );
    assert!(
        text.contains("10 mm") && text.contains("20 mm") && text.lines().count() == 2,
        "{text}"
    );
}

#[test]
fn what_cannot_be_asked_is_refused_with_exit_code_2() {
    let folder = with_file();
    for (words, due) in [
        (vec!["plan", "none.toml"], "none.toml"),
        (vec!["plan", "plum.toml", "--vary", "body.diameter"], "5..50mm"),
        (
            vec!["plan", "plum.toml", "--vary", "body.diameter=1..2"],
            "unit is missing",
        ),
        (
            vec!["plan", "plum.toml", "--vary", "body.diamter=1..2mm"],
            "diameter",
        ),
        (
            vec![
                "plan",
                "plum.toml",
                "--vary",
                "body.diameter=1..2mm",
                "--show",
                "beauty",
            ],
            "--json",
        ),
    ] {
        let output = tremolet(folder.path(), &words);
        let why = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{why}");
        assert!(why.contains(due), "{due} is not in {why}");
    }
}
