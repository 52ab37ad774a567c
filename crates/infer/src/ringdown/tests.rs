use std::f64::consts::TAU;

use tremolet_numerics::random::Generator;
use tremolet_numerics::statistics::{binomial_bounds, student_quantile};
use tremolet_record::series::{ModeSample, ModeSeries};

use crate::line::ring;
use crate::ringdown::{Options, Ringdown, analyse};

/// `[A, phi, w, g, k]`.
type Line = [f64; 5];

fn line(amplitude: f64, hertz: f64, decay: f64) -> Line {
    [amplitude, 0.4, TAU * hertz, decay, 0.0]
}

/// A series of `values(place, t)` for degrees from 2, with the deviation stated.
fn made(
    degrees: u32,
    count: usize,
    step: f64,
    stated: f64,
    mut values: impl FnMut(usize, f64) -> f64,
) -> ModeSeries {
    let degrees: Vec<u32> = (2..2 + degrees).collect();
    let n = degrees.len();
    let mut covariance = Vec::new();
    for i in 0..n {
        covariance.extend((0..=i).map(|j| if i == j { stated * stated } else { 0.0 }));
    }
    let sample = |i: usize| {
        let time = 7.0 + step * i as f64;
        ModeSample {
            frame: i as u64,
            time,
            amplitude: (0..n).map(|place| values(place, time - 7.0)).collect(),
            covariance: covariance.clone(),
            free: true,
        }
    };
    let samples = (0..count).map(sample).collect();
    ModeSeries {
        body: 1,
        degrees,
        samples,
    }
}

fn has(found: &Ringdown, code: &str) -> bool {
    found.cautions.iter().any(|c| c.code == code)
}

/// Noise of first order, `x' = c x + e`, of unit variance.
struct Coloured {
    last: f64,
    keep: f64,
}

impl Coloured {
    fn next(&mut self, g: &mut Generator) -> f64 {
        self.last = self.keep * self.last + (1.0 - self.keep * self.keep).sqrt() * g.normal();
        self.last
    }
}

#[test]
fn three_modes_are_recovered() {
    let truth = [line(0.1, 2.75, 0.3), line(0.04, 5.32, 0.6), line(0.02, 8.25, 1.1)];
    let mut g = Generator::new(1);
    let series = made(5, 1000, 0.004, 0.001, |place, t| {
        truth.get(place).map_or(0.0, |l| ring(l, t)) + 0.01 + 0.001 * g.normal()
    });
    let found = analyse(&series, &Options::default());
    assert_eq!(
        found.modes.iter().map(|m| m.degree).collect::<Vec<_>>(),
        [2, 3, 4],
        "{:?}",
        found.cautions
    );
    for (mode, line) in found.modes.iter().zip(&truth) {
        assert!(
            (mode.angular_frequency - line[2]).abs() < 4.0 * mode.u_angular_frequency,
            "{mode:?}"
        );
        assert!(
            (mode.decay_rate - line[3]).abs() < 4.0 * mode.u_decay_rate,
            "{mode:?}"
        );
        assert!(
            (mode.amplitude - line[0]).abs() < 4.0 * mode.u_amplitude,
            "{mode:?}"
        );
    }
    assert_eq!(found.covariance.len(), 36);
    assert!((found.covariance[7] - found.modes[0].u_decay_rate.powi(2)).abs() < 1e-18);
    let curve = found.curve(2, 7.5).unwrap();
    assert!((curve - 0.01 - ring(&truth[0], 0.5)).abs() < 0.001);
    assert_eq!((found.curve(2, 6.9), found.curve(9, 7.5)), (None, None));
    assert!(!has(&found, "nothing_rings") && !has(&found, "noise_above_stated"));
}

/// Share of runs whose 95 % intervals hold the truth, against its binomial bounds.
fn covers(seed: u64, keep: f64) {
    let runs = 300;
    let truth = line(0.1, 2.75, 0.3);
    let (mut inside, mut found_in) = ([0_u64; 2], 0);
    for run in 0..runs {
        let mut g = Generator::stream(seed, run);
        let mut noise = Coloured { last: 0.0, keep };
        let series = made(1, 600, 0.01, 0.01, |_, t| {
            ring(&truth, t) + 0.01 * noise.next(&mut g)
        });
        let found = analyse(&series, &Options::default());
        let [mode] = &found.modes[..] else { continue };
        found_in += 1;
        let wide = student_quantile(0.975, mode.degrees_of_freedom);
        let errors = [
            (mode.angular_frequency - truth[2]) / mode.u_angular_frequency,
            (mode.decay_rate - truth[3]) / mode.u_decay_rate,
        ];
        for (hits, error) in inside.iter_mut().zip(errors) {
            *hits += u64::from(error.abs() < wide);
        }
    }
    assert_eq!(found_in, runs);
    for hits in inside {
        let (low, high) = binomial_bounds(hits, runs, 0.999);
        assert!(low < 0.95 && high > 0.95, "{hits} of {runs}");
    }
}

#[test]
fn intervals_cover_in_white_noise() {
    covers(11, 0.0);
}

#[test]
fn intervals_cover_in_coloured_noise() {
    covers(12, 0.9);
}

// 200 clips of noise of seven degrees at a false-alarm probability of 0.001 a clip: more than 3 has a probability below 1e-4.
#[test]
fn noise_does_not_ring() {
    for keep in [0.0, 0.9] {
        let mut alarms = 0;
        for run in 0..200 {
            let mut g = Generator::stream(21, run);
            let mut noise: Vec<Coloured> = (0..7).map(|_| Coloured { last: 0.0, keep }).collect();
            let series = made(7, 300, 0.01, 0.01, |place, _| 0.01 * noise[place].next(&mut g));
            let found = analyse(&series, &Options::default());
            alarms += usize::from(!found.modes.is_empty());
            assert_eq!(found.modes.is_empty(), has(&found, "nothing_rings"));
        }
        assert!(alarms <= 3, "{alarms} of 200 at {keep}");
    }
}

#[test]
fn drift_does_not_ring() {
    let mut alarms = 0;
    for run in 0..60 {
        let mut g = Generator::stream(22, run);
        let mut walk = [0.0; 3];
        let series = made(3, 500, 0.01, 0.002, |place, t| {
            walk[place] += 0.002 * g.normal();
            let drift = 0.02 * t + 0.004 * t * t - 0.05 * (-t).exp();
            let wander = if place == 0 { 0.0 } else { walk[place] };
            drift + wander + 0.002 * g.normal()
        });
        alarms += usize::from(!analyse(&series, &Options::default()).modes.is_empty());
    }
    assert!(alarms <= 2, "{alarms} of 60");
}
