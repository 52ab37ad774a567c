//! What ffprobe says of a clip: size, pixel format, and the stamp of every frame in order of display.
//!
//! Asks for `key=value` lines, which need no parser. Ticks are of `1 / per_second` s. Packets marked to be discarded have no
//! stamp here. Decodes nothing.

use std::ffi::OsString;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::error::ClipError;

/// What is known before decoding.
#[derive(Debug, Clone, PartialEq)]
pub struct Probe {
    /// Pixels in a row, upright.
    pub width: usize,
    /// Rows, upright.
    pub height: usize,
    /// ffmpeg's name of the pixel format.
    pub pixel_format: String,
    /// Coding of the pictures.
    pub codec: String,
    /// Container.
    pub container: String,
    /// Whether rows of one picture belong to two times.
    pub interlaced: bool,
    /// Nominal frames per second of playback.
    pub nominal_rate_fps: Option<f64>,
    /// Ticks of the frames in order of display; empty when the container has none.
    pub stamps: Vec<i64>,
    /// Ticks in a second.
    pub per_second: u32,
}

/// Asks ffprobe about the file at `path`.
///
/// # Errors
/// [`ClipError::NoVideo`], [`ClipError::Damaged`] with ffprobe's words, [`ClipError::Unreadable`].
pub fn probe(path: &Path, name: &str) -> Result<Probe, ClipError> {
    let entries = "stream=codec_name,width,height,pix_fmt,time_base,r_frame_rate,field_order:\
                   stream_side_data=rotation:format=format_name";
    let text = ask(
        path,
        name,
        &["-show_entries", entries, "-of", "default=noprint_wrappers=1"],
    )?;
    let value = |key: &str| {
        let of_line = |line: &str| {
            line.split_once('=')
                .filter(|(found, _)| *found == key)
                .map(|(_, v)| v.trim().to_owned())
        };
        text.lines().find_map(of_line)
    };
    if value("codec_name").is_none() && value("width").is_none() {
        return Err(ClipError::NoVideo { name: name.into() });
    }
    let number = |key: &str| value(key).and_then(|text| text.parse().ok()).unwrap_or(0);
    let (mut width, mut height) = (number("width"), number("height"));
    if value("rotation")
        .and_then(|text| text.parse::<f64>().ok())
        .is_some_and(|angle| angle.abs() % 180.0 == 90.0)
    {
        (width, height) = (height, width);
    }
    let (tick_num, tick_den) = value("time_base").as_deref().and_then(fraction).unwrap_or((1, 1));
    let rate = value("r_frame_rate").as_deref().and_then(fraction);
    let order = value("field_order").unwrap_or_default();
    let packets = ask(
        path,
        name,
        &["-show_entries", "packet=pts,flags", "-of", "csv=p=0"],
    )?;
    Ok(Probe {
        width,
        height,
        pixel_format: value("pix_fmt").unwrap_or_default(),
        codec: value("codec_name").unwrap_or_default(),
        container: value("format_name").unwrap_or_default(),
        interlaced: !["", "unknown", "progressive"].contains(&order.as_str()),
        nominal_rate_fps: rate.map(|(n, d)| n as f64 / d as f64),
        stamps: stamps(&packets, tick_num),
        per_second: u32::try_from(tick_den).unwrap_or(u32::MAX),
    })
}

/// The file as ffmpeg's own address, so that no name is taken for an option or another protocol.
pub fn file_url(path: &Path) -> OsString {
    let mut url = OsString::from("file:");
    url.push(path);
    url
}

fn ask(path: &Path, name: &str, what: &[&str]) -> Result<String, ClipError> {
    let mut command = Command::new("ffprobe");
    command.args([
        "-v",
        "error",
        "-protocol_whitelist",
        "file",
        "-select_streams",
        "v:0",
    ]);
    command
        .args(what)
        .arg("-i")
        .arg(file_url(path))
        .stdin(Stdio::null());
    let output = command.output().map_err(|source| ClipError::Unreadable {
        name: name.into(),
        source,
    })?;
    if output.status.success() {
        return Ok(String::from_utf8_lossy(&output.stdout).into_owned());
    }
    let said = String::from_utf8_lossy(&output.stderr);
    let problem = format!(
        "ffprobe does not know it: {}",
        said.lines().last().unwrap_or("no reason given").trim()
    );
    Err(ClipError::Damaged {
        name: name.into(),
        problem,
    })
}

/// `n/d` with both positive.
fn fraction(text: &str) -> Option<(i64, i64)> {
    let (n, d) = text.split_once('/')?;
    let pair = (n.parse().ok()?, d.parse().ok()?);
    (pair.0 > 0 && pair.1 > 0).then_some(pair)
}

/// Sorted stamps of the packets that are shown; none at all when one has no stamp.
fn stamps(packets: &str, ticks: i64) -> Vec<i64> {
    let shown = packets
        .lines()
        .filter(|line| !line.trim().is_empty())
        .filter(|line| {
            let flags = line.split(',').nth(1).unwrap_or_default();
            !flags.contains('D')
        });
    let all: Option<Vec<i64>> = shown
        .map(|line| {
            line.split(',')
                .next()?
                .trim()
                .parse::<i64>()
                .ok()?
                .checked_mul(ticks)
        })
        .collect();
    let mut all = all.unwrap_or_default();
    all.sort_unstable();
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_are_sorted_and_discarded_ones_left_out() {
        assert_eq!(stamps("0,K_\n300,__\n100,__\n200,_D\n\n", 2), [0, 200, 600]);
        assert_eq!(stamps("0,K_\nN/A,__\n", 1), [0_i64; 0]);
    }

    #[test]
    fn fractions_need_two_positive_parts() {
        assert_eq!(fraction("30000/1001"), Some((30000, 1001)));
        assert_eq!(fraction("0/0"), None);
        assert_eq!(fraction("25"), None);
    }
}
