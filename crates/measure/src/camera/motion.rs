//! How the camera moved: what the marks of each frame have in common, and how it is taken out.
//!
//! ```text
//! q = O + (1 + m)(p - O) + d,        1 + m = z e^(i turn)      points as complex numbers
//! chi^2 = sum_marks r^T W r / (1 + r^T W r / CAUCHY^2),        r = shift - d - m (p - O)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `p`, `q` | where a mark is in the first frame, in another | px |
//! | `O` | middle of the picture | px |
//! | `d`, `turn`, `z` | shift, turn and zoom of the picture | px, rad, 1 |
//! | `W` | weight of a mark: the inverse of its covariance | 1/px^2 |
//!
//! Marks that do not go with the others in most frames are left out; where fewer than two or not more than half of them agree, nothing is
//! taken out. Turn and zoom are fitted only where three marks and more are spread over the picture, and each of shift, turn and zoom is kept only
//! where it is more than noise: a camera that stands still stays as it is. Under a rolling shutter the marks of a frame are brought to
//! its mean mark's row with speed and bend of the shift.
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3 with weights of Cauchy's kind \[Huber1981\]. Marks and bodies are
//! taken to be at one distance for the zoom; what is fixed in the picture only (dust on the window) counts as a mark.

use crate::camera::Stated;
use crate::camera::mark::{Met, Symmetric, eigen};
use crate::camera::marks::Marks;
use std::f64::consts::TAU;
use tremolet_numerics::statistics::median;
use tremolet_shape::normal_equations::NormalEquations;

/// Residuals over their uncertainty from which a mark counts less.
const CAUCHY: f64 = 3.0;
/// Rounds of weighing.
const ROUNDS: usize = 8;
/// A mark goes with the others within this, px, or five times its uncertainty; and does so in this share of the frames.
const ASTRAY: f64 = 0.12;
const LOYAL: f64 = 0.6;
/// Least spread of marks, px, that tells turn and zoom.
const SPREAD: f64 = 40.0;
/// What is kept is more than this many times its uncertainty, and moves something in the picture by this, px.
const SURE: f64 = 3.0;
const SEEN: f64 = 0.015;

/// Shift, and real and imaginary part of `m`: [`State`] of one frame.
type State = [f64; 4];

/// The motion of the camera over the clip.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// Rising times, s.
    times: Vec<f64>,
    states: Vec<State>,
    middle: [f64; 2],
    u_zoom: f64,
}

/// What the marks of a clip say.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Verdict {
    /// There are none, or too few.
    #[default]
    Silent,
    /// They do not agree with each other.
    Unclear,
    /// The camera stood still.
    Still,
    /// It moved.
    Moved(Motion),
}

/// What the marks of one frame say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Place in the clip.
    pub frame: u64,
    /// Shift against the first frame, px.
    pub shift: [f64; 2],
    /// Its standard uncertainty in each direction, px.
    pub u_shift: f64,
    /// Turn against the first frame, clockwise as seen, rad.
    pub turn: f64,
    /// Size over that of the first frame.
    pub zoom: f64,
    /// Marks that were used.
    pub marks: usize,
}

/// One mark in one frame: place from the middle, shift, weight, delay of its row.
#[derive(Debug, Clone, Copy)]
struct Seen {
    mark: usize,
    place: [f64; 2],
    shift: [f64; 2],
    weight: Symmetric,
    delay: f64,
    /// Delay of its row in the first frame.
    first: f64,
}

/// One frame.
struct Fitted {
    frame: u64,
    time: f64,
    state: State,
    u: State,
    marks: usize,
}

