//! Recordings of high-speed cameras in the CINE container: grey pictures as the sensor gave them.
//!
//! A header of 44 bytes points to a bitmap header, to the camera's SETUP with the tagged blocks behind it, and to a table
//! of where each picture lies (all little-endian). Grey pictures of 8 or 16 bits are read here, codes unchanged; packed and
//! coloured ones go to ffmpeg. Rows lie from the bottom up unless the height is negative (\[VisionResearch2007\] chapters 2 and 3).
//! SETUP may ask to turn pictures over; readers disagree on whether that is still to be done. Here it is taken as done, and
//! a caution says so. The block of times, where there is one, gives each picture its real time, and the rate in SETUP is real
//! frames in a second. Exposures are not read.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use tremolet_record::findings::Caution;

use crate::clock::{SAME_RATE, middle_rate};
use crate::error::ClipError;
use crate::ffmpeg::open_ffmpeg;
use crate::frame::{Frame, Levels, Plane};
use crate::source::{ClipInfo, FrameSource};

/// Bytes of the header of the file.
const HEADER: usize = 44;
/// Bytes of SETUP that are read: up to the depth of the sensor.
const SETUP: usize = 900;
/// Tag of the block with one time for each picture.
const TIMES: u16 = 1002;
/// Pictures that a recording may hold; more is damage.
const PICTURES_AT_MOST: u32 = 1 << 26;

/// Whether a file that begins so is a CINE recording.
pub fn is_cine(head: &[u8]) -> bool {
    head.starts_with(b"CI") && word(head, 2) == Some(HEADER as u16)
}

/// What the headers say.
#[derive(Debug)]
struct Headers {
    compression: u16,
    width: usize,
    height: usize,
    top_down: bool,
    bits: u16,
    packing: u32,
    /// Places of the pictures in the file.
    places: Vec<u64>,
    rate: Option<u32>,
    /// Bits of the sensor.
    depth: Option<u32>,
    turned_over: bool,
    mirrored: bool,
    times: Option<Vec<f64>>,
}

struct Cine {
    info: ClipInfo,
    file: File,
    length: u64,
    headers: Headers,
    /// Set when a code is larger than the depth allows.
    too_large: Option<u64>,
    next: usize,
}

/// What ffmpeg reads, with the times and cautions from the headers.
struct Outside {
    source: Box<dyn FrameSource>,
    times: Option<Vec<f64>>,
    cautions: Vec<Caution>,
}

/// Opens the CINE recording at `path`.
///
/// # Errors
/// [`ClipError::Damaged`], [`ClipError::Empty`], [`ClipError::Unreadable`], or what ffmpeg gives where it has to help.
pub fn open_cine(path: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    let name = path.display().to_string();
    let unreadable = |source: io::Error| ClipError::Unreadable {
        name: name.clone(),
        source,
    };
    let mut file = File::open(path).map_err(unreadable)?;
    let length = file.metadata().map_err(unreadable)?.len();
    let headers = match read_headers(&mut file) {
        Ok(headers) => headers,
        Err(cause) if cause.kind() == io::ErrorKind::UnexpectedEof => {
            return Err(damaged(
                &name,
                "its headers end too early; the recording was cut off",
            ));
        }
        Err(cause) if cause.kind() == io::ErrorKind::InvalidData => return Err(damaged(&name, cause)),
        Err(cause) => return Err(unreadable(cause)),
    };
    if headers.places.is_empty() {
        return Err(ClipError::Empty { name });
    }
    if headers.compression != 0 || headers.packing != 0 || !matches!(headers.bits, 8 | 16) {
        return outside(path, headers);
    }
    let picture = (headers.width * headers.height * usize::from(headers.bits / 8)) as u64;
    if let Some(k) = headers
        .places
        .iter()
        .position(|at| at.saturating_add(8 + picture) > length)
    {
        let of = headers.places.len();
        return Err(damaged(
            &name,
            format!("picture {k} of {of} lies past the end of the file"),
        ));
    }
    Ok(Box::new(Cine {
        info: info(name, &headers),
        file,
        length,
        headers,
        too_large: None,
        next: 0,
    }))
}

