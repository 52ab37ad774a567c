//! Real time of each frame, in seconds from frame 0 of the clip.
//!
//! ```text
//! t_k = (s_k - s_0) / f,      s_k = s_(k-1) + round((p_k - p_(k-1)) F)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `t_k` | real time of frame `k` | s |
//! | `s_k` | slot of the camera that frame `k` fills; jumps over missing frames | 1 |
//! | `f` | capture rate: frames a second of real time | 1/s |
//! | `p_k` | playback stamp of the container | s |
//! | `F` | playback rate | 1/s |
//!
//! In order of trust: times given for each frame, the stated capture rate, the header; a stated rate that the given times
//! contradict is a caution. Where the names of stills are numbered, `s_k` is that number. Playback stamps otherwise say only
//! which slots are missing, for capture rate is not playback rate; where both rates agree within 2 % the clip was not
//! slowed down, and stamps that are uneven by more than their own ticks are kept as they are. `F` is the header's rate,
//! which a source takes as the median over its stamps wherever it knows them beforehand; without one it is the
//! median of the first intervals. Does not know the time of a row inside a frame (rolling shutter).

use tremolet_record::findings::Caution;

use crate::error::ClipError;
use crate::frame::{Frame, Levels, Plane, Stamp};
use crate::source::{ClipInfo, FrameSource};

/// Rates that differ by more than this part are not the same rate.
pub const SAME_RATE: f64 = 0.02;
/// Intervals that the running median looks at.
const INTERVALS_KEPT: usize = 255;
/// Intervals after which the median may contradict the header.
const INTERVALS_ENOUGH: usize = 16;

/// Gives frames, in display order, their real times.
#[derive(Debug, Clone)]
pub struct Clock {
    times: Option<Vec<f64>>,
    /// Slots that the frames fill, where they are known beforehand.
    slots: Option<Vec<u64>>,
    capture_rate_fps: f64,
    /// Stamps are real times apart from a constant factor.
    as_filmed: bool,
    header_rate_fps: Option<f64>,
    intervals: Vec<f64>,
    last: Option<Seen>,
    tally: Tally,
    at_start: Vec<Caution>,
}

/// The frame before.
#[derive(Debug, Clone, Copy)]
struct Seen {
    index: u64,
    stamp: Option<Stamp>,
    slot: f64,
    picture: u64,
}

/// What was odd so far: how often, first and last frame.
#[derive(Debug, Clone, Copy, Default)]
struct Odd {
    count: u64,
    frames: Option<[u64; 2]>,
}

impl Odd {
    fn note(&mut self, count: u64, index: u64) {
        self.count += count;
        let first = self.frames.map_or(index, |[first, _]| first);
        self.frames = Some([first, index]);
    }
}

#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    missing: Odd,
    same_stamp: Odd,
    same_picture: Odd,
    backwards: Odd,
    uneven: Odd,
    untimed: Odd,
}

impl Clock {
    /// A clock for the clip `info`: `capture_rate_fps` in frames per second of real time as stated by the user,
    /// `real_times` in s for each frame of the clip, from any zero.
    ///
    /// # Errors
    /// [`ClipError::BadRate`] for a rate that is not positive, [`ClipError::BadTimes`] for times that do not rise or
    /// are not as many as the frames, [`ClipError::NoTime`] when nothing says how fast the clip was taken.
    pub fn new(
        info: &ClipInfo,
        capture_rate_fps: Option<f64>,
        real_times: Option<Vec<f64>>,
    ) -> Result<Self, ClipError> {
        let header = info
            .header_rate_fps
            .filter(|rate| rate.is_finite() && *rate > 0.0);
        if let Some(rate_fps) = capture_rate_fps.filter(|rate| !(rate.is_finite() && *rate > 0.0)) {
            return Err(ClipError::BadRate {
                name: info.name.clone(),
                rate_fps,
            });
        }
        if let Some(times) = &real_times {
            check_times(info, times)?;
        }
        let Some(rate) = capture_rate_fps.or(header).or(real_times.as_ref().map(|_| 1.0)) else {
            return Err(ClipError::NoTime {
                name: info.name.clone(),
            });
        };
        let at_start = match &real_times {
            Some(times) => caution_of_times(capture_rate_fps, times).into_iter().collect(),
            None => cautions_of_rates(capture_rate_fps, header),
        };
        Ok(Self {
            times: real_times,
            slots: None,
            capture_rate_fps: rate,
            as_filmed: header.is_some_and(|header| (header / rate - 1.0).abs() <= SAME_RATE),
            header_rate_fps: header,
            intervals: Vec::new(),
            last: None,
            tally: Tally::default(),
            at_start,
        })
    }

