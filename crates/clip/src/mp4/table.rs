//! The tables of an MP4 or MOV file: where each sample of the film lies, when it is shown, how it is turned.
//!
//! Follows \[ISO14496-12\] (boxes and sample tables 8.5 to 8.7, edit list 8.6.6) and \[ISO14496-15\] 5.3.3 (`avcC`).
//! Stamps count from the zero of the presentation, so a delay by an empty edit stays and samples cut away
//! at the ends are not shown. Fragmented files and films joined from several cuts are left to others.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};

use crate::frame::{Levels, Plane};
use crate::mp4::boxes::{Problem, boxes, child, child_at, number, rows, signed};

/// Longest header read into memory, bytes.
const HEADER_AT_MOST: u64 = 1 << 28;

/// Why there are no tables.
#[derive(Debug)]
pub enum TableError {
    /// No video track.
    NoVideo,
    /// The boxes contradict each other.
    Damaged(Problem),
    /// A form that is not read here; what it is.
    Foreign(String),
    /// The system refused.
    Unreadable(io::Error),
}

impl From<Problem> for TableError {
    fn from(problem: Problem) -> Self {
        Self::Damaged(problem)
    }
}

impl From<io::Error> for TableError {
    fn from(source: io::Error) -> Self {
        Self::Unreadable(source)
    }
}

/// Where a sample lies in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    /// First byte.
    pub offset: u64,
    /// Bytes.
    pub size: usize,
}

/// The film of a file.
#[derive(Debug)]
pub struct Film {
    /// Samples in decoding order.
    pub samples: Vec<Sample>,
    /// Place of each sample in the order of display; `None` when it is not shown.
    pub places: Vec<Option<u64>>,
    /// Ticks of the shown samples in order of display.
    pub stamps: Vec<i64>,
    /// Ticks in a second.
    pub per_second: u32,
    /// Sequence and picture parameter sets with start codes.
    pub parameter_sets: Vec<u8>,
    /// Bytes of the length before each unit of a sample.
    pub length_size: usize,
    /// Quarter turns clockwise to bring the picture upright, 0 to 3.
    pub quarter_turns: u8,
}

impl Film {
    /// Whether pictures are shown in the order in which they are coded, each from earlier ones.
    pub fn is_in_order(&self) -> bool {
        self.places.iter().flatten().is_sorted()
    }

    /// Frames that are shown.
    pub fn shown(&self) -> u64 {
        self.stamps.len() as u64
    }

    /// The plane brought upright.
    pub fn turned(&self, plane: Plane) -> Plane {
        (0..self.quarter_turns).fold(plane, |plane, _| quarter_turn(&plane))
    }
}

/// The plane turned clockwise by a quarter.
fn quarter_turn(plane: &Plane) -> Plane {
    fn turn<T: Copy>(levels: &[T], width: usize, height: usize) -> Vec<T> {
        let column = |x: usize| (0..height).rev().map(move |y| levels[y * width + x]);
        (0..width).flat_map(column).collect()
    }
    let (width, height) = (plane.width, plane.height);
    let levels = match &plane.levels {
        Levels::Eight(levels) => Levels::Eight(turn(levels, width, height)),
        Levels::Sixteen(levels) => Levels::Sixteen(turn(levels, width, height)),
    };
    Plane {
        width: height,
        height: width,
        levels,
    }
}

/// Reads the tables of the first video track.
///
/// # Errors
/// See [`TableError`].
pub fn read_film(file: &mut File) -> Result<Film, TableError> {
    let length = file.metadata()?.len();
    let header = read_header(file, length)?;
    let trak = video_track(&header)?;
    let mdia = child_at(trak, &[b"mdia"])?;
    let mdhd = child_at(mdia, &[b"mdhd"])?;
    let per_second = time_scale(mdhd)?;
    let stbl = child_at(mdia, &[b"minf", b"stbl"])?;
    let avcc = decoder_configuration(child_at(stbl, &[b"stsd"])?)?;
    let (length_size, parameter_sets) = parameter_sets(avcc)?;
    let samples = samples(stbl, length)?;
    let times = composition_times(stbl, samples.len())?;
    let cut = cut(&header, trak, per_second)?;
    let (places, stamps) = order(&times, &cut);
    Ok(Film {
        samples,
        places,
        stamps,
        per_second,
        parameter_sets,
        length_size,
        quarter_turns: quarter_turns(child_at(trak, &[b"tkhd"])?)?,
    })
}

