//! What is being found while a clip is measured: the outline that was seen last, and how the body has swung so far.
//!
//! ```text
//! swing = [A_2 cos 2 phi_0 + B_2 sin 2 phi_0] / r_0,     tan 4 phi_0 = 2 sum A B / sum (A^2 - B^2),   A, B less their means
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A_2`, `B_2` | second harmonics of the outline round its centre | px |
//! | `r_0` | its mean radius | px |
//! | `phi_0` | the direction in which they change most, from image-up | rad |
//!
//! A preview: no axis, no time, no correction. The run holds what was found.

use serde::Serialize;
use tremolet_measure::glimpse::Glimpse;

/// Most points of the swing that are told.
const MOST: usize = 160;

/// Gathers what is seen.
#[derive(Debug, Default)]
pub struct Live {
    size: [usize; 2],
    frame: u64,
    outlines: Vec<Vec<[f32; 2]>>,
    seconds: Vec<(u64, [f64; 2])>,
}

/// What is told.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shown {
    /// Width and height of the frames, px.
    pub size: [usize; 2],
    /// The frame that was seen last.
    pub frame: u64,
    /// Its outlines, px, to a tenth.
    pub outlines: Vec<Vec<[f64; 2]>>,
    /// Frame and swing so far, in units of the mean radius; thinned.
    pub swing: Vec<(u64, f64)>,
}

impl Live {
    /// Adds what was seen in frames of a size, px.
    pub fn add(&mut self, size: [usize; 2], seen: &[Glimpse]) {
        self.size = size;
        let told = seen.iter().filter_map(|one| Some((one.frame, one.second?)));
        self.seconds.extend(told);
        if let Some(last) = seen.last() {
            self.frame = last.frame;
            self.outlines.clone_from(&last.outlines);
        }
    }

    /// What there is to be seen now.
    pub fn seen(&self) -> Shown {
        let tenth = |x: f32| f64::from((10.0 * x).round() / 10.0);
        let outline = |points: &Vec<[f32; 2]>| points.iter().map(|[x, y]| [tenth(*x), tenth(*y)]).collect();
        Shown {
            size: self.size,
            frame: self.frame,
            outlines: self.outlines.iter().map(outline).collect(),
            swing: self.swing(),
        }
    }

    fn swing(&self) -> Vec<(u64, f64)> {
        let count = self.seconds.len().max(1) as f64;
        let mean = |k: usize| self.seconds.iter().map(|(_, s)| s[k]).sum::<f64>() / count;
        let mean = [mean(0), mean(1)];
        let sums = self.seconds.iter().fold([0.0, 0.0], |[across, along], (_, s)| {
            let (a, b) = (s[0] - mean[0], s[1] - mean[1]);
            [across + 2.0 * a * b, along + a * a - b * b]
        });
        let turn = 0.5 * sums[0].atan2(sums[1]);
        let step = self.seconds.len().div_ceil(MOST).max(1);
        let one = |(frame, s): &(u64, [f64; 2])| {
            let swing = s[0] * turn.cos() + s[1] * turn.sin();
            (*frame, (1e5 * swing).round() / 1e5)
        };
        self.seconds.iter().step_by(step).map(one).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn glimpse(frame: u64, second: [f64; 2]) -> Glimpse {
        Glimpse {
            frame,
            second: Some(second),
            outlines: vec![vec![[1.04, 2.0]]],
        }
    }

    #[test]
    fn a_swing_along_any_axis_is_told_at_its_full_size() {
        // A body that swings by 0.05 along an axis turned by phi: A = a cos 2 phi, B = a sin 2 phi.
        for phi in [0.0_f64, 0.4, 0.8, 1.5] {
            let mut live = Live::default();
            let frames: Vec<Glimpse> = (0..400)
                .map(|k| {
                    let a = 0.05 * (0.1 * k as f64).cos();
                    glimpse(k, [a * (2.0 * phi).cos(), a * (2.0 * phi).sin()])
                })
                .collect();
            live.add([72, 64], &frames);
            let shown = live.seen();
            assert!(shown.swing.len() <= MOST && shown.swing.len() > MOST / 2);
            let most = shown.swing.iter().map(|(_, s)| s.abs()).fold(0.0, f64::max);
            assert!((most - 0.05).abs() < 1e-4, "{phi}: {most}");
            assert_eq!((shown.frame, shown.outlines[0][0]), (399, [1.0, 2.0]));
        }
    }

    #[test]
    fn nothing_seen_is_nothing_told() {
        assert!(Live::default().seen().swing.is_empty());
    }
}
