//! Clips that cannot be measured, and odd ones that can: one clear message that says what, where and what to do, exit code 2,
//! nothing written.

use std::fs;
use std::path::Path;

use crate::made::{EXPERIMENT, committed, drop_in, has_ffmpeg, names, program, tiff, tremolet, y4m};

/// A folder with an experiment file, and what `before` puts there.
fn folder(before: impl FnOnce(&Path)) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("run.toml"), EXPERIMENT).expect("written");
    before(folder.path());
    folder
}

/// `measure` on a clip of that name is refused with these words in one line, and nothing is written.
fn refused(clip: &str, words: &[&str], before: impl FnOnce(&Path)) {
    let folder = folder(before);
    let there = names(folder.path());
    let output = tremolet(folder.path(), &["measure", "run.toml", clip, "--out", "out"]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{clip}: {said}");
    assert!(output.stdout.is_empty(), "{clip}");
    for word in words.iter().chain(&[clip]) {
        assert!(said.contains(word), "{clip}: {word:?} is not in {said:?}");
    }
    assert_eq!(said.trim().lines().count(), 1, "{clip}: {said}");
    assert!(
        !said.contains("panicked") && said.starts_with("tremolet: "),
        "{said}"
    );
    assert_eq!(names(folder.path()), there, "{clip}: nothing written");
}

/// `measure` on a clip of that name succeeds; the findings and cautions it prints hold these words.
fn measured(clip: &str, words: &[&str], before: impl FnOnce(&Path)) {
    let folder = folder(before);
    let output = tremolet(folder.path(), &["measure", "run.toml", clip, "--out", "out"]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        output.status.success(),
        "{clip}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    for word in words {
        assert!(said.contains(word), "{clip}: {word:?} is not in {said:?}");
    }
    for name in ["findings.json", "report.html", "overlay.mp4"] {
        assert!(folder.path().join("out").join(name).is_file(), "{clip}: {name}");
    }
}

fn write(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) {
    fs::write(folder.join(name), bytes).expect("written");
}

#[test]
fn cut_off_clips() {
    for name in ["main_b.mp4", "front.mp4", "jpeg.avi", "high_b.mov"] {
        let bytes = committed(name);
        for share in [3, 6, 9] {
            let part = &bytes[..bytes.len() * share / 10];
            refused(name, &["damaged", "copy it again"], |folder| {
                write(folder, name, part)
            });
        }
    }
    let bytes = y4m(40, 40, 30);
    let part = &bytes[..bytes.len() - 7];
    refused("a.y4m", &["damaged", "frame 29 is cut off"], |folder| {
        write(folder, "a.y4m", part)
    });
}

#[test]
fn corrupt_clips() {
    // A sample that is no picture: units longer than what holds them.
    let mut bytes = committed("baseline.mp4");
    let at = bytes.windows(4).position(|four| four == b"mdat").expect("a box") + 4;
    bytes[at..at + 2000].fill(0xA5);
    refused("spoilt.mp4", &["damaged", "copy it again"], |folder| {
        write(folder, "spoilt.mp4", &bytes)
    });
    let noise: Vec<u8> = (0..4000_u32)
        .map(|k| (k.wrapping_mul(2_654_435_761) >> 13) as u8)
        .collect();
    refused("noise.mov", &[], |folder| write(folder, "noise.mov", &noise));
    refused("letter.txt", &[], |folder| {
        write(
            folder,
            "letter.txt",
            b"Dear Sir or Madam, enclosed you find no film",
        )
    });
}

#[test]
fn clips_without_pixels_or_frames() {
    refused("flat.y4m", &["damaged", "zero"], |folder| {
        write(folder, "flat.y4m", "YUV4MPEG2 W0 H0 F30:1 Cmono\nFRAME\n");
    });
    refused("none.y4m", &["no frame"], |folder| {
        write(folder, "none.y4m", "YUV4MPEG2 W8 H8 F30:1 Cmono\n")
    });
    refused("flat.tif", &["damaged"], |folder| {
        write(folder, "flat.tif", tiff(0, 0, false, &[]))
    });
    refused(
        "empty.mp4",
        &["no frame", "record or export it again"],
        |folder| write(folder, "empty.mp4", ""),
    );
}

#[test]
fn sound_only_and_interlaced_clips() {
    refused(
        "sound_only.m4a",
        &["no video track", "give the file with the pictures"],
        |folder| {
            write(folder, "sound_only.m4a", committed("sound_only.m4a"));
        },
    );
    if has_ffmpeg() {
        refused(
            "interlaced.mp4",
            &["interlaced", "separate the fields"],
            |folder| {
                write(folder, "interlaced.mp4", committed("interlaced.mp4"));
            },
        );
    }
}

#[test]
fn no_clip_at_all() {
    refused("none.mp4", &["no clip at none.mp4", "[clip]"], |_| {});
    refused("only notes", &["no frame"], |folder| {
        fs::create_dir(folder.join("only notes")).expect("made");
        write(folder, "only notes/notes.txt", "no stills here");
    });
}

#[test]
fn mixed_stills() {
    let grey = |width: u16, height: u16, sixteen| {
        let levels = drop_in(width.into(), height.into(), 0);
        tiff(width, height, sixteen, &levels)
    };
    for (other, words) in [
        (
            grey(42, 40, false),
            "frame 2 of stills is 42x40 of 8 bit, the first is 40x40 of 8 bit",
        ),
        (
            grey(40, 40, true),
            "frame 2 of stills is 40x40 of 16 bit, the first is 40x40 of 8 bit",
        ),
    ] {
        refused("stills", &[words, "one size and depth"], |folder| {
            fs::create_dir(folder.join("stills")).expect("made");
            for k in [1, 2, 4] {
                write(folder, &format!("stills/s{k}.tif"), grey(40, 40, false));
            }
            write(folder, "stills/s3.tif", &other);
        });
    }
    refused("stills", &["mixes", "keep one kind"], |folder| {
        fs::create_dir(folder.join("stills")).expect("made");
        write(folder, "stills/s1.tif", grey(40, 40, false));
        write(folder, "stills/s2.png", "x");
    });
    refused("stills", &["s2.tif", "damaged"], |folder| {
        fs::create_dir(folder.join("stills")).expect("made");
        write(folder, "stills/s1.tif", grey(40, 40, false));
        write(folder, "stills/s2.tif", &grey(40, 40, false)[..900]);
    });
}

#[test]
fn frames_that_the_clip_does_not_have() {
    for frames in ["[20, 40]", "[40, 50]"] {
        refused("a.y4m", &["frames", "correct frames in [clip]", "30"], |folder| {
            write(folder, "a.y4m", y4m(40, 40, 30));
            write(folder, "run.toml", format!("{EXPERIMENT}frames = {frames}\n"));
        });
    }
}

#[test]
fn a_table_of_times_that_does_not_fit() {
    for (table, words) in [
        ("time_s\n0\n1\n", "not equally many"),
        ("seconds\n0\n", "no column time_s"),
        ("time_s\n0\none\n", "not a number at frame 1"),
    ] {
        refused("stills", &[words, "one rising time"], |folder| {
            fs::create_dir(folder.join("stills")).expect("made");
            for k in 0..4 {
                write(
                    folder,
                    &format!("stills/s{k}.tif"),
                    tiff(40, 40, false, &drop_in(40, 40, k)),
                );
            }
            write(folder, "stills/times.csv", table);
        });
    }
}

#[cfg(unix)]
#[test]
fn a_pipe_is_no_clip() {
    refused("pipe", &["pipe or device", "into a file"], |folder| {
        let made = std::process::Command::new("mkfifo")
            .arg(folder.join("pipe"))
            .status();
        assert!(made.is_ok_and(|status| status.success()), "mkfifo");
    });
}

#[test]
fn odd_sizes_are_measured() {
    measured("odd.y4m", &["mode 2: 6.0"], |folder| {
        write(folder, "odd.y4m", y4m(71, 63, 120))
    });
}

#[test]
fn ten_bits_are_measured_or_say_what_to_install() {
    let bytes = committed("ten_bit.mp4");
    if has_ffmpeg() {
        measured("ten_bit.mp4", &[], |folder| write(folder, "ten_bit.mp4", &bytes));
    }
    let folder = folder(|folder| write(folder, "ten_bit.mp4", &bytes));
    let mut command = program(folder.path());
    command
        .args(["measure", "run.toml", "ten_bit.mp4", "--out", "out"])
        .env("PATH", "");
    let output = command.output().expect("the program starts");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(
        said.contains("ten_bit.mp4") && said.contains("apt-get install ffmpeg"),
        "{said}"
    );
    assert!(!folder.path().join("out").exists());
}

#[test]
fn spaces_and_other_letters_in_every_path() {
    let clip = "Tropfen – 7 é";
    let folder = folder(|folder| {
        let place = folder.join("Flüge mit Leerzeichen").join(clip);
        fs::create_dir_all(&place).expect("made");
        for k in 0..60 {
            let bytes = tiff(48, 48, false, &drop_in(48, 48, k));
            fs::write(place.join(format!("Bild {k} ü.tif")), bytes).expect("written");
        }
        let text = EXPERIMENT.replace("\"clip\"", &format!("'{clip}'"));
        write(folder, "Flüge mit Leerzeichen/Lauf ß.toml", text);
    });
    let words = [
        "measure",
        "Flüge mit Leerzeichen/Lauf ß.toml",
        "--out",
        "Ergebnis 1 – Ω",
    ];
    let output = tremolet(folder.path(), &words);
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let run = folder.path().join("Ergebnis 1 – Ω");
    assert!(run.join("report.html").is_file());
    assert!(
        tremolet(folder.path(), &["report", "Ergebnis 1 – Ω"])
            .status
            .success()
    );
}
