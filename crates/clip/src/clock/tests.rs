//! The clock against frames whose real times are known by construction.

use super::*;

/// A clip of `rate` in the header.
fn info(rate: Option<f64>) -> ClipInfo {
    ClipInfo {
        name: "run".into(),
        width: 1,
        height: 1,
        bits: 8,
        frame_count: None,
        header_rate_fps: rate,
        container: "memory".into(),
        codec: "none".into(),
        decoder: "none".into(),
    }
}

/// Frames whose pictures differ, with `ticks` of 1/3000 s.
fn frames(ticks: &[i64]) -> Vec<Frame> {
    let frame = |(i, ticks): (usize, &i64)| Frame {
        index: i as u64,
        stamp: Some(Stamp {
            ticks: *ticks,
            per_second: 3000,
        }),
        plane: Plane::eight(1, 1, vec![i as u8]),
    };
    ticks.iter().enumerate().map(frame).collect()
}

fn times(clock: &mut Clock, frames: &[Frame]) -> Vec<f64> {
    frames.iter().map(|frame| clock.time(frame)).collect()
}

fn codes(clock: &Clock) -> Vec<String> {
    clock.cautions().into_iter().map(|caution| caution.code).collect()
}

fn close(found: &[f64], expected: &[f64]) {
    assert_eq!(found.len(), expected.len());
    for (a, b) in found.iter().zip(expected) {
        assert!((a - b).abs() < 1e-12, "{found:?} against {expected:?}");
    }
}

#[test]
fn stated_rate_rules_over_the_header_and_says_so() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(480.0), None).expect("a rate");
    let found = times(&mut clock, &frames(&[0, 100, 200]));
    close(&found, &[0.0, 1.0 / 480.0, 2.0 / 480.0]);
    let cautions = clock.cautions();
    assert_eq!(codes(&clock), ["rate_disagrees"]);
    assert!(cautions[0].text.contains("480") && cautions[0].text.contains("30.0"));
    assert!(cautions[0].text.contains("capture rate is not playback rate"));
}

#[test]
fn rates_within_two_percent_agree() {
    let clock = Clock::new(&info(Some(29.97)), Some(30.0), None).expect("a rate");
    assert_eq!(codes(&clock), [""; 0]);
    let clock = Clock::new(&info(Some(30.7)), Some(30.0), None).expect("a rate");
    assert_eq!(codes(&clock), ["rate_disagrees"]);
}

#[test]
fn a_gap_in_playback_is_a_gap_of_slots() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(480.0), None).expect("a rate");
    let found = times(&mut clock, &frames(&[700, 800, 1100, 1200]));
    close(&found, &[0.0, 1.0 / 480.0, 4.0 / 480.0, 5.0 / 480.0]);
    let missing = clock.cautions().into_iter().find(|c| c.code == "frames_missing");
    let missing = missing.expect("a caution");
    assert!(missing.text.starts_with("2 frames"), "{}", missing.text);
    assert_eq!(missing.frames, Some([2, 2]));
}

#[test]
fn without_a_header_the_median_interval_counts() {
    let mut clock = Clock::new(&info(None), Some(1000.0), None).expect("a rate");
    let found = times(&mut clock, &frames(&[0, 50, 100, 150, 300, 350]));
    close(&found, &[0.0, 0.001, 0.002, 0.003, 0.006, 0.007]);
    assert_eq!(codes(&clock), ["frames_missing"]);
}

#[test]
fn stamps_rounded_to_coarse_ticks_stay_even() {
    // 240 frames/s of playback in ticks of 1 ms: 4, 4, 4, 4, 5 ms.
    let mut clock = Clock::new(&info(Some(240.0)), Some(960.0), None).expect("a rate");
    let frames: Vec<Frame> = (0..100)
        .map(|i| Frame {
            index: i,
            stamp: Some(Stamp {
                ticks: (i as f64 / 0.24).round() as i64,
                per_second: 1000,
            }),
            plane: Plane::eight(1, 1, vec![i as u8]),
        })
        .collect();
    let found = times(&mut clock, &frames);
    assert!((found[99] - 99.0 / 960.0).abs() < 1e-12);
    assert_eq!(codes(&clock), ["rate_disagrees"]);
}