    /// A clock for a source: `given_times` (s, one for each frame of the clip) win over those that lie beside the clip,
    /// and these over the numbers of its stills.
    ///
    /// # Errors
    /// As [`Clock::new`].
    pub fn of(
        source: &dyn FrameSource,
        capture_rate_fps: Option<f64>,
        given_times: Option<Vec<f64>>,
    ) -> Result<Self, ClipError> {
        let times = given_times.or_else(|| source.real_times().map(<[f64]>::to_vec));
        let clock = Self::new(source.info(), capture_rate_fps, times)?;
        Ok(Self {
            slots: source.slots().map(<[u64]>::to_vec),
            ..clock
        })
    }

    /// Real time of `frame` in s from frame 0 of the clip; call once for each frame, in display order.
    ///
    /// Not a number, with a caution, where times were given for fewer frames than the clip has.
    pub fn time(&mut self, frame: &Frame) -> f64 {
        let picture = fingerprint(&frame.plane);
        if self.last.is_some_and(|last| last.picture == picture) {
            self.tally.same_picture.note(1, frame.index);
        }
        let slot = self.slot(frame);
        self.last = Some(Seen {
            index: frame.index,
            stamp: frame.stamp,
            slot,
            picture,
        });
        match &self.times {
            None => slot / self.capture_rate_fps,
            Some(times) => {
                let time = usize::try_from(frame.index).ok().and_then(|i| times.get(i));
                if time.is_none() {
                    self.tally.untimed.note(1, frame.index);
                }
                time.map_or(f64::NAN, |time| time - times[0])
            }
        }
    }

    /// The slot of the camera that `frame` fills, counted from frame 0 of the clip.
    fn slot(&mut self, frame: &Frame) -> f64 {
        if let Some(slot) = self.numbered(frame.index) {
            return slot;
        }
        let Some(last) = self.last else {
            return frame.index as f64;
        };
        let steps = frame.index as f64 - last.index as f64;
        let (Some(before), Some(now)) = (last.stamp, frame.stamp) else {
            return last.slot + steps;
        };
        if self.times.is_some() {
            return last.slot + steps;
        }
        let interval = now.seconds() - before.seconds();
        if interval < 0.0 {
            self.tally.backwards.note(1, frame.index);
            return last.slot + steps;
        }
        self.note_interval(interval);
        let rate = self.playback_rate();
        let tick = rate / f64::from(now.per_second);
        last.slot + self.whole_slots(interval * rate, tick, frame.index)
    }

    /// The slot of a frame by the number of its still.
    fn numbered(&self, index: u64) -> Option<f64> {
        let slots = self.slots.as_ref()?;
        slots.get(usize::try_from(index).ok()?).map(|slot| *slot as f64)
    }

    /// Slots in a gap of `gap` playback intervals, known to `tick` of one.
    fn whole_slots(&mut self, gap: f64, tick: f64, index: u64) -> f64 {
        let whole = gap.round();
        if whole >= 2.0 {
            self.tally.missing.note(whole as u64 - 1, index);
        }
        if (gap - whole).abs() > (1.5 * tick).max(0.1) {
            self.tally.uneven.note(1, index);
            if self.as_filmed {
                return gap;
            }
        }
        if whole == 0.0 {
            self.tally.same_stamp.note(1, index);
        }
        whole
    }

    /// Takes an interval into the running median.
    fn note_interval(&mut self, interval: f64) {
        if interval > 0.0 && self.intervals.len() < INTERVALS_KEPT {
            let place = self.intervals.partition_point(|known| *known < interval);
            self.intervals.insert(place, interval);
        }
    }

    /// Playback rate: the header's, else the median of the intervals so far.
    fn playback_rate(&self) -> f64 {
        let median = self.median_interval();
        self.header_rate_fps
            .or(median.map(|median| 1.0 / median))
            .unwrap_or(self.capture_rate_fps)
    }

    fn median_interval(&self) -> Option<f64> {
        self.intervals
            .get(self.intervals.len().saturating_sub(1) / 2)
            .copied()
    }

    /// What the user should know about the times given out so far.
    pub fn cautions(&self) -> Vec<Caution> {
        let mut all = self.at_start.clone();
        let tally = &self.tally;
        let mut add = |odd: &Odd, code: &str, what: &str| {
            if odd.count > 0 {
                all.push(Caution {
                    code: code.into(),
                    text: format!("{} {what}", odd.count),
                    frames: odd.frames,
                });
            }
        };
        add(
            &tally.missing,
            "frames_missing",
            "frames are missing by the stamps; the time runs on across the gaps",
        );
        add(
            &tally.same_stamp,
            "stamps_repeated",
            "frames carry the stamp of the frame before; both have one time",
        );
        add(
            &tally.same_picture,
            "pictures_repeated",
            "frames show exactly the picture before; the camera may have stalled",
        );
        add(
            &tally.backwards,
            "stamps_backwards",
            "stamps run backwards; there the frames were taken as evenly spaced",
        );
        add(
            &tally.uneven,
            "stamps_uneven",
            "stamps lie between whole frame intervals",
        );
        add(
            &tally.untimed,
            "times_too_few",
            "frames have no time in the list of times",
        );
        all.extend(self.caution_of_header());
        all
    }

