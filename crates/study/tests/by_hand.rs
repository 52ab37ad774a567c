//! What a person draws and decides, from the experiment file to tables, findings and report.

use std::fs;
use std::ops::ControlFlow;
use std::path::Path;

use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_study::measure::{Request, measure};

const SIDE: usize = 96;

/// A dark disc that swings, 24 frames; a needle from the left touches it, and in frames 9 to 11 a hand covers the middle.
fn film(path: &Path) {
    let mut bytes = format!("YUV4MPEG2 W{SIDE} H{SIDE} F25:1 Ip A1:1 Cmono\n").into_bytes();
    for frame in 0..24_usize {
        bytes.extend_from_slice(b"FRAME\n");
        let swing = 0.05 * (0.5 * frame as f64).cos();
        for (x, y) in (0..SIDE * SIDE).map(|k| ((k % SIDE) as f64, (k / SIDE) as f64)) {
            let (dx, dy) = (x - 47.6, y - 48.3);
            let r = dx.hypot(dy);
            let cosine = if r > 0.0 { dy / r } else { 1.0 };
            let rim = 24.0 * (1.0 + swing * 0.5 * (3.0 * cosine * cosine - 1.0));
            let mut share = (r - rim + 0.5).clamp(0.0, 1.0);
            // The needle slants down to the disc.
            if (y - 40.0 - 0.25 * x).abs() < 1.5 && x < 30.0 {
                share = 0.0;
            }
            if (9..12).contains(&frame) && (20.0..70.0).contains(&x) && y > 30.0 {
                share = 0.0;
            }
            bytes.push((30.0 + 170.0 * share) as u8 + ((x as usize * 7 + y as usize * 13 + frame) % 3) as u8);
        }
    }
    fs::write(path, bytes).expect("written");
}

#[test]
fn every_correction_is_kept_acts_and_is_told() {
    let place = tempfile::tempdir().expect("a folder");
    film(&place.path().join("film.y4m"));
    let text = "format = 1\nkind = \"release\"\n[camera]\nscale = \"0.1 +- 0.001 mm/px\"\n\
        [camera.second_reference]\nlength = \"5.0 +- 0.05 mm\"\nfrom = [10, 10]\nto = [60.2, 10]\nend_uncertainty = \"0.3 px\"\n\
        [camera.clock]\nfirst_frame = 2\nfirst_reading = \"0.10 s\"\nlast_frame = 22\nlast_reading = \"0.30 s\"\nreading_uncertainty = \"0.5 ms\"\n\
        [clip]\npath = \"film.y4m\"\nregion = [[0, 0], [95, 0], [95, 95], [0, 95]]\n\
        [[clip.mask]]\ncorners = [[0, 40], [34, 48.5]]\nwidth = \"9 px\"\nwhat = \"needle\"\n\
        [[clip.judged]]\nframes = [9, 12]\noutline = \"rejected\"\nwhy = \"hand in view\"\n\
        [[clip.judged]]\nframes = [3, 4]\noutline = \"accepted\"\n";
    fs::write(place.path().join("drop.toml"), text).expect("written");
    let experiment = Experiment::read(&place.path().join("drop.toml")).expect("read");
    let run = measure(
        &Request {
            experiment: &experiment,
            clip: place.path().join("film.y4m"),
            out: place.path().join("run"),
            replace: false,
            threads: 1,
            overlay: true,
            truth: Vec::new(),
            command: Vec::new(),
        },
        &mut |_, _| ControlFlow::Continue(()),
    )
    .expect("measured");
    let json = fs::read_to_string(run.join("findings.json")).expect("written");
    let findings = Findings::from_json(&json).expect("findings");
    let notes: Vec<(&str, Option<[u64; 2]>)> = findings
        .notes
        .iter()
        .map(|note| (note.code.as_str(), note.frames))
        .collect();
    assert_eq!(
        notes,
        [
            ("scales_held_together", None),
            ("region", None),
            ("masked", None),
            ("rejected", Some([9, 11])),
            ("accepted", Some([3, 3])),
        ]
    );
    // The clock in the picture gives 100 frames a second.
    assert!(
        (findings.clip.duration.value - 0.23).abs() < 1e-9,
        "{}",
        findings.clip.duration.value
    );
    let shapes = fs::read_to_string(run.join("tables/shapes.csv")).expect("written");
    let column = |name: &str| {
        shapes
            .lines()
            .next()
            .and_then(|head| head.split(',').position(|c| c == name))
            .expect("a column")
    };
    let (frame, body, coverage) = (column("frame"), column("body"), column("coverage"));
    let rows: Vec<Vec<&str>> = shapes
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect();
    let frames: Vec<usize> = rows
        .iter()
        .map(|row| row[frame].parse().expect("a number"))
        .collect();
    let due: Vec<usize> = (0..24).filter(|frame| !(9..12).contains(frame)).collect();
    assert_eq!(frames, due);
    // The needle goes, and beside it the strip in which an edge is fitted.
    for row in &rows {
        let seen: f64 = row[coverage].parse().expect("a number");
        assert!(row[body] == "1" && seen > 0.4 && seen < 0.9, "{row:?}");
    }
    // What is told of each frame is told of those that were looked at, at their own times.
    let light = fs::read_to_string(run.join("tables/light.csv")).expect("written");
    let rows: Vec<Vec<&str>> = light
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect();
    let told: Vec<usize> = rows.iter().map(|row| row[0].parse().expect("a number")).collect();
    assert_eq!(told, due);
    for row in &rows {
        let (frame, time): (f64, f64) = (
            row[0].parse().expect("a number"),
            row[1].parse().expect("a number"),
        );
        assert!((time - frame / 100.0).abs() < 1e-9, "{row:?}");
    }
    let all = tremolet_study::lanes::lanes(&run, 0.0..1.0, 1000).expect("lanes");
    assert_eq!((all.times.len(), all.left_out), (24, vec![[9, 12]]));
    // The report says so, and the experiment file goes into the run as it is.
    let report = fs::read_to_string(run.join("report.html")).expect("written");
    for told in [
        "Drawn, decided and checked by hand",
        "hand in view",
        "needle was left out",
        "was looked at and accepted",
    ] {
        assert!(report.contains(told), "{told}");
    }
    let kept = fs::read_to_string(run.join("experiment.toml")).expect("written");
    assert!(kept.contains("hand in view") && kept.contains("width = \"9 px\""));
}