fn info(name: String, headers: &Headers) -> ClipInfo {
    ClipInfo {
        name,
        width: headers.width,
        height: headers.height,
        bits: u32::from(headers.bits),
        frame_count: Some(headers.places.len() as u64),
        header_rate_fps: headers.rate.map(f64::from),
        container: "cine".into(),
        codec: "raw".into(),
        decoder: "embedded CINE".into(),
    }
}

fn outside(path: &Path, headers: Headers) -> Result<Box<dyn FrameSource>, ClipError> {
    let source = open_ffmpeg(path, "a CINE recording of packed or coloured pictures")?;
    let depth = headers
        .depth
        .map_or("an unknown number of".into(), |depth| depth.to_string());
    let text = format!(
        "the levels are as ffmpeg unpacks them, of {depth} bits scaled to {}: edges are not moved by that, but levels are not \
         the camera's codes",
        source.info().bits
    );
    let cautions = vec![
        caution("bit_depth_assumed", text),
        caution(
            "orientation_assumed",
            "the rows are in the order that ffmpeg gives them; look at the pictures of the report".into(),
        ),
    ];
    Ok(Box::new(Outside {
        source,
        times: headers.times,
        cautions,
    }))
}

impl FrameSource for Outside {
    fn info(&self) -> &ClipInfo {
        self.source.info()
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        self.source.next_frame()
    }

    fn group_of(&mut self, frame: u64) -> Result<u64, ClipError> {
        self.source.group_of(frame)
    }

    fn real_times(&self) -> Option<&[f64]> {
        self.times.as_deref()
    }

    fn cautions(&self) -> Vec<Caution> {
        self.cautions.clone()
    }
}

impl FrameSource for Cine {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let Some(&place) = self.headers.places.get(self.next) else {
            return Ok(None);
        };
        let bytes = match self.read_picture(place) {
            Ok(bytes) => bytes,
            Err(cause) if cause.kind() == io::ErrorKind::InvalidData => {
                return Err(damaged(
                    &self.info.name,
                    format!("picture {}: {cause}", self.next),
                ));
            }
            Err(source) => {
                let name = self.info.name.clone();
                return Err(ClipError::Unreadable { name, source });
            }
        };
        let plane = self.headers.plane(&bytes);
        let index = self.next as u64;
        if self.too_large.is_none() && self.headers.too_large(&plane) {
            self.too_large = Some(index);
        }
        self.next += 1;
        Ok(Some(Frame {
            index,
            stamp: None,
            plane,
        }))
    }

    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        let frame = usize::try_from(frame).unwrap_or(usize::MAX);
        self.next = self.next.max(frame.min(self.headers.places.len()));
        Ok(())
    }

    fn real_times(&self) -> Option<&[f64]> {
        self.headers.times.as_deref()
    }

    fn cautions(&self) -> Vec<Caution> {
        let mut cautions = vec![self.headers.caution_of_rows()];
        cautions.extend(self.headers.caution_of_depth());
        cautions.extend(self.headers.caution_of_rate());
        if let (Some(frame), Some(depth)) = (self.too_large, self.headers.depth) {
            let text = format!(
                "levels are larger than the {depth} bits of the header allow: they are taken as they are"
            );
            cautions.push(Caution {
                frames: Some([frame, frame]),
                ..caution("bit_depth_assumed", text)
            });
        }
        cautions
    }
}

