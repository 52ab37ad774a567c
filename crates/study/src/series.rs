//! From the shapes of one body to the series that inference sees, and to its radius.
//!
//! ```text
//! a_n = c_n / R,     cov(a_n, a_m) = cov(c_n, c_m) / R^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `c_n` | Legendre coefficients of the outline | px |
//! | `R` | volume-equivalent radius | px |
//!
//! A frame counts as free when nothing crosses or touches the outline, the body lies whole in the frame, and a
//! star-shaped expansion holds. Computes no physics.

use tremolet_infer::turning::Limb;
use tremolet_measure::camera::course::of_radius;
use tremolet_measure::measured::{BodyShape, BodyTrack};
use tremolet_numerics::dense::Matrix;
use tremolet_optics::silhouette::true_from_seen;
use tremolet_record::series::{ModeSample, ModeSeries};

/// Degrees that inference looks at.
const HIGHEST: usize = 8;

/// Least share of the outline that must be seen in a frame from which free-drop amplitudes are taken.
const SEEN: f64 = 0.6;

/// Whether amplitudes of a free drop may be taken from this shape.
pub fn free(shape: &BodyShape) -> bool {
    shape.star_shaped
        && !shape.touched
        && !shape.touches_frame
        && shape.coverage >= SEEN
        && shape.amplitude.len() > 1
}

/// The amplitudes of degrees 2 up to the highest that most frames have (at most 8); `time` gives the real time of a
/// frame, and frames without one are left out.
pub fn modes(track: &BodyTrack, time: impl Fn(u64) -> Option<f64>) -> ModeSeries {
    let mut orders: Vec<usize> = track
        .shapes
        .iter()
        .filter(|s| free(s))
        .map(|s| s.order.min(HIGHEST))
        .collect();
    orders.sort_unstable();
    let order = orders.get(orders.len() / 20).copied().unwrap_or(0);
    let degrees: Vec<u32> = (2..=order).filter_map(|n| u32::try_from(n).ok()).collect();
    let whole =
        |shape: &&BodyShape| shape.order >= order && order >= 2 && shape.amplitude.len() >= degrees.len();
    let sample = |shape: &BodyShape| {
        let time = time(shape.frame).filter(|t| t.is_finite())?;
        Some(ModeSample {
            frame: shape.frame,
            time,
            amplitude: shape.amplitude[..degrees.len()].to_vec(),
            covariance: covariance(shape, degrees.len()),
            free: free(shape),
        })
    };
    let mut samples: Vec<ModeSample> = track.shapes.iter().filter(whole).filter_map(sample).collect();
    samples.sort_by(|a, b| a.time.total_cmp(&b.time));
    ModeSeries {
        body: track.body,
        degrees,
        samples,
    }
}

/// Packed covariance of the first `count` amplitudes from that of the coefficients, which start at degree 0.
fn covariance(shape: &BodyShape, count: usize) -> Vec<f64> {
    let scale = shape.equivalent_radius_px.powi(2);
    let packed = |i: usize, j: usize| shape.covariance[i * (i + 1) / 2 + j] / scale;
    (2..count + 2)
        .flat_map(|i| (2..=i).map(move |j| packed(i, j)))
        .collect()
}

/// Turns amplitudes of the outline into those of the body, for a lens at a finite distance: `ratio` is radius over distance.
/// A series whose degrees do not begin at 2 or leave one out stays as it is.
pub fn out_of_perspective(series: &mut ModeSeries, ratio: f64) {
    let count = series.degrees.len();
    if !series.degrees.iter().copied().eq((2..).take(count)) {
        return;
    }
    let body_from_outline = true_from_seen(count + 1, ratio);
    for sample in &mut series.samples {
        sample.amplitude = body_from_outline.times(&sample.amplitude);
        let full = Matrix::from_fn(count, count, |i, j| {
            let (i, j) = (i.max(j), i.min(j));
            sample.covariance[i * (i + 1) / 2 + j]
        });
        let turned = body_from_outline
            .product(&full)
            .product(&body_from_outline.transpose());
        sample.covariance = (0..count).flat_map(|i| turned.row(i)[..=i].to_vec()).collect();
    }
}