#[test]
fn uneven_stamps_of_a_clip_that_is_not_slowed_are_real_times() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(30.0), None).expect("a rate");
    let found = times(&mut clock, &frames(&[0, 100, 225, 300]));
    close(&found, &[0.0, 100.0 / 3000.0, 225.0 / 3000.0, 300.0 / 3000.0]);
    assert_eq!(codes(&clock), ["stamps_uneven"]);
}

#[test]
fn uneven_stamps_of_a_slowed_clip_are_whole_slots() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(300.0), None).expect("a rate");
    let found = times(&mut clock, &frames(&[0, 100, 225, 300]));
    close(&found, &[0.0, 1.0 / 300.0, 2.0 / 300.0, 3.0 / 300.0]);
    assert_eq!(codes(&clock), ["rate_disagrees", "stamps_uneven"]);
}

#[test]
fn a_repeated_stamp_takes_no_time() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(300.0), None).expect("a rate");
    let found = times(&mut clock, &frames(&[0, 100, 100, 200]));
    close(&found, &[0.0, 1.0 / 300.0, 1.0 / 300.0, 2.0 / 300.0]);
    assert_eq!(codes(&clock), ["rate_disagrees", "stamps_repeated"]);
}

#[test]
fn a_repeated_picture_is_noticed_and_keeps_its_slot() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(30.0), None).expect("a rate");
    let mut frames = frames(&[0, 100, 200, 300]);
    frames[2].plane = frames[1].plane.clone();
    let found = times(&mut clock, &frames);
    close(&found, &[0.0, 1.0 / 30.0, 2.0 / 30.0, 3.0 / 30.0]);
    let cautions = clock.cautions();
    assert_eq!(cautions[0].code, "pictures_repeated");
    assert_eq!(cautions[0].frames, Some([2, 2]));
}

#[test]
fn stamps_that_run_backwards_are_not_believed() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(30.0), None).expect("a rate");
    let found = times(&mut clock, &frames(&[0, 200, 100, 300]));
    assert!(found.windows(2).all(|pair| pair[1] > pair[0]), "{found:?}");
    assert!(codes(&clock).contains(&"stamps_backwards".to_owned()));
}

#[test]
fn given_times_win_and_start_at_zero() {
    let of = |rate, given: &[f64]| {
        let mut clock = Clock::new(&info(Some(30.0)), rate, Some(given.to_vec())).expect("times");
        (times(&mut clock, &frames(&[0, 100, 200])), clock.cautions())
    };
    let (found, cautions) = of(None, &[5.0, 5.5, 7.0]);
    close(&found, &[0.0, 0.5, 2.0]);
    assert!(cautions.is_empty(), "{cautions:?}");
    // Two frames a second by the median interval: 2 % is the most that passes.
    let (found, cautions) = of(Some(2.035), &[5.0, 5.5, 7.0]);
    close(&found, &[0.0, 0.5, 2.0]);
    assert!(cautions.is_empty(), "{cautions:?}");
    let (found, cautions) = of(Some(480.0), &[5.0, 5.5, 7.0]);
    close(&found, &[0.0, 0.5, 2.0]);
    assert_eq!(cautions[0].code, "rate_disagrees");
    for words in ["480", "2.000000", "the times are used"] {
        assert!(cautions[0].text.contains(words), "{}", cautions[0].text);
    }
}

/// Stills with numbers, in memory.
struct Numbered(ClipInfo, Vec<u64>, Option<Vec<f64>>);

impl FrameSource for Numbered {
    fn info(&self) -> &ClipInfo {
        &self.0
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        Ok(None)
    }

    fn slots(&self) -> Option<&[u64]> {
        Some(&self.1)
    }

    fn real_times(&self) -> Option<&[f64]> {
        self.2.as_deref()
    }
}

