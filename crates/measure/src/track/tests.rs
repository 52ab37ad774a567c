use super::*;

fn flat(frame: u64, centre: [f64; 2], volume: f64) -> BodyShape {
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
        coverage: 1.0,
        touches_frame: false,
        touched: false,
        star_shaped: true,
        order: 0,
        blur_px: 1.0,
        outline: Vec::new(),
        hidden: Vec::new(),
    }
}

#[test]
fn a_support_does_not_flicker() {
    let shapes = || {
        (0..30)
            .map(|frame| flat(frame, [0.0; 2], 1.0))
            .collect::<Vec<_>>()
    };
    let held: Vec<u64> = (0..30).filter(|frame| frame % 5 != 0).collect();
    let mut often = shapes();
    steadied(&mut often, &held);
    assert!(often.iter().all(|s| s.touched));
    // A single frame stays single, and its own flag is not ours to set.
    let mut once = shapes();
    steadied(&mut once, &[10]);
    assert!(once.iter().all(|s| !s.touched));
}

#[test]
fn what_is_believed_of_a_body_is_how_it_swung_where_it_lay_free() {
    let shapes: Vec<BodyShape> = (0..20)
        .map(|frame| {
            let swing = if frame % 2 == 0 { 1.0 } else { -1.0 };
            BodyShape {
                coefficients_px: vec![50.0, 0.0, 1.0 + swing, 0.5],
                touched: frame == 7,
                ..flat(frame, [0.0; 2], 1.0)
            }
        })
        .collect();
    let found = beliefs(&shapes);
    // Of c_2 / c_0 = 0.04 and 0, ten times and nine times, frame 7 left out.
    assert!((found[0].mean - 0.4 / 19.0).abs() < 1e-12);
    assert!((found[0].deviation - 0.02).abs() < 1e-3);
    assert!((found[1].mean - 0.01).abs() < 1e-12 && (found[1].deviation - LEAST).abs() < 1e-12);
    // Degrees that were never seen, and bodies that never lay free.
    assert_eq!(found[4].mean, 0.0);
    assert!((beliefs(&shapes[..4])[0].deviation - UNKNOWN).abs() < 1e-12);
}
