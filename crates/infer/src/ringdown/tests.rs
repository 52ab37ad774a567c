use std::f64::consts::TAU;

use tremolet_numerics::random::Generator;
use tremolet_record::series::{ModeSample, ModeSeries};

use crate::line::ring;
use crate::ringdown::{Options, Ringdown, Shift, analyse};

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

/// Options for lines whose frequency does not depend on amplitude.
fn unshifted() -> Options {
    let shift = |degree| Shift {
        degree,
        mean: 0.0,
        deviation: 1e-6,
    };
    Options {
        shifts: vec![shift(2), shift(3)],
        ..Options::default()
    }
}

fn has(found: &Ringdown, code: &str) -> bool {
    found.cautions.iter().any(|c| c.code == code)
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

// A release of amplitude 0.25: products of second order, with the coefficients of the expansion of mode 2 for the inviscid
// drop (static and at twice the frequency; P2 11/28 and -29/84, P4 9/35 and 27/175; recomputed independently).
#[test]
fn products_of_a_large_swing_are_no_modes() {
    let truth = [0.25, 0.0, TAU * 2.75, 0.35, -0.585_187];
    let mut g = Generator::new(5);
    let square = |t: f64| {
        let phase = ring(&truth, t) / (0.25 * (-0.35 * t).exp());
        let swing = 0.0625 * (-0.7 * t).exp();
        (swing, swing * (2.0 * phase * phase - 1.0))
    };
    let series = made(5, 1000, 0.005, 0.0005, |place, t| {
        let (slow, double) = square(t);
        let signal = match place {
            0 => ring(&truth, t) + 11.0 / 28.0 * slow - 29.0 / 84.0 * double,
            2 => 9.0 / 35.0 * slow + 27.0 / 175.0 * double,
            _ => 0.0,
        };
        signal + 0.0005 * g.normal()
    });
    let found = analyse(&series, &Options::default());
    assert_eq!(found.modes.len(), 1, "{:?}", found.cautions);
    assert!(has(&found, "product") && has(&found, "finite_amplitude"));
    let mode = &found.modes[0];
    assert!(
        (mode.angular_frequency - truth[2]).abs() < 4.0 * mode.u_angular_frequency,
        "{mode:?}"
    );
    assert!(
        (mode.decay_rate - truth[3]).abs() < 4.0 * mode.u_decay_rate,
        "{mode:?}"
    );
    assert!(
        (mode.frequency_shift_at_start + 0.585_187 * 0.0625).abs() < 0.002,
        "{mode:?}"
    );
    assert!(
        found.residuals.iter().all(|r| r.inflation < 1.1),
        "{:?}",
        found.residuals
    );
}

/// The shift is found where the data say it, and the prior only helps where they do not.
#[test]
fn the_finite_amplitude_shift_is_recovered() {
    for k in [-0.585, -1.0, 0.0] {
        let truth = [0.3, 1.0, TAU * 2.75, 0.35, k];
        let mut g = Generator::new(6);
        let series = made(1, 1000, 0.005, 0.001, |_, t| ring(&truth, t) + 0.001 * g.normal());
        let found = analyse(&series, &Options::default());
        let mode = &found.modes[0];
        assert!(
            (mode.frequency_shift_at_start - 0.09 * k).abs() < 0.002,
            "{mode:?}"
        );
        assert!(
            (mode.angular_frequency - truth[2]).abs() < 4.0 * mode.u_angular_frequency,
            "{mode:?}"
        );
    }
}

#[test]
fn leaks_are_given_to_their_owner() {
    let truth = [line(0.1, 2.75, 0.3), line(0.06, 5.32, 0.6), line(0.02, 8.25, 1.1)];
    let mut g = Generator::new(7);
    let series = made(5, 1000, 0.004, 0.001, |place, t| {
        let own = truth.get(place).map_or(0.0, |l| ring(l, t));
        let leak: f64 = (0..3)
            .filter(|&i| i != place)
            .map(|i| 0.08 * ring(&truth[i], t))
            .sum();
        own + leak + 0.001 * g.normal()
    });
    let found = analyse(&series, &Options::default());
    let degrees: Vec<u32> = found.modes.iter().map(|m| m.degree).collect();
    assert_eq!(degrees, [2, 3, 4], "{:?}", found.cautions);
    assert!(has(&found, "cross_talk"));
    for (mode, line) in found.modes.iter().zip(&truth) {
        assert!(
            (mode.angular_frequency - line[2]).abs() < 4.0 * mode.u_angular_frequency,
            "{mode:?}"
        );
        assert!(
            (mode.decay_rate - line[3]).abs() < 4.0 * mode.u_decay_rate,
            "{mode:?}"
        );
    }
    assert!(
        found.residuals.iter().all(|r| r.inflation < 1.1),
        "{:?}",
        found.residuals
    );
}

#[test]
fn only_free_samples_count_and_times_may_be_uneven() {
    let truth = line(0.1, 2.75, 0.3);
    let mut g = Generator::new(9);
    let mut series = made(2, 1200, 0.005, 0.001, |place, t| {
        let held = if t < 1.0 { 0.5 } else { 0.0 };
        let own = if place == 0 { ring(&truth, t) } else { 0.0 };
        held + own + 0.001 * g.normal()
    });
    series.samples.iter_mut().for_each(|s| s.free = s.time >= 8.0);
    let mut i = 0;
    series.samples.retain(|_| {
        i += 1;
        i % 7 != 0 && !(400..450).contains(&i)
    });
    series.samples[500].amplitude[0] = f64::NAN;
    series.samples[600].free = false;
    series.samples[600].amplitude[0] = 3.0;
    let found = analyse(&series, &Options::default());
    let [mode] = &found.modes[..] else {
        panic!("{:?}", found.modes)
    };
    assert!(
        (mode.angular_frequency - truth[2]).abs() < 4.0 * mode.u_angular_frequency,
        "{mode:?}"
    );
    assert!(
        (mode.amplitude - 0.1 * (-0.3_f64).exp()).abs() < 4.0 * mode.u_amplitude,
        "{mode:?}"
    );
    assert_eq!(
        found.interval.0,
        series.samples.iter().find(|s| s.free).unwrap().time
    );
    assert!(has(&found, "interrupted") && found.residuals[0].inflation < 1.1);
}

/// Rings of degrees 2 and 3 that are struck again after `kicks` (s), with noise of `noise`.
fn struck(kicks: &[f64], noise: f64, seed: u64) -> ([Line; 2], ModeSeries) {
    let truth = [line(0.05, 2.75, 0.4), line(0.03, 5.32, 0.8)];
    let mut g = Generator::new(seed);
    let series = made(4, 1200, 0.005, noise, |place, t| {
        let Some(own) = truth.get(place) else {
            return noise * g.normal();
        };
        let again = kicks.iter().enumerate().filter(|(_, kick)| t > **kick);
        let more = again.map(|(k, kick)| {
            let mut line = *own;
            line[1] = 2.0 + k as f64;
            ring(&line, t - kick)
        });
        ring(own, t) + more.sum::<f64>() + noise * g.normal()
    });
    (truth, series)
}

// A ring is struck again after 2 s, or after 0.8 and 4.9 s: the longest quiet part is 2 to 6 s, or 0.8 to 4.9 s.
#[test]
fn of_a_ring_that_is_struck_again_the_longest_quiet_part_is_fitted() {
    let cases: [(&[f64], f64, [f64; 2]); 3] = [
        (&[2.0], 2e-4, [2.0, 6.0]),
        (&[2.0], 4e-3, [2.0, 6.0]),
        (&[0.8, 4.9], 5e-4, [0.8, 4.9]),
    ];
    for (kicks, noise, quiet) in cases {
        let (truth, series) = struck(kicks, noise, 61);
        let found = analyse(&series, &Options::default());
        let told = found.cautions.iter().find(|c| c.code == "interrupted");
        let told = told.unwrap_or_else(|| panic!("{kicks:?} {noise}: {:?}", found.cautions));
        let frames = told.frames.expect("frames");
        let due = [kicks[0] / 0.005, kicks[kicks.len() - 1] / 0.005];
        for (frame, due) in frames.iter().zip(due) {
            assert!(
                (*frame as f64 - due).abs() < 12.0,
                "{kicks:?} {noise}: {frames:?}"
            );
        }
        let (from, to) = (found.interval.0 - 7.0, found.interval.1 - 7.0);
        assert!(
            from >= quiet[0] && from < quiet[0] + 0.35,
            "{kicks:?} {noise}: {from}"
        );
        assert!(to <= quiet[1] && to > quiet[1] - 0.35, "{kicks:?} {noise}: {to}");
        let degrees: Vec<u32> = found.modes.iter().map(|m| m.degree).collect();
        assert_eq!(degrees, [2, 3], "{kicks:?} {noise}: {:?}", found.cautions);
        for (mode, line) in found.modes.iter().zip(&truth) {
            let pull = (mode.angular_frequency - line[2]) / mode.u_angular_frequency;
            assert!(pull.abs() < 4.0, "{kicks:?} {noise}: {mode:?}");
            let pull = (mode.decay_rate - line[3]) / mode.u_decay_rate;
            assert!(pull.abs() < 4.0, "{kicks:?} {noise}: {mode:?}");
        }
        assert!(
            found.residuals.iter().all(|r| r.inflation < 1.15),
            "{:?}",
            found.residuals
        );
    }
}

// Two lines 4 % apart in one degree beat; a large swing slows; a gap in the record jumps over time. None is a break.
#[test]
fn beats_large_swings_and_gaps_are_no_breaks() {
    let mut g = Generator::new(62);
    let pair = [line(0.05, 2.75, 0.2), line(0.04, 2.86, 0.2)];
    let beats = made(1, 1200, 0.005, 1e-3, |_, t| {
        pair.iter().map(|l| ring(l, t)).sum::<f64>() + 1e-3 * g.normal()
    });
    let large = [0.35, 0.0, TAU * 2.75, 0.4, -0.585_187];
    let swing = made(1, 1200, 0.005, 1e-3, |_, t| ring(&large, t) + 1e-3 * g.normal());
    let mut gap = made(1, 1200, 0.005, 1e-3, |_, t| ring(&pair[0], t) + 1e-3 * g.normal());
    gap.samples.retain(|s| s.time < 9.0 || s.time > 10.3);
    for (series, what) in [(&beats, "beats"), (&swing, "a swing"), (&gap, "a gap")] {
        let found = analyse(series, &Options::default());
        assert!(!has(&found, "interrupted"), "{what}: {:?}", found.cautions);
    }
}

// Degree 4 forced at three times degree 2 decays with it; one that rings by itself, with its own rate (5.4 times that of degree 2,
// Lamb 1932 for little viscosity). Both at the exact resonance of the inviscid drop (Rayleigh 1879).
#[test]
fn a_line_at_three_times_degree_two_is_a_sure_mode_only_when_told_apart() {
    let mut g = Generator::new(63);
    let swing = [0.2, 0.0, TAU * 2.75, 0.3, 0.0];
    let mut of = |decay: f64| {
        let fourth = [0.02, 1.0, TAU * 8.25, decay, 0.0];
        let series = made(3, 1000, 0.004, 5e-4, |place, t| {
            let own = [Some(&swing), None, Some(&fourth)][place];
            own.map_or(0.0, |l| ring(l, t)) + 5e-4 * g.normal()
        });
        analyse(&series, &unshifted())
    };
    let forced = of(0.9);
    assert_eq!(forced.modes.len(), 2, "{:?}", forced.cautions);
    assert_eq!(
        (forced.modes[1].perhaps_product, forced.sure()),
        (Some([2, 2, 2]), vec![0])
    );
    assert!(has(&forced, "possible_product"));
    let own = of(5.4 * 0.3);
    assert_eq!(
        (own.modes.len(), own.sure()),
        (2, vec![0, 1]),
        "{:?}",
        own.cautions
    );
    assert!(!has(&own, "possible_product"));
}

// Degree 2 as two lines 3 % apart that beat half a time while they last, or that lie apart enough to be found one by one, degree 3 as one:
// the first is told, its frequency is the mean within half the distance, its decay has no weight; the second is as ever.
#[test]
fn a_degree_that_is_split_is_told_and_its_decay_is_of_no_use() {
    for (apart, seed) in [(0.08, 71), (0.2, 72)] {
        let mut g = Generator::new(seed);
        let pair = [line(0.05, 2.75, 0.3), line(0.04, 2.75 + apart, 0.3)];
        let single = line(0.03, 5.32, 0.6);
        let series = made(2, 1000, 0.005, 5e-4, |place, t| {
            let pair = || pair.iter().map(|l| ring(l, t)).sum::<f64>();
            let own = if place == 0 { pair() } else { ring(&single, t) };
            own + 5e-4 * g.normal()
        });
        let found = analyse(&series, &Options::default());
        let [second, third] = &found.modes[..] else {
            panic!("{:?}", found.cautions)
        };
        assert!(has(&found, "split_line"));
        assert!(!has(&found, "decay_not_resolved") && !has(&found, "unexplained_line"));
        let split = second.split.unwrap();
        let known = [2.75, 2.75 + apart].map(|f| TAU * f);
        for (w, known) in split.angular_frequencies.iter().zip(known) {
            assert!((w / known - 1.0).abs() < 2e-3, "{apart}: {split:?}");
        }
        assert!((second.angular_frequency - 0.5 * (known[0] + known[1])).abs() < 4.0 * split.u_mean);
        assert!((second.u_angular_frequency / split.u_mean.hypot(split.half()) - 1.0).abs() < 1e-12);
        assert!((second.decay_rate - 0.3).abs() < 4.0 * split.u_decay_rate);
        assert!(second.u_decay_rate > 2.0 * second.decay_rate);
        // Both begin with the phase 0.4.
        assert!((second.amplitude - 0.09).abs() < 1e-3 && (second.phase - 0.4).abs() < 0.02);
        assert_eq!(found.covariance[0].sqrt(), second.u_angular_frequency);
        assert_eq!(found.covariance[5].sqrt(), second.u_decay_rate);
        assert_eq!(
            (found.covariance[1], found.covariance[2], found.covariance[8]),
            (0.0, 0.0, 0.0)
        );
        assert_eq!(third.split, None);
        assert!((third.decay_rate - 0.6).abs() < 4.0 * third.u_decay_rate);
    }
}

#[test]
fn what_the_record_cannot_tell_is_said() {
    let mut g = Generator::new(10);
    let slow = line(0.05, 4.0, 0.001);
    let short = analyse(
        &made(1, 400, 0.005, 0.002, |_, t| ring(&slow, t) + 0.002 * g.normal()),
        &Options::default(),
    );
    assert!(has(&short, "decay_not_resolved"), "{:?}", short.modes);
    assert!((short.modes[0].decay_rate - 0.001).abs() < 4.0 * short.modes[0].u_decay_rate);
    // 12 Hz sampled at 20 a second shows at 8 Hz, below degree 2: a false frequency, which must not pass as a mode.
    let truth = [line(0.05, 8.6, 0.2), line(0.05, 12.0, 0.3)];
    let folded = analyse(
        &made(2, 400, 0.05, 0.002, |place, t| {
            ring(&truth[place], t) + 0.002 * g.normal()
        }),
        &Options::default(),
    );
    assert_eq!(folded.modes.len(), 1, "{:?}", folded.cautions);
    assert!(folded.modes[0].degree == 2 && has(&folded, "near_half_rate") && has(&folded, "out_of_order"));
    // Strongly damped: seen for two cycles and a half.
    let damped = line(0.1, 3.0, 3.6);
    let rare = analyse(
        &made(1, 1000, 0.005, 0.001, |_, t| {
            ring(&damped, t) + 0.001 * g.normal()
        }),
        &Options::default(),
    );
    assert!(has(&rare, "few_cycles"), "{:?}", rare.modes);
    assert!((rare.modes[0].decay_rate - 3.6).abs() < 4.0 * rare.modes[0].u_decay_rate);
    let louder = analyse(
        &made(1, 400, 0.005, 0.001, |_, t| ring(&slow, t) + 0.003 * g.normal()),
        &Options::default(),
    );
    assert!(has(&louder, "noise_above_stated") && louder.residuals[0].inflation > 2.5);
}

#[test]
fn degenerate_series_give_no_modes_and_a_caution() {
    let empty = ModeSeries {
        body: 1,
        degrees: vec![2, 3],
        samples: Vec::new(),
    };
    for series in [
        empty,
        made(2, 5, 0.01, 0.01, |_, t| t),
        made(2, 100, 0.0, 0.01, |_, _| 1.0),
    ] {
        let found = analyse(&series, &Options::default());
        assert!(found.modes.is_empty() && found.covariance.is_empty());
        assert!(has(&found, "nothing_rings") && has(&found, "too_few_samples"));
    }
    let constant = analyse(&made(2, 100, 0.01, 0.0, |_, _| 0.25), &Options::default());
    assert!(constant.modes.is_empty() && has(&constant, "nothing_rings"));
}

// A simulated series states no noise: its modes are found and its own residuals set the uncertainty.
#[test]
fn a_series_without_noise_is_recovered() {
    let truth = line(0.01, 2.75, 0.3);
    let found = analyse(
        &made(
            2,
            500,
            0.01,
            0.0,
            |p, t| if p == 0 { ring(&truth, t) } else { 0.0 },
        ),
        &Options::default(),
    );
    let [mode] = &found.modes[..] else {
        panic!("{:?}", found.modes)
    };
    assert!((mode.angular_frequency / truth[2] - 1.0).abs() < 1e-6, "{mode:?}");
    assert!((mode.decay_rate / truth[3] - 1.0).abs() < 1e-5, "{mode:?}");
}

#[test]
fn the_spectrum_peaks_at_the_line_and_the_residual_does_not() {
    let truth = line(0.1, 2.75, 0.3);
    let mut g = Generator::new(13);
    let found = analyse(
        &made(1, 1000, 0.01, 0.002, |_, t| ring(&truth, t) + 0.002 * g.normal()),
        &Options::default(),
    );
    let s = &found.spectra[0];
    let top = (0..s.power.len())
        .max_by(|&a, &b| s.power[a].total_cmp(&s.power[b]))
        .unwrap();
    assert!((s.frequency_hz[top] - 2.75).abs() < 0.11);
    assert!(s.residual_power[top] < 1e-3 * s.power[top]);
    assert_eq!(s.frequency_hz.len(), s.residual_power.len());
}

// 1000 frames of seven degrees, three of them ringing: well below a second of one core; the bound leaves room for a machine that
// is busy with other things.
#[test]
fn a_thousand_frames_are_quick() {
    let truth = [line(0.1, 2.75, 0.3), line(0.04, 5.32, 0.6), line(0.02, 8.25, 1.1)];
    let mut g = Generator::new(14);
    let series = made(7, 1000, 0.004, 0.001, |place, t| {
        (0..3)
            .map(|i| if i == place { 1.0 } else { 0.05 } * ring(&truth[i], t))
            .sum::<f64>()
            + 0.001 * g.normal()
    });
    let mut taken = f64::INFINITY;
    for _ in 0..5 {
        let before = std::time::Instant::now();
        let found = analyse(&series, &Options::default());
        taken = taken.min(before.elapsed().as_secs_f64());
        assert_eq!(found.modes.len(), 3, "{:?}", found.cautions);
    }
    assert!(taken < 3.0, "{taken} s");
}

mod many;

#[test]
fn a_record_too_short_for_its_swing_says_so() {
    let mut g = Generator::new(77);
    let slow = line(0.05, 1.0, 0.1);
    let mut of = |size: f64| {
        let series = made(1, 60, 0.01, 1e-4, |_, t| {
            size * ring(&slow, t) + 1e-4 * g.normal()
        });
        let found = analyse(&series, &Options::default());
        let told = found.cautions.iter().find(|c| c.code == "nothing_rings");
        told.map(|c| c.text.clone()).expect("0.6 cycles are no mode")
    };
    assert!(of(1.0).contains("1.5 cycles in the 0.590 s"));
    assert!(of(0.0).contains("stands out from the noise"));
}

// Seven degrees of 120 samples make many trials, and three cycles leave three frequencies to judge the noise by.
#[test]
fn a_line_of_three_cycles_far_above_the_noise_is_a_mode() {
    for seed in 0..10 {
        let mut g = Generator::stream(41, seed);
        let slow = line(8e-4, 3.04, 0.2);
        let series = made(7, 120, 1.0 / 119.0, 3e-5, |place, t| {
            let swing = if place == 0 { ring(&slow, t) } else { 0.0 };
            swing + 3e-5 * g.normal()
        });
        let found = analyse(&series, &unshifted());
        let degrees: Vec<u32> = found.modes.iter().map(|m| m.degree).collect();
        assert_eq!(degrees, [2], "{seed}");
    }
}

#[test]
fn a_random_walk_is_no_mode() {
    for seed in 0..60 {
        let mut g = Generator::stream(42, seed);
        let mut walk = 0.0;
        let series = made(1, 120, 0.01, 1e-5, |_, _| {
            walk += 1e-3 * g.normal();
            walk + 1e-5 * g.normal()
        });
        assert!(analyse(&series, &unshifted()).modes.is_empty(), "{seed}");
    }
}
