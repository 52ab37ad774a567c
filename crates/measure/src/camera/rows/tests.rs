use super::*;
use crate::edge::doubt::Doubt;
use tremolet_numerics::legendre::value;

const RADIUS: f64 = 60.0;

/// A drop that swings in degrees 2 and 4 and drifts; `w` in rad a frame.
#[derive(Clone, Copy)]
struct Drop {
    w: f64,
    speed: [f64; 2],
}

impl Drop {
    fn radius(&self, theta: f64, time: f64) -> f64 {
        let swing = 0.06 * (self.w * time + 0.4).cos() * value(2, theta.cos());
        RADIUS * (1.0 + swing + 0.02 * (2.9 * self.w * time).sin() * value(4, theta.cos()))
    }

    fn place(&self, theta: f64, time: f64) -> [f64; 2] {
        let r = self.radius(theta, time);
        [
            160.0 + self.speed[0] * time + r * theta.sin(),
            150.0 + self.speed[1] * time - r * theta.cos(),
        ]
    }

    /// The outline as the shutter shows it: each point where it is when its row is read, found by iteration.
    fn seen(&self, time: f64, shutter: &Shutter) -> Vec<Point> {
        (0..300)
            .map(|k| {
                let theta = TAU * f64::from(k) / 300.0;
                let mut at = self.place(theta, time);
                for _ in 0..60 {
                    at = self.place(theta, shutter.row_time(time, at[1]));
                }
                Point {
                    x: at[0],
                    y: at[1],
                    uncertainty: 0.02,
                }
            })
            .collect()
    }
}

fn sighting(frame: u64, points: &[Point]) -> Sighting {
    let single = |p: &Point| [p.x as f32, p.y as f32, p.uncertainty as f32];
    let mut s = Sighting {
        frame,
        centre: [0.0; 2],
        size: RADIUS,
        outline: points.iter().map(single).collect(),
        straight: None,
        hidden: Default::default(),
        bridged: Default::default(),
        touches_frame: false,
        touched: false,
        harmonics: None,
        blur_px: 1.2,
        held: false,
        meeting: crate::edge::Meeting::Alone,
        doubt: Doubt::default(),
        cluttered: false,
    };
    renewed(&mut s, points.to_vec());
    s
}

/// Largest distance of the points from the drop's outline at the instant, before and after, over frames `judged`.
fn strayed(drop: &Drop, readout: f64, count: u64, judged: std::ops::Range<usize>) -> [f64; 2] {
    let shutter = Shutter {
        readout,
        rows: 301,
        stamped: 0.0,
    };
    let times: Vec<f64> = (0..count).map(|k| k as f64).collect();
    let mut all: Vec<Sighting> = (0..count)
        .map(|k| sighting(k, &drop.seen(k as f64, &shutter)))
        .collect();
    let before = all.clone();
    let taken = at_one_instant(&mut all, &times, &shutter);
    assert!(taken.left.is_empty());
    // The mean row of the drop's centre, 150 and the drift over half the clip, of 300.
    let middle = 0.5 + drop.speed[1] * 0.5 * count as f64 / 300.0;
    assert!((taken.delay / readout - middle).abs() < 0.05, "{}", taken.delay);
    let off = |s: &Sighting| {
        let time = s.frame as f64 + taken.delay;
        let centre = [160.0 + drop.speed[0] * time, 150.0 + drop.speed[1] * time];
        let each = used(s).into_iter().map(|p| {
            let (theta, r) = polar(centre, [p.x, p.y]);
            (r - drop.radius(theta, time)).abs()
        });
        each.fold(0.0, f64::max)
    };
    [before, all].map(|set| set[judged.clone()].iter().map(off).fold(0.0, f64::max))
}

#[test]
fn shape_and_drift_are_those_of_one_instant() {
    let drop = Drop {
        w: 0.3,
        speed: [0.8, -1.5],
    };
    for readout in [0.9, -0.9, 0.3] {
        let [before, after] = strayed(&drop, readout, 40, 3..37);
        assert!(before > 0.1, "{before}");
        assert!(
            after < 2e-3 && after < before / 100.0,
            "{readout}: {before} {after}"
        );
    }
}

