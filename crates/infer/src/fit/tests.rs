use std::ops::ControlFlow;

use tremolet_numerics::least_squares::LeastSquaresError;

use super::followed::{Pose, drawn, followed};
use super::result::Fitted;
use super::{Begin, FitError, Forward, Frame, Outlines, Trial};
use tremolet_numerics::legendre;

/// Modes that ring by themselves: w_n^2 = n (n - 1)(n + 2), decay (n - 1)(2n + 1) Oh. A stand-in for a solver.
struct Linear;

fn amplitude(degree: usize, trial: &Trial, t: f64) -> f64 {
    let n = degree as f64;
    let omega = (n * (n - 1.0) * (n + 2.0)).sqrt();
    let decay = (n - 1.0) * (2.0 * n + 1.0) * trial.ohnesorge;
    let at = |list: &[f64]| list.get(degree).copied().unwrap_or(0.0);
    let rate = (at(&trial.velocity) + decay * at(&trial.shape)) / omega;
    (-decay * t).exp() * (at(&trial.shape) * (omega * t).cos() + rate * (omega * t).sin())
}

impl Forward for Linear {
    fn shapes(&self, trial: &Trial, times: &[f64]) -> Option<Vec<Vec<f64>>> {
        let at = |t: &f64| {
            let mut all = vec![0.0; 2];
            all.extend((2..trial.shape.len()).map(|n| amplitude(n, trial, *t)));
            all
        };
        Some(times.iter().map(at).collect())
    }
}

fn truth() -> Trial {
    Trial {
        ohnesorge: 0.006,
        time: 0.05,
        radius_px: 80.0,
        shape: vec![0.0, 0.0, 0.12, -0.04, 0.01],
        velocity: vec![0.0, 0.0, 0.05, 0.02, 0.0],
    }
}

/// To the end.
fn fit(outlines: &Outlines, begin: &Begin, model: &dyn Forward) -> Result<Fitted, FitError> {
    super::fit(outlines, begin, model, &mut |_| ControlFlow::Continue(()))
}

/// Outlines of the truth tilted by `q`, with a noise drawn by a linear congruence.
fn outlines(q: f64, noise: f64, count: u64) -> Outlines {
    outlines_of(&truth(), q, noise, count)
}

fn outlines_of(truth: &Trial, q: f64, noise: f64, count: u64) -> Outlines {
    let mut state = 12345_u64;
    let mut uniform = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    let fan = super::silhouette::Fan::new(720, 8);
    let axis: f64 = 0.4;
    let frame = |k: u64| {
        let time = 0.005 * k as f64;
        let shape = &Linear.shapes(truth, &[time / truth.time]).expect("always")[0];
        let seen = fan.silhouette(shape, q, 0.0);
        let centre = [100.0 + 0.3 * k as f64, 90.0];
        let points = (0..200).map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / 200.0;
            let across = if angle > std::f64::consts::PI {
                std::f64::consts::TAU - angle
            } else {
                angle
            };
            let r = truth.radius_px * seen.at(across).0 + noise * 12_f64.sqrt() * uniform();
            let (along, side) = (r * angle.cos(), r * angle.sin());
            let x = centre[0] + along * axis.sin() + side * axis.cos();
            let y = centre[1] - along * axis.cos() + side * axis.sin();
            [x, y, noise.max(1e-3)]
        });
        // The place is known but roughly.
        Frame {
            frame: k,
            time: 7.0 + time,
            centre: [centre[0] + 0.4, centre[1] - 0.3],
            points: points.collect(),
        }
    };
    Outlines {
        frames: (0..count).map(frame).collect(),
        nearness: 0.0,
    }
}

fn begin() -> Begin {
    Begin {
        time: 0.052,
        ohnesorge: 0.01,
        radius: 81.0,
        axis_angle: 0.37,
        shape: vec![0.11, -0.03, 0.0],
        velocity: vec![0.0, 0.0, 0.0],
    }
}

#[test]
fn what_went_in_comes_out_within_its_uncertainty() {
    let found = fit(&outlines(0.1, 0.2, 200), &begin(), &Linear).expect("fitted");
    let truth = truth();
    let list = found.at.list();
    let known = [
        truth.time.ln(),
        truth.ohnesorge.ln(),
        80.0,
        0.4,
        0.1,
        0.12,
        -0.04,
        0.01,
        0.05,
        0.02,
        0.0,
    ];
    for (place, (value, known)) in list.iter().zip(known).enumerate() {
        let off = (value - known) / found.u(place);
        assert!(off.abs() < 4.0, "{place}: {value} {known} {}", found.u(place));
    }
    assert!((found.chi_square - 1.0).abs() < 0.15, "{}", found.chi_square);
    assert!(found.explained > 0.99 && found.converged);
    let (tilt, u) = found.tilt().expect("told");
    assert!((tilt - 0.1_f64.sqrt().asin()).abs() < 4.0 * u);
    let (tension, u) = found.tension();
    assert!(
        (tension / (80.0_f64.powi(3) / 0.0025) - 1.0).abs() < 4.0 * u && u < 1e-3,
        "{u}"
    );
    assert!(found.tells_viscosity());
}

