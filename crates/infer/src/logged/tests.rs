use super::*;
use crate::logged::record::Record;
use tremolet_numerics::random::Generator;

/// An invented push: a slow swing and a jolt at 1.7 s on the record's clock, m/s^2.
fn push(s: f64) -> f64 {
    0.02 * (2.1 * s).sin() + 0.05 * (-((s - 1.7) / 0.08).powi(2)).exp()
}

/// A record of 100 samples a second, 5 s long, with white noise and a wrong zero.
fn logged(noise: f64, zero: f64, seed: u64) -> (Vec<f64>, Vec<f64>) {
    let mut g = Generator::stream(seed, 1);
    let times: Vec<f64> = (0..500).map(|k| 0.01 * f64::from(k)).collect();
    let values = times
        .iter()
        .map(|s| push(*s) + zero + noise * g.normal())
        .collect();
    (times, values)
}

/// A path of 240 frames in 2 s from 1 s on, whose clock is `offset` ahead, in m.
fn filmed(offset: f64, noise: f64, share: f64, seed: u64) -> (Vec<f64>, Vec<f64>) {
    let mut g = Generator::stream(seed, 2);
    let fine: Vec<f64> = (0..50_000).map(|k| 1e-4 * f64::from(k)).collect();
    let truth = Record::new(&fine, fine.iter().map(|s| share * push(*s)).collect());
    let times: Vec<f64> = (0..240).map(|k| 1.0 + offset + f64::from(k) / 120.0).collect();
    let place = |t: &f64| 0.01 + 0.003 * t + truth.way(t - offset) + noise * g.normal();
    let places = times.iter().map(place).collect();
    (times, places)
}

fn found(
    offset: f64,
    share: f64,
    noises: [f64; 2],
    stated: Option<(f64, f64)>,
    seed: u64,
) -> (Result<Offset, Apart>, Option<Compared>) {
    let (s, a) = logged(noises[0], 0.004, seed);
    let (t, x) = filmed(offset, noises[1], share, seed);
    let part = covered(&t, (s[0], s[s.len() - 1]), stated).expect("covered");
    let (t, x) = (&t[part.first..part.end], &x[part.first..part.end]);
    let axis = Axis::new(t, x, &[], Record::new(&s, a)).expect("determined");
    let axes = [axis];
    let told = super::offset(&axes, &sought(part.range, stated, t));
    let compared = told.ok().and_then(|o| compared(&axes[0], t, &[], &o));
    (told, compared)
}

fn sought(range: (f64, f64), stated: Option<(f64, f64)>, times: &[f64]) -> Sought {
    Sought {
        range,
        stated,
        time: times[times.len() - 1] - times[0],
    }
}

// The clip shows the push the other way, or ten times too small by a mistaken unit: the hint says which.
#[test]
fn a_record_with_the_wrong_sign_or_unit_is_told_apart() {
    let (s, a) = logged(1e-4, 0.0, 4);
    for (share, told) in [
        (1.0, None),
        (-1.0, Some("with the opposite sign")),
        (9.80665, Some("if m/s^2 were standard gravities")),
        (1e-3, Some("a thousand times smaller")),
    ] {
        let (t, x) = filmed(0.37, 1e-7, share, 4);
        let axes = [Axis::new(&t, &x, &[], Record::new(&s, a.clone())).expect("determined")];
        let found = hint::hint(&axes, &sought((0.27, 0.47), Some((0.37, 0.02)), &t));
        assert_eq!(found, told, "{share}");
    }
}

#[test]
fn exchanged_axes_are_told() {
    let (s, a) = logged(1e-4, 0.0, 4);
    let still = vec![0.0; s.len()];
    let (t, x) = filmed(0.37, 1e-7, 1.0, 4);
    let (_, rest) = filmed(0.37, 1e-7, 0.0, 5);
    let of = |places: &[f64], values: &[f64]| {
        Axis::new(&t, places, &[], Record::new(&s, values.to_vec())).expect("determined")
    };
    let axes = [of(&x, &still), of(&rest, &a)];
    let found = hint::hint(&axes, &sought((0.27, 0.47), Some((0.37, 0.02)), &t));
    assert!(
        found.is_some_and(|words| words.contains("exchanged")),
        "{found:?}"
    );
}