#[test]
fn numbers_of_stills_carry_the_time_unless_times_are_given() {
    let without = |k: u64| Frame {
        index: k,
        stamp: None,
        plane: Plane::eight(1, 1, vec![k as u8]),
    };
    let all = [without(0), without(1), without(2)];
    let stills = Numbered(info(None), vec![0, 2, 3], None);
    let mut clock = Clock::of(&stills, Some(10.0), None).expect("a rate");
    close(&times(&mut clock, &all), &[0.0, 0.2, 0.3]);
    let mut clock = Clock::of(&stills, Some(10.0), None).expect("a rate");
    close(&times(&mut clock, &all[1..]), &[0.2, 0.3]);
    let timed = Numbered(info(None), vec![0, 2, 3], Some(vec![1.0, 2.0, 4.0]));
    let mut clock = Clock::of(&timed, None, None).expect("times");
    close(&times(&mut clock, &all), &[0.0, 1.0, 3.0]);
    let mut clock = Clock::of(&timed, None, Some(vec![1.0, 1.5, 3.0])).expect("times");
    close(&times(&mut clock, &all), &[0.0, 0.5, 2.0]);
}

#[test]
fn a_frame_past_the_given_times_has_none() {
    let mut clock = Clock::new(&info(None), None, Some(vec![0.0, 1.0])).expect("times");
    let found = times(&mut clock, &frames(&[0, 100, 200]));
    assert!(found[2].is_nan() && !found[1].is_nan());
    assert_eq!(codes(&clock), ["times_too_few"]);
}

#[test]
fn the_header_alone_is_a_caution_and_nothing_is_an_error() {
    let mut clock = Clock::new(&info(Some(25.0)), None, None).expect("a header");
    close(&times(&mut clock, &frames(&[0, 120, 240])), &[0.0, 0.04, 0.08]);
    assert_eq!(codes(&clock), ["rate_from_header"]);
    assert!(matches!(
        Clock::new(&info(None), None, None),
        Err(ClipError::NoTime { .. })
    ));
    assert!(matches!(
        Clock::new(&info(Some(0.0)), None, None),
        Err(ClipError::NoTime { .. })
    ));
}

#[test]
fn impossible_rates_and_times_are_refused() {
    for rate in [0.0, -30.0, f64::NAN, f64::INFINITY] {
        let clock = Clock::new(&info(Some(30.0)), Some(rate), None);
        assert!(matches!(clock, Err(ClipError::BadRate { .. })));
    }
    let of = |times: &[f64]| Clock::new(&info(None), None, Some(times.to_vec()));
    assert!(matches!(
        of(&[0.0, 0.0]),
        Err(ClipError::BadTimes { index: 1, .. })
    ));
    assert!(matches!(
        of(&[0.0, f64::NAN]),
        Err(ClipError::BadTimes { index: 1, .. })
    ));
    assert!(matches!(of(&[]), Err(ClipError::BadTimes { .. })));
    let counted = ClipInfo {
        frame_count: Some(3),
        ..info(None)
    };
    let clock = Clock::new(&counted, None, Some(vec![0.0, 1.0]));
    assert!(matches!(clock, Err(ClipError::BadTimes { index: 2, .. })));
}

#[test]
fn a_part_of_a_clip_keeps_the_time_of_the_whole() {
    let mut clock = Clock::new(&info(Some(30.0)), Some(480.0), None).expect("a rate");
    let all = frames(&[0, 100, 200, 300]);
    close(&times(&mut clock, &all[2..]), &[2.0 / 480.0, 3.0 / 480.0]);
}

#[test]
fn a_header_that_the_stamps_contradict_is_named() {
    let mut clock = Clock::new(&info(Some(60.0)), Some(30.0), None).expect("a rate");
    let ticks: Vec<i64> = (0..20).map(|i| i * 100).collect();
    times(&mut clock, &frames(&ticks));
    assert!(codes(&clock).contains(&"header_rate_not_stamps".to_owned()));
}
