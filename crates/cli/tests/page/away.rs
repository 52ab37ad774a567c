//! What is taken away: films of choice, several runs as data, tables as they are shown, plan sheets.

use std::fs;
use std::path::Path;

use serde_json::{Value, json};

use crate::client::Server;
use crate::work::{ended, folder};

fn done(server: &Server, task: &Value) -> Value {
    let job = server.send("POST", "/api/jobs", task);
    assert_eq!(job.status, 200, "{}", job.text());
    let end = ended(server, &job.json()["id"]);
    assert_eq!(end["state"], "done", "{end}");
    end["made"].clone()
}

fn measured(server: &Server) -> String {
    let made = done(server, &json!({ "do": "measure", "experiment": "drop.toml" }));
    made["path"].as_str().unwrap().to_owned()
}

fn bytes(place: &Path, made: &Value) -> Vec<u8> {
    assert_eq!(made["kind"], "file");
    fs::read(place.join(made["path"].as_str().unwrap())).unwrap()
}

#[test]
fn a_film_shows_what_was_chosen_and_a_stretch_that_is_not_there_is_said() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let server = Server::of(place.path());
    let run = measured(&server);
    let film = |show: Value, first: u64, last: u64, every: u64| {
        let task = json!({ "do": "overlay", "run": run, "show": show, "first": first, "last": last, "every": every, "rate": 10.0 });
        bytes(place.path(), &done(&server, &task))
    };
    let plain = film(json!([]), 5, 20, 1);
    let drawn = film(json!(["outline", "centre", "axis"]), 5, 20, 1);
    assert_eq!(&plain[4..8], b"ftyp");
    assert!(plain != drawn, "nothing is drawn");
    let third = film(json!([]), 5, 20, 3);
    assert!(third.len() < plain.len(), "six frames of sixteen");
    let names = ["", "-2", "-3"].map(|number| format!("{run}-annotated{number}.mp4"));
    assert!(names.iter().all(|name| place.path().join(name).is_file()));
    let past =
        json!({ "do": "overlay", "run": run, "show": [], "first": 90, "last": 99, "every": 1, "rate": 10.0 });
    let job = server.send("POST", "/api/jobs", &past).json();
    let end = ended(&server, &job["id"]);
    assert!(
        end["state"] == "failed" && end["why"].as_str().unwrap().contains("none of these frames"),
        "{end}"
    );
    let halo = json!({ "do": "overlay", "run": run, "show": ["halo"], "every": 1, "rate": 10.0 });
    assert_eq!(server.send("POST", "/api/jobs", &halo).status, 422);
}

#[test]
fn several_runs_are_told_as_data_and_what_is_shown_becomes_a_table() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let server = Server::of(place.path());
    let runs = [measured(&server), measured(&server)];
    let told = server
        .send("POST", "/api/comparison", &json!({ "runs": runs }))
        .json();
    let rows = told["comparison"]["runs"].as_array().unwrap();
    let folders: Vec<&str> = rows.iter().map(|row| row["folder"].as_str().unwrap()).collect();
    assert_eq!(folders, runs, "as the page names them");
    assert!(
        told["comparison"]["quantities"]
            .as_array()
            .unwrap()
            .iter()
            .any(|q| q["quantity"] == "equivalent_radius")
    );
    assert_eq!(
        server
            .send(
                "POST",
                "/api/comparison",
                &json!({ "runs": ["../other", runs[0]] })
            )
            .status,
        404
    );
    let table = |parquet: bool, values: Value| {
        let column = |name: &str, values: Value| json!({ "name": name, "unit": "1", "description": "", "values": values });
        let columns = [column("run", json!(["a", "b, \"c\""])), column("value", values)];
        server.send(
            "POST",
            "/api/table",
            &json!({ "name": "values", "description": "Some.", "parquet": parquet, "columns": columns }),
        )
    };
    let csv = table(false, json!([1.5, null])).text();
    assert!(csv.contains("a,1.5") && csv.contains("\"b, \"\"c\"\"\""), "{csv}");
    let parquet = table(true, json!([1.5, null]));
    assert!(parquet.body.starts_with(b"PAR1") && parquet.body.ends_with(b"PAR1"));
    assert_eq!(
        table(true, json!([1.5])).status,
        400,
        "columns of different length"
    );
    assert!(
        fs::read_dir(place.path())
            .unwrap()
            .flatten()
            .all(|e| !e.file_name().to_string_lossy().starts_with('.'))
    );
}

#[test]
fn a_run_is_planned_before_there_is_a_clip() {
    let place = tempfile::tempdir().unwrap();
    let server = Server::of(place.path());
    for kind in ["release", "puff", "column", "shell", "fizz"] {
        let path = format!("{kind}.toml");
        let begun = json!({ "path": path, "kind": kind, "commented": true });
        assert_eq!(server.send("POST", "/api/experiment", &begun).status, 200);
        let text = fs::read_to_string(place.path().join(&path)).unwrap();
        let sheet = server.send("POST", "/api/plan", &json!({ "path": path, "text": text }));
        assert!(
            sheet.status == 200 && sheet.json()["groups"].as_array().unwrap().len() > 2,
            "{kind}"
        );
    }
    let made = done(&server, &json!({ "do": "plan", "experiment": "puff.toml" }));
    assert_eq!(made["path"], "puff-plan.html");
    assert!(
        String::from_utf8(bytes(place.path(), &made))
            .unwrap()
            .contains("<h1")
    );
}