/// Mean radius over the frames that count, and its standard uncertainty from their scatter, px.
pub fn mean_radius(track: &BodyTrack) -> Option<(f64, f64)> {
    let radii: Vec<f64> = track
        .shapes
        .iter()
        .filter(|s| free(s))
        .map(|s| s.equivalent_radius_px)
        .collect();
    if radii.len() < 2 {
        return None;
    }
    let count = radii.len() as f64;
    let mean = radii.iter().sum::<f64>() / count;
    let variance = radii.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (count - 1.0);
    Some((mean, (variance / count).sqrt()))
}

/// Scatter of the points of an outline about its smooth shape, in units of R: the median over the frames that count.
pub fn scatter(track: &BodyTrack) -> Option<f64> {
    let counted = track.shapes.iter().filter(|s| free(s));
    let all: Vec<f64> = counted
        .map(|s| s.residual_rms_px / s.equivalent_radius_px)
        .collect();
    Some(tremolet_numerics::statistics::median(&all)).filter(|scatter| scatter.is_finite())
}

/// What whole outlines show along the axis and across it, for each free sample of a series.
pub fn limbs(track: &BodyTrack, series: &ModeSeries) -> Vec<Limb> {
    let Some((radius, _)) = mean_radius(track) else {
        return Vec::new();
    };
    let limb = |sample: &ModeSample| {
        let place = track
            .shapes
            .binary_search_by_key(&sample.frame, |s| s.frame)
            .ok()?;
        let harmonics = track.shapes[place].harmonics.as_ref()?;
        let pairs = harmonics.cosine.iter().zip(&harmonics.sine).enumerate();
        let about_axis = pairs.map(|(k, (a, b))| {
            let (sin, cos) = (k as f64 * track.axis_angle).sin_cos();
            ((a * cos + b * sin) / radius, (b * cos - a * sin) / radius)
        });
        let (cosine, sine) = about_axis.unzip();
        Some(Limb {
            time: sample.time,
            cosine,
            sine,
        })
    };
    series
        .samples
        .iter()
        .filter(|s| s.free)
        .filter_map(limb)
        .collect()
}

/// Width of the blur of the outlines, px: the median over the frames that count.
pub fn blur(track: &BodyTrack) -> f64 {
    let counted = track.shapes.iter().filter(|s| free(s));
    let all: Vec<f64> = counted.map(|s| s.blur_px).collect();
    tremolet_numerics::statistics::median(&all)
}

/// Smooth path of the centre for each sample of a series, along the axis and across it (rightwards of it), over R: a parabola in time.
/// Empty where there are too few shapes for one.
pub fn path(track: &BodyTrack, series: &ModeSeries) -> Vec<[f64; 2]> {
    let (Some(first), Some(last)) = (series.samples.first(), series.samples.last()) else {
        return Vec::new();
    };
    let span = (last.time - first.time).max(f64::MIN_POSITIVE);
    let power = |time: f64, k: usize| ((time - first.time) / span).powi(k as i32);
    let of = |frame: u64| track.shapes.binary_search_by_key(&frame, |s| s.frame).ok();
    let pairs: Vec<(f64, &BodyShape)> = series
        .samples
        .iter()
        .filter_map(|s| Some((s.time, &track.shapes[of(s.frame)?])))
        .collect();
    let powers = Matrix::from_fn(pairs.len(), 3, |i, k| power(pairs[i].0, k));
    let fitted = |coordinate: usize| {
        let values: Vec<f64> = pairs
            .iter()
            .map(|(_, shape)| shape.centre_px[coordinate])
            .collect();
        (values.len() > 3)
            .then(|| powers.least_squares(&values).ok())
            .flatten()
    };
    let (Some(x), Some(y), Some((radius, _))) = (fitted(0), fitted(1), mean_radius(track)) else {
        return Vec::new();
    };
    let (sin, cos) = track.axis_angle.sin_cos();
    let at = |time: f64| {
        let sum = |c: &[f64]| (0..3).map(|k| c[k] * power(time, k)).sum::<f64>() / radius;
        let (x, y) = (sum(&x), sum(&y));
        // The axis is (sin, -cos) with y downwards.
        [x * sin - y * cos, x * cos + y * sin]
    };
    series.samples.iter().map(|s| at(s.time)).collect()
}

