//! The queue outlives the server: what waited is done, what was interrupted is begun again and says so, nothing is done twice or half.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::client::Server;
use crate::work::{ended, folder, names};

fn ask(server: &Server) -> Value {
    let job = server.send(
        "POST",
        "/api/jobs",
        &json!({ "do": "measure", "experiment": "drop.toml" }),
    );
    assert_eq!(job.status, 200, "{}", job.text());
    job.json()
}

fn runs(place: &Path) -> Vec<String> {
    let mut all = names(place);
    all.retain(|name| place.join(name).is_dir());
    all
}

/// Nothing is left that is hidden, and every run is whole.
fn whole(place: &Path, files: &[String]) {
    for name in runs(place) {
        assert_eq!(names(&place.join(&name)), files, "{name}");
    }
    let hidden: Vec<String> = names(place)
        .into_iter()
        .filter(|name| name.starts_with('.'))
        .collect();
    assert!(hidden.is_empty(), "{hidden:?}");
}

#[test]
fn what_waited_is_done_by_the_next_server_and_what_was_interrupted_says_so() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let server = Server::of(place.path());
    let jobs = [ask(&server), ask(&server), ask(&server)];
    // The first is under way when the server is killed.
    let begun = Instant::now();
    while server.get("/api/jobs").json()[0]["state"] == "waiting" && begun.elapsed() < Duration::from_secs(20)
    {
        std::thread::sleep(Duration::from_millis(2));
    }
    assert!(place.path().join(".tremolet-queue.json").exists());
    drop(server);
    let server = Server::of(place.path());
    let again = server.get("/api/jobs").json();
    assert_eq!(again.as_array().unwrap().len(), 3, "{again}");
    for job in &jobs {
        let end = ended(&server, &job["id"]);
        assert_eq!(
            (&end["state"], &end["out"]),
            (&json!("done"), &job["out"]),
            "{end}"
        );
    }
    let first = ended(&server, &jobs[0]["id"]);
    let note = first["note"].as_str().unwrap();
    assert!(
        note.contains("interrupted") || note.contains("finished while"),
        "{note}"
    );
    assert_eq!(ended(&server, &jobs[1]["id"])["note"], "", "this one only waited");
    let files = names(&place.path().join(jobs[0]["out"].as_str().unwrap()));
    whole(place.path(), &files);
    assert_eq!(runs(place.path()).len(), 3);
}

/// Fifty moments over the time of a measurement, by a fixed rule that looks like chance, at each of which the server dies; the next goes on.
#[test]
fn fifty_deaths_of_the_server_lose_nothing_and_leave_nothing_half() {
    let place = tempfile::tempdir().unwrap();
    folder(place.path());
    let server = Server::of(place.path());
    let begun = Instant::now();
    let first = ask(&server);
    assert_eq!(ended(&server, &first["id"])["state"], "done");
    let time = begun.elapsed();
    let files = names(&place.path().join(first["out"].as_str().unwrap()));
    drop(server);
    let mut asked = vec![first["out"].clone()];
    for moment in 0..50_u32 {
        let server = Server::of(place.path());
        let open = |job: &Value| job["state"] == "waiting" || job["state"] == "running";
        if !server
            .get("/api/jobs")
            .json()
            .as_array()
            .unwrap()
            .iter()
            .any(open)
        {
            asked.push(ask(&server)["out"].clone());
        }
        std::thread::sleep(time.mul_f64(f64::from(moment * 37 % 50) / 40.0));
        // Now and then one comes to its end, however busy the machine is.
        if moment % 10 == 9 {
            for job in server.get("/api/jobs").json().as_array().unwrap() {
                ended(&server, &job["id"]);
            }
        }
        drop(server);
        for name in runs(place.path()).iter().filter(|name| !name.starts_with('.')) {
            assert_eq!(
                names(&place.path().join(name)),
                files,
                "{name} after death {moment}"
            );
        }
    }
    let server = Server::of(place.path());
    for job in server.get("/api/jobs").json().as_array().unwrap() {
        let end = ended(&server, &job["id"]);
        assert_eq!(end["state"], "done", "{end}");
    }
    whole(place.path(), &files);
    asked.sort_by_key(ToString::to_string);
    assert_eq!(json!(runs(place.path())), json!(asked), "each once");
    assert!(asked.len() > 5, "some were finished between deaths: {asked:?}");
}

