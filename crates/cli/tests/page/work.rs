//! Measuring through the page: progress, a stop, kills.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::client::Server;

/// A dark disc that swings, 48 frames as one film.
pub fn folder(place: &Path) {
    let (width, height) = (72_usize, 72_usize);
    let mut film = format!("YUV4MPEG2 W{width} H{height} F25:1 Ip A1:1 Cmono\n").into_bytes();
    for frame in 0..48 {
        film.extend_from_slice(b"FRAME\n");
        let swing = 0.05 * (0.5 * f64::from(frame)).cos();
        for y in 0..height {
            for x in 0..width {
                let (dx, dy) = (x as f64 - 35.6, y as f64 - 36.3);
                let r = dx.hypot(dy);
                let cosine = if r > 0.0 { dy / r } else { 1.0 };
                let rim = 20.0 * (1.0 + swing * 0.5 * (3.0 * cosine * cosine - 1.0));
                let share = (r - rim + 0.5).clamp(0.0, 1.0);
                film.push((30.0 + 170.0 * share) as u8 + ((x * 7 + y * 13 + frame as usize) % 3) as u8);
            }
        }
    }
    fs::write(place.join("film.y4m"), film).unwrap();
    let text = "format = 1\nkind = \"release\"\n[camera]\ncapture_rate = \"100 fps\"\nscale = \"0.1 +- 0.001 mm/px\"\n[clip]\npath = \"film.y4m\"\n";
    fs::write(place.join("drop.toml"), text).unwrap();
}

pub fn ended(server: &Server, id: &Value) -> Value {
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(120) {
        let jobs = server.get("/api/jobs").json();
        let job = jobs
            .as_array()
            .unwrap()
            .iter()
            .find(|job| job["id"] == *id)
            .unwrap()
            .clone();
        if job["state"] != "waiting" && job["state"] != "running" {
            return job;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("still not measured");
}

pub fn names(place: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(place)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into())
        .collect();
    names.sort();
    names
}

#[test]
fn a_clip_is_measured_in_the_background_and_its_run_can_be_read() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let server = Server::of(place.path());
    let first = server
        .send(
            "POST",
            "/api/jobs",
            &json!({ "do": "measure", "experiment": "drop.toml" }),
        )
        .json();
    let second = server
        .send(
            "POST",
            "/api/jobs",
            &json!({ "do": "measure", "experiment": "drop.toml" }),
        )
        .json();
    assert_ne!(first["out"], second["out"]);
    server.send("DELETE", &format!("/api/jobs/{}", second["id"]), &Value::Null);
    let job = ended(&server, &first["id"]);
    assert_eq!(job["state"], "done", "{job}");
    assert!(job["done"].as_u64().unwrap() > 0);
    assert_eq!(ended(&server, &second["id"])["state"], "stopped");
    let run = job["made"]["path"].as_str().unwrap();
    assert_eq!(job["made"]["kind"], "run");
    let held = server.get("/api/folder").json();
    assert_eq!(
        (
            held["runs"][0]["path"].as_str(),
            held["experiments"].as_array().unwrap().len()
        ),
        (Some(run), 1)
    );
    let read = server.get(&format!("/api/run?path={run}")).json();
    assert!(
        read["run"]["numbers"]
            .as_array()
            .unwrap()
            .iter()
            .any(|n| n["key"] == "equivalent_radius")
    );
    assert_eq!(read["clip"]["path"], "film.y4m");
    let lanes = server.get(&format!("/api/lanes?path={run}")).json();
    assert_eq!(lanes["times"].as_array().unwrap().len(), 48);
    let radius = lanes["bodies"][0]["radius"][0].as_f64().unwrap();
    assert!((radius - 20.0).abs() < 0.3, "{radius}");
    let outline = server.get(&format!("/api/outline?path={run}&frame=25")).json();
    assert!(outline[0]["stretches"][0]["points"].as_array().unwrap().len() > 40);
    assert_eq!(server.get(&format!("/files/{run}/report.html")).status, 200);
    let bundle = server
        .send("POST", &format!("/api/bundle?path={run}"), &Value::Null)
        .json();
    assert_eq!(bundle["path"], format!("{run}.zip"));
    assert!(server.get(&format!("/files/{run}.zip")).body.starts_with(b"PK"));
    let alone = server.send("POST", "/api/compare", &json!({ "runs": [run] }));
    assert_eq!(alone.status, 422, "{}", alone.text());
    // The run's own file is never changed; it is taken over into a new one that finds the clip.
    let again = json!({ "path": "again.toml", "kind": "", "run": run });
    assert_eq!(server.send("POST", "/api/experiment", &again).status, 200);
    assert!(
        fs::read_to_string(place.path().join("again.toml"))
            .unwrap()
            .contains("path = \"film.y4m\"")
    );
    let headers = [("If-Match", "x"), ("Content-Type", "application/json")];
    let changed = server.with(
        "PUT",
        &format!("/api/experiment?path={run}/experiment.toml"),
        &headers,
        b"{\"text\":\"\"}",
    );
    assert_eq!(changed.status, 400);
    assert!(
        names(place.path()).iter().all(|name| !name.starts_with('.')),
        "{:?}",
        names(place.path())
    );
}

