//! A server of its own for each test, and requests written out by hand.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

pub struct Server {
    child: Child,
    pub port: u16,
    pub key: String,
}

pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|why| panic!("{why}: {} {}", self.head, self.text()))
    }

    pub fn header(&self, name: &str) -> Option<String> {
        let start = format!("{}:", name.to_lowercase());
        let line = self
            .head
            .lines()
            .find(|line| line.to_lowercase().starts_with(&start))?;
        Some(line.split_once(':').unwrap().1.trim().to_owned())
    }
}

impl Server {
    pub fn of(folder: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_tremolet"))
            .arg("serve")
            .arg(folder)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let (address, key) = line.trim().split_once("/?key=").unwrap();
        let port = address.rsplit_once(':').unwrap().1.parse().unwrap();
        Self {
            child,
            port,
            key: key.to_owned(),
        }
    }

    pub fn own(&self) -> Vec<(String, String)> {
        let pair = |name: &str, value: String| (name.to_owned(), value);
        vec![
            pair("Host", format!("127.0.0.1:{}", self.port)),
            pair("Origin", format!("http://127.0.0.1:{}", self.port)),
            pair("Cookie", format!("tremolet-{}={}", self.port, self.key)),
        ]
    }

    /// A request of the page itself, with more headers.
    pub fn with(&self, method: &str, path: &str, more: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut headers = self.own();
        headers.extend(more.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())));
        self.raw(method, path, &headers, body)
    }

    pub fn get(&self, path: &str) -> Answer {
        self.with("GET", path, &[], b"")
    }

    pub fn send(&self, method: &str, path: &str, body: &serde_json::Value) -> Answer {
        self.with(
            method,
            path,
            &[("Content-Type", "application/json")],
            body.to_string().as_bytes(),
        )
    }

    pub fn raw(&self, method: &str, path: &str, headers: &[(String, String)], body: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        if !headers.iter().any(|(name, _)| name == "Content-Length") {
            head += &format!("Content-Length: {}\r\n", body.len());
        }
        stream.write_all(format!("{head}\r\n").as_bytes()).unwrap();
        // A server that refuses may close before all is sent.
        let _ = stream.write_all(body);
        answer(stream)
    }
}

fn answer(stream: TcpStream) -> Answer {
    let mut reader = BufReader::new(stream);
    let mut head = String::new();
    loop {
        let mut line = String::new();
        if reader.read_line(&mut line).unwrap_or(0) == 0 || line == "\r\n" {
            break;
        }
        head += &line;
    }
    let status = head
        .split(' ')
        .nth(1)
        .and_then(|code| code.parse().ok())
        .unwrap_or(0);
    let mut body = Vec::new();
    let chunked = head.to_lowercase().contains("transfer-encoding: chunked");
    if chunked {
        loop {
            let mut line = String::new();
            reader.read_line(&mut line).unwrap();
            let size = usize::from_str_radix(line.trim(), 16).unwrap_or(0);
            let mut piece = vec![0; size + 2];
            if size == 0 || reader.read_exact(&mut piece).is_err() {
                break;
            }
            body.extend_from_slice(&piece[..size]);
        }
    } else {
        let _ = reader.read_to_end(&mut body);
    }
    Answer { status, head, body }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
