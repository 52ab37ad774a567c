use std::f64::consts::TAU;
use std::sync::Arc;

use super::*;
use crate::painted::clock::PaintedClock;
use crate::painted::recipe::PaintedCamera;
use crate::traced::medium::Medium;
use crate::traced::meridian::{sphere, spheroid};
use crate::traced::pinhole::{Pinhole, axis};
use crate::traced::rim::outline;
use crate::traced::scene::Motion;
use crate::traced::vector::Vector;

const CAMERA: Pinhole = Pinhole {
    width: 160,
    height: 140,
    scale_m_per_px: 2e-4,
    distance: 0.2,
    opening: None,
};

fn still(meridian: Vec<[f64; 2]>, centre: Vector, axis: Vector) -> Motion {
    let skin = Skin {
        meridian,
        centre,
        axis,
        inside: Medium::WATER,
        outside: Medium::GAS,
    };
    Arc::new(move |_| vec![skin.clone()])
}

fn sharp(blur_px: f64) -> PaintedCamera {
    PaintedCamera {
        blur_px,
        ..PaintedCamera::noiseless()
    }
}

fn silhouette(motion: Motion, blur_px: f64) -> TracedClip {
    let scene = TracedScene {
        camera: sharp(blur_px),
        ..TracedScene::silhouette(CAMERA, PaintedClock::even(100.0, 3), motion)
    };
    TracedClip::new(scene).expect("a scene")
}

/// Where, from `from` along a direction of the picture, the light passes the mean of its two levels: between pixels by cubic interpolation.
fn edge(light: &[f32], width: usize, from: [f64; 2], angle: f64, about: f64, levels: [f64; 2]) -> f64 {
    let (sin, cos) = angle.sin_cos();
    let at = |r: f64| bicubic(light, width, [from[0] + r * cos, from[1] + r * sin]);
    let half = 0.5 * (levels[0] + levels[1]);
    let (mut low, mut high) = (about - 4.0, about + 4.0);
    assert!(at(low) < half && at(high) > half, "{} {}", at(low), at(high));
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if at(middle) < half {
            low = middle
        } else {
            high = middle
        }
    }
    0.5 * (low + high)
}

/// Interpolation through six points in each direction (Lagrange).
fn bicubic(light: &[f32], width: usize, [x, y]: [f64; 2]) -> f64 {
    let weights = |t: f64| -> [f64; 6] {
        std::array::from_fn(|k| {
            let k = k as f64 - 2.0;
            (-2..=3)
                .map(f64::from)
                .filter(|j| *j != k)
                .map(|j| (t - j) / (k - j))
                .product()
        })
    };
    let (column, row) = (x.floor(), y.floor());
    let (across, down) = (weights(x - column), weights(y - row));
    (0..6)
        .map(|j| {
            let line = (row as usize + j - 2) * width + column as usize - 2;
            let sum: f64 = (0..6).map(|i| across[i] * f64::from(light[line + i])).sum();
            down[j] * sum
        })
        .sum()
}

// The outline of the picture lies where geometry puts it, to 0.01 px in every direction: a sphere by its tangent cone, after the shift of a curved
// edge by blur, s^2/2R with 1/12 of the pixel's own square in s^2 (own derivation in optics::blur).
#[test]
fn the_edge_of_a_sphere_is_where_the_tangent_cone_touches() {
    for (centre, radius) in [([0.0, 0.0, 0.2], 0.0095), ([0.0007, -0.0011, 0.2], 0.0083)] {
        let clip = silhouette(still(sphere(radius, 120), centre, axis(0.7, 0.2)), 0.9);
        let light = clip.light(0.0).expect("traced");
        // The tangent cone is cut by the picture in an ellipse between tan(a - b) and tan(a + b), a the angle from the line of sight; longer by 1/cos a
        // in that direction, which is less than 1e-3 px here.
        let [x, y, z]: Vector = centre;
        let aside = x.hypot(y);
        let (a, b) = ((aside / z).atan(), (radius / aside.hypot(z)).asin());
        let px = CAMERA.distance / CAMERA.scale_m_per_px;
        let off = 0.5 * px * ((a + b).tan() + (a - b).tan());
        let [right, down] = if aside > 0.0 {
            [x / aside, y / aside]
        } else {
            [0.0; 2]
        };
        let middle = [CAMERA.middle()[0] + off * right, CAMERA.middle()[1] + off * down];
        let seen = 0.5 * px * ((a + b).tan() - (a - b).tan());
        assert!(aside > 0.0 || (seen - px * radius / z / (1.0 - (radius / z).powi(2)).sqrt()).abs() < 1e-9);
        let blur = 0.9_f64.powi(2) + 1.0 / 12.0;
        for k in 0..90 {
            let angle = TAU * f64::from(k) / 90.0;
            let found = edge(&light, CAMERA.width, middle, angle, seen, [0.18 * 0.78, 0.78]);
            let due = seen - tremolet_optics::blur::edge_shift(1.0 / seen, blur.sqrt());
            assert!((found - due).abs() < 0.01, "{k}: {found} {due}");
        }
    }
}

