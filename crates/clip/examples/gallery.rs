//! Paints one frame of every kind into a folder and says how long a frame takes.
//!
//! `cargo run --release -p tremolet-clip --example gallery -- FOLDER`

use std::error::Error;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Instant;

use tremolet_clip::painted::body::{PaintedBody, Still};
use tremolet_clip::painted::hoop::Hoop;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{Dust, Mark, Obstacle, PaintedCamera, Recipe};
use tremolet_clip::painted::space::Ripple;
use tremolet_clip::painted::stills::write_png;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "gallery".into()));
    std::fs::create_dir_all(&folder)?;
    for (name, recipe) in kinds() {
        let mut painter = Painter::new(recipe)?;
        let frame = painter.paint(0).ok_or("the recipe has no frame")?;
        write_png(&frame.plane, &folder.join(format!("{name}.png")))?;
        let start = Instant::now();
        let count = (0..20).filter_map(|index| painter.paint(index)).count();
        println!(
            "{name}: {:.1} ms a frame",
            1e3 * start.elapsed().as_secs_f64() / count as f64
        );
    }
    Ok(())
}

fn kinds() -> Vec<(&'static str, Recipe)> {
    let drop = || {
        PaintedBody::moving(
            150.0,
            [262.3, 249.1],
            Still(vec![0.0, 0.0, 0.08, -0.04, 0.02, 0.012]),
        )
        .turned(0.2)
    };
    let dark = Recipe {
        bodies: vec![drop()],
        ..Recipe::silhouette(512, 512, 20, 250.0, 6e-5)
    };
    let clear = Recipe {
        bodies: vec![drop()],
        ..Recipe::bright(512, 512, 20, 250.0, 6e-5)
    };
    let wire = Obstacle::Rod {
        from: [-20.0, 300.0],
        to: [130.0, 262.0],
        width_px: 7.0,
        light: 0.12,
        middle: None,
    };
    let tube = Obstacle::Rod {
        from: [300.0, -20.0],
        to: [252.0, 120.0],
        width_px: 16.0,
        light: 0.25,
        middle: Some(0.75),
    };
    let ring = Obstacle::Loop {
        centre: [256.0, 256.0],
        radius_px: 170.0,
        width_px: 5.0,
        light: 0.15,
    };
    let dusty = Recipe {
        obstacles: vec![wire, tube],
        dust: Dust {
            specks: 40,
            ..Dust::default()
        },
        ..dark.clone()
    };
    let looped = Recipe {
        obstacles: vec![ring],
        ..clear.clone()
    };
    let dim = Recipe {
        camera: PaintedCamera {
            full_well: Some(625.0),
            blur_px: 2.5,
            ..PaintedCamera::default()
        },
        ..dark.clone()
    };
    let two = Recipe {
        bodies: vec![
            PaintedBody::sphere(60.0, [150.0, 200.0]),
            PaintedBody::sphere(90.0, [340.0, 300.0]),
        ],
        ..clear.clone()
    };
    let tilted = Recipe {
        distance_m: Some(0.05),
        bodies: vec![drop().tilted(0.7).in_depth(|t| 0.042 + t)],
        ..dark.clone()
    };
    let three_lobed = |_| {
        vec![Ripple {
            degree: 3,
            order: 3,
            amplitude: 0.15,
            phase: 0.4,
        }]
    };
    let rippled = Recipe {
        bodies: vec![drop().tilted(1.2).rippled(three_lobed, 5.0)],
        ..dark.clone()
    };
    let rolled = Recipe {
        bodies: vec![drop().along(|t| [200.0 + 8000.0 * t, 249.1])],
        camera: PaintedCamera {
            readout: 0.012,
            exposure: 0.001,
            ..PaintedCamera::default()
        },
        ..dark.clone()
    };
    let mut shaken = Recipe {
        marks: vec![
            Mark::Dot {
                centre: [60.0, 60.0],
                radius_px: 9.0,
                light: 0.3,
            },
            Mark::Dot {
                centre: [440.0, 80.0],
                radius_px: 9.0,
                light: 0.3,
            },
            Mark::Bar {
                from: [60.0, 480.0],
                to: [160.0, 480.0],
                width_px: 6.0,
                light: 0.2,
            },
        ],
        ..clear.clone()
    };
    shaken.handling.shake = Some(Arc::new(|_| [24.0, -15.0]));
    shaken.handling.zoom = Some(Arc::new(|_| 1.05));
    shaken.handling.blur_px = Some(Arc::new(|_| 2.5));
    shaken.handling.exposure_steps = vec![[0.0, 1.3]];
    let held = Recipe {
        obstacles: vec![Obstacle::Hoop(Hoop {
            centre: [262.0, 249.0],
            radius_px: 170.0,
            width_px: 7.0,
            turn: 1.4,
            opening: 0.45,
            light: 0.1,
        })],
        ..dark.clone()
    };
    let neck = |k: i32| {
        let z = 1.0 - f64::from(k) / 200.0;
        let rho = (1.0 - z * z).max(0.0).sqrt() * (22.0 + 130.0 * z * z);
        [190.0 * z, rho]
    };
    let necked = Recipe {
        bodies: vec![
            drop().in_parts(move |_| vec![(0..=400).map(neck).collect()]),
            PaintedBody::sphere(60.0, [320.0, 400.0]),
        ],
        ..dark.clone()
    };
    vec![
        ("held", held),
        ("necked", necked),
        ("shaken", shaken),
        ("rolled", rolled),
        ("tilted", tilted),
        ("rippled", rippled),
        ("dark", dark),
        ("dusty", dusty),
        ("dim", dim),
        ("clear", clear),
        ("looped", looped),
        ("two", two),
    ]
}
