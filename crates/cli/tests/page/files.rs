//! Experiment files, clips and files of a run through the page.

use std::fs;

use serde_json::json;

use crate::client::Server;

const TEXT: &str = "format = 1\nkind = \"release\" # as flown\n[body]\ndiameter = \"16 mm\"\n";

fn clip(count: u8) -> Vec<u8> {
    let mut bytes = b"YUV4MPEG2 W8 H4 F25:1 Ip A1:1 Cmono\n".to_vec();
    for level in 0..count {
        bytes.extend_from_slice(b"FRAME\n");
        bytes.extend([level; 32]);
    }
    bytes
}

#[test]
fn two_pages_do_not_overwrite_each_other() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("a.toml"), TEXT).unwrap();
    let server = Server::of(place.path());
    let read = server.get("/api/experiment?path=a.toml");
    assert_eq!(read.json()["text"], TEXT);
    let tag = read.header("etag").unwrap();
    let put = |header: (&str, &str), text: &str| {
        let headers = [header, ("Content-Type", "application/json")];
        server.with(
            "PUT",
            "/api/experiment?path=a.toml",
            &headers,
            json!({ "text": text }).to_string().as_bytes(),
        )
    };
    let first = put(("If-Match", &tag), "first = 1\n");
    assert_eq!(first.status, 200);
    assert_eq!(put(("If-Match", &tag), "second = 1\n").status, 412);
    assert_eq!(put(("If-None-Match", "*"), "second = 1\n").status, 409);
    assert_eq!(put(("X-None", "*"), "second = 1\n").status, 400);
    assert_eq!(
        fs::read_to_string(place.path().join("a.toml")).unwrap(),
        "first = 1\n"
    );
    assert_eq!(
        put(("If-Match", &first.header("etag").unwrap()), "third = 1\n").status,
        200
    );
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 1);
}

#[test]
fn a_file_is_begun_changed_and_checked() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("clip.y4m"), clip(5)).unwrap();
    let server = Server::of(place.path());
    let about = server.get("/api/suggestion?path=clip.y4m").json();
    assert_eq!(
        (about["path"].as_str(), about["clip"].as_str()),
        (Some("clip.toml"), Some("clip.y4m"))
    );
    let start = json!({ "path": "clip.toml", "kind": "release", "values": [["title", "A \"test\""], ["clip.path", "clip.y4m"]] });
    assert_eq!(server.send("POST", "/api/experiment", &start).status, 200);
    assert_eq!(server.send("POST", "/api/experiment", &start).status, 409);
    let text = fs::read_to_string(place.path().join("clip.toml")).unwrap();
    let changes = json!([
        { "do": "set", "key": "camera.capture_rate", "value": "100 fps" },
        { "do": "set", "key": "body.diameter", "value": "16" },
    ]);
    let altered = server
        .send("POST", "/api/alter", &json!({ "text": text, "changes": changes }))
        .json();
    let draft = json!({ "path": "clip.toml", "text": altered["text"] });
    let said = server.send("POST", "/api/check", &draft).json();
    assert_eq!(said["faults"][0]["key"], "body.diameter");
    assert!(said["faults"][0]["line"].as_u64().unwrap() > 3 && said["clip"].is_null());
    let set = |key: &str, value: &str| json!({ "do": "set", "key": key, "value": value });
    let changes = json!([set("body.diameter", "16 mm"), set("liquid.name", "water")]);
    let altered = server
        .send(
            "POST",
            "/api/alter",
            &json!({ "text": altered["text"], "changes": changes }),
        )
        .json();
    let draft = json!({ "path": "clip.toml", "text": altered["text"] });
    let said = server.send("POST", "/api/check", &draft).json();
    assert_eq!(
        said["clip"],
        json!({ "path": "clip.y4m", "rate": 100.0, "times": null, "written": "clip.y4m", "first": 0 })
    );
    assert!(
        said["checked"]["lacking"]
            .as_array()
            .unwrap()
            .iter()
            .any(|f| f["key"] == "camera.scale")
    );
    let sheet = server.send("POST", "/api/plan", &draft);
    assert!(sheet.status == 200 && !sheet.json()["groups"].as_array().unwrap().is_empty());
}

#[test]
fn a_clip_arrives_whole_and_its_frames_are_handed_out() {
    let place = tempfile::tempdir().unwrap();
    let server = Server::of(place.path());
    assert_eq!(
        server
            .with("PUT", "/api/clip?path=drop.y4m", &[], &clip(40))
            .status,
        200
    );
    assert_eq!(
        server
            .with("PUT", "/api/clip?path=drop.y4m", &[], &clip(1))
            .status,
        409
    );
    assert_eq!(
        server.with("PUT", "/api/clip?path=none.y4m", &[], b"").status,
        400
    );
    assert_eq!(fs::read(place.path().join("drop.y4m")).unwrap(), clip(40));
    assert_eq!(server.get("/api/clip?clip=drop.y4m").json()["width"], 8);
    for frame in [7_u8, 8, 39, 0] {
        let answer = server.get(&format!("/api/frame?clip=drop.y4m&rate=50&frame={frame}"));
        assert_eq!(answer.body, [frame; 32]);
        let head: serde_json::Value = serde_json::from_str(&answer.header("x-frame").unwrap()).unwrap();
        assert_eq!(
            (head["width"].as_u64(), head["bits"].as_u64()),
            (Some(8), Some(8))
        );
        assert!((head["time"].as_f64().unwrap() - f64::from(frame) / 50.0).abs() < 1e-9);
    }
    assert_eq!(server.get("/api/frame?clip=drop.y4m&frame=40").status, 422);
}

#[test]
fn bytes_come_in_ranges() {
    let place = tempfile::tempdir().unwrap();
    let bytes: Vec<u8> = (0..300_000_u32).map(|i| i as u8).collect();
    fs::write(place.path().join("film.mp4"), &bytes).unwrap();
    let server = Server::of(place.path());
    assert_eq!(server.get("/files/film.mp4").body, bytes);
    let part = server.with("GET", "/files/film.mp4", &[("Range", "bytes=1000-200999")], b"");
    assert_eq!((part.status, part.body.as_slice()), (206, &bytes[1000..201_000]));
    assert_eq!(part.header("content-range").unwrap(), "bytes 1000-200999/300000");
    assert_eq!(part.header("content-type").unwrap(), "video/mp4");
    assert_eq!(
        server
            .with("GET", "/files/film.mp4", &[("Range", "bytes=300000-")], b"")
            .status,
        416
    );
}
