use super::*;
use tremolet_numerics::bounds::Ringing;

fn expected(degree: u32, amplitude: f64) -> Expected {
    Expected {
        degree,
        angular_frequency: 40.0 * (f64::from(degree * (degree - 1) * (degree + 2)) / 8.0).sqrt(),
        decay_rate: 0.9 * f64::from((degree - 1) * (2 * degree + 1)) / 5.0,
        amplitude,
        phase: 0.4,
    }
}

fn record(frames: usize, noise: f64) -> Record {
    Record {
        rate: 200.0,
        frames,
        exposure: 0.0,
        noise: Matrix::diagonal(&[noise * noise; 7]),
        coded: None,
    }
}

/// Nothing is left open of the swings.
fn known_shift() -> Options {
    let shift = |degree| crate::ringdown::Shift {
        degree,
        mean: 0.0,
        deviation: 1e-9,
    };
    Options {
        shifts: (2..6).map(shift).collect(),
        ..Options::default()
    }
}

// The matrix of a damped line by itself (`numerics::bounds`, recomputed independently there); a baseline of its own costs a few per cent.
#[test]
fn one_line_is_known_as_well_as_its_bound() {
    let one = expected(2, 0.02);
    let found = lines(&[one], &record(1000, 1e-4), &known_shift(), true);
    let line = Ringing {
        amplitude: 0.02,
        decay: one.decay_rate,
        angular_frequency: one.angular_frequency,
        phase: one.phase,
    };
    let times: Vec<f64> = (0..1000).map(|k| f64::from(k) / 200.0).collect();
    let [u_amplitude, u_decay, u_frequency, u_phase] = line.deviations(&times, 1e-4).unwrap();
    let mode = found.modes[0];
    assert_eq!(mode.standing, Standing::Found);
    for (found, least) in mode.u.iter().zip([u_amplitude, u_phase, u_frequency, u_decay]) {
        assert!((1.0..1.02).contains(&(found / least)), "{found} {least}");
    }
    // And in a record far longer than the decay by the closed form 4 g^(3/2) s sqrt(dt) / A.
    let closed = line.rate_in_long_record(1.0 / 200.0, 1e-4);
    assert!((mode.u[2] / closed - 1.0).abs() < 0.05, "{} {closed}", mode.u[2]);
}

// 24 s^2 / (A^2 N (N^2 - 1)) \[Kay1993\] for a line that does not decay, whose decay is not known either.
#[test]
fn a_line_that_does_not_decay_gets_better_with_the_cube_of_its_frames() {
    let one = Expected {
        decay_rate: 1e-6,
        ..expected(2, 0.01)
    };
    for frames in [400_usize, 800] {
        let found = lines(&[one], &record(frames, 1e-4), &known_shift(), true).modes[0];
        let n = frames as f64;
        let due = (24.0 / (n * (n * n - 1.0))).sqrt() * 1e-4 / 0.01 * 200.0;
        assert!((found.u[2] / due - 1.0).abs() < 0.03, "{} {due}", found.u[2]);
    }
}

// Ten thousand frames in hundreds of a cycle are counted in bundles; the same numbers come out.
#[test]
fn bundled_frames_tell_as_much_as_single_ones() {
    let one = expected(2, 0.02);
    let coarse = lines(&[one], &record(1000, 1e-4), &known_shift(), true).modes[0];
    let fine = Record {
        rate: 4000.0,
        frames: 20_000,
        ..record(0, 1e-4 * 20.0_f64.sqrt())
    };
    let fine = lines(&[one], &fine, &known_shift(), true).modes[0];
    for (a, b) in coarse.u.iter().zip(fine.u) {
        assert!((a / b - 1.0).abs() < 0.02, "{a} {b}");
    }
    assert!((coarse.gain / fine.gain - 1.0).abs() < 0.02);
}

// By hand: w T / 2 = 1, sin 1 = 0.84147.
#[test]
fn a_long_exposure_lowers_the_swing() {
    let exposed = Record {
        exposure: 0.05,
        ..record(500, 1e-4)
    };
    let seen = lines(&[expected(2, 0.02)], &exposed, &Options::default(), true).modes[0];
    assert!((seen.expected.amplitude / 0.02 - 0.841_471).abs() < 1e-6);
}

#[test]
fn what_is_not_known_of_large_swings_is_beside_the_noise() {
    let large = lines(
        &[expected(2, 0.01)],
        &record(500, 1e-5),
        &Options::default(),
        true,
    );
    let mode = large.modes[0];
    assert!(mode.u[2] > 1.1 * mode.u_noise[2], "{mode:?}");
    assert!((large.of_noise[(0, 0)].sqrt() / mode.u_noise[2] - 1.0).abs() < 1e-9);
    assert!((large.lines.covariance[(0, 0)].sqrt() / mode.u[2] - 1.0).abs() < 1e-9);
    // Where the noise is far larger, or the swing so large that the clip itself tells its slowing, noise is all.
    for (amplitude, noise) in [(0.01, 1e-3), (0.1, 1e-5)] {
        let other = lines(
            &[expected(2, amplitude)],
            &record(500, noise),
            &Options::default(),
            true,
        )
        .modes[0];
        assert!(other.u[2] < 1.01 * other.u_noise[2], "{other:?}");
    }
}

