//! H.264 in MP4 or MOV, decoded inside the program.
//!
//! The tables of the file are read first, then each sample where it lies, so memory does not grow with the clip. Samples
//! come in decoding order and are handed out by their time of composition; the few that wait are kept. Levels are the
//! luma codes as decoded, turned upright by quarter turns as the file says. What the embedded decoder refuses (more than
//! 8 bits, other chroma, ...) goes to ffmpeg, from the frame where it refuses. Sound and other tracks are passed over.
//! Frames that nobody wants are passed over as far as the coding lets them: decoding goes on from the last picture before
//! which nothing is needed, and leaves out pictures that no other needs.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

use tremolet_record::findings::Caution;

use crate::error::ClipError;
use crate::ffmpeg::{has_ffmpeg, open_ffmpeg};
use crate::frame::{Frame, Plane, Stamp};
use crate::mp4::pictures::{Pictures, Refusal};
use crate::mp4::table::{Film, TableError};
use crate::mp4::units::{begins_anew, needed_by_none, stream_begins_anew, units};
use crate::rhythm::playback_rate;
use crate::source::{ClipInfo, FrameSource};

pub mod boxes;
pub mod pictures;
pub mod table;
pub mod units;

/// Pictures that may wait, with the one whose turn it is: the standard allows 16 (\[H264\] A.3.1).
const WAITING_AT_MOST: usize = 17;
/// Before each unit of a stream (\[H264\] annex B).
const START_CODE: [u8; 4] = [0, 0, 0, 1];

/// A film under way.
struct Mp4 {
    info: ClipInfo,
    path: PathBuf,
    file: File,
    film: Film,
    pictures: Pictures,
    sample: usize,
    /// Parameter sets with start codes that come before the next sample.
    sets: Vec<u8>,
    next: u64,
    waiting: BTreeMap<u64, Plane>,
    /// Places of the pictures so far before which nothing was needed.
    keys: Vec<u64>,
    outside: Option<Box<dyn FrameSource>>,
    handed_over: Option<Caution>,
}

/// Opens the film in the MP4 or MOV file at `path`.
///
/// # Errors
/// [`ClipError::NoVideo`], [`ClipError::Damaged`], [`ClipError::Empty`], or what ffmpeg gives where it has to help.
pub fn open_mp4(path: &Path) -> Result<Box<dyn FrameSource>, ClipError> {
    let name = path.display().to_string();
    let unreadable = |source| ClipError::Unreadable {
        name: name.clone(),
        source,
    };
    let mut file = File::open(path).map_err(unreadable)?;
    let film = match table::read_film(&mut file) {
        Ok(film) => film,
        Err(TableError::NoVideo) => return Err(ClipError::NoVideo { name }),
        Err(TableError::Damaged(problem)) => return Err(ClipError::Damaged { name, problem }),
        Err(TableError::Unreadable(source)) => return Err(unreadable(source)),
        Err(TableError::Foreign(found)) => return open_ffmpeg(path, &found),
    };
    if film.shown() == 0 {
        return Err(ClipError::Empty { name });
    }
    let mut source = Mp4::new(name, path, file, film);
    source.look_at_first()?;
    Ok(match source.outside.take() {
        Some(outside) => outside,
        None => Box::new(source),
    })
}

