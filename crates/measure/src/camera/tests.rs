use super::*;
use crate::edge::doubt::Doubt;
use crate::sighting::used;
use std::f64::consts::TAU;

fn circle(frame: u64, [x, y]: [f64; 2], radius: f64) -> Sighting {
    let point = |k: i32| {
        let (sin, cos) = (TAU * f64::from(k) / 120.0).sin_cos();
        [(x + radius * cos) as f32, (y + radius * sin) as f32, 0.02]
    };
    Sighting {
        frame,
        centre: [x, y],
        size: radius,
        outline: (0..120).map(point).collect(),
        straight: None,
        hidden: Default::default(),
        bridged: Default::default(),
        touches_frame: false,
        touched: false,
        harmonics: None,
        blur_px: 1.2,
        doubt: Doubt::default(),
        held: false,
        meeting: crate::edge::Meeting::Alone,
        cluttered: false,
    }
}

fn camera(stated: Stated) -> Camera<'static> {
    Camera {
        stated,
        frames: &[4, 5],
        times: &[0.4, 0.5],
        motion: None,
    }
}

#[test]
fn a_camera_of_which_nothing_is_stated_changes_nothing() {
    let mut seen = vec![circle(4, [50.0, 40.0], 20.0)];
    let before = seen.clone();
    assert_eq!(camera(Stated::default()).straighten(&mut seen), Taken::default());
    assert_eq!(seen, before);
}

// A camera turned by 3-4-5 about (100, 100): the point (60, 30) from it is at (60 * 0.8 - 30 * 0.6, 60 * 0.6 + 30 * 0.8) = (30, 60).
#[test]
fn lens_and_roll_move_the_centre_and_leave_what_is_seen() {
    let picture = Picture {
        roll: 0.6_f64.asin(),
        ..Picture::plain([100.0, 100.0])
    };
    let stated = Stated {
        picture: Some(picture),
        ..Stated::default()
    };
    let mut seen = vec![circle(4, [160.0, 130.0], 20.0)];
    let outline = seen[0].outline.clone();
    camera(stated).straighten(&mut seen);
    assert!(
        (seen[0].centre[0] - 130.0).hypot(seen[0].centre[1] - 160.0) < 1e-4,
        "{:?}",
        seen[0].centre
    );
    assert_eq!(seen[0].outline, outline);
    let u = used(&seen[0])[7].uncertainty;
    assert!((u - 0.02).abs() < 1e-6, "a turn stretches nothing: {u}");
}

// A lens that shows 1 + 0.1 of the size on its axis, as a ball of 20 px at the axis of a lens x_d = x (1 + 0.1 (r/20)^2) is seen with 22.
#[test]
fn a_lens_changes_size_and_uncertainty() {
    let mut picture = Picture::plain([100.0, 100.0]);
    (picture.lens.radial[0], picture.focal_px) = (0.1, 20.0);
    let stated = Stated {
        picture: Some(picture),
        ..Stated::default()
    };
    let mut seen = vec![circle(4, [100.0, 100.0], 22.0)];
    camera(stated).straighten(&mut seen);
    let p = used(&seen[0])[0];
    assert!((p.x - 120.0).abs() < 1e-4, "{p:?}");
    // By 1 + 0.3 along the radius and 1.1 across it.
    assert!((p.uncertainty / 0.02 - 1.0 / (1.3 * 1.1_f64).sqrt()).abs() < 2e-3);
}

#[test]
fn without_times_rows_stay_as_they_are() {
    let stated = Stated {
        shutter: Some(Shutter {
            readout: 0.05,
            rows: 100,
            stamped: 0.0,
        }),
        ..Stated::default()
    };
    let blind = Camera {
        times: &[],
        ..camera(stated)
    };
    let mut seen = vec![circle(4, [50.0, 40.0], 20.0), circle(5, [50.0, 44.0], 20.0)];
    assert_eq!(blind.straighten(&mut seen), Taken::default());
    assert!(seen.iter().all(|s| s.straight.is_none()));
    assert_eq!(
        (blind.time(5), camera(stated).time(5), camera(stated).time(9)),
        (5.0, 0.5, 9.0)
    );
    let taken = camera(stated).straighten(&mut seen);
    // Row 42 of 99 at 50 ms.
    assert!((taken.delay - 0.05 * 42.0 / 99.0).abs() < 1e-4, "{taken:?}");
}