/// What the marks say of a picture of this size; `time` of a frame in s.
pub fn judged(
    marks: &Marks,
    stated: &Stated,
    [width, height]: [usize; 2],
    time: impl Fn(u64) -> f64,
) -> (Verdict, Vec<View>) {
    let middle = [width, height].map(|side| (side as f64 - 1.0) / 2.0);
    let places = marks.places();
    let mut frames: Vec<(u64, f64, Vec<Seen>)> = marks
        .frames
        .iter()
        .map(|(frame, met)| (*frame, time(*frame), seen(&places, met, stated, middle)))
        .collect();
    if stated.shutter.is_some() {
        // Shift alone: what rows see at different times looks like turn and zoom.
        let shifts = fitted(&frames, [true, true, false, false], Scale::OfMarks);
        brought(&mut frames, &shifts, &courses(&shifts));
    }
    let often = |mark: usize| {
        let times = frames
            .iter()
            .filter(|f| f.2.iter().any(|s| s.mark == mark))
            .count();
        2 * times > frames.len()
    };
    let known = (0..places.len()).filter(|mark| often(*mark)).count();
    let loyal = loyal(&frames, places.len());
    let kept = loyal.iter().filter(|l| **l).count();
    if known < 2 {
        return (Verdict::Silent, Vec::new());
    }
    if kept < 2 || 2 * kept <= known {
        return (Verdict::Unclear, Vec::new());
    }
    frames.iter_mut().for_each(|f| f.2.retain(|s| loyal[s.mark]));
    let all = fitted(&frames, [true; 4], Scale::Stated);
    let matters = matters(&all, middle[0].hypot(middle[1]));
    if !matters.contains(&true) {
        return (Verdict::Still, views(&all));
    }
    // The middle about which a picture turns is not known beforehand, so shifts go along with turn and zoom.
    let turned = matters[2] || matters[3];
    let all = fitted(&frames, [true, true, turned, turned], Scale::Stated);
    let us: Vec<f64> = all.iter().map(|f| f.u[2]).filter(|u| u.is_finite()).collect();
    let motion = Motion {
        times: all.iter().map(|f| f.time).collect(),
        states: all.iter().map(|f| f.state).collect(),
        u_zoom: if us.is_empty() { 0.0 } else { median(&us) },
        middle,
    };
    (Verdict::Moved(motion), views(&all))
}

fn seen(places: &[[f64; 2]], met: &[Option<Met>], stated: &Stated, middle: [f64; 2]) -> Vec<Seen> {
    let level = |p: [f64; 2]| {
        stated
            .picture
            .and_then(|picture| picture.level(p).ok())
            .unwrap_or(p)
    };
    let one = |(mark, (at, met)): (usize, (&[f64; 2], &Option<Met>))| {
        let met = (*met)?;
        let now = [0, 1].map(|i| at[i] + met.shift[i]);
        let (from, to) = (level(*at), level(now));
        Some(Seen {
            mark,
            place: [0, 1].map(|i| from[i] - middle[i]),
            shift: [0, 1].map(|i| to[i] - from[i]),
            weight: met.weight,
            delay: stated.shutter.map_or(0.0, |s| s.row_time(0.0, now[1])),
            first: stated.shutter.map_or(0.0, |s| s.row_time(0.0, at[1])),
        })
    };
    places.iter().zip(met).enumerate().filter_map(one).collect()
}

/// Marks that go with the others in most of the frames that show them.
fn loyal(frames: &[(u64, f64, Vec<Seen>)], count: usize) -> Vec<bool> {
    let (mut with, mut all) = (vec![0.0; count], vec![0.0; count]);
    for (_, _, seen) in frames.iter().filter(|f| f.2.len() > 1) {
        let Some((state, _)) = fit(seen, open_for(seen, [true; 4]), Scale::Stated) else {
            continue;
        };
        for s in seen {
            let (r, square) = residual(s, &state);
            all[s.mark] += 1.0;
            let near = r[0].hypot(r[1]) < ASTRAY || square < 25.0;
            with[s.mark] += f64::from(u8::from(near));
        }
    }
    with.iter()
        .zip(&all)
        .map(|(w, a)| *a > 0.0 && *w > LOYAL * a)
        .collect()
}

/// Turn and zoom only where marks are spread.
fn open_for(seen: &[Seen], open: [bool; 4]) -> [bool; 4] {
    let count = seen.len() as f64;
    let mean = [0, 1].map(|i| seen.iter().map(|s| s.place[i]).sum::<f64>() / count);
    let away = |s: &Seen| (s.place[0] - mean[0]).powi(2) + (s.place[1] - mean[1]).powi(2);
    let spread = (seen.iter().map(away).sum::<f64>() / count).sqrt();
    let enough = seen.len() > 2 && spread > SPREAD;
    [open[0], open[1], open[2] && enough, open[3] && enough]
}

/// What a mark's shift leaves, px, and its square over its covariance.
fn residual(s: &Seen, [dx, dy, re, im]: &State) -> ([f64; 2], f64) {
    let [x, y] = s.place;
    let r = [
        s.shift[0] - dx - re * x + im * y,
        s.shift[1] - dy - re * y - im * x,
    ];
    let [a, b, c] = s.weight;
    (r, a * r[0] * r[0] + 2.0 * b * r[0] * r[1] + c * r[1] * r[1])
}

/// What is far for a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Scale {
    /// Far against its own uncertainty.
    Stated,
    /// Far against the middle one of the marks: rows see them at different times.
    OfMarks,
}

