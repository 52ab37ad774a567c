use super::*;
use crate::input::fitted::LeftColumn;

fn circle(radius: f64, gap: bool) -> Vec<[f64; 2]> {
    (0..180)
        .filter(|k| !gap || *k < 80 || *k > 100)
        .map(|k| {
            let angle = f64::from(k) * std::f64::consts::TAU / 180.0;
            [100.0 + radius * angle.cos(), 60.0 + radius * angle.sin()]
        })
        .collect()
}

fn body() -> FittedBody {
    let instant = |time: f64, why: &str| FittedInstant {
        time,
        frame: 7,
        why: why.into(),
        outline: circle(50.1, true),
        silhouette: circle(50.0, false),
        difference: circle(55.0, true),
        times: 50.0,
    };
    let column = |k: u32| LeftColumn {
        time: f64::from(k) * 0.01,
        left: (0..48)
            .map(|i| [0.13 * f64::from(i), if i < 24 { 0.2 } else { -0.1 }])
            .collect(),
    };
    FittedBody {
        body: 1,
        metre_per_px: 1e-4,
        instants: vec![instant(0.0, "the first"), instant(0.5, "the last")],
        left: (0..100).map(column).collect(),
        ..FittedBody::default()
    }
}

#[test]
fn instants_lie_beside_each_other_and_what_was_hidden_is_not_joined() {
    let drawing = instants(&body(), false).expect("two instants");
    assert_eq!(drawing.name, "simulation-body-1");
    let count = |what: &str| drawing.content.matches(what).count();
    assert_eq!(count("line fitted"), 2 + 1);
    // Each difference has a gap: two stretches, and one sample in the legend.
    assert_eq!(count("line residual"), 4 + 1);
    assert!(drawing.content.contains("difference × 50") && drawing.content.contains("the last"));
    assert!(instants(&FittedBody::default(), false).is_none());
}

#[test]
fn squares_tell_size_by_area_and_side_by_being_filled() {
    let drawing = left(&body(), false).expect("columns");
    let of = |class: &str| {
        let start = drawing.content.find(class).expect("drawn");
        let rest = &drawing.content[start..];
        let path = rest
            .split("d=\"")
            .nth(1)
            .and_then(|r| r.split('"').next())
            .expect("a path");
        let squares = path.matches('M').count();
        let side: f64 = path
            .split('h')
            .nth(1)
            .and_then(|r| r.split('v').next())
            .expect("a side")
            .parse()
            .expect("a number");
        (squares, side)
    };
    let (outside, large) = of("residual fine");
    let (inside, small) = of("residual open");
    // 100 columns are thinned to 50, 48 sectors to 24 rows.
    assert_eq!((outside, inside), (50 * 12, 50 * 12));
    assert!(((small / large).powi(2) - 0.5).abs() < 0.01, "{small} {large}");
    assert!(
        drawing.caption.contains("0.200 px") && drawing.caption.contains("20"),
        "{}",
        drawing.caption
    );
    assert!(left(&FittedBody::default(), false).is_none());
}
