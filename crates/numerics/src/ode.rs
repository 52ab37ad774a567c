//! Ordinary differential equations by explicit pairs: that of Dormand and Prince, order 5 with an error of order 4, and the classical
//! one of order 4 for waves.
//!
//! ```text
//! y' = f(t, y)          |error of a step| <= 1, the root mean square of (y5 - y4)_i / scale_i
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | `t`, `y` | the independent variable, the state |
//! | `scale_i` | error of component i that one step may make, in its own unit |
//!
//! The length of a step follows the error by a proportional-integral rule; between the ends of the last step the state is known by the
//! interpolant of the pair. Oscillations of angular frequency w are stable for steps up to 0.94/w ([`DORMAND_PRINCE`], 6
//! evaluations a step) or 2.83/w ([`CLASSICAL`], 4): the second is the one for many waves of which only the long ones matter. Its error
//! is `h (k4 - k5) / 6` with the slope k5 at the end of the step: both have the same conditions up to order 3.
//!
//! How to choose `scale`: errors of single steps add up, so a run of 1000 steps that is to end within 1e-6 asks for 1e-9.
//!
//! Source: \[HairerNorsettWanner1993\] II.4 (step length), table 5.2 (the pair), II.6 (interpolant). Stiff equations are not for it.

/// Why no step could be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OdeError<E> {
    /// The equations could not be evaluated, however short the step.
    #[error("{0}")]
    Rates(E),
    /// The error stays too large however short the step.
    #[error("the step at {time} shrank to {step:e}: the stated error cannot be held")]
    StepTooSmall {
        /// Where.
        time: f64,
        /// The step given up.
        step: f64,
    },
}

/// What the work cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Effort {
    /// Steps taken.
    pub steps: u64,
    /// Steps tried in vain.
    pub rejected: u64,
    /// Evaluations of the equations.
    pub evaluations: u64,
}

/// The equations: `rates(t, y, y')`.
pub type Rates<'a, E> = &'a mut dyn FnMut(f64, &[f64], &mut [f64]) -> Result<(), E>;

/// An explicit pair whose last stage is the first of the next step.
#[derive(Debug, PartialEq)]
pub struct Pair {
    /// Order of the solution.
    order: f64,
    c: &'static [f64],
    /// Row by row; the last is the solution.
    a: &'static [&'static [f64]],
    /// Solution less the one to compare with.
    e: &'static [f64],
    /// Of the interpolant; nil for that of third order by the slopes at the ends.
    d: &'static [f64],
}

/// Order 5 with an error of order 4, interpolant of order 4.
pub static DORMAND_PRINCE: Pair = Pair {
    order: 5.0,
    c: &[0.0, 0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0],
    a: &[
        &[],
        &[1.0 / 5.0],
        &[3.0 / 40.0, 9.0 / 40.0],
        &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
        &[
            19372.0 / 6561.0,
            -25360.0 / 2187.0,
            64448.0 / 6561.0,
            -212.0 / 729.0,
        ],
        &[
            9017.0 / 3168.0,
            -355.0 / 33.0,
            46732.0 / 5247.0,
            49.0 / 176.0,
            -5103.0 / 18656.0,
        ],
        &[
            35.0 / 384.0,
            0.0,
            500.0 / 1113.0,
            125.0 / 192.0,
            -2187.0 / 6784.0,
            11.0 / 84.0,
        ],
    ],
    e: &[
        71.0 / 57600.0,
        0.0,
        -71.0 / 16695.0,
        71.0 / 1920.0,
        -17253.0 / 339_200.0,
        22.0 / 525.0,
        -1.0 / 40.0,
    ],
    d: &[
        -12_715_105_075.0 / 11_282_082_432.0,
        0.0,
        87_487_479_700.0 / 32_700_410_799.0,
        -10_690_763_975.0 / 1_880_347_072.0,
        701_980_252_875.0 / 199_316_789_632.0,
        -1_453_857_185.0 / 822_651_844.0,
        69_997_945.0 / 29_380_423.0,
    ],
};