/// The state of a frame and its uncertainties, of what is `open`.
fn fit(seen: &[Seen], open: [bool; 4], scale: Scale) -> Option<(State, State)> {
    let columns: Vec<usize> = (0..4).filter(|i| open[*i]).collect();
    let middle = |i: usize| median(&seen.iter().map(|s| s.shift[i]).collect::<Vec<f64>>());
    let mut state = [middle(0), middle(1), 0.0, 0.0];
    let mut u = [f64::NAN; 4];
    for round in 0..ROUNDS {
        let off: Vec<f64> = seen.iter().map(|s| residual(s, &state).1).collect();
        // At first the scale of what is left is not known: that of the middle mark.
        let rough = round < 3 || scale == Scale::OfMarks;
        let scale = if rough { median(&off).max(1.0) } else { 1.0 };
        let mut sums = NormalEquations::new(columns.len());
        for (s, off) in seen.iter().zip(&off) {
            let less = 1.0 / (1.0 + off / (CAUCHY * CAUCHY * scale));
            for (weight, direction) in axes(s.weight) {
                let [x, y] = s.place;
                let whole = [
                    direction[0],
                    direction[1],
                    direction[0] * x + direction[1] * y,
                    direction[1] * x - direction[0] * y,
                ];
                let basis: Vec<f64> = columns.iter().map(|i| whole[*i]).collect();
                let value = direction[0] * s.shift[0] + direction[1] * s.shift[1];
                sums.add(&basis, less * weight, value);
            }
        }
        let found = sums.factored()?;
        let (solution, covariance) = (found.solution(columns.len()), found.covariance(columns.len()));
        state = [0.0; 4];
        for (k, i) in columns.iter().enumerate() {
            state[*i] = solution[k];
            u[*i] = covariance[k * columns.len() + k].sqrt();
        }
    }
    let more = beyond(seen, &state, columns.len());
    let sound = state.iter().all(|v| v.is_finite());
    sound.then(|| (state, u.map(|u| u * more)))
}

/// How much more the marks disagree than their covariances allow, at least 1.
fn beyond(seen: &[Seen], state: &State, columns: usize) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for square in seen.iter().map(|s| residual(s, state).1) {
        let less = 1.0 / (1.0 + square / (CAUCHY * CAUCHY));
        (sum, count) = (sum + less * square, count + 2.0 * less);
    }
    (sum / (count - columns as f64).max(1.0)).max(1.0).sqrt()
}

/// The axes of a weight: weight along it, unit vector.
fn axes(weight: Symmetric) -> [(f64, [f64; 2]); 2] {
    let ([low, high], [cos, sin]) = eigen(weight);
    [(high, [cos, sin]), (low.max(0.0), [-sin, cos])]
}

fn fitted(frames: &[(u64, f64, Vec<Seen>)], open: [bool; 4], scale: Scale) -> Vec<Fitted> {
    let one = |(frame, time, seen): &(u64, f64, Vec<Seen>)| {
        let (state, u) = (seen.len() > 1).then(|| fit(seen, open_for(seen, open), scale))??;
        let delay = seen.iter().map(|s| s.delay).sum::<f64>() / seen.len() as f64;
        Some(Fitted {
            frame: *frame,
            time: time + delay,
            state,
            u,
            marks: seen.len(),
        })
    };
    frames.iter().filter_map(one).collect()
}

/// Which of shift to the right, shift down, zoom and turn are more than noise.
fn matters(all: &[Fitted], reach: f64) -> [bool; 4] {
    std::array::from_fn(|i| {
        let values: Vec<f64> = all
            .iter()
            .filter(|f| f.u[i].is_finite())
            .map(|f| f.state[i])
            .collect();
        let us: Vec<f64> = all.iter().map(|f| f.u[i]).filter(|u| u.is_finite()).collect();
        if values.is_empty() {
            return false;
        }
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let rms = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt();
        let lever = if i < 2 { 1.0 } else { reach };
        rms > SURE * median(&us) && rms * lever > SEEN
    })
}

/// Speed and bend of the shift at each frame, px/s and px/s^2; at the ends those of the parabola through three.
fn courses(all: &[Fitted]) -> Vec<[[f64; 2]; 2]> {
    if all.len() < 3 {
        return vec![[[0.0; 2]; 2]; all.len()];
    }
    let one = |k: usize| {
        let middle = k.clamp(1, all.len() - 2);
        let (a, here, b) = (&all[middle - 1], &all[middle], &all[middle + 1]);
        let slope = |i: usize, from: &Fitted, to: &Fitted| {
            (to.state[i] - from.state[i]) / (to.time - from.time).max(1e-12)
        };
        let bend =
            [0, 1].map(|i| 2.0 * (slope(i, here, b) - slope(i, a, here)) / (b.time - a.time).max(1e-12));
        let off = all[k].time - 0.5 * (a.time + b.time);
        [[0, 1].map(|i| slope(i, a, b) + bend[i] * off), bend]
    };
    (0..all.len()).map(one).collect()
}