#[test]
fn degrees_that_err_together_are_bound_together() {
    let mut record = record(500, 1e-4);
    record.noise.row_mut(0)[2] = 0.6e-8;
    record.noise.row_mut(2)[0] = 0.6e-8;
    let two = [expected(2, 0.02), expected(4, 0.02)];
    let found = lines(&two, &record, &Options::default(), true);
    let apart = lines(&two, &self::record(500, 1e-4), &Options::default(), true);
    assert!(found.lines.covariance[(0, 2)] != 0.0 && apart.lines.covariance[(0, 2)] == 0.0);
    assert_eq!(found.lines.covariance[(0, 0)], apart.lines.covariance[(0, 0)]);
}

#[test]
fn what_is_not_found_is_told_and_left_out() {
    let faint = expected(3, 2e-6);
    let fast = Expected {
        angular_frequency: 700.0,
        ..expected(4, 0.02)
    };
    let short = Expected {
        decay_rate: 80.0,
        ..expected(5, 0.02)
    };
    let found = lines(
        &[expected(2, 0.02), faint, fast, short],
        &record(500, 1e-4),
        &Options::default(),
        true,
    );
    let standings: Vec<Standing> = found.modes.iter().map(|mode| mode.standing).collect();
    assert_eq!(
        standings,
        [Standing::Found, Standing::Faint, Standing::Fast, Standing::Short]
    );
    assert_eq!(found.lines.degrees, [2]);
    let none = lines(&[expected(2, 0.02)], &record(4, 1e-4), &Options::default(), true);
    assert!(none.lines.degrees.is_empty());
}

// Three and a half cycles: the frequencies beside it are too few for the test, but a line that leaves less than a hundredth of the energy stands.
#[test]
fn a_short_line_stands_when_it_leaves_nothing() {
    let standing = |amplitude: f64| {
        let slow = Expected {
            angular_frequency: 3.5 * std::f64::consts::TAU / 2.5,
            decay_rate: 0.05,
            ..expected(2, amplitude)
        };
        lines(&[slow], &record(500, 1e-4), &Options::default(), true).modes[0].standing
    };
    // Energy of the line over that of the noise, a frame: (a / 1e-4)^2 / 2 but for the decay; 99 is due.
    assert_eq!(standing(3e-3), Standing::Found);
    assert_ne!(standing(5e-4), Standing::Found);
}

// One line beside a motion a hundred times larger that ends within a cycle: nothing sure. With a second line both are sure.
#[test]
fn a_single_mode_beside_a_larger_motion_says_nothing_sure() {
    let dying = Expected {
        decay_rate: 60.0,
        amplitude: 0.3,
        ..expected(2, 0.3)
    };
    let noise = record(500, 1e-5);
    let alone = lines(&[dying, expected(3, 0.001)], &noise, &Options::default(), true);
    assert_eq!(alone.modes[0].standing, Standing::Short);
    assert_eq!(alone.modes[1].standing, Standing::Overshadowed);
    assert!(alone.lines.degrees.is_empty());
    let three = [dying, expected(3, 0.001), expected(4, 0.001)];
    let both = lines(&three, &noise, &Options::default(), true);
    assert_eq!(both.lines.degrees, [3, 4]);
}

// By hand: 2.5 s of a line that hardly decays, lag 1e-4 of R in a swing of 0.01: 1e-4 / 0.01 / 2.495 = 4.0e-3, a quarter of it for the frequency.
#[test]
fn coding_adds_its_lag_and_hides_small_swings() {
    let coded = Record {
        coded: Some(Coded {
            scatter: 1e-4,
            left: [0.25, 0.75],
        }),
        ..record(500, 1e-6)
    };
    let still = Expected {
        decay_rate: 1e-3,
        ..expected(2, 0.01)
    };
    let small = expected(3, 1.9e-4);
    let found = lines(&[still, small], &coded, &known_shift(), true);
    assert_eq!(found.modes[1].standing, Standing::Made);
    assert_eq!(found.lines.degrees, [2]);
    let u = found.lines.covariance[(0, 0)].sqrt();
    assert!((u / (0.25 * 4.008e-3) - 1.0).abs() < 0.01, "{u}");
    assert!((found.of_coding[1].sqrt() / found.of_coding[0].sqrt() - 3.0).abs() < 1e-9);
}
