//! What must be refused, with the server still there afterwards.

use std::fs;
use std::sync::Arc;

use serde_json::json;

use crate::client::Server;

const EXPERIMENT: &str =
    "format = 1\nkind = \"release\"\n[camera]\ncapture_rate = \"100 fps\"\n[clip]\npath = \"clip.mp4\"\n";

fn lives(server: &Server) {
    assert_eq!(server.get("/api/folder").status, 200);
}

#[test]
fn other_sites_other_names_and_no_key_are_refused() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("a.toml"), EXPERIMENT).unwrap();
    let server = Server::of(place.path());
    let own = server.own();
    let with = |name: &str, value: &str| {
        let mut headers = own.clone();
        headers.retain(|(known, _)| known != name);
        if !value.is_empty() {
            headers.push((name.to_owned(), value.to_owned()));
        }
        headers
    };
    let evil = format!("http://evil.example:{}", server.port);
    for (headers, method, path) in [
        (with("Origin", "http://evil.example"), "GET", "/api/folder"),
        (with("Origin", &evil), "POST", "/api/jobs"),
        (with("Origin", "null"), "GET", "/"),
        (with("Origin", ""), "POST", "/api/jobs"),
        (
            with("Host", &format!("evil.example:{}", server.port)),
            "GET",
            "/api/folder",
        ),
        (with("Host", "evil.example"), "GET", "/"),
        (with("Cookie", ""), "GET", "/api/folder"),
        (with("Cookie", ""), "GET", "/"),
        (with("Cookie", ""), "GET", "/files/a.toml"),
        (
            with("Cookie", &format!("tremolet-{}=x", server.port)),
            "GET",
            "/api/folder",
        ),
        (with("Sec-Fetch-Site", "cross-site"), "GET", "/files/a.toml"),
    ] {
        let answer = server.raw(
            method,
            path,
            &headers,
            b"{\"do\":\"measure\",\"experiment\":\"a.toml\"}",
        );
        assert_eq!(answer.status, 403, "{method} {path} {headers:?}");
        assert!(answer.header("access-control-allow-origin").is_none());
    }
    assert_eq!(
        server.get("/?key=wrong").status,
        303,
        "with the cookie a wrong key is merely passed over"
    );
    assert_eq!(
        server.raw("GET", "/?key=wrong", &with("Cookie", ""), b"").status,
        403
    );
    let entered = server.raw("GET", &format!("/?key={}", server.key), &with("Cookie", ""), b"");
    let cookie = entered.header("set-cookie").unwrap();
    assert!(entered.status == 303 && cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"));
    assert_eq!(server.get("/api/jobs").text(), "[]", "nothing was started");
}

#[test]
fn the_page_may_do_little_and_files_still_less() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("report.html"), "<script>alert(1)</script>").unwrap();
    let server = Server::of(place.path());
    let page = server.get("/").header("content-security-policy").unwrap();
    assert!(page.contains("default-src 'none'") && page.contains("script-src 'self'"));
    assert!(!page.contains("unsafe") && page.contains("frame-ancestors 'none'"));
    let file = server.get("/files/report.html");
    let policy = file.header("content-security-policy").unwrap();
    assert!(policy.contains("default-src 'none'") && !policy.contains("script-src"));
    assert_eq!(file.header("x-content-type-options").unwrap(), "nosniff");
}

#[test]
fn nothing_outside_the_folder_is_read_or_written() {
    let place = tempfile::tempdir().unwrap();
    let (inside, outside) = (place.path().join("in"), place.path().join("out"));
    fs::create_dir(&inside).unwrap();
    fs::create_dir(&outside).unwrap();
    fs::write(outside.join("secret.toml"), EXPERIMENT).unwrap();
    fs::write(outside.join("clip.mp4"), "x").unwrap();
    fs::write(inside.join(".hidden.toml"), EXPERIMENT).unwrap();
    fs::write(
        inside.join("leads.toml"),
        EXPERIMENT.replace("clip.mp4", "../out/clip.mp4"),
    )
    .unwrap();
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&outside, inside.join("link")).unwrap();
        std::os::unix::fs::symlink(outside.join("secret.toml"), inside.join("own.toml")).unwrap();
    }
    let server = Server::of(&inside);
    for path in [
        "/files/../out/secret.toml",
        "/files/%2e%2e/out/secret.toml",
        "/files/..%2fout%2fsecret.toml",
        "/files/link/secret.toml",
        "/files/own.toml",
        "/files//etc/passwd",
        "/files/%2fetc%2fpasswd",
        "/files/.hidden.toml",
        "/files/a%00.toml",
        "/api/experiment?path=../out/secret.toml",
        "/api/experiment?path=%2e%2e%2fout%2fsecret.toml",
        "/api/experiment?path=own.toml",
        "/api/experiment?path=/etc/hosts.toml",
        "/api/run?path=..%2fout",
        "/api/clip?clip=..%2fout%2fclip.mp4",
        "/api/frame?clip=link%2fclip.mp4&frame=0",
        "/assets/..%2f..%2fCargo.toml",
    ] {
        let answer = server.get(path);
        assert!((400..=404).contains(&answer.status), "{path}: {}", answer.status);
        assert!(!answer.text().contains("capture_rate"), "{path}");
    }
    let text = json!({ "text": "x = 1\n" });
    for path in [
        "..%2fout%2fnew.toml",
        "link%2fnew.toml",
        "own.toml",
        "%2ftmp%2fnew.toml",
    ] {
        let headers = [("If-None-Match", "*"), ("Content-Type", "application/json")];
        let answer = server.with(
            "PUT",
            &format!("/api/experiment?path={path}"),
            &headers,
            text.to_string().as_bytes(),
        );
        assert!((400..=412).contains(&answer.status), "{path}: {}", answer.status);
    }
    assert_eq!(
        fs::read_to_string(outside.join("secret.toml")).unwrap(),
        EXPERIMENT
    );
    assert_eq!(fs::read_dir(&outside).unwrap().count(), 2);
    // A file inside may not lead the program outside either.
    let answer = server.send(
        "POST",
        "/api/jobs",
        &json!({ "do": "measure", "experiment": "leads.toml" }),
    );
    assert!(
        answer.status == 400 && answer.text().contains("outside"),
        "{}",
        answer.text()
    );
    let text = fs::read_to_string(inside.join("leads.toml")).unwrap();
    let draft = json!({ "path": "leads.toml", "text": text, "frame": 0 });
    assert_eq!(server.send("POST", "/api/try", &draft).status, 400);
    assert_eq!(server.send("POST", "/api/check", &draft).status, 400);
}