impl Cine {
    /// The bytes of the picture behind the note at `place`.
    fn read_picture(&mut self, place: u64) -> io::Result<Vec<u8>> {
        let note = u64::from(long(&read_at(&mut self.file, place, 4)?, 0).unwrap_or(0));
        let size = long(&read_at(&mut self.file, place + note.saturating_sub(4), 4)?, 0).unwrap_or(0);
        let (least, rows) = (self.headers.least_row(), self.headers.height as u64);
        let whole = u64::from(size).is_multiple_of(rows) && u64::from(size) / rows >= least as u64;
        if note < 8 || !whole || place + note + u64::from(size) > self.length {
            let problem = format!("{size} bytes are no {}x{rows} pixels", self.headers.width);
            return Err(io::Error::new(io::ErrorKind::InvalidData, problem));
        }
        read_at(&mut self.file, place + note, size as usize)
    }
}

impl Headers {
    /// What is to be said when SETUP's rate is not that of the times: pictures left out when a recording was saved do not
    /// change SETUP.
    fn caution_of_rate(&self) -> Option<Caution> {
        let (rate, found) = (f64::from(self.rate?), middle_rate(self.times.as_ref()?)?);
        let text = format!(
            "the header says {rate} frames/s, the camera's times for the pictures {found:.1}; the times are used"
        );
        ((found / rate - 1.0).abs() > SAME_RATE).then(|| caution("rate_disagrees", text))
    }

    fn least_row(&self) -> usize {
        self.width * usize::from(self.bits / 8)
    }

    /// The picture upright; rows may be padded.
    fn plane(&self, bytes: &[u8]) -> Plane {
        let rows = bytes.chunks_exact(bytes.len() / self.height);
        let rows: Vec<&[u8]> = if !self.top_down {
            rows.rev().map(|row| &row[..self.least_row()]).collect()
        } else {
            rows.map(|row| &row[..self.least_row()]).collect()
        };
        let levels = if self.bits == 8 {
            Levels::Eight(rows.concat())
        } else {
            let word = |pair: &[u8]| u16::from_le_bytes([pair[0], pair[1]]);
            Levels::Sixteen(rows.concat().chunks_exact(2).map(word).collect())
        };
        Plane {
            width: self.width,
            height: self.height,
            levels,
        }
    }

    fn too_large(&self, plane: &Plane) -> bool {
        match (&plane.levels, self.depth) {
            (Levels::Sixteen(levels), Some(depth)) if depth < 16 => {
                levels.iter().any(|level| level >> depth > 0)
            }
            _ => false,
        }
    }

    fn caution_of_rows(&self) -> Caution {
        let order = if self.top_down {
            "from the top down"
        } else {
            "from the bottom up"
        };
        let asked = match (self.turned_over, self.mirrored) {
            (false, false) => "",
            (true, false) => {
                " (the camera's settings ask to turn them over, which was taken as done when they were stored)"
            }
            (false, true) => {
                " (the camera's settings ask to exchange left and right, which was taken as done when they were stored)"
            }
            (true, true) => {
                " (the camera's settings ask to turn and mirror them, which was taken as done when they were stored)"
            }
        };
        let text = format!(
            "the rows are taken as stored {order}{asked}; look at the pictures of the report: were they upside \
             down, places and angles in the image would be mirrored, sizes and modes not"
        );
        caution("orientation_assumed", text)
    }

    fn caution_of_depth(&self) -> Option<Caution> {
        let text = match self.depth {
            Some(depth) if depth <= u32::from(self.bits) => return None,
            Some(depth) => format!(
                "the sensor had {depth} bits, the pictures hold {}: they were reduced before",
                self.bits
            ),
            None => format!(
                "the depth of the sensor is not stated: levels are taken as codes of {} bits",
                self.bits
            ),
        };
        Some(caution("bit_depth_assumed", text))
    }
}

