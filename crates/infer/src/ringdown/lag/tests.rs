//! Lag that is put in point by point, and motions that only look like it.

use super::*;
use tremolet_numerics::legendre::value;
use tremolet_numerics::random::Generator;
use tremolet_record::series::ModeSample;

const DEGREES: [u32; 3] = [2, 3, 4];
/// Amplitude, phase, angular frequency, decay rate of each degree.
const MODES: [[f64; 4]; 3] = [
    [0.02, 0.4, 20.0, 1.2],
    [0.012, 2.0, 38.0, 3.0],
    [0.006, 5.0, 59.0, 5.5],
];
const RATE: f64 = 100.0;
const NOISE: f64 = 1e-4;

fn amplitudes(t: f64) -> [f64; 3] {
    MODES.map(|[a, p, w, g]| a * (-g * t).exp() * (w * t + p).cos())
}

/// What a coder with play `d` shows of an outline of 721 points, with a key picture every `every` frames; the body drifts across
/// by `drift` (over R) a second.
fn coded(d: f64, every: usize, drift: f64) -> Vec<[f64; 3]> {
    let points: Vec<f64> = (0..720)
        .map(|k| (f64::from(k) + 0.5) / 720.0 * std::f64::consts::TAU)
        .collect();
    let mut state: Vec<f64> = Vec::new();
    let mut out = Vec::new();
    for i in 0..160 {
        let t = i as f64 / RATE;
        let own = amplitudes(t);
        let place = |psi: &f64| {
            let shape: f64 = (0..3).map(|k| own[k] * value(k + 2, psi.cos())).sum();
            shape + drift * t * psi.sin()
        };
        let y: Vec<f64> = points.iter().map(place).collect();
        if i % every == 0 {
            state.clone_from(&y);
        }
        for (o, y) in state.iter_mut().zip(&y) {
            *o = o.max(y - d).min(y + d);
        }
        // Both sides are seen, so a half turn of weight sin psi, twice.
        let part = |n: usize| {
            let terms = points.iter().zip(state.iter().zip(&y));
            let sum: f64 = terms
                .map(|(psi, (o, y))| (o - y) * value(n, psi.cos()) * psi.sin().abs())
                .sum();
            (2 * n + 1) as f64 / 4.0 * sum * std::f64::consts::TAU / 720.0
        };
        out.push([0, 1, 2].map(|k| own[k] + part(k + 2)));
    }
    out
}

fn series(values: &[[f64; 3]], seed: u64) -> ModeSeries {
    let mut g = Generator::new(seed);
    let sample = |(i, own): (usize, &[f64; 3])| ModeSample {
        frame: i as u64,
        time: i as f64 / RATE,
        amplitude: own.iter().map(|a| a + NOISE * g.normal()).collect(),
        covariance: vec![NOISE * NOISE, 0.0, NOISE * NOISE, 0.0, 0.0, NOISE * NOISE],
        free: true,
    };
    ModeSeries {
        body: 1,
        degrees: DEGREES.to_vec(),
        samples: values.iter().enumerate().map(sample).collect(),
    }
}

const KEYS: [u64; 8] = [0, 20, 40, 60, 80, 100, 120, 140];

fn coding<'a>(keys: &'a [u64], path: &'a [[f64; 2]]) -> Coding<'a> {
    Coding {
        scatter: 8e-4,
        keys,
        path,
    }
}

#[test]
fn a_lag_that_key_pictures_show_is_taken_out() {
    let d = 7e-4;
    for seed in [1, 2, 3] {
        let mut seen = series(&coded(d, 20, 0.0), seed);
        let plain = analyse(&seen, &Options::default());
        let (found, lag) = analyse_coded(&mut seen, &Options::default(), &coding(&KEYS, &[]));
        let lag = lag.expect("seen");
        assert!(
            (lag.size - d).abs() < 4.0 * lag.u && lag.u < 0.2 * d && lag.pictures >= 6,
            "{lag:?}"
        );
        for (k, [_, _, w, g]) in MODES.into_iter().enumerate() {
            let off =
                |mode: &crate::ringdown::Mode| [mode.angular_frequency / w - 1.0, mode.decay_rate / g - 1.0];
            let (before, after) = (off(&plain.modes[k]), off(&found.modes[k]));
            let mode = &found.modes[k];
            assert!(
                (mode.angular_frequency - w).abs() < 3.0 * mode.u_angular_frequency,
                "{k} {after:?}"
            );
            assert!(
                (mode.decay_rate - g).abs() < 3.0 * mode.u_decay_rate,
                "{k} {after:?}"
            );
            if k == 0 {
                // Play lowers frequencies and raises decay rates.
                assert!(before[0] < -1.5e-3 && before[1] > 0.01, "{before:?}");
                assert!(after[0].abs() < 0.3 * before[0].abs(), "{before:?} {after:?}");
            }
        }
        let rms: f64 = seen
            .samples
            .iter()
            .map(|s| (s.amplitude[0] - amplitudes(s.time)[0]).powi(2))
            .sum::<f64>();
        assert!((rms / 160.0).sqrt() < 2.0 * NOISE, "{}", (rms / 160.0).sqrt());
        let shared =
            found.covariance[2] / (found.modes[0].u_angular_frequency * found.modes[1].u_angular_frequency);
        assert!(
            shared > 0.05,
            "what the lag leaves open is shared by the modes: {shared}"
        );
    }
}

#[test]
fn without_key_pictures_or_without_lag_nothing_is_taken_out() {
    let values = coded(7e-4, 1000, 0.0);
    for (values, keys) in [(values, &KEYS[..1]), (coded(0.0, 20, 0.0), &KEYS[..])] {
        let mut seen = series(&values, 4);
        let before = seen.clone();
        let (found, lag) = analyse_coded(&mut seen, &Options::default(), &coding(keys, &[]));
        assert!(lag.is_none() && seen == before && found == analyse(&before, &Options::default()));
    }
}

// The last picture before each key picture lags and no other does, as some coders make it.
#[test]
fn what_only_the_last_picture_before_a_key_one_has_is_not_taken_for_lag() {
    let (lagging, mut values) = (coded(2e-3, 20, 0.0), coded(0.0, 20, 0.0));
    for i in (19..160).step_by(20) {
        values[i] = lagging[i];
    }
    let mut seen = series(&values, 5);
    let (_, lag) = analyse_coded(&mut seen, &Options::default(), &coding(&KEYS, &[]));
    assert_eq!(lag, None);
}

// A body that drifts faster than it swings is always held back on the same side, which no swing shows; on the two sides across the drift it
// still lags. Who knows of the drift finds the same play.
#[test]
fn the_path_of_the_centre_is_part_of_the_motion() {
    let d = 7e-4;
    let drift = 0.25;
    let path: Vec<[f64; 2]> = (0..160).map(|i| [0.0, drift * f64::from(i) / RATE]).collect();
    let mut seen = series(&coded(d, 20, drift), 6);
    let (_, lag) = analyse_coded(&mut seen, &Options::default(), &coding(&KEYS, &path));
    let lag = lag.expect("seen");
    assert!((lag.size - d).abs() < 4.0 * lag.u, "{lag:?}");
    let mut seen = series(&coded(d, 20, drift), 6);
    let (_, blind) = analyse_coded(&mut seen, &Options::default(), &coding(&KEYS, &[]));
    assert!(
        blind.is_none_or(|blind| blind.size < lag.size - 2.0 * lag.u),
        "{blind:?} {lag:?}"
    );
}