/// The classical one: order 4 with an error of order 3, interpolant of order 3.
pub static CLASSICAL: Pair = Pair {
    order: 4.0,
    c: &[0.0, 0.5, 0.5, 1.0, 1.0],
    a: &[
        &[],
        &[0.5],
        &[0.0, 0.5],
        &[0.0, 0.0, 1.0],
        &[1.0 / 6.0, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0],
    ],
    e: &[0.0, 0.0, 0.0, 1.0 / 6.0, -1.0 / 6.0],
    d: &[],
};
/// A step shorter than this share of the time that it adds to, or of the first step, is given up.
const SHORTEST: f64 = 1e-12;
/// The pace before the first step.
pub const FRESH: f64 = 1e-4;

/// A solution under way.
#[derive(Debug, Clone)]
pub struct Stepper {
    pair: &'static Pair,
    longest: f64,
    time: f64,
    state: Vec<f64>,
    scales: Vec<f64>,
    step: f64,
    first: f64,
    begun: f64,
    before: Vec<f64>,
    slopes: Vec<Vec<f64>>,
    trial: Vec<f64>,
    errors: Vec<f64>,
    known: bool,
    rolled: bool,
    last_error: f64,
    effort: Effort,
}

impl Stepper {
    /// At `time` in `state` by `pair`; `scales[i]` is the error of `state[i]` allowed in a step, `step` the first length tried.
    ///
    /// # Panics
    /// When states and scales differ in number, a scale or the step is not positive.
    #[must_use]
    pub fn new(pair: &'static Pair, time: f64, state: Vec<f64>, scales: Vec<f64>, step: f64) -> Self {
        assert!(step > 0.0, "a first step that is positive");
        let mut begun = Self {
            pair,
            longest: f64::INFINITY,
            time,
            step,
            first: step,
            begun: time,
            state: Vec::new(),
            scales: Vec::new(),
            before: Vec::new(),
            slopes: Vec::new(),
            trial: Vec::new(),
            errors: Vec::new(),
            known: false,
            rolled: true,
            last_error: FRESH,
            effort: Effort::default(),
        };
        begun.replace(state, scales);
        begun
    }

    /// Goes on from another state at the same time, of any number of components.
    ///
    /// # Panics
    /// When states and scales differ in number or a scale is not positive.
    pub fn replace(&mut self, state: Vec<f64>, scales: Vec<f64>) {
        assert_eq!(state.len(), scales.len(), "one scale for each component");
        assert!(scales.iter().all(|s| *s > 0.0), "scales that are positive");
        let size = state.len();
        self.before = state.clone();
        self.begun = self.time;
        self.slopes = vec![vec![0.0; size]; self.pair.c.len()];
        self.trial = vec![0.0; size];
        self.errors = vec![0.0; size];
        (self.state, self.scales) = (state, scales);
        (self.known, self.rolled) = (false, true);
    }

    /// Where it is.
    #[must_use]
    pub fn time(&self) -> f64 {
        self.time
    }

    /// Where the last step began.
    #[must_use]
    pub fn begun(&self) -> f64 {
        self.begun
    }

    /// The state there.
    #[must_use]
    pub fn state(&self) -> &[f64] {
        &self.state
    }

    /// The step that it would try next.
    #[must_use]
    pub fn step(&self) -> f64 {
        self.step
    }

    /// Error of the last step as the rule for the next length uses it: with time, state and step all that a step depends on.
    #[must_use]
    pub fn pace(&self) -> f64 {
        self.last_error
    }

    /// Takes up the pace of a solution that was left.
    pub fn keep_pace(&mut self, pace: f64) {
        self.last_error = pace.max(FRESH);
    }

    /// From now on no step is longer than `longest`: for waves too short to matter to the error, which must yet stay stable.
    pub fn limit(&mut self, longest: f64) {
        self.longest = longest;
    }

    /// What it has cost so far.
    #[must_use]
    pub fn effort(&self) -> Effort {
        self.effort
    }

