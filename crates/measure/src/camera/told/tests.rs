use super::*;
use crate::measured::BodyShape;
use crate::meetings::tests::shape as alone;

fn track(blur: impl Fn(f64) -> f64, radius: impl Fn(f64) -> f64) -> BodyTrack {
    let shape = |k: u64| {
        let t = k as f64 / 160.0;
        BodyShape {
            equivalent_radius_px: radius(t),
            blur_px: blur(t),
            ..alone(k, [0.0; 2], 1.0)
        }
    };
    BodyTrack {
        body: 1,
        axis_angle: 0.0,
        axis_uncertainty: 0.0,
        u_axis_px: 0.0,
        u_edge_px: 0.0,
        clipped: [0.0; 2],
        shapes: (0..160).map(shape).collect(),
    }
}

fn codes(body: BodyTrack, verdict: &Verdict, light: &Light) -> Vec<&'static str> {
    let frames: Vec<u64> = (0..160).collect();
    let found = cautions(&[body], &frames, verdict, light);
    found.iter().map(|c| c.code).collect()
}

fn light(of: impl Fn(usize) -> f64) -> Light {
    let mut light = Light::default();
    light.course = (0..160).map(of).collect();
    light
}

#[test]
fn a_steady_clip_brings_no_caution() {
    for verdict in [Verdict::Silent, Verdict::Still] {
        assert!(codes(track(|_| 1.3, |_| 80.0), &verdict, &light(|_| 1.0)).is_empty());
    }
}

#[test]
fn each_change_has_its_own_caution() {
    let still = Verdict::Still;
    let even = light(|_| 1.0);
    assert_eq!(
        codes(track(|t| 1.3 + t, |_| 80.0), &still, &even),
        ["focus_changed"]
    );
    assert_eq!(
        codes(track(|_| 1.3, |t| 80.0 + t), &still, &even),
        ["size_drifts"]
    );
    let step = light(|k| if k < 60 { 1.0 } else { 0.8 });
    assert_eq!(
        codes(track(|_| 1.3, |_| 80.0), &still, &step),
        ["exposure_changed"]
    );
    let slow = light(|k| 1.0 + 0.001 * k as f64);
    assert_eq!(
        codes(track(|_| 1.3, |_| 80.0), &still, &slow),
        ["exposure_changed"]
    );
    assert_eq!(
        codes(track(|_| 1.3, |_| 80.0), &Verdict::Unclear, &even),
        ["camera_motion_unclear"]
    );
}

#[test]
fn a_step_names_its_frame() {
    let frames: Vec<u64> = (500..660).collect();
    let found = cautions(
        &[],
        &frames,
        &Verdict::Silent,
        &light(|k| if k < 60 { 1.0 } else { 0.8 }),
    );
    assert_eq!(found[0].frames, Some((560, 560)));
    assert!(found[0].text.contains("-20.0 %"), "{}", found[0].text);
}