#[test]
fn what_is_too_large_is_refused_before_it_is_taken() {
    let place = tempfile::tempdir().unwrap();
    let server = Server::of(place.path());
    let giant = [("Content-Length", "99999999999999")];
    assert_eq!(
        server
            .with("PUT", "/api/clip?path=giant.mp4", &giant, b"x")
            .status,
        413
    );
    let long = vec![b' '; 3 << 20];
    let json = [("Content-Type", "application/json"), ("If-None-Match", "*")];
    assert_eq!(
        server
            .with("PUT", "/api/experiment?path=a.toml", &json, &long)
            .status,
        413
    );
    let text = json!({ "text": "#".repeat(300 << 10) }).to_string();
    assert_eq!(
        server
            .with("PUT", "/api/experiment?path=a.toml", &json, text.as_bytes())
            .status,
        413
    );
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0);
    lives(&server);
}

#[test]
fn a_malformed_clip_takes_nobody_down() {
    let place = tempfile::tempdir().unwrap();
    let claims = b"YUV4MPEG2 W999999999 H999999999 F25:1 Cmono\nFRAME\n".to_vec();
    let mut cut = b"\0\0\0\x18ftypisom\0\0\0\0isommp42\xff\xff\xff\xffmoov".to_vec();
    cut.extend([0xff; 400]);
    for (name, bytes) in [
        ("claims.y4m", claims),
        ("cut.mp4", cut),
        ("empty.mp4", Vec::new()),
        ("noise.avi", vec![7; 5000]),
    ] {
        fs::write(place.path().join(name), bytes).unwrap();
    }
    let server = Server::of(place.path());
    for name in ["claims.y4m", "cut.mp4", "empty.mp4", "noise.avi"] {
        // What a header claims may be told; its frames may not.
        assert!([200, 422].contains(&server.get(&format!("/api/clip?clip={name}")).status));
        let answer = server.get(&format!("/api/frame?clip={name}&frame=3"));
        assert_eq!(answer.status, 422, "{name}: {}", answer.text());
        assert!(answer.json()["error"].as_str().unwrap().len() > 10);
        let text = EXPERIMENT.replace("clip.mp4", name);
        let draft = json!({ "path": "a.toml", "text": text, "frame": 0 });
        assert_eq!(server.send("POST", "/api/check", &draft).status, 200);
        assert_eq!(server.send("POST", "/api/try", &draft).status, 422);
    }
    lives(&server);
}

#[test]
fn malformed_requests_are_refused() {
    let place = tempfile::tempdir().unwrap();
    let server = Server::of(place.path());
    for (method, path, body) in [
        ("POST", "/api/jobs", "{"),
        ("POST", "/api/check", "[]"),
        (
            "POST",
            "/api/alter",
            "{\"text\":\"\",\"changes\":[{\"do\":\"dance\"}]}",
        ),
        (
            "POST",
            "/api/experiment",
            "{\"path\":\"a.toml\",\"kind\":\"splash\"}",
        ),
        ("PUT", "/api/experiment?path=a.txt", "{\"text\":\"\"}"),
        ("GET", "/api/frame?clip=x&frame=-1", ""),
        ("GET", "/api/run", ""),
        ("DELETE", "/api/jobs/9", ""),
        ("GET", "/absent", ""),
        ("DELETE", "/api/folder", ""),
    ] {
        let answer = server.with(
            method,
            path,
            &[("Content-Type", "application/json")],
            body.as_bytes(),
        );
        assert!(
            (400..=422).contains(&answer.status),
            "{method} {path}: {} {}",
            answer.status,
            answer.text()
        );
    }
    assert_eq!(fs::read_dir(place.path()).unwrap().count(), 0);
    lives(&server);
}

#[test]
fn a_thousand_requests_at_once_are_all_answered() {
    let place = tempfile::tempdir().unwrap();
    fs::write(place.path().join("a.toml"), EXPERIMENT).unwrap();
    let server = Arc::new(Server::of(place.path()));
    let threads: Vec<_> = (0..1000)
        .map(|i| {
            let server = server.clone();
            let path = ["/api/folder", "/api/experiment?path=a.toml", "/files/a.toml", "/"][i % 4];
            std::thread::Builder::new()
                .stack_size(256 << 10)
                .spawn(move || server.get(path).status)
                .unwrap()
        })
        .collect();
    let statuses: Vec<u16> = threads.into_iter().map(|thread| thread.join().unwrap()).collect();
    assert_eq!(statuses.iter().filter(|status| **status == 200).count(), 1000);
    lives(&server);
}