/// Standard uncertainty of the radius, px, from a slow change of it over the clip: anywhere within its range alike; nothing where none is
/// sure.
pub fn size_drift(track: &BodyTrack) -> f64 {
    of_radius(track).map_or(0.0, |change| {
        (change.range[1] - change.range[0]) / 12.0_f64.sqrt()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_shape::symmetry::Harmonics;

    fn shape(frame: u64, order: usize, touched: bool) -> BodyShape {
        let count = order + 1;
        BodyShape {
            frame,
            centre_px: [0.0; 2],
            area_px2: 1.0,
            volume_px3: 1.0,
            surface_px2: 1.0,
            equivalent_radius_px: 10.0,
            u_radius_px: 0.01,
            coefficients_px: vec![1.0; count],
            amplitude: (2..=order).map(|n| n as f64).collect(),
            covariance: (0..count)
                .flat_map(|i| (0..=i).map(move |j| (10 * i + j) as f64))
                .collect(),
            residual_rms_px: 0.0,
            reduced_chi_squared: 1.0,
            asymmetry: 1.0,
            harmonics: None,
            coverage: 1.0,
            touches_frame: false,
            touched,
            star_shaped: true,
            order,
            blur_px: 1.0,
            outline: Default::default(),
            hidden: Default::default(),
        }
    }

    #[test]
    fn a_frame_that_is_touched_stays_but_is_not_free() {
        let shapes = vec![shape(0, 6, false), shape(1, 6, true), shape(2, 6, false)];
        let track = BodyTrack {
            body: 1,
            axis_angle: 0.0,
            axis_uncertainty: 0.0,
            u_axis_px: 0.0,
            u_edge_px: 0.0,
            clipped: [0.0; 2],
            shapes,
        };
        let series = modes(&track, |frame| Some(frame as f64 * 0.01));
        assert_eq!(series.degrees, [2, 3, 4, 5, 6]);
        let free: Vec<bool> = series.samples.iter().map(|s| s.free).collect();
        assert_eq!(free, [true, false, true]);
        // cov(a_3, a_2) comes from cov(c_3, c_2), which the test numbers 32; R = 10.
        assert!((series.samples[0].covariance[1] - 0.32).abs() < 1e-12);
        assert!((series.samples[0].variance(1) - 0.33).abs() < 1e-12);
    }

    // r = 10 + 0.5 cos 2 (phi - axis) + 0.2 sin 3 (phi - axis).
    #[test]
    fn limbs_are_about_the_axis_and_over_the_radius() {
        let (sin, cos) = (0.3_f64, 1.1_f64);
        let axis = sin.atan2(cos);
        let one = |frame: u64, free: bool, whole: bool| BodyShape {
            harmonics: whole.then(|| Harmonics {
                centre: [0.0; 2],
                cosine: vec![10.0, 0.0, 0.5 * (2.0 * axis).cos(), -0.2 * (3.0 * axis).sin()],
                sine: vec![0.0, 0.0, 0.5 * (2.0 * axis).sin(), 0.2 * (3.0 * axis).cos()],
                uncertainty: vec![0.01; 4],
            }),
            ..shape(frame, 6, !free)
        };
        let track = BodyTrack {
            body: 1,
            axis_angle: axis,
            axis_uncertainty: 0.0,
            u_axis_px: 0.0,
            u_edge_px: 0.0,
            clipped: [0.0; 2],
            shapes: vec![
                one(0, true, true),
                one(1, false, true),
                one(2, true, false),
                one(3, true, true),
            ],
        };
        let series = modes(&track, |frame| Some(frame as f64 * 0.01));
        let found = limbs(&track, &series);
        assert_eq!(found.iter().map(|l| l.time).collect::<Vec<_>>(), [0.0, 0.03]);
        for (k, (along, across)) in [(1.0, 0.0), (0.0, 0.0), (0.05, 0.0), (0.0, 0.02)]
            .into_iter()
            .enumerate()
        {
            assert!((found[0].cosine[k] - along).abs() < 1e-12, "{k}");
            assert!((found[0].sine[k] - across).abs() < 1e-12, "{k}");
        }
    }

    #[test]
    fn perspective_is_taken_out_of_amplitudes_and_their_covariance() {
        let mut series = ModeSeries {
            body: 1,
            degrees: vec![2, 3, 4],
            samples: vec![ModeSample {
                frame: 0,
                time: 0.0,
                amplitude: vec![0.05, 0.02, 0.01],
                covariance: vec![1.0, 0.0, 4.0, 0.5, 0.0, 9.0],
                free: true,
            }],
        };
        // At D = 2 R, c^2 = 3/4. Equal powers of x in P_4(c x) / c^2 = c^2 P_4 + k P_2 + m give k = -5/2 (1 - c^2) = -5/8.
        out_of_perspective(&mut series, 0.5);
        let sample = &series.samples[0];
        let (seen_four, k) = (0.75, -0.625);
        let four = 0.01 / seen_four;
        let expected = [0.05 - k * four, 0.02 / 0.75_f64.sqrt(), four];
        for (found, expected) in sample.amplitude.iter().zip(expected) {
            assert!((found - expected).abs() < 1e-9, "{found} {expected}");
        }
        assert!((sample.covariance[5] - 9.0 / seen_four.powi(2)).abs() < 1e-9);
        assert!((sample.covariance[2] - 4.0 / 0.75).abs() < 1e-9);
        // var(b_2 - k a_4) with cov 0.5.
        let expected = 1.0 - 2.0 * k / seen_four * 0.5 + (k / seen_four).powi(2) * 9.0;
        assert!((sample.covariance[0] - expected).abs() < 1e-8);
        let mut gapped = ModeSeries {
            degrees: vec![2, 4, 5],
            ..series.clone()
        };
        out_of_perspective(&mut gapped, 0.5);
        assert_eq!(gapped.samples, series.samples);
    }

    #[test]
    fn the_path_is_along_the_axis_and_rightwards_of_it() {
        let shapes: Vec<BodyShape> = (0..9)
            .map(|frame| BodyShape {
                centre_px: [50.0 + 2.0 * frame as f64, 40.0 - 0.1 * (frame * frame) as f64],
                ..shape(frame, 6, false)
            })
            .collect();
        let mut track = BodyTrack {
            body: 1,
            axis_angle: 0.0,
            axis_uncertainty: 0.0,
            u_axis_px: 0.0,
            u_edge_px: 0.0,
            clipped: [0.0; 2],
            shapes,
        };
        let series = modes(&track, |frame| Some(frame as f64 * 0.01));
        // Upwards is along, R is 10 px; from frame 0 to 8 up by 6.4 px and to the right by 16.
        let by = |path: &[[f64; 2]]| [0, 1].map(|k| path[8][k] - path[0][k]);
        let [along, across] = by(&path(&track, &series));
        assert!(
            (along - 0.64).abs() < 1e-9 && (across - 1.6).abs() < 1e-9,
            "{along} {across}"
        );
        // An axis to the right has down at its right hand.
        track.axis_angle = std::f64::consts::FRAC_PI_2;
        let [along, across] = by(&path(&track, &series));
        assert!(
            (along - 1.6).abs() < 1e-9 && (across + 0.64).abs() < 1e-9,
            "{along} {across}"
        );
    }

    #[test]
    fn a_track_without_free_frames_has_no_degrees_and_no_radius() {
        let track = BodyTrack {
            body: 1,
            axis_angle: 0.0,
            axis_uncertainty: 0.0,
            u_axis_px: 0.0,
            u_edge_px: 0.0,
            clipped: [0.0; 2],
            shapes: vec![shape(0, 6, true)],
        };
        assert!(modes(&track, |_| Some(0.0)).degrees.is_empty());
        assert_eq!(mean_radius(&track), None);
    }
}