// Deviations over the stated uncertainty are about one in the mean square, whether the clip's noise or the record's rules; the share is 1.
#[test]
fn offset_and_share_come_with_honest_uncertainties() {
    for noises in [[1e-9, 1e-6], [1e-4, 1e-6], [1e-3, 1e-6], [1e-2, 1e-7]] {
        let (mut offsets, mut shares) = (0.0, 0.0);
        let runs = 60;
        for seed in 0..runs {
            let (told, compared) = found(0.37, 1.0, noises, Some((0.40, 0.05)), seed);
            let (told, compared) = (told.expect("an offset"), compared.expect("compared"));
            offsets += ((told.value - 0.37) / told.u).powi(2) / runs as f64;
            shares += ((compared.share.value - 1.0) / compared.u_share).powi(2) / runs as f64;
            assert!(told.told && told.u < 0.01, "{told:?}");
        }
        assert!((0.5..1.7).contains(&offsets), "{noises:?} {offsets}");
        assert!((0.2..1.7).contains(&shares), "{noises:?} {shares}");
    }
}

// The mean of the push over the frames, by quadrature with the parabola's weights 15/16 (1 - u^2)^2; the zero of 0.004 is not taken out.
#[test]
fn the_mean_is_that_of_the_record_over_the_frames() {
    let (_, compared) = found(0.37, 1.0, [1e-3, 1e-6], Some((0.40, 0.05)), 5);
    let compared = compared.expect("compared");
    let truth: f64 = (0..2000)
        .map(|k| {
            let u = (f64::from(k) + 0.5) / 1000.0 - 1.0;
            15.0 / 16.0 * (1.0 - u * u).powi(2) * push(1.0 + 239.0 / 240.0 * (u + 1.0)) / 1000.0
        })
        .sum();
    let off = (compared.mean - 0.004 - truth) / compared.u_noise;
    assert!(off.abs() < 4.0, "{off} {compared:?}");
    // 1e-3 m/s^2 in samples of 0.01 s has the density 1e-8: sqrt(10/7 1e-8 / 2) = 8.5e-5.
    assert!((0.4..2.5).contains(&(compared.u_noise / 8.5e-5)), "{compared:?}");
}

#[test]
fn a_record_of_something_else_is_told_by_its_share() {
    for share in [-1.0, 0.0, 0.5] {
        let (_, compared) = found(0.37, share, [1e-4, 1e-6], Some((0.37, 0.01)), 3);
        let compared = compared.expect("compared");
        let off = (compared.share.value - 1.0) / compared.u_share;
        assert!(
            off < -4.0 && (compared.share.value - share).abs() < 0.2,
            "{share}: {compared:?}"
        );
    }
}

// A noise that hides all changes: the offset stays as stated. Without one there is none.
#[test]
fn an_offset_that_the_data_do_not_tell_stays_as_stated() {
    let stated = Some((0.36, 0.02));
    let told = found(0.37, 1.0, [1e-4, 1e-3], stated, 3).0.expect("stated");
    assert!(
        !told.told && (told.value - 0.36).abs() < 0.02 && told.u > 0.012,
        "{told:?}"
    );
    assert_eq!(found(0.37, 1.0, [1e-4, 1e-3], None, 3).0, Err(Apart::Unknown));
    let told = found(0.37, 1.0, [1e-4, 1e-6], None, 3)
        .0
        .expect("told by the data");
    assert!(
        told.told && (told.value - 0.37).abs() < 5.0 * told.u && told.u < 0.01,
        "{told:?}"
    );
    let exact = found(0.37, 1.0, [1e-4, 1e-6], Some((0.3, 0.0)), 3).0;
    assert_eq!(exact.map(|o| (o.value, o.u, o.told)), Ok((0.3, 0.0, false)));
}

#[test]
fn only_what_the_record_covers_is_compared() {
    let times: Vec<f64> = (0..100).map(|k| 0.1 * f64::from(k)).collect();
    let part = covered(&times, (0.0, 5.0), Some((1.0, 0.1))).expect("some");
    // From 0 + 1.5 to 5 + 0.5 s.
    assert_eq!((part.first, part.end), (15, 56));
    assert_eq!(
        covered(&times, (0.0, 5.0), Some((-4.0, 0.1))),
        Err(Apart::NotBeside(Some((-4.0, 1.0))))
    );
    assert_eq!(covered(&times, (0.0, 5.0), None), Err(Apart::NotBeside(None)));
    let whole = covered(&times, (-3.0, 12.0), None).expect("longer than the clip");
    assert!((whole.range.0 + 2.1).abs() < 1e-12 && (whole.range.1 - 3.0).abs() < 1e-12);
}