#[test]
fn a_view_across_the_axis_tells_no_tilt() {
    let found = fit(&outlines(0.0, 0.05, 120), &begin(), &Linear).expect("fitted");
    assert!(found.tilt().is_none(), "{:?}", found.tilt());
}

#[test]
fn a_model_that_is_wrong_leaves_more_than_noise() {
    struct Stiff;
    impl Forward for Stiff {
        fn shapes(&self, trial: &Trial, times: &[f64]) -> Option<Vec<Vec<f64>>> {
            let mut all = Linear.shapes(trial, times)?;
            all.iter_mut()
                .zip(times)
                .for_each(|(a, t)| a[2] += 0.02 * (3.0 * t).sin());
            Some(all)
        }
    }
    let found = fit(&outlines(0.0, 0.05, 200), &begin(), &Stiff).expect("fitted");
    assert!(found.chi_square > 3.0);
}

#[test]
fn too_little_and_what_cannot_be_followed_are_told() {
    assert!(matches!(
        fit(&outlines(0.0, 0.05, 5), &begin(), &Linear),
        Err(FitError::TooFew { found: 5, .. })
    ));
    struct Never;
    impl Forward for Never {
        fn shapes(&self, _: &Trial, _: &[f64]) -> Option<Vec<Vec<f64>>> {
            None
        }
    }
    assert_eq!(
        fit(&outlines(0.0, 0.05, 30), &begin(), &Never),
        Err(FitError::NotFollowed)
    );
}

#[test]
fn the_stand_in_is_at_its_start_where_it_should_be() {
    let series = Linear.shapes(&truth(), &[0.0]).expect("always");
    assert!((legendre::series(&series[0], 1.0) - 0.09).abs() < 1e-12);
}

#[test]
fn the_fitted_body_lies_where_the_outlines_are() {
    let data = outlines(0.1, 0.05, 60);
    let found = fit(&data, &begin(), &Linear).expect("fitted");
    let all = followed(&data, &found.at, &Linear);
    assert_eq!(all.len(), 60);
    for (k, body) in all.iter().enumerate() {
        let known = [100.0 + 0.3 * k as f64, 90.0];
        let off = [body.centre[0] - known[0], body.centre[1] - known[1]];
        assert!(off[0].hypot(off[1]) < 0.05, "{k} {off:?}");
        assert!(body.rms < 0.08 && body.by_sector.iter().all(|e| e.abs() < 0.12));
    }
    let pose = Pose {
        centre: all[7].centre,
        radius: found.at.radius,
        axis_angle: found.at.axis_angle,
        tilt: found.at.tilt,
        nearness: 0.0,
    };
    let line = drawn(&all[7].shape, &pose, 200);
    // The outline has its points at the same angles about the true centre, from the same end of the axis.
    for ([x, y], [px, py, _]) in line.iter().zip(&data.frames[7].points) {
        assert!((x - px).hypot(y - py) < 0.3, "{x} {y} {px} {py}");
    }
}