impl FrameSource for Mp4 {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        if self.next == self.film.shown() {
            return Ok(None);
        }
        while self.outside.is_none() && !self.waiting.contains_key(&self.next) {
            self.decode_sample()?;
        }
        let frame = match (&mut self.outside, self.waiting.remove(&self.next)) {
            (_, Some(plane)) => self.film.frame(self.next, plane),
            (Some(outside), None) => match outside.next_frame()? {
                Some(frame) => frame,
                None => return Err(self.damaged(format!("the clip ends before frame {}", self.next))),
            },
            (None, None) => return Err(self.damaged(format!("frame {} was not decoded", self.next))),
        };
        self.info.check(&frame)?;
        self.next += 1;
        Ok(Some(frame))
    }

    fn skip_to(&mut self, frame: u64) -> Result<(), ClipError> {
        let frame = frame.min(self.film.shown());
        if self.outside.is_none() && frame > self.next {
            self.next = frame;
            self.waiting.retain(|place, _| *place >= frame);
            if !self.waiting.contains_key(&frame) {
                let anew = self.begin_anew();
                anew.map_err(|source| self.unreadable(source))?;
            }
        }
        Ok(())
    }

    fn group_of(&mut self, frame: u64) -> Result<u64, ClipError> {
        if let Some(outside) = &mut self.outside {
            return outside.group_of(frame);
        }
        let sample = self.film.places.iter().position(|place| *place == Some(frame));
        let mut number = sample.unwrap_or(0);
        while number > 0 {
            let found = units(&mut self.file, self.film.samples[number], self.film.length_size);
            if begins_anew(&found.map_err(|source| self.unreadable(source))?) {
                break;
            }
            number -= 1;
        }
        let place = self.film.places.get(number).copied().flatten();
        Ok(place.unwrap_or(0).min(frame))
    }

    fn keys(&self) -> &[u64] {
        if self.film.is_in_order() { &self.keys } else { &[] }
    }

    fn cautions(&self) -> Vec<Caution> {
        let outside = self
            .outside
            .as_ref()
            .map_or(Vec::new(), |outside| outside.cautions());
        self.handed_over.iter().cloned().chain(outside).collect()
    }
}

impl Mp4 {
    /// The film before anything of it is decoded; its size is not known yet.
    fn new(name: String, path: &Path, file: File, film: Film) -> Self {
        let info = ClipInfo {
            name,
            width: 0,
            height: 0,
            bits: 8,
            frame_count: Some(film.shown()),
            header_rate_fps: playback_rate(&film.stamps, film.per_second),
            container: "mp4".into(),
            codec: "h264".into(),
            decoder: "embedded H.264".into(),
        };
        Self {
            info,
            path: path.into(),
            file,
            sets: film.parameter_sets.clone(),
            film,
            pictures: Pictures::default(),
            sample: 0,
            next: 0,
            waiting: BTreeMap::new(),
            keys: Vec::new(),
            outside: None,
            handed_over: None,
        }
    }

    /// Decodes up to the first picture, so that size and refusals are known.
    fn look_at_first(&mut self) -> Result<(), ClipError> {
        while self.outside.is_none() && !self.waiting.contains_key(&0) {
            self.decode_sample()?;
        }
        if let Some(plane) = self.waiting.get(&0) {
            (self.info.width, self.info.height) = (plane.width, plane.height);
        }
        Ok(())
    }

    /// Goes on to the last sample at which decoding can begin anew and still give all frames from the next on, if it lies
    /// ahead; the parameter sets on the way are kept.
    fn begin_anew(&mut self) -> std::io::Result<()> {
        let wanted = |place: &Option<u64>| place.is_some_and(|place| place >= self.next);
        let ahead = self.film.places.get(self.sample..).unwrap_or_default();
        let Some(last) = ahead.iter().position(wanted) else {
            return Ok(());
        };
        let (mut sets, mut start) = (self.sets.clone(), None);
        for number in self.sample..=self.sample + last {
            let found = units(&mut self.file, self.film.samples[number], self.film.length_size)?;
            if begins_anew(&found) {
                start = Some((number, sets.clone()));
            }
            for unit in found.iter().filter(|unit| unit.is_parameter_set()) {
                let at = sets.len() + START_CODE.len();
                sets.extend_from_slice(&START_CODE);
                sets.resize(at + unit.size, 0);
                self.file.seek(SeekFrom::Start(unit.offset))?;
                self.file.read_exact(&mut sets[at..])?;
            }
        }
        if let Some(start) = start {
            (self.sample, self.sets) = start;
        }
        Ok(())
    }

