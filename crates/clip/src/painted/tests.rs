//! Pictures against geometry worked out here, and against what was painted before there was anything in space.

use sha2::{Digest, Sha256};

use crate::frame::Levels;
use crate::painted::body::{PaintedBody, Still};
use crate::painted::painter::Painter;
use crate::painted::recipe::{Dust, Lamp, Obstacle, PaintedCamera, PaintedScene, Recipe, Silhouette};

mod handling;
mod optics;
mod parts;
mod shutter;
mod space;

/// A recipe without noise, in even light, the bodies quite dark.
fn quiet(size: usize) -> Recipe {
    Recipe {
        camera: PaintedCamera::noiseless(),
        // 0.8 of 65535 is a whole code: the empty field is free of rounding.
        lamp: Lamp {
            level: 0.8,
            falloff: 0.0,
            slope: [0.0; 2],
            ..Lamp::default()
        },
        scene: PaintedScene::Silhouette(Silhouette {
            dark: 0.0,
            middle: 0.0,
            middle_size: 0.3,
            ..Silhouette::default()
        }),
        ..Recipe::silhouette(size, size, 4, 100.0, 1e-5)
    }
}

/// What is missing of the lamp's light in each pixel, row by row.
fn missing(recipe: &Recipe, index: u64) -> Vec<f64> {
    let lamp = recipe.lamp.level * recipe.camera.largest_code();
    let frame = Painter::new(recipe.clone()).unwrap().paint(index).unwrap();
    let Levels::Sixteen(levels) = frame.plane.levels else {
        panic!("sixteen bits")
    };
    levels
        .into_iter()
        .map(|level| 1.0 - f64::from(level) / lamp)
        .collect()
}

/// Area, centre and central second moments `[xx, xy, yy]` (px^2) of what is missing.
fn moments(missing: &[f64], width: usize) -> (f64, [f64; 2], [f64; 3]) {
    let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
        let places = missing.iter().enumerate();
        places
            .map(|(i, m)| m * f((i % width) as f64, (i / width) as f64))
            .sum()
    };
    let area = sum(&|_, _| 1.0);
    let (cx, cy) = (sum(&|x, _| x) / area, sum(&|_, y| y) / area);
    let second = [
        sum(&|x, _| (x - cx).powi(2)),
        sum(&|x, y| (x - cx) * (y - cy)),
        sum(&|_, y| (y - cy).powi(2)),
    ];
    (area, [cx, cy], second.map(|s| s / area))
}

fn digest(recipe: Recipe) -> String {
    let mut painter = Painter::new(recipe).unwrap();
    let mut hash = Sha256::new();
    for frame in (0..).map_while(|index| painter.paint(index)) {
        match frame.plane.levels {
            Levels::Eight(levels) => hash.update(&levels),
            Levels::Sixteen(levels) => levels.iter().for_each(|level| hash.update(level.to_le_bytes())),
        }
    }
    let mut csv = Vec::new();
    painter.truth().write_csv(&mut csv).unwrap();
    hash.update(&csv);
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Frames and truth of recipes with nothing new in them, as they were painted before the room of space was opened.
#[test]
fn what_was_painted_before_is_painted_still() {
    let bodies = || {
        let wobble = |t: f64| vec![0.0, 0.0, 0.1 * (90.0 * t).cos(), 0.03, 0.02];
        vec![
            PaintedBody::moving(22.0, [40.0, 44.0], wobble)
                .along(|t| [40.0 + 30.0 * t, 44.0 - 9.0 * t])
                .turned(0.3),
            PaintedBody::moving(9.0, [75.3, 20.2], Still(vec![0.0, 0.0, -0.45])),
        ]
    };
    let mut dark = Recipe::silhouette(96, 80, 5, 100.0, 1e-4);
    dark.bodies = bodies();
    dark.distance_m = Some(0.02);
    dark.dust = Dust {
        specks: 6,
        ..Dust::default()
    };
    dark.lamp.flicker = 0.02;
    let mut clear = Recipe::bright(96, 80, 4, 100.0, 1e-4);
    clear.bodies = bodies();
    clear.camera.bits = 12;
    clear.clock.jitter = 0.05;
    clear.obstacles = vec![Obstacle::Loop {
        centre: [48.0, 40.0],
        radius_px: 30.0,
        width_px: 3.0,
        light: 0.1,
    }];
    assert_eq!(
        [digest(dark), digest(clear)],
        [
            "c880f13f1697b5a50fc75f8049b464ddb7ad42e38fba8eb43d5f6449aa713bb3",
            "f4e57e948781855a17418a37aec89567e11aac13e326f762a9aba27864a41e4f",
        ]
    );
}