// The same for a flat body with its axis turned in the picture and out of it, against the outline by geometry.
#[test]
fn the_edge_of_a_tilted_spheroid_is_where_geometry_puts_it() {
    let skin = still(spheroid(0.006, 0.010, 160), [0.0003, 0.0005, 0.2], axis(0.5, 0.7));
    let clip = silhouette(skin, 0.8);
    let light = clip.light(0.0).expect("traced");
    let tracer = clip.tracer(0.0).expect("bodies");
    let points = outline(&tracer.surfaces()[0], &CAMERA, 160);
    let n = points.len();
    let blur = 0.8_f64.powi(2) + 1.0 / 12.0;
    let mut tried = 0;
    for i in (0..n).step_by(5) {
        let (before, here, after) = (points[(i + n - 6) % n], points[i], points[(i + 6) % n]);
        let tangent = [after[0] - before[0], after[1] - before[1]];
        let length = tangent[0].hypot(tangent[1]);
        let middle = [0, 1].map(|k| 0.5 * (before[k] + after[k]));
        let mut out = [tangent[1] / length, -tangent[0] / length];
        let centre = CAMERA.middle();
        if out[0] * (here[0] - centre[0]) + out[1] * (here[1] - centre[1]) < 0.0 {
            out = out.map(|x| -x);
        }
        let bow = (here[0] - middle[0]) * out[0] + (here[1] - middle[1]) * out[1];
        let curvature = 8.0 * bow / (length * length);
        let from = [here[0] - 20.0 * out[0], here[1] - 20.0 * out[1]];
        let angle = out[1].atan2(out[0]);
        let found = edge(&light, CAMERA.width, from, angle, 20.0, [0.18 * 0.78, 0.78]);
        let due = 20.0 - 0.5 * curvature * blur;
        assert!((found - due).abs() < 0.01, "{i}: {found} {due}");
        tried += 1;
    }
    assert!(tried > 30);
}

fn clear(instants: u32, exposure: f64) -> TracedClip {
    let motion: Motion = Arc::new(|time| {
        vec![Skin {
            meridian: sphere(0.006, 90),
            centre: [0.4 * time, 0.0, 0.2],
            axis: [0.0, -1.0, 0.0],
            inside: Medium::WATER,
            outside: Medium::GAS,
        }]
    });
    let scene = TracedScene {
        camera: PaintedCamera {
            exposure,
            ..PaintedCamera::default()
        },
        instants,
        ..TracedScene::clear(CAMERA, PaintedClock::even(100.0, 4), motion)
    };
    TracedClip::new(scene).expect("a scene")
}

#[test]
fn the_same_picture_whatever_the_threads_and_whatever_came_before() {
    let clip = clear(2, 1e-3);
    let pool = |threads: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("a pool")
    };
    let one = pool(1).install(|| clip.trace(2).expect("traced"));
    let three = pool(3).install(|| {
        clip.trace(0).expect("traced");
        clip.trace(2).expect("traced")
    });
    assert_eq!(one, three);
    assert!(clip.trace(4).expect("past the end").is_none());
    let mut source = clip.clone();
    source.next_frame().expect("traced");
    source.next_frame().expect("traced");
    assert_eq!(source.next_frame().expect("traced"), one);
}

// An exposure is the mean of its instants.
#[test]
fn an_exposure_is_the_mean_of_its_instants() {
    let long = clear(2, 4e-3).light(0.0).expect("traced");
    let short = clear(1, 0.0);
    let (before, after) = (
        short.light(-1e-3).expect("traced"),
        short.light(1e-3).expect("traced"),
    );
    for (mean, pair) in long.iter().zip(before.iter().zip(&after)) {
        assert!((mean - 0.5 * (pair.0 + pair.1)).abs() < 1e-5);
    }
}

#[test]
fn what_cannot_be_traced_is_refused() {
    let body = still(sphere(0.006, 90), [0.0, 0.0, 0.004], [0.0, 1.0, 0.0]);
    let refused = silhouette(body.clone(), 0.8).trace(0);
    assert!(matches!(refused, Err(TraceError::Near { surface: 0, .. })));
    let scene = |change: &dyn Fn(&mut TracedScene)| {
        let mut scene = TracedScene::clear(CAMERA, PaintedClock::even(100.0, 3), body.clone());
        change(&mut scene);
        TracedClip::new(scene).map(|_| ())
    };
    assert!(scene(&|_| ()).is_ok());
    assert!(matches!(
        scene(&|s| s.pinhole.width = 4),
        Err(TraceError::Frame { .. })
    ));
    assert!(matches!(
        scene(&|s| s.camera.blur_px = 0.3),
        Err(TraceError::Range { .. })
    ));
    assert!(matches!(
        scene(&|s| s.camera.readout = 0.01),
        Err(TraceError::Range { .. })
    ));
}