    /// Whether the sample is of a frame that is no longer wanted and that no other needs.
    fn is_idle(&mut self, number: usize) -> Result<bool, ClipError> {
        let passed = |place: &Option<u64>| place.is_some_and(|place| place < self.next);
        if !self.film.places.get(number).is_some_and(passed) {
            return Ok(false);
        }
        let found = units(&mut self.file, self.film.samples[number], self.film.length_size);
        let found = found.map_err(|source| self.unreadable(source))?;
        Ok(needed_by_none(&found))
    }

    /// Decodes the next sample of the file.
    fn decode_sample(&mut self) -> Result<(), ClipError> {
        let number = self.sample;
        if self.is_idle(number)? {
            self.sample += 1;
            return Ok(());
        }
        let Some(bytes) = self.read_sample(number)? else {
            return Err(self.damaged(format!("the samples end before frame {}", self.next)));
        };
        self.sample += 1;
        let plane = match self.pictures.next(&bytes) {
            Ok(Some(plane)) => plane,
            Ok(None) => return self.hand_over(format!("sample {number} holds no whole picture"), false),
            Err(Refusal { problem, foreign }) => {
                return self.hand_over(format!("sample {number}: {problem}"), foreign);
            }
        };
        if let Some(place) = self.film.places[number].filter(|place| *place >= self.next) {
            if stream_begins_anew(&bytes) {
                self.keys.push(place);
            }
            self.waiting.insert(place, self.film.turned(plane));
        }
        if self.waiting.len() > WAITING_AT_MOST {
            return Err(self.damaged(format!("the times of composition leave out frame {}", self.next)));
        }
        Ok(())
    }

    /// The bytes of a sample with start codes, behind the parameter sets that come before it.
    fn read_sample(&mut self, number: usize) -> Result<Option<Vec<u8>>, ClipError> {
        let Some(sample) = self.film.samples.get(number) else {
            return Ok(None);
        };
        let mut bytes = vec![0; sample.size];
        self.file
            .seek(SeekFrom::Start(sample.offset))
            .and_then(|_| self.file.read_exact(&mut bytes))
            .map_err(|source| self.unreadable(source))?;
        let mut stream = std::mem::take(&mut self.sets);
        match boxes::with_start_codes(&bytes, self.film.length_size, &mut stream) {
            Ok(()) => Ok(Some(stream)),
            Err(problem) => Err(self.damaged(format!("sample {number}: {problem}"))),
        }
    }

    /// Goes on with ffmpeg from the frame that is due.
    fn hand_over(&mut self, problem: String, foreign: bool) -> Result<(), ClipError> {
        if !has_ffmpeg() && !foreign {
            return Err(self.damaged(problem));
        }
        let mut outside = open_ffmpeg(
            &self.path,
            &format!("H.264 of a form not decoded by the program itself ({problem})"),
        )?;
        for _ in 0..self.next {
            outside.next_frame()?;
        }
        self.waiting.clear();
        self.info.decoder = format!(
            "{} until frame {}, then {}",
            self.info.decoder,
            self.next,
            outside.info().decoder
        );
        self.handed_over = Some(Caution {
            code: "decoder_changed".into(),
            text: format!(
                "from frame {} on ffmpeg decodes the clip, for the program itself could not go on ({problem})",
                self.next
            ),
            frames: Some([self.next, self.film.shown() - 1]),
        });
        self.outside = Some(outside);
        Ok(())
    }

    fn unreadable(&self, source: std::io::Error) -> ClipError {
        ClipError::Unreadable {
            name: self.info.name.clone(),
            source,
        }
    }

    fn damaged(&self, problem: String) -> ClipError {
        ClipError::Damaged {
            name: self.info.name.clone(),
            problem,
        }
    }
}

impl Film {
    /// The frame at a place of display.
    fn frame(&self, index: u64, plane: Plane) -> Frame {
        let ticks = usize::try_from(index)
            .ok()
            .and_then(|i| self.stamps.get(i))
            .copied();
        let stamp = ticks.map(|ticks| Stamp {
            ticks,
            per_second: self.per_second,
        });
        Frame { index, stamp, plane }
    }
}

#[cfg(test)]
mod tests;