fn read_headers(file: &mut File) -> io::Result<Headers> {
    let head = read_at(file, 0, HEADER)?;
    let at = |place| long(&head, place).unwrap_or(0);
    let (count, bitmap_at, setup_at, places_at) = (at(20), at(24), at(28), at(32));
    let bitmap = read_at(file, bitmap_at.into(), 40)?;
    let (width, height) = (
        long(&bitmap, 4).unwrap_or(0) as i32,
        long(&bitmap, 8).unwrap_or(0) as i32,
    );
    if !(1..=1 << 15).contains(&width)
        || !(1..=1 << 15).contains(&height.unsigned_abs())
        || count > PICTURES_AT_MOST
    {
        let problem = format!("{count} pictures of {width}x{height} pixels cannot be");
        return Err(io::Error::new(io::ErrorKind::InvalidData, problem));
    }
    let setup = read_at(file, setup_at.into(), SETUP).unwrap_or_default();
    let known = setup.get(140..142) == Some(b"ST");
    let of_setup = |place| long(&setup, place).filter(|value| known && *value > 0);
    let table = read_at(file, places_at.into(), 8 * count as usize)?;
    let blocks_at = u64::from(setup_at) + u64::from(word(&setup, 142).unwrap_or(0));
    let times = if known {
        read_times(file, blocks_at, places_at.into(), count as usize)?
    } else {
        None
    };
    Ok(Headers {
        compression: word(&head, 4).unwrap_or(0),
        width: width as usize,
        height: height.unsigned_abs() as usize,
        top_down: height < 0,
        bits: word(&bitmap, 14).unwrap_or(0),
        packing: long(&bitmap, 16).unwrap_or(0),
        places: table.chunks_exact(8).map(long_long).collect(),
        rate: of_setup(768),
        depth: of_setup(896),
        turned_over: of_setup(760).is_some(),
        mirrored: of_setup(756).is_some(),
        times,
    })
}

/// Times of the pictures in s from the first, from the tagged blocks between two places; `None` without such a block, or
/// when its times do not rise.
fn read_times(file: &mut File, mut at: u64, end: u64, count: usize) -> io::Result<Option<Vec<f64>>> {
    while at + 8 <= end {
        let head = read_at(file, at, 8)?;
        let size = u64::from(long(&head, 0).unwrap_or(0));
        if size < 8 {
            break;
        }
        if word(&head, 4) == Some(TIMES) && size >= 8 + 8 * count as u64 {
            let block = read_at(file, at + 8, 8 * count)?;
            // Seconds in the upper half, parts of 2^-32 s in the lower.
            let ticks: Vec<u64> = block.chunks_exact(8).map(long_long).collect();
            let rises = ticks.windows(2).all(|pair| pair[1] > pair[0]);
            let seconds = |tick: &u64| (tick - ticks[0]) as f64 / 2_f64.powi(32);
            return Ok((rises && count > 1).then(|| ticks.iter().map(seconds).collect()));
        }
        at += size;
    }
    Ok(None)
}

fn read_at(file: &mut File, place: u64, size: usize) -> io::Result<Vec<u8>> {
    file.seek(SeekFrom::Start(place))?;
    let mut bytes = Vec::new();
    file.take(size as u64).read_to_end(&mut bytes)?;
    if bytes.len() < size {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    Ok(bytes)
}

fn word(bytes: &[u8], at: usize) -> Option<u16> {
    let pair = bytes.get(at..at + 2)?;
    Some(u16::from_le_bytes([pair[0], pair[1]]))
}

fn long(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at + 4)?;
    Some(u32::from_le_bytes([four[0], four[1], four[2], four[3]]))
}

fn long_long(eight: &[u8]) -> u64 {
    eight
        .iter()
        .rev()
        .fold(0, |sum, byte| sum << 8 | u64::from(*byte))
}

fn caution(code: &str, text: String) -> Caution {
    Caution {
        code: code.into(),
        text,
        frames: None,
    }
}

fn damaged(name: &str, problem: impl ToString) -> ClipError {
    ClipError::Damaged {
        name: name.into(),
        problem: problem.to_string(),
    }
}

#[cfg(test)]
mod tests;