/// The `moov` box, wherever it lies.
fn read_header(file: &mut File, length: u64) -> Result<Vec<u8>, TableError> {
    let mut at = 0;
    let mut header = None;
    while at + 8 <= length {
        let mut head = [0; 16];
        file.seek(SeekFrom::Start(at))?;
        let got = usize::try_from((length - at).min(16)).expect("at most 16");
        file.read_exact(&mut head[..got])?;
        let (skip, size) = match number(&head, 0, 4)? {
            0 => (8, length - at),
            1 => (16, number(&head, 8, 8)?),
            size => (8, size),
        };
        if size < skip || size > length - at {
            let kind = head[4..8].escape_ascii();
            return Err(Problem::from(format!(
                "box {kind} runs past the end of the file; the recording was cut off"
            ))
            .into());
        }
        match &head[4..8] {
            b"moof" => return Err(TableError::Foreign("a fragmented MP4".into())),
            b"moov" if size > HEADER_AT_MOST => return Err(Problem::from("box moov is too long").into()),
            b"moov" => {
                let mut body = vec![0; usize::try_from(size - skip).unwrap_or(0)];
                file.seek(SeekFrom::Start(at + skip))?;
                file.read_exact(&mut body)?;
                header = Some(body);
            }
            _ => {}
        }
        at += size;
    }
    header.ok_or_else(|| Problem::from("box moov is missing; the recording was not finished").into())
}

fn video_track(header: &[u8]) -> Result<&[u8], TableError> {
    for (kind, trak) in boxes(header)? {
        if kind == *b"trak" && child_at(trak, &[b"mdia", b"hdlr"])?.get(8..12) == Some(b"vide") {
            return Ok(trak);
        }
    }
    if child(header, b"mvex")?.is_some() {
        return Err(TableError::Foreign("a fragmented MP4".into()));
    }
    Err(TableError::NoVideo)
}

/// Ticks in a second of an `mdhd` or `mvhd` box.
fn time_scale(body: &[u8]) -> Result<u32, Problem> {
    let at = if number(body, 0, 1)? == 1 { 20 } else { 12 };
    match number(body, at, 4)? as u32 {
        0 => Err("a second has no ticks".into()),
        ticks => Ok(ticks),
    }
}

/// The `avcC` box of the first sample description.
fn decoder_configuration(stsd: &[u8]) -> Result<&[u8], TableError> {
    let entries = stsd
        .get(8..)
        .ok_or_else(|| Problem::from("box stsd is cut short"))?;
    let all = boxes(entries)?;
    let Some((kind, entry)) = all.first() else {
        return Err(Problem::from("box stsd is empty").into());
    };
    if kind != b"avc1" && kind != b"avc3" || all.len() > 1 {
        return Err(TableError::Foreign(format!(
            "video of the kind {}",
            kind.escape_ascii()
        )));
    }
    let inner = entry
        .get(78..)
        .ok_or_else(|| Problem::from("the sample description is cut short"))?;
    Ok(child_at(inner, &[b"avcC"])?)
}

/// Size of unit lengths, and the parameter sets with start codes.
fn parameter_sets(avcc: &[u8]) -> Result<(usize, Vec<u8>), Problem> {
    let length_size = (number(avcc, 4, 1)? & 3) as usize + 1;
    let mut out = Vec::new();
    let mut at = 5;
    for mask in [31, 255] {
        let count = number(avcc, at, 1)? & mask;
        at += 1;
        for _ in 0..count {
            let size = number(avcc, at, 2)? as usize;
            let set = avcc
                .get(at + 2..at + 2 + size)
                .ok_or("a parameter set is cut short")?;
            out.extend_from_slice(&[0, 0, 0, 1]);
            out.extend_from_slice(set);
            at += 2 + size;
        }
    }
    Ok((length_size, out))
}

/// Where the samples lie.
fn samples(stbl: &[u8], length: u64) -> Result<Vec<Sample>, Problem> {
    let sizes = sample_sizes(child_at(stbl, &[b"stsz"])?, length)?;
    let chunks = chunk_offsets(stbl)?;
    let runs: Vec<(u64, u64)> = rows(child_at(stbl, &[b"stsc"])?, 4, 12)?
        .map(|row| Ok((number(row, 0, 4)?, number(row, 4, 4)?)))
        .collect::<Result<_, Problem>>()?;
    let mut samples = Vec::with_capacity(sizes.len());
    let mut run = 0;
    for (chunk, start) in (1..).zip(chunks) {
        while runs.get(run + 1).is_some_and(|(first, _)| *first <= chunk) {
            run += 1;
        }
        let in_chunk = runs.get(run).ok_or("no samples in any chunk")?.1;
        let mut offset = start;
        for _ in 0..in_chunk {
            let Some(&size) = sizes.get(samples.len()) else {
                return Ok(samples);
            };
            if offset.checked_add(size).is_none_or(|end| end > length) {
                return Err(format!(
                    "sample {} of {} lies past the end of the file",
                    samples.len(),
                    sizes.len()
                ));
            }
            samples.push(Sample {
                offset,
                size: size as usize,
            });
            offset += size;
        }
    }
    if samples.len() < sizes.len() {
        return Err(format!(
            "chunks hold {} of {} samples",
            samples.len(),
            sizes.len()
        ));
    }
    Ok(samples)
}

