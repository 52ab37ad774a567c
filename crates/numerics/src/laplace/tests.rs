use super::talbot;

/// Transform pairs of any table (Abramowitz & Stegun 29.3): 1/s^2 -> t, 1/(s+1)^2 -> t e^-t, 1/sqrt(s) -> 1/sqrt(pi t),
/// exp(-sqrt s)/s -> erfc(1/(2 sqrt t)), 1/(s^2+1) -> sin t.
#[test]
fn known_pairs() {
    for t in [0.01, 0.3, 1.0, 4.0, 20.0_f64] {
        assert!((talbot(|s| 1.0 / (s * s), t, 24) / t - 1.0).abs() < 1e-10);
        assert!((talbot(|s| ((s + 1.0) * (s + 1.0)).inv(), t, 24) - t * (-t).exp()).abs() < 1e-10);
        let root = (std::f64::consts::PI * t).sqrt().recip();
        assert!((talbot(|s| s.sqrt().inv(), t, 24) / root - 1.0).abs() < 1e-10);
        let erfc = puruspe::erfc(0.5 / t.sqrt());
        assert!(
            (talbot(|s| (-s.sqrt()).exp() / s, t, 24) - erfc).abs() < 1e-10,
            "{t}"
        );
    }
    for t in [0.1, 1.0, 3.0_f64] {
        assert!((talbot(|s| 1.0 / (s * s + 1.0), t, 30) - t.sin()).abs() < 1e-9);
    }
}

/// The stated limit: an oscillation outside the path is not seen.
#[test]
fn a_fast_oscillation_outside_the_path_is_lost() {
    let late = talbot(|s| 1.0 / (s * s + 1.0), 60.0, 24);
    assert!((late - 60f64.sin()).abs() > 1e-3);
}

#[test]
#[should_panic(expected = "positive time")]
fn time_zero_is_refused() {
    let _ = talbot(|s| 1.0 / s, 0.0, 24);
}
