//! Disks that refuse, run folders that are there, and a stop by hand: nothing half-written, nothing lost.
//!
//! The disks are small ones in memory, mounted where only the child sees them (`unshare`), so nothing stays mounted. Where the
//! system does not allow that, these tests say so and pass over.

use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use crate::made::{EXPERIMENT, names, program, tremolet, y4m};

/// What a script said, run where `disk` in its folder is a disk in memory with these options; `None` when that is not
/// allowed here.
fn on_a_disk(folder: &Path, options: &str, script: &str) -> Option<(i32, String, String)> {
    fs::create_dir_all(folder.join("disk")).expect("made");
    let shell = |script: &str| {
        let mut command = Command::new("unshare");
        command.args(["-r", "-m", "sh", "-c", script]).current_dir(folder);
        command
            .env("TREMOLET", env!("CARGO_BIN_EXE_tremolet"))
            .output()
            .ok()
    };
    let mount = format!("mount -t tmpfs -o {options} none disk");
    if !shell(&mount).is_some_and(|output| output.status.success()) {
        eprintln!("passed over: this system does not let a test mount a disk in memory (unshare -r -m)");
        return None;
    }
    let output = shell(&format!("{mount} && {script}")).expect("it could before");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    Some((
        output.status.code().unwrap_or(-1),
        text(&output.stdout),
        text(&output.stderr),
    ))
}

fn folder(frames: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("run.toml"), EXPERIMENT).expect("written");
    fs::write(folder.path().join("clip"), y4m(64, 64, frames)).expect("written");
    folder
}

#[test]
fn a_full_disk_ends_in_one_message_and_keeps_what_was_there() {
    let folder = folder(60);
    let (mut full, mut done) = (0, 0);
    // From a disk that takes next to nothing to one that takes the whole run, so that it fills at every stage.
    for kilobytes in [8, 160, 280, 480, 560, 640, 720, 800, 4000] {
        let script = "mkdir disk/run && echo old >disk/run/findings.json && $TREMOLET measure run.toml --out disk/run --replace \
                      >/dev/null; code=$?; ls -A disk; cat disk/run/findings.json; exit $code";
        let Some((code, listed, said)) = on_a_disk(folder.path(), &format!("size={kilobytes}k"), script)
        else {
            return;
        };
        if code == 0 {
            done += 1;
            assert!(listed.contains("run.replaced-"), "{listed}");
            continue;
        }
        full += 1;
        assert_eq!(code, 1, "{kilobytes} kB: {said}");
        assert_eq!(listed, "run\nold\n", "{kilobytes} kB: {said}");
        let lines: Vec<&str> = said.trim().lines().collect();
        assert_eq!(lines.len(), 1, "{kilobytes} kB: {said}");
        for words in ["tremolet: ", "cannot", "No space left", "disk/", "space"] {
            assert!(
                said.contains(words),
                "{kilobytes} kB: {words:?} is not in {said:?}"
            );
        }
    }
    assert!(full >= 5 && done >= 1, "{full} full, {done} done");
}

#[test]
fn a_read_only_place_is_named() {
    let folder = folder(60);
    let script = "echo kept >disk/kept && mount -o remount,ro disk && $TREMOLET measure run.toml --out disk/run >/dev/null; \
                  code=$?; ls -A disk; exit $code";
    let Some((code, listed, said)) = on_a_disk(folder.path(), "size=4m", script) else {
        return;
    };
    assert_eq!((code, listed.as_str()), (2, "kept\n"), "{said}");
    for words in ["cannot make the folder", "disk/", "Read-only", "--out"] {
        assert!(said.contains(words), "{words:?} is not in {said:?}");
    }
}

#[test]
fn a_run_folder_that_is_there_is_kept_or_moved_aside() {
    let folder = folder(60);
    let run = folder.path().join("run");
    fs::create_dir(&run).expect("made");
    fs::write(run.join("findings.json"), "old").expect("written");
    let words = ["measure", "run.toml", "--out", "run"];
    let output = tremolet(folder.path(), &words);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(
        said.contains("run exists already") && said.contains("--replace"),
        "{said}"
    );
    assert_eq!(
        fs::read_to_string(run.join("findings.json")).expect("there"),
        "old"
    );
    let output = tremolet(folder.path(), &[&words[..], &["--replace"]].concat());
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let all = names(folder.path());
    let aside = all
        .iter()
        .find(|name| name.to_string_lossy().starts_with("run.replaced-"))
        .expect("moved aside");
    let kept = folder.path().join(aside).join("findings.json");
    assert_eq!(fs::read_to_string(kept).expect("there"), "old");
    assert_eq!(all.len(), 4, "{all:?}");
    assert!(run.join("report.html").is_file());
}

/// Sends a signal as soon as `ripe` says so; the exit code and what was said.
fn stopped(
    folder: &Path,
    signal: &str,
    words: &[&str],
    ripe: impl Fn(&Path) -> bool,
) -> (Option<i32>, String) {
    let mut child = program(folder)
        .args(words)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let begun = Instant::now();
    while !ripe(folder) {
        assert!(begun.elapsed() < Duration::from_secs(120), "it never came so far");
        assert!(
            child.try_wait().expect("a child").is_none(),
            "it ended before it was stopped"
        );
        std::thread::sleep(Duration::from_millis(5));
    }
    let number = child.id().to_string();
    let sent = Command::new("kill").args([signal, &number]).status();
    assert!(sent.is_ok_and(|status| status.success()), "kill");
    let mut said = String::new();
    child
        .stderr
        .take()
        .expect("asked for")
        .read_to_string(&mut said)
        .expect("text");
    (child.wait().expect("a child").code(), said)
}

/// A file of that name in the unfinished run folder.
fn unfinished(folder: &Path, name: &str) -> bool {
    let hidden = |name: &std::ffi::OsString| name.to_string_lossy().ends_with(".unfinished");
    names(folder)
        .iter()
        .filter(|n| hidden(n))
        .any(|n| folder.join(n).join(name).exists())
}

#[test]
fn a_stop_by_hand_leaves_nothing() {
    let folder = folder(1500);
    let there = names(folder.path());
    // While looking, and while drawing.
    for (signal, stage) in [("-INT", ""), ("-INT", "overlay.mp4"), ("-TERM", "")] {
        let words = ["measure", "run.toml", "--out", "run"];
        let (code, said) = stopped(folder.path(), signal, &words, |folder| unfinished(folder, stage));
        assert_eq!(code, Some(1), "{signal} {stage}: {said}");
        assert!(
            said.contains("stopped") && !said.contains("panicked"),
            "{signal} {stage}: {said}"
        );
        assert_eq!(names(folder.path()), there, "{signal} {stage}");
    }
}