/// Brings the marks of each frame to their mean row, there and in the first frame with which they are compared.
fn brought(frames: &mut [(u64, f64, Vec<Seen>)], all: &[Fitted], courses: &[[[f64; 2]; 2]]) {
    let way = |[speed, bend]: &[[f64; 2]; 2], late: f64| {
        [0, 1].map(|i| speed[i] * late + 0.5 * bend[i] * late * late)
    };
    let (Some(begin), Some(first)) = (all.first(), courses.first()) else {
        return;
    };
    let began = frames
        .iter()
        .find(|f| f.0 == begin.frame)
        .map_or(0.0, |f| begin.time - f.1);
    for (fitted, course) in all.iter().zip(courses) {
        let Ok(place) = frames.binary_search_by_key(&fitted.frame, |f| f.0) else {
            continue;
        };
        let mean = fitted.time - frames[place].1;
        for s in &mut frames[place].2 {
            let (now, then) = (way(course, s.delay - mean), way(first, s.first - began));
            s.shift = [0, 1].map(|i| s.shift[i] - now[i] + then[i]);
            (s.delay, s.first) = (mean, began);
        }
    }
}

fn views(all: &[Fitted]) -> Vec<View> {
    let one = |f: &Fitted| {
        let [x, y, re, im] = f.state;
        View {
            frame: f.frame,
            shift: [x, y],
            u_shift: 0.5_f64.sqrt() * f.u[0].hypot(f.u[1]),
            turn: im.atan2(1.0 + re) % TAU,
            zoom: (1.0 + re).hypot(im),
            marks: f.marks,
        }
    };
    all.iter().map(one).collect()
}

impl Motion {
    /// Where a camera that stands as in the first frame shows what is seen at `q` at `time` (s), and by how much it is larger there.
    pub fn still(&self, q: [f64; 2], time: f64) -> ([f64; 2], f64) {
        let [dx, dy, re, im] = self.at(time);
        let [x, y] = [q[0] - self.middle[0] - dx, q[1] - self.middle[1] - dy];
        let (a, b) = (1.0 + re, im);
        let square = a * a + b * b;
        let back = [(x * a + y * b) / square, (y * a - x * b) / square];
        ([0, 1].map(|i| self.middle[i] + back[i]), 1.0 / square.sqrt())
    }

    /// Standard uncertainty of the zoom of the first frame, with which all others are compared; 0 where no zoom is taken out.
    pub fn u_zoom(&self) -> f64 {
        self.u_zoom
    }

    /// Root mean square of shift (px) and turn (rad) about their means, and largest change of the zoom.
    pub fn size(&self) -> [f64; 3] {
        let count = self.states.len() as f64;
        let spread = |i: usize| {
            let mean = self.states.iter().map(|s| s[i]).sum::<f64>() / count;
            self.states.iter().map(|s| (s[i] - mean).powi(2)).sum::<f64>() / count
        };
        let zooms = self.states.iter().map(|s| (1.0 + s[2]).hypot(s[3]));
        let (low, high) = zooms.fold((f64::INFINITY, 0.0), |(l, h): (f64, f64), z| (l.min(z), h.max(z)));
        [(spread(0) + spread(1)).sqrt(), spread(3).sqrt(), high / low - 1.0]
    }

    /// The state at a time, by a cubic through four frames; held at the ends.
    fn at(&self, time: f64) -> State {
        let count = self.times.len();
        let after = self.times.partition_point(|t| *t < time);
        if after < count && self.times[after] == time {
            return self.states[after];
        }
        if after == 0 || after == count || count < 4 {
            return self.states[after.min(count - 1)];
        }
        let first = after.saturating_sub(2).min(count - 4);
        let four = first..first + 4;
        let weight = |j: usize| -> f64 {
            let others = four.clone().filter(|i| *i != j);
            others
                .map(|i| (time - self.times[i]) / (self.times[j] - self.times[i]))
                .product()
        };
        let mut state = [0.0; 4];
        for j in four.clone() {
            let w = weight(j);
            state = std::array::from_fn(|i| state[i] + w * self.states[j][i]);
        }
        state
    }
}

#[cfg(test)]
mod tests;
