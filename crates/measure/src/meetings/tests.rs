use super::*;

/// A body of which hardly more than place and volume is told.
pub(crate) fn shape(frame: u64, centre: [f64; 2], volume: f64) -> BodyShape {
    BodyShape {
        frame,
        centre_px: centre,
        area_px2: 1.0,
        volume_px3: volume,
        surface_px2: 1.0,
        equivalent_radius_px: (0.75 * volume / std::f64::consts::PI).cbrt(),
        u_radius_px: 0.01,
        coefficients_px: Vec::new(),
        amplitude: Vec::new(),
        covariance: Vec::new(),
        residual_rms_px: 0.0,
        reduced_chi_squared: 1.0,
        asymmetry: 1.0,
        harmonics: None,
        coverage: 1.0,
        touches_frame: false,
        touched: false,
        star_shaped: true,
        order: 0,
        blur_px: 1.0,
        outline: Default::default(),
        hidden: Default::default(),
    }
}

fn track(body: u32, frames: std::ops::Range<u64>, centre: [f64; 2], volume: f64) -> BodyTrack {
    BodyTrack {
        body,
        axis_angle: 0.0,
        axis_uncertainty: 0.0,
        u_axis_px: 0.0,
        u_edge_px: 0.0,
        clipped: [0.0; 2],
        shapes: frames.map(|frame| shape(frame, centre, volume)).collect(),
    }
}

/// A body of 3000 px^3 that lasts until frame 9, then two of 2000 and of `rest`.
fn parting(rest: f64) -> Vec<BodyTrack> {
    vec![
        track(1, 0..10, [50.0, 50.0], 3000.0),
        track(2, 10..20, [50.0, 44.0], 2000.0),
        track(3, 10..20, [50.0, 58.0], rest),
    ]
}

fn open(frame: u64, meeting: Meeting) -> Met {
    Met {
        frame,
        body: 1,
        meeting,
    }
}

#[test]
fn a_body_that_parts_keeps_its_volume() {
    let mut bodies = parting(1010.0);
    let found = happenings(&mut bodies, &[]);
    let expected = Happening {
        name: "pinch_off",
        frames: (9, 10),
        bodies: vec![1, 2, 3],
    };
    assert_eq!(found, [expected]);
    assert!(bodies.iter().flat_map(|b| &b.shapes).all(|s| !s.touched));
}

#[test]
fn what_cannot_be_told_widens_the_time_of_parting() {
    let met = [8, 9, 10].map(|frame| open(frame, Meeting::Open));
    assert_eq!(happenings(&mut parting(1000.0), &met)[0].frames, (7, 11));
}

#[test]
fn a_joint_outline_of_another_volume_is_no_body() {
    let mut bodies = parting(2000.0);
    assert_eq!(happenings(&mut bodies, &[])[0].name, "parted_in_view");
    assert!(bodies[0].shapes.iter().all(|s| s.touched) && !bodies[1].shapes[0].touched);
}

#[test]
fn two_that_become_one() {
    let mut bodies = vec![
        track(1, 0..10, [50.0, 44.0], 2000.0),
        track(2, 0..10, [50.0, 58.0], 1000.0),
        track(3, 10..20, [50.0, 50.0], 3000.0),
    ];
    let found = happenings(&mut bodies, &[]);
    assert_eq!((found[0].name, found[0].frames), ("coalescence", (9, 10)));
    assert_eq!(found[0].bodies, [1, 2, 3]);
}

#[test]
fn bodies_far_from_each_other_or_at_the_border_have_nothing_to_do_with_each_other() {
    let mut far = parting(1000.0);
    far[1].shapes.iter_mut().for_each(|s| s.centre_px = [200.0, 50.0]);
    assert!(happenings(&mut far, &[]).is_empty());
    let mut leaving = parting(1000.0);
    leaving[0].shapes.iter_mut().for_each(|s| s.touches_frame = true);
    assert!(happenings(&mut leaving, &[]).is_empty());
}

#[test]
fn while_one_is_hidden_the_other_may_be_both() {
    let mut bodies = vec![
        track(1, 0..20, [50.0, 50.0], 3000.0),
        track(2, 0..20, [54.0, 50.0], 2000.0),
    ];
    bodies[1].shapes.retain(|s| !(8..13).contains(&s.frame));
    let met = [Met {
        frame: 7,
        body: 2,
        meeting: Meeting::Overlaps,
    }];
    let found = happenings(&mut bodies, &met);
    let touched: Vec<u64> = bodies[0]
        .shapes
        .iter()
        .filter(|s| s.touched)
        .map(|s| s.frame)
        .collect();
    assert_eq!(touched, [8, 9, 10, 11, 12]);
    assert_eq!((found[0].name, found[0].frames), ("overlap", (7, 7)));
}

#[test]
fn cautions_name_each_stretch() {
    let met: Vec<Met> = [3, 4, 5, 20, 21]
        .map(|frame| open(frame, Meeting::Overlaps))
        .into();
    let found = cautions(&met);
    let frames: Vec<_> = found.iter().map(|c| (c.code, c.frames)).collect();
    assert_eq!(
        frames,
        [
            ("bodies_overlap", Some((3, 5))),
            ("bodies_overlap", Some((20, 21)))
        ]
    );
}
