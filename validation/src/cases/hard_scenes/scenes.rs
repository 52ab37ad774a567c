//! The hard scenes: what is painted and what is asked of each.
//!
//! Necked bodies are painted by their meridian
//! `rho(z) = (ball_1^4 + ball_2^4 + neck^4)^(1/4)`, two spheres of radii `b_1`, `b_2` at `-h` and `h`, and
//! `neck = w (1 - (z/h)^2)^(1/2)` between them.

use tremolet_clip::painted::body::{PaintedBody, Still};
use tremolet_clip::painted::hoop::Hoop;
use tremolet_clip::painted::parts::{Meridian, volume};
use tremolet_clip::painted::recipe::{Glint, Obstacle, PaintedScene, Recipe};

use crate::case::Failure;
use crate::ringing::Ringing;

/// What a scene must keep to besides saying where it does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// A free drop: most frames count, and its surface tension is right.
    Free,
    /// Some frames may be flagged.
    Flagged,
    /// Something touches: no property of a free drop.
    Held,
    /// One body of one outline, its volume within half a per cent.
    Whole,
    /// An outline for every body, the sum of the volumes within one per cent, and the event named.
    Bodies(&'static str),
}

/// One scene.
pub struct Scene {
    /// Its name.
    pub name: &'static str,
    /// What is painted.
    pub recipe: Recipe,
    /// The ringing drop that the experiment file states.
    pub drop: Ringing,
    /// What is asked.
    pub wanted: Wanted,
    /// Frames of which a picture is made.
    pub shown: Vec<u64>,
}

const SIDE: usize = 320;
const MIDDLE: [f64; 2] = [160.4, 158.7];

/// A drop of 60 px that swings four times in 60 frames.
fn drop() -> Ringing {
    Ringing::in_air(0.006, 1099.0, 0.0690, 3.68e-3, 1.0e-4, 150.0)
}

struct Maker {
    frames: u64,
    drop: Ringing,
}

impl Maker {
    fn recipe(&self, bodies: Vec<PaintedBody>) -> Recipe {
        let mut recipe = Recipe::silhouette(SIDE, SIDE, self.frames, self.drop.rate_fps, self.drop.scale);
        recipe.bodies = bodies;
        recipe
    }

    fn scene(&self, name: &'static str, wanted: Wanted, recipe: Recipe) -> Scene {
        Scene {
            name,
            recipe,
            drop: self.drop.clone(),
            wanted,
            shown: vec![self.frames / 3],
        }
    }

    fn ringing(&self, centre: [f64; 2], drift: [f64; 2]) -> Result<PaintedBody, Failure> {
        Ok(self.drop.body(centre, drift)?.turned(0.4))
    }

    /// The drop with something in front of it.
    fn behind(
        &self,
        name: &'static str,
        wanted: Wanted,
        obstacles: Vec<Obstacle>,
        drift: [f64; 2],
    ) -> Result<Scene, Failure> {
        let mut recipe = self.recipe(vec![self.ringing(MIDDLE, drift)?]);
        recipe.obstacles = obstacles;
        Ok(self.scene(name, wanted, recipe))
    }

    /// Bodies given by meridians over the share of the clip that has passed, drifting slowly, the axis at `axis`.
    fn parted(
        &self,
        name: &'static str,
        wanted: Wanted,
        axis: f64,
        parts: impl Fn(f64) -> Vec<Meridian> + Send + Sync + 'static,
    ) -> Scene {
        let length = self.frames as f64 / self.drop.rate_fps;
        let all: f64 = parts(0.0).iter().map(|part| volume(part)).sum();
        let radius = (0.75 * all / std::f64::consts::PI).cbrt();
        let body = PaintedBody::sphere(radius, MIDDLE)
            .along(move |t| [MIDDLE[0] + 3.0 * t / length, MIDDLE[1] - 2.0 * t / length])
            .turned(axis)
            .in_parts(move |t| parts(t / length));
        self.scene(name, wanted, self.recipe(vec![body]))
    }