#[test]
fn a_simulation_that_was_stopped_is_kept_and_goes_on() {
    let place = tempfile::tempdir().unwrap();
    let text = "format = 1\ntitle = \"Kept\"\nkind = \"release\"\n[liquid]\nname = \"water\"\ntemperature = \"22 degC\"\n[body]\ndiameter = \"20 mm\"\n\
                [surroundings]\navailable_time = \"1.2 s\"\n[camera]\ncapture_rate = \"60 fps\"\npicture = [64, 64]\nscale = \"0.5 mm/px\"\ndistance = \"0.6 m\"\n[release]\naspect_ratio = \"1.3\"\n";
    fs::write(place.path().join("drop.toml"), text).unwrap();
    let server = Server::of(place.path());
    let ask = |task: Value| {
        let answer = server.send("POST", "/api/jobs", &task);
        assert_eq!(answer.status, 200, "{}", answer.text());
        answer.json()
    };
    let job = ask(json!({ "do": "simulate", "experiment": "drop.toml" }));
    let begun = Instant::now();
    loop {
        let now = server.get("/api/jobs").json()[0].clone();
        if now["done"].as_u64() > Some(3) || begun.elapsed() > Duration::from_secs(30) {
            break;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
    server.send("DELETE", &format!("/api/jobs/{}", job["id"]), &Value::Null);
    let end = ended(&server, &job["id"]);
    let mut run = end["made"]["path"].as_str().expect("it is kept").to_owned();
    // It may have been quicker than the stop.
    if end["state"] == "stopped" {
        let on = ask(json!({ "do": "simulate", "experiment": "drop.toml", "from": run }));
        let end = ended(&server, &on["id"]);
        assert_eq!(end["state"], "done", "{end}");
        run = end["made"]["path"].as_str().unwrap().to_owned();
    }
    assert!(!place.path().join(&run).join("unfinished.json").exists());
    let whole = json!({ "do": "simulate", "experiment": "drop.toml", "from": run });
    assert_eq!(
        server.send("POST", "/api/jobs", &whole).status,
        400,
        "it has reached its end"
    );
    let read = server.get(&format!("/api/run?path={run}")).json();
    assert!(
        read["clip"].is_null() && read["run"]["simulated"] == true,
        "no clip was seen"
    );
    // Filmed, the film is an experiment that can be measured, and what was measured can be fitted.
    let film = ended(&server, &ask(json!({ "do": "film", "run": run }))["id"]);
    assert_eq!(film["state"], "done", "{film}");
    let experiment = film["made"]["path"].as_str().unwrap();
    let checked =
        json!({ "path": experiment, "text": fs::read_to_string(place.path().join(experiment)).unwrap() });
    let checked = server.send("POST", "/api/check", &checked).json();
    assert_eq!(checked["clip"]["path"], film["out"], "{checked}");
    let measured = ended(
        &server,
        &ask(json!({ "do": "measure", "experiment": experiment }))["id"],
    );
    assert_eq!(measured["state"], "done", "{measured}");
    let fitted = ended(
        &server,
        &ask(json!({ "do": "fit", "run": measured["out"] }))["id"],
    );
    assert_eq!(fitted["state"], "done", "{fitted}");
    let read = server
        .get(&format!("/api/run?path={}", measured["out"].as_str().unwrap()))
        .json();
    let numbers = read["run"]["numbers"].as_array().unwrap();
    let fit = numbers
        .iter()
        .find(|n| n["route"] == "simulation fitted to the outlines")
        .expect("a fitted number");
    let behind: Vec<&str> = fit["methods"]
        .as_array()
        .unwrap()
        .iter()
        .map(|place| {
            read["run"]["methods"][place.as_u64().unwrap() as usize]["name"]
                .as_str()
                .unwrap()
        })
        .collect();
    assert_eq!(behind[0], "Simulation fitted to the outlines");
    assert!(names(place.path()).iter().all(|name| !name.starts_with('.')));
}