// Degree 4 turns by 1.45 rad a frame; the poles are 60 of 300 rows away, 0.18 of a frame.
#[test]
fn what_is_left_of_a_fast_swing_is_what_the_formula_says() {
    let drop = Drop {
        w: 0.5,
        speed: [0.0; 2],
    };
    let (u, w) = (0.18_f64, 1.45_f64);
    let formula = u * (1.0 - u * u) * (4.0 - u * u) * (9.0 - u * u) * w.powi(7) / 5040.0;
    let [_, after] = strayed(&drop, 0.9, 40, 3..37);
    // Amplitude 0.02 of degree 4 at the poles.
    assert!(after < 2.0 * formula * 0.02 * RADIUS, "{after} {formula}");
}

#[test]
fn the_ends_of_a_clip_carry_more_doubt_but_hold() {
    let drop = Drop {
        w: 0.25,
        speed: [0.5, 0.5],
    };
    let [before, after] = strayed(&drop, 0.9, 40, 0..40);
    assert!(after < 0.02 && after < before / 5.0, "{before} {after}");
}

#[test]
fn a_fast_fall_does_not_lose_the_drop() {
    let drop = Drop {
        w: 0.4,
        speed: [0.0, 25.0],
    };
    let [before, after] = strayed(&drop, 0.4, 12, 3..9);
    // It falls with a thirtieth of the readout's speed and looks as much taller.
    assert!(before > 1.0 && after < 5e-3, "{before} {after}");
}

#[test]
fn frames_without_neighbours_are_left_and_named() {
    let drop = Drop {
        w: 0.4,
        speed: [0.0; 2],
    };
    let shutter = Shutter {
        readout: 0.5,
        rows: 301,
        stamped: 0.0,
    };
    let times = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0];
    let mut all: Vec<Sighting> = (0..8_u64)
        .map(|k| sighting(k, &drop.seen(times[k as usize], &shutter)))
        .collect();
    all[4].harmonics = None;
    let seen = used(&all[4]);
    let taken = at_one_instant(&mut all, &times, &shutter);
    assert_eq!(taken.left, [4]);
    assert_eq!(used(&all[4]), seen);
    let mut alone = vec![sighting(3, &drop.seen(0.0, &shutter))];
    assert_eq!(at_one_instant(&mut alone, &[0.0], &shutter).left, [3]);
}

#[test]
fn a_gap_in_time_is_not_bridged() {
    let points: Vec<Point> = Drop {
        w: 0.1,
        speed: [0.0; 2],
    }
    .seen(
        0.0,
        &Shutter {
            readout: 0.0,
            rows: 301,
            stamped: 0.0,
        },
    );
    let shutter = Shutter {
        readout: 0.5,
        rows: 301,
        stamped: 0.0,
    };
    let times = [0.0, 1.0, 2.0, 3.0, 10.0, 11.0, 12.0];
    let curves: Vec<Option<Curve>> = (0..7)
        .map(|k| curve(&sighting(k, &points), times[k as usize], &shutter))
        .collect();
    let times_around = |k: usize| -> Vec<f64> { around(&curves, &times, k).iter().map(|c| c.time).collect() };
    assert_eq!(times_around(2), [0.0, 1.0, 2.0, 3.0]);
    assert_eq!(times_around(5), [10.0, 11.0, 12.0]);
}

#[test]
fn polynomials_through_samples_are_exact_for_their_degree() {
    let cube = |t: f64| 1.0 - 2.0 * t + 0.5 * t * t * t;
    let samples = [0.0, 1.1, 1.9, 3.2].map(|t| [t, cube(t)]);
    assert!((at(&samples, 1.3).0 - cube(1.3)).abs() < 1e-12);
    assert_eq!(at(&samples, 1.1), (cube(1.1), 1.0));
    assert!((cubic([-1.0, 0.0, 1.0, 8.0], 0.5) - 0.125).abs() < 1e-15);
    assert_eq!(fewer(&samples, 0.0).len(), 2);
    assert_eq!(fewer(&samples, 0.0)[0][0], 0.0);
}