    /// Two bodies that pass each other `offset` px apart.
    fn passing(&self, name: &'static str, wanted: Wanted, offset: f64) -> Scene {
        let length = self.frames as f64 / self.drop.rate_fps;
        let one = PaintedBody::moving(55.0, MIDDLE, Still(vec![0.0, 0.0, 0.03, 0.01]))
            .along(move |t| [97.0 + 130.0 * t / length, 170.0])
            .turned(0.3);
        let two = PaintedBody::moving(44.0, MIDDLE, Still(vec![0.0, 0.0, -0.04, 0.015, 0.01]))
            .along(move |t| [224.0 - 130.0 * t / length, 170.0 - offset])
            .turned(-0.5);
        let mut scene = self.scene(name, wanted, self.recipe(vec![one, two]));
        let at = |share: f64| (share * self.frames as f64) as u64;
        scene.shown = vec![at(0.12), at(0.25), at(0.5)];
        scene
    }
}

fn rod(from: [f64; 2], to: [f64; 2], width_px: f64) -> Obstacle {
    Obstacle::Rod {
        from,
        to,
        width_px,
        light: 0.12,
        middle: None,
    }
}

fn hoop(radius_px: f64, width_px: f64, turn: f64, opening: f64) -> Obstacle {
    Obstacle::Hoop(Hoop {
        centre: MIDDLE,
        radius_px,
        width_px,
        turn,
        opening,
        light: 0.12,
    })
}

/// The meridian of two spheres and a neck, px.
pub fn dumbbell([first, second]: [f64; 2], half: f64, width: f64) -> Meridian {
    let (low, high) = (-half - first, half + second);
    let ball = |z: f64, at: f64, b: f64| (b * b - (z - at).powi(2)).max(0.0).sqrt();
    let radius = |z: f64| {
        let neck = width * (1.0 - (z / half).powi(2)).max(0.0).sqrt();
        let parts = [ball(z, -half, first), ball(z, half, second), neck];
        parts.iter().map(|part| part.powi(4)).sum::<f64>().powf(0.25)
    };
    // Closer at the ends, where the meridian is steep.
    meridian(low, high, radius)
}

fn meridian(low: f64, high: f64, radius: impl Fn(f64) -> f64) -> Meridian {
    const STEPS: u32 = 1200;
    (0..=STEPS)
        .map(|k| {
            let share = 0.5 - 0.5 * (std::f64::consts::PI * f64::from(k) / f64::from(STEPS)).cos();
            let z = low + (high - low) * share;
            let ends = k == 0 || k == STEPS;
            [z, if ends { 0.0 } else { radius(z) }]
        })
        .collect()
}

/// A spheroid about `middle`, px.
fn spheroid(middle: f64, along: f64, across: f64) -> Meridian {
    meridian(middle - along, middle + along, |z| {
        across * (1.0 - ((z - middle) / along).powi(2)).max(0.0).sqrt()
    })
}

/// A neck that thins until it breaks halfway; then two bodies recoil, ringing, and move apart.
fn pinching(share: f64) -> Vec<Meridian> {
    let (bulbs, half) = ([44.0, 34.0], 52.0);
    if share < 0.5 {
        return vec![dumbbell(
            bulbs,
            half + 14.0 * share,
            16.0 * (1.0 - 2.0 * share).sqrt(),
        )];
    }
    let since = share - 0.5;
    let apart = half + 7.0 + 30.0 * since;
    let swing = 0.06 * (40.0 * since).sin() * (-3.0 * since).exp();
    let one = |middle: f64, b: f64| {
        let long = b * (1.0 + swing);
        spheroid(middle, long, (b.powi(3) / long).sqrt())
    };
    vec![one(-apart, bulbs[0]), one(apart, bulbs[1])]
}

/// All scenes, each of so many frames.
///
/// # Errors
/// When theory gives no root.
pub fn scenes(frames: u64) -> Result<Vec<Scene>, Failure> {
    let make = Maker { frames, drop: drop() };
    let mut all = single(&make)?;
    all.extend(leaving(&make)?);
    all.extend(necked(&make));
    all.push(make.passing("overlapping in view", Wanted::Bodies("overlap"), 55.0));
    let flat = PaintedBody::moving(60.0, MIDDLE, Still(vec![0.0, 0.0, -0.04, 0.0, 0.01])).turned(0.5);
    all.push(make.scene("flat and still", Wanted::Flagged, make.recipe(vec![flat])));
    all.push(make.passing("overlapping deeply", Wanted::Flagged, 25.0));
    Ok(all)
}