    /// The header's playback interval against the stamps.
    fn caution_of_header(&self) -> Option<Caution> {
        let (header, median) = (self.header_rate_fps?, self.median_interval()?);
        let enough = self.intervals.len() >= INTERVALS_ENOUGH;
        (enough && (median * header - 1.0).abs() > 0.25).then(|| Caution {
            code: "header_rate_not_stamps".into(),
            text: format!(
                "the header says {header:.6} frames/s of playback, the stamps {:.6}; gaps may be counted wrongly",
                1.0 / median
            ),
            frames: None,
        })
    }
}

/// Times rise, are finite and as many as the frames.
fn check_times(info: &ClipInfo, times: &[f64]) -> Result<(), ClipError> {
    let bad = |index: usize, problem: &'static str| ClipError::BadTimes {
        name: info.name.clone(),
        index: index as u64,
        problem,
    };
    if times.is_empty() {
        return Err(bad(0, "there is no time at all"));
    }
    if let Some(i) = times.iter().position(|time| !time.is_finite()) {
        return Err(bad(i, "the time is not a finite number"));
    }
    if let Some(i) = times.windows(2).position(|pair| pair[1] <= pair[0]) {
        return Err(bad(i + 1, "the time does not rise"));
    }
    match info.frame_count {
        Some(count) if count != times.len() as u64 => Err(bad(
            times.len().min(usize::try_from(count).unwrap_or(usize::MAX)),
            "times and frames are not equally many",
        )),
        _ => Ok(()),
    }
}

/// Frames a second by the middle one of the intervals between `times` (s); none for fewer than two.
pub fn middle_rate(times: &[f64]) -> Option<f64> {
    let mut intervals: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    intervals.sort_by(f64::total_cmp);
    let middle = intervals.get(intervals.len().checked_sub(1)? / 2)?;
    Some(1.0 / middle)
}

/// What is to be said when the stated rate is not that of the given times.
fn caution_of_times(stated: Option<f64>, times: &[f64]) -> Option<Caution> {
    let (stated, rate) = (stated?, middle_rate(times)?);
    ((rate / stated - 1.0).abs() > SAME_RATE).then(|| Caution {
        code: "rate_disagrees".into(),
        text: format!(
            "the stated capture rate is {stated} frames/s, the times given for the frames say {rate:.6}; the times are used"
        ),
        frames: None,
    })
}

/// What is to be said when the rates are known.
fn cautions_of_rates(stated: Option<f64>, header: Option<f64>) -> Vec<Caution> {
    let caution = |code: &str, text: String| {
        vec![Caution {
            code: code.into(),
            text,
            frames: None,
        }]
    };
    match (stated, header) {
        (Some(stated), Some(header)) if (header / stated - 1.0).abs() > SAME_RATE => caution(
            "rate_disagrees",
            format!(
                "the stated capture rate is {stated} frames/s, the header says {header:.6}; the stated one is used (capture rate is not playback rate)"
            ),
        ),
        (None, Some(header)) => caution(
            "rate_from_header",
            format!(
                "no capture rate is stated; the header's {header:.6} frames/s is taken for it, which is wrong for a clip that plays slowed down"
            ),
        ),
        _ => Vec::new(),
    }
}

/// Sixty-four bits that tell pictures apart (FNV-1a over words of eight bytes in lanes, so that no long picture is slow).
fn fingerprint(plane: &Plane) -> u64 {
    match &plane.levels {
        Levels::Eight(levels) => hashed(levels),
        Levels::Sixteen(levels) => hashed(levels),
    }
}

/// Words that are hashed side by side, for each step waits for the one before.
const LANES: usize = 4;

/// The hash over words made of small groups of levels.
fn hashed<T: Copy + Into<u64>>(levels: &[T]) -> u64 {
    let bits = 8 * size_of::<T>() as u32;
    let group = 8 / size_of::<T>();
    let word = |levels: &[T]| {
        levels
            .iter()
            .fold(0_u64, |word, level| word << bits | (*level).into())
    };
    let next = |hash: u64, word: u64| (hash ^ word).wrapping_mul(0x0000_0100_0000_01B3);
    let mut lanes = [0xCBF2_9CE4_8422_2325_u64; LANES];
    let mut blocks = levels.chunks_exact(LANES * group);
    for block in &mut blocks {
        for (lane, levels) in lanes.iter_mut().zip(block.chunks_exact(group)) {
            *lane = next(*lane, word(levels));
        }
    }
    let rest = blocks.remainder().chunks(group).map(word);
    lanes.into_iter().chain(rest).fold(0, next)
}

#[cfg(test)]
mod tests;