    /// Makes one step, not past `until`. Equations that fail in a step make it shorter.
    ///
    /// # Errors
    /// [`OdeError::Rates`] when the equations fail at the state itself or for the shortest step, [`OdeError::StepTooSmall`].
    pub fn advance<E>(&mut self, until: f64, rates: Rates<'_, E>) -> Result<(), OdeError<E>> {
        if !self.known {
            self.effort.evaluations += 1;
            rates(self.time, &self.state, &mut self.slopes[0]).map_err(OdeError::Rates)?;
            (self.known, self.rolled) = (true, true);
        }
        self.roll();
        loop {
            let left = until - self.time;
            // A rest of less than a tenth of a step is not left over.
            let tried = self.step.min(self.longest);
            let step = if tried * 1.1 >= left { left } else { tried };
            let failed = self.stages(step, rates).err();
            let error = if failed.is_some() {
                f64::INFINITY
            } else {
                self.error(step)
            };
            if error <= 1.0 {
                self.accept(step, error);
                return Ok(());
            }
            self.effort.rejected += 1;
            self.step = step
                * if error.is_finite() {
                    (0.9 * error.powf(-1.0 / self.pair.order)).max(0.2)
                } else {
                    0.25
                };
            if self.step <= SHORTEST * self.first.max(self.time.abs()) {
                let (time, step) = (self.time, self.step);
                return Err(failed.map_or(OdeError::StepTooSmall { time, step }, OdeError::Rates));
            }
        }
    }

    fn stages<E>(&mut self, step: f64, rates: Rates<'_, E>) -> Result<(), E> {
        for stage in 1..self.pair.c.len() {
            self.trial.copy_from_slice(&self.state);
            let slopes = self.pair.a[stage].iter().zip(&self.slopes);
            for (factor, slopes) in slopes.filter(|(a, _)| **a != 0.0) {
                add(&mut self.trial, step * factor, slopes);
            }
            self.effort.evaluations += 1;
            rates(
                self.time + self.pair.c[stage] * step,
                &self.trial,
                &mut self.slopes[stage],
            )?;
        }
        Ok(())
    }

    /// Of the state in `trial`; infinite when something is not a number.
    fn error(&mut self, step: f64) -> f64 {
        self.errors.fill(0.0);
        let slopes = self.pair.e.iter().zip(&self.slopes);
        for (factor, slopes) in slopes.filter(|(e, _)| **e != 0.0) {
            add(&mut self.errors, step * factor, slopes);
        }
        let count = self.state.len().max(1) as f64;
        let shares = self.errors.iter().zip(&self.scales).map(|(e, s)| (e / s).powi(2));
        let mean = shares.sum::<f64>() / count;
        let sound = self.slopes[self.slopes.len() - 1].iter().all(|k| k.is_finite());
        if mean.is_finite() && sound {
            mean.sqrt()
        } else {
            f64::INFINITY
        }
    }

    fn accept(&mut self, step: f64, error: f64) {
        std::mem::swap(&mut self.before, &mut self.state);
        std::mem::swap(&mut self.state, &mut self.trial);
        self.begun = self.time;
        self.time += step;
        let error = error.max(1e-10);
        let grown = 0.9 * error.powf(-0.85 / self.pair.order) * self.last_error.powf(0.2 / self.pair.order);
        // A step cut short by `until` does not shorten those after it.
        let next = step * grown.clamp(0.2, 5.0);
        self.step = if step < self.step {
            next.max(self.step)
        } else {
            next
        };
        self.last_error = error.max(FRESH);
        self.effort.steps += 1;
        self.rolled = false;
    }

    /// The last slope of a step is the first of the next; rolled late, so that the interpolant keeps its own.
    fn roll(&mut self) {
        if !self.rolled {
            let last = self.slopes.len() - 1;
            self.slopes.swap(0, last);
            self.rolled = true;
        }
    }

    /// The state at `time` within the last step, into `state`; before the first step the state itself.
    pub fn within(&self, time: f64, state: &mut [f64]) {
        let step = self.time - self.begun;
        if step <= 0.0 || self.rolled {
            state.copy_from_slice(&self.state);
            return;
        }
        let share = (time - self.begun) / step;
        for (i, out) in state.iter_mut().enumerate() {
            let (from, to) = (self.before[i], self.state[i]);
            let rise = to - from;
            let bent = step * self.slopes[0][i] - rise;
            let bent_back = rise - step * self.slopes[self.slopes.len() - 1][i] - bent;
            let slopes = self.pair.d.iter().zip(&self.slopes);
            let last = step * slopes.map(|(d, k)| d * k[i]).sum::<f64>();
            *out =
                from + share * (rise + (1.0 - share) * (bent + share * (bent_back + (1.0 - share) * last)));
        }
    }
}

/// `sum += factor * list`.
fn add(sum: &mut [f64], factor: f64, list: &[f64]) {
    sum.iter_mut().zip(list).for_each(|(s, x)| *s += factor * x);
}

#[cfg(test)]
mod tests;