fn single(make: &Maker) -> Result<Vec<Scene>, Failure> {
    let glint = |at: [f64; 2], size: f64, light: f64| Glint { at, size, light };
    let mut glinting = make.recipe(vec![make.ringing(MIDDLE, [6.0, -4.0])?]);
    if let PaintedScene::Silhouette(look) = &mut glinting.scene {
        look.glints = vec![glint([0.70, -0.68], 0.05, 0.9), glint([-0.97, 0.15], 0.02, 0.7)];
    }
    let mut faint = glinting.clone();
    if let PaintedScene::Silhouette(look) = &mut faint.scene {
        look.glints = vec![glint([0.68, -0.66], 0.10, 0.15)];
    }
    let rolled = make.recipe(vec![
        make.drop.body(MIDDLE, [6.0, -4.0])?.turned(3.0_f64.to_radians()),
    ]);
    let mut flickering = make.recipe(vec![make.ringing(MIDDLE, [6.0, -4.0])?]);
    flickering.lamp.flicker = 0.04;
    let below = |x: f64| [MIDDLE[0] + x, MIDDLE[1] + 57.0];
    Ok(vec![
        make.scene("glints on the rim", Wanted::Free, glinting),
        make.scene("a faint glint on the rim", Wanted::Flagged, faint),
        make.scene("rolled by 3 deg", Wanted::Free, rolled),
        make.scene("flicker 4 %", Wanted::Free, flickering),
        make.behind(
            "rod touching",
            Wanted::Held,
            vec![rod([150.0, 330.0], below(0.0), 7.0)],
            [0.0; 2],
        )?,
        make.behind(
            "thin rod touching",
            Wanted::Held,
            vec![rod([150.0, 330.0], below(4.0), 2.0)],
            [0.0; 2],
        )?,
        make.behind(
            "loop around",
            Wanted::Held,
            vec![hoop(61.0, 4.0, 1.2, 0.45)],
            [0.0; 2],
        )?,
        make.behind(
            "thin loop around",
            Wanted::Held,
            vec![hoop(61.0, 2.0, 0.3, 0.25)],
            [0.0; 2],
        )?,
        make.behind(
            "loop across, seen round",
            Wanted::Held,
            vec![Obstacle::Loop {
                centre: [MIDDLE[0] + 40.0, MIDDLE[1] + 25.0],
                radius_px: 48.0,
                width_px: 4.0,
                light: 0.12,
            }],
            [0.0; 2],
        )?,
        make.behind(
            "loop on the outline and its stem",
            Wanted::Held,
            vec![
                Obstacle::Loop {
                    centre: MIDDLE,
                    radius_px: 61.0,
                    width_px: 4.0,
                    light: 0.12,
                },
                rod([150.0, 330.0], [MIDDLE[0], MIDDLE[1] + 61.0], 4.0),
            ],
            [0.0; 2],
        )?,
    ])
}

fn leaving(make: &Maker) -> Result<Vec<Scene>, Failure> {
    let at = |share: f64| make.ringing([60.0 - 120.0 * share, MIDDLE[1]], [0.0, 5.0]);
    Ok(vec![
        make.scene(
            "10 % out of the picture",
            Wanted::Flagged,
            make.recipe(vec![at(0.10)?]),
        ),
        make.scene(
            "25 % out of the picture",
            Wanted::Flagged,
            make.recipe(vec![at(0.25)?]),
        ),
    ])
}

fn necked(make: &Maker) -> Vec<Scene> {
    let mut parting = make.parted("pinch-off", Wanted::Bodies("pinch_off"), 0.6, pinching);
    let at = |share: f64| (share * make.frames as f64) as u64;
    parting.shown = vec![at(0.1), at(0.4), at(0.4934), at(0.55), at(0.9)];
    vec![
        make.parted("neck", Wanted::Whole, 0.7, |_| {
            vec![dumbbell([48.0, 36.0], 56.0, 22.0)]
        }),
        make.parted("thin neck", Wanted::Whole, -0.4, |_| {
            vec![dumbbell([48.0, 36.0], 56.0, 9.0)]
        }),
        make.parted("peanut", Wanted::Whole, 0.2, |_| {
            vec![dumbbell([46.0, 46.0], 40.0, 38.0)]
        }),
        make.parted("elongated", Wanted::Whole, -0.9, |_| {
            vec![spheroid(0.0, 105.0, 42.0)]
        }),
        parting,
    ]
}