#[test]
fn the_outline_is_tried_on_one_frame() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let server = Server::of(place.path());
    let text = fs::read_to_string(place.path().join("drop.toml")).unwrap();
    let tried = server
        .send(
            "POST",
            "/api/try",
            &json!({ "path": "drop.toml", "text": text, "frame": 30 }),
        )
        .json();
    let body = &tried["bodies"][0];
    assert!((body["radius"].as_f64().unwrap() - 20.0).abs() < 0.3, "{tried}");
    assert!(
        tried["outlines"][0]["stretches"][0]["points"]
            .as_array()
            .unwrap()
            .len()
            > 40
    );
}

#[test]
fn a_measurement_that_is_stopped_leaves_nothing() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let before = names(place.path());
    let server = Server::of(place.path());
    let job = server
        .send(
            "POST",
            "/api/jobs",
            &json!({ "do": "measure", "experiment": "drop.toml" }),
        )
        .json();
    assert_eq!(
        server
            .send("DELETE", &format!("/api/jobs/{}", job["id"]), &Value::Null)
            .status,
        200
    );
    let job = ended(&server, &job["id"]);
    // It may have been quicker than the stop.
    if job["state"] == "stopped" {
        assert_eq!(names(place.path()), before);
    }
}

/// Fifty moments over the time that one measurement takes, by a fixed rule that looks like chance.
#[test]
fn a_measurement_that_is_killed_leaves_no_half_run() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let begin = |out: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tremolet"));
        command
            .args(["work", "measure"])
            .arg(place.path().join("drop.toml"))
            .arg(place.path().join(out));
        command
            .stdin(std::process::Stdio::piped())
            .stdout(std::process::Stdio::null());
        command
    };
    let whole = Instant::now();
    let mut child = begin("whole").spawn().unwrap();
    // Its input stays open until it has ended.
    let input = child.stdin.take();
    assert!(child.wait().unwrap().success());
    drop(input);
    let time = whole.elapsed();
    let mut kept = names(&place.path().join("whole"));
    kept.sort();
    for moment in 0..50_u32 {
        let out = format!("run-{moment}");
        let mut child = begin(&out).spawn().unwrap();
        let share = f64::from(moment * 37 % 50) / 50.0;
        std::thread::sleep(time.mul_f64(share));
        child.kill().unwrap();
        child.wait().unwrap();
        let run = place.path().join(&out);
        assert!(
            !run.exists() || names(&run) == kept,
            "killed after {share} of {time:?}"
        );
    }
    let mut child = begin("run-after").spawn().unwrap();
    let input = child.stdin.take();
    assert!(child.wait().unwrap().success());
    drop(input);
    assert_eq!(names(&place.path().join("run-after")), kept);
}
