//! Small clips written byte by byte, and the program run on them.

use std::ffi::OsString;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// An experiment file that names the clip `clip`.
pub const EXPERIMENT: &str =
    "format = 1\nkind = \"release\"\n[camera]\ncapture_rate = \"100 fps\"\n[clip]\npath = \"clip\"\n";

/// The program, to be run in a folder.
pub fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_tremolet"));
    command.current_dir(folder);
    command
}

/// Runs the program in a folder.
pub fn tremolet(folder: &Path, words: &[&str]) -> Output {
    program(folder).args(words).output().expect("the program starts")
}

/// Names in a folder, sorted, hidden ones too.
pub fn names(folder: &Path) -> Vec<OsString> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .expect("there")
        .flatten()
        .map(|entry| entry.file_name())
        .collect();
    names.sort();
    names
}

/// A dark drop before a light ground that rings in degree 2, as grey levels of one frame.
pub fn drop_in(width: usize, height: usize, frame: usize) -> Vec<u8> {
    let time = frame as f64 / 100.0;
    let swing = 0.04 * (-0.8 * time).exp() * (std::f64::consts::TAU * 6.0 * time).cos();
    let (x0, y0) = (0.5 * width as f64 - 0.7, 0.5 * height as f64 - 0.4);
    let radius = 0.3 * width.min(height) as f64;
    let level = |x: usize, y: usize| {
        let (x, y) = (x as f64 - x0, y as f64 - y0);
        let distance = x.hypot(y);
        let cosine = y / distance.max(1e-9);
        let edge = radius * (1.0 + swing * (1.5 * cosine * cosine - 0.5));
        // An edge of about two pixels, half way at the outline.
        let inside = 0.5 * (1.0 - ((distance - edge) / 0.9).tanh());
        (210.0 - 180.0 * inside).round() as u8
    };
    (0..width * height).map(|i| level(i % width, i / width)).collect()
}

/// A grey clip of YUV4MPEG2.
pub fn y4m(width: usize, height: usize, frames: usize) -> Vec<u8> {
    let mut bytes = format!("YUV4MPEG2 W{width} H{height} F100:1 Ip Cmono\n").into_bytes();
    for frame in 0..frames {
        bytes.extend_from_slice(b"FRAME\n");
        bytes.extend(drop_in(width, height, frame));
    }
    bytes
}

/// A grey TIFF of 8 or 16 bits: header, levels, one directory.
pub fn tiff(width: u16, height: u16, sixteen: bool, levels: &[u8]) -> Vec<u8> {
    let bytes = if sixteen { 2 } else { 1 };
    let size = u32::from(width) * u32::from(height) * bytes;
    let mut out = b"II*\0".to_vec();
    let directory = 8 + size + size % 2;
    out.extend(directory.to_le_bytes());
    out.extend(
        levels
            .iter()
            .flat_map(|level| [0, *level][2 - bytes as usize..].to_vec()),
    );
    out.resize(directory as usize, 0);
    // Tag, type (3 short, 4 long), value of one.
    let fields: [(u16, u16, u32); 9] = [
        (256, 3, width.into()),
        (257, 3, height.into()),
        (258, 3, 8 * bytes),
        (259, 3, 1),
        (262, 3, 1),
        (273, 4, 8),
        (277, 3, 1),
        (278, 3, height.into()),
        (279, 4, size),
    ];
    out.extend((fields.len() as u16).to_le_bytes());
    for (tag, kind, value) in fields {
        out.extend([tag.to_le_bytes(), kind.to_le_bytes()].concat());
        out.extend([1_u32.to_le_bytes(), value.to_le_bytes()].concat());
    }
    out.extend(0_u32.to_le_bytes());
    out
}

/// A committed clip of the reader's own tests.
pub fn committed(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../clip/tests/data")
        .join(name);
    fs::read(path).expect("committed")
}

/// Whether ffmpeg can be started.
pub fn has_ffmpeg() -> bool {
    let mut command = Command::new("ffmpeg");
    command.arg("-version").stdout(std::process::Stdio::null());
    command.status().is_ok_and(|status| status.success())
}
