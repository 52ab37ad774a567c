//! Series of shape amplitudes over time: what a measured clip and a simulated run both give, and all that
//! inference sees of either.
//!
//! The outline of a body is `r(theta) = R (1 + sum_n a_n P_n(cos theta))`, with `R` the volume-equivalent radius.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a_n` | amplitude of degree n, in units of R | 1 |
//! | `t` | real time | s |

/// The amplitudes of one body over time.
#[derive(Debug, Clone, PartialEq)]
pub struct ModeSeries {
    /// Which body, from 1.
    pub body: u32,
    /// The degrees, ascending, e.g. `[2, 3, 4, 5, 6]`.
    pub degrees: Vec<u32>,
    /// One sample a frame, ascending in time; frames without the body are absent.
    pub samples: Vec<ModeSample>,
}

/// The amplitudes at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct ModeSample {
    /// Frame in the clip (or step of the simulation).
    pub frame: u64,
    /// Real time, s.
    pub time: f64,
    /// `a_n`, one for each degree of the series.
    pub amplitude: Vec<f64>,
    /// Covariance of `amplitude`, lower triangle row by row: (0,0), (1,0), (1,1), (2,0) ...
    pub covariance: Vec<f64>,
    /// Whether the body is free here: nothing touches it and the outline is good enough to infer from.
    pub free: bool,
}

impl ModeSample {
    /// Variance of the amplitude at place `i` of the series' degrees.
    pub fn variance(&self, i: usize) -> f64 {
        self.covariance[i * (i + 1) / 2 + i]
    }
}