#[test]
fn whoever_waits_can_stop_it_at_any_motion() {
    let data = outlines(0.0, 0.1, 60);
    let mut most = 0;
    let count = &mut |tried| {
        most = tried;
        ControlFlow::Continue(())
    };
    assert!(super::fit(&data, &begin(), &Linear, count).is_ok());
    assert!(most > 20, "{most}");
    for last in [0, 1, 17, most] {
        let mut watch = |tried| {
            assert!(tried <= last, "a motion was tried after the stop");
            if tried == last {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        };
        assert_eq!(
            super::fit(&data, &begin(), &Linear, &mut watch),
            Err(FitError::Stopped)
        );
    }
}

#[test]
fn a_drop_at_rest_gives_nothing_however_much_it_is_looked_at() {
    let mut still = outlines(0.0, 0.1, 120);
    let mut state = 77_u64;
    for frame in &mut still.frames {
        for (k, [x, y, u]) in frame.points.iter_mut().enumerate() {
            let angle = std::f64::consts::TAU * k as f64 / 200.0;
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let noise = (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5;
            let r = 80.0 + 0.1 * 12_f64.sqrt() * noise;
            (*x, *y, *u) = (100.0 + r * angle.sin(), 90.0 - r * angle.cos(), 0.1);
        }
        frame.centre = [100.0, 90.0];
    }
    let begin = Begin {
        shape: vec![1e-4; 3],
        ..begin()
    };
    // Depending on the noise, the search ends at some motion that is none, or runs to where unknowns do nothing.
    match fit(&still, &begin, &Linear) {
        Err(FitError::Still { chance }) => assert!(chance > 1e-4, "{chance}"),
        Err(FitError::Search(LeastSquaresError::Undetermined(_))) => {}
        other => panic!("{other:?}"),
    }
}

/// The outline of a body `distance` radii away, by its points: each is projected from the lens, and in each direction in the picture the farthest counts
/// (golden section about the point of touch of the sphere). Over the radius of a sphere's outline.
fn traced(shape: &[f64], distance: f64, psi: f64) -> f64 {
    let radius = |front: f64| {
        let r = 1.0 + legendre::series(shape, front.cos() * psi.cos());
        distance * r * front.cos() / (distance - r * front.sin())
    };
    let touch = (1.0 / distance).asin();
    let (mut low, mut high) = (touch - 0.5, touch + 0.5);
    let part = (5.0_f64.sqrt() - 1.0) / 2.0;
    for _ in 0..60 {
        let (a, b) = (high - part * (high - low), low + part * (high - low));
        if radius(a) > radius(b) {
            high = b;
        } else {
            low = a;
        }
    }
    radius(0.5 * (low + high)) * (1.0 - distance.powi(-2)).sqrt()
}

#[test]
fn the_silhouette_from_near_by_is_that_traced_point_by_point() {
    let shape = [-0.01, 0.0, 0.2, -0.05, 0.06];
    for distance in [3.0, 8.0, 1e6] {
        let seen = super::silhouette::Fan::new(180, 8).silhouette(&shape, 0.0, 1.0 / distance);
        for k in 0..=30 {
            let psi = std::f64::consts::PI * f64::from(k) / 30.0;
            let off = seen.at(psi).0 - traced(&shape, distance, psi);
            assert!(off.abs() < 2e-5, "{distance} {psi} {off:e}");
        }
    }
}

#[test]
fn from_near_by_the_body_is_fitted_and_not_its_outline() {
    let distance = 5.0;
    let truth = Trial {
        shape: vec![0.0, 0.0, 0.03, 0.0, 0.05],
        velocity: vec![0.0; 5],
        ..truth()
    };
    let mut data = outlines(0.0, 0.02, 80);
    for (k, frame) in data.frames.iter_mut().enumerate() {
        let shape = &Linear
            .shapes(&truth, &[0.005 * k as f64 / truth.time])
            .expect("always")[0];
        frame.centre = [100.0, 90.0];
        for (i, [x, y, _]) in frame.points.iter_mut().enumerate() {
            let psi = std::f64::consts::TAU * i as f64 / 200.0;
            let r = 80.0 * traced(shape, distance, psi);
            (*x, *y) = (100.0 + r * (0.4 + psi).sin(), 90.0 - r * (0.4 + psi).cos());
        }
    }
    let begin = Begin {
        shape: vec![0.03, 0.0, 0.04],
        ..begin()
    };
    let four = |nearness: f64| {
        let data = Outlines {
            nearness,
            ..data.clone()
        };
        fit(&data, &begin, &Linear).expect("fitted").at.shape[2]
    };
    let (far, near) = (four(0.0) / 0.05 - 1.0, four(1.0 / distance) / 0.05 - 1.0);
    assert!(far.abs() > 0.02 && near.abs() < 0.002, "{far} {near}");
}

#[test]
fn degrees_are_added_while_they_explain_some_of_what_is_left() {
    let mut more = truth();
    more.shape.extend([0.0, 0.008]);
    more.velocity.extend([0.0; 2]);
    let found = fit(&outlines_of(&more, 0.0, 0.1, 160), &begin(), &Linear).expect("fitted");
    // Two degrees, 5 and 6, and no more: with them noise alone is left.
    assert_eq!(found.at.shape.len(), 5);
    assert!(
        (found.at.shape[4] - 0.008).abs() < 4.0 * found.u(9),
        "{:?}",
        found.at
    );
    assert!(found.chi_square < 1.1, "{}", found.chi_square);
    let enough = fit(&outlines(0.0, 0.1, 160), &begin(), &Linear).expect("fitted");
    assert_eq!(enough.at.shape.len(), 3);
}