fn sample_sizes(stsz: &[u8], length: u64) -> Result<Vec<u64>, Problem> {
    let (same, count) = (number(stsz, 4, 4)?, number(stsz, 8, 4)?);
    if same == 0 {
        return rows(stsz, 8, 4)?.map(|row| number(row, 0, 4)).collect();
    }
    if same.saturating_mul(count) > length {
        return Err("the samples are larger than the file".into());
    }
    Ok(vec![same; count as usize])
}

fn chunk_offsets(stbl: &[u8]) -> Result<Vec<u64>, Problem> {
    let (body, size) = match child(stbl, b"stco")? {
        Some(body) => (body, 4),
        None => (child_at(stbl, &[b"co64"])?, 8),
    };
    rows(body, 4, size)?.map(|row| number(row, 0, size)).collect()
}

/// Times of composition in ticks, in decoding order.
fn composition_times(stbl: &[u8], count: usize) -> Result<Vec<i64>, Problem> {
    let mut times = Vec::with_capacity(count);
    let mut time = 0_i64;
    for row in rows(child_at(stbl, &[b"stts"])?, 4, 8)? {
        let (repeat, step) = (number(row, 0, 4)? as usize, number(row, 4, 4)? as i64);
        for _ in 0..repeat.min(count - times.len()) {
            times.push(time);
            time += step;
        }
    }
    if times.len() < count {
        return Err(format!("{} of {count} samples have a time", times.len()));
    }
    if let Some(ctts) = child(stbl, b"ctts")? {
        let mut done = 0;
        for row in rows(ctts, 4, 8)? {
            let (repeat, shift) = (number(row, 0, 4)? as usize, signed(row, 4)?);
            let end = done + repeat.min(count - done);
            times[done..end].iter_mut().for_each(|time| *time += shift);
            done = end;
        }
    }
    Ok(times)
}

/// The part of the film that is shown, in ticks of the film.
#[derive(Debug, PartialEq, Eq)]
struct Cut {
    /// First time shown.
    start: Option<i64>,
    /// End of what is shown.
    end: Option<i64>,
    /// Shift from film to presentation.
    shift: i64,
}

fn cut(header: &[u8], trak: &[u8], per_second: u32) -> Result<Cut, TableError> {
    let whole = Cut {
        start: None,
        end: None,
        shift: 0,
    };
    let Some(elst) = child(trak, b"edts")?
        .map(|edts| child(edts, b"elst"))
        .transpose()?
        .flatten()
    else {
        return Ok(whole);
    };
    let movie_scale = i64::from(time_scale(child_at(header, &[b"mvhd"])?)?);
    let to_film = |ticks: i64| (i128::from(ticks) * i128::from(per_second) / i128::from(movie_scale)) as i64;
    let wide = number(elst, 0, 1)? == 1;
    let (mut delay, mut shown) = (0, Vec::new());
    for row in rows(elst, 4, if wide { 20 } else { 12 })? {
        let (length, start) = if wide {
            (number(row, 0, 8)? as i64, number(row, 8, 8)? as i64)
        } else {
            (number(row, 0, 4)? as i64, signed(row, 4)?)
        };
        match start {
            -1 if shown.is_empty() => delay = to_film(length).saturating_add(delay),
            _ => shown.push((start, length)),
        }
    }
    match shown[..] {
        [] => Ok(whole),
        [(start, length)] => Ok(Cut {
            start: Some(start),
            // One tick of the presentation of slack, for its length is rounded.
            end: (length > 0).then(|| start.saturating_add(to_film(length.saturating_add(1)))),
            shift: delay.saturating_sub(start),
        }),
        _ => Err(TableError::Foreign("a film joined from several cuts".into())),
    }
}

/// Places in order of display, and the stamps of the shown samples in that order.
fn order(times: &[i64], cut: &Cut) -> (Vec<Option<u64>>, Vec<i64>) {
    let shown =
        |time: i64| cut.start.is_none_or(|start| time >= start) && cut.end.is_none_or(|end| time < end);
    let mut by_time: Vec<usize> = (0..times.len()).filter(|i| shown(times[*i])).collect();
    by_time.sort_by_key(|i| times[*i]);
    let mut places = vec![None; times.len()];
    for (place, i) in (0..).zip(&by_time) {
        places[*i] = Some(place);
    }
    let stamps = by_time
        .iter()
        .map(|i| times[*i].saturating_add(cut.shift))
        .collect();
    (places, stamps)
}

/// Quarter turns clockwise of the `tkhd` matrix.
fn quarter_turns(tkhd: &[u8]) -> Result<u8, TableError> {
    let at = if number(tkhd, 0, 1)? == 1 { 52 } else { 40 };
    let sign = |i: usize| signed(tkhd, at + i).map(i64::signum);
    match (sign(0)?, sign(4)?, sign(12)?, sign(16)?) {
        (1, 0, 0, 1) | (0, 0, 0, 0) => Ok(0),
        (0, 1, -1, 0) => Ok(1),
        (-1, 0, 0, -1) => Ok(2),
        (0, -1, 1, 0) => Ok(3),
        _ => Err(TableError::Foreign("a film shown mirrored or slanted".into())),
    }
}

#[cfg(test)]
mod tests;
