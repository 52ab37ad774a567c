use super::*;
use crate::meetings::tests::shape as flat;

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
