//! A shell: a drop with a gas bubble in its middle, let go out of round. The droplet of the file is not followed.
//!
//! The gas keeps its volume: breathing is far faster than the swings of the surfaces.

use std::f64::consts::TAU;

use tremolet_matter::uncertain::Uncertain;
use tremolet_plan::given::Given;
use tremolet_plan::shell::{body, outer};
use tremolet_record::experiment::kinds::Shell;
use tremolet_report::input::Row;
use tremolet_simulate::liquid::InputError;
use tremolet_simulate::potential::boundary::setup::Bubble;
use tremolet_simulate::start::Start;
use tremolet_theory::modes::host::Pair;
use tremolet_theory::shell::viscous;

use super::{Problem, Refusal, SWINGS, at_rest, fault, spheroid};
use crate::error::StudyError;

/// Elements across the thinnest liquid: enough, and too few.
const THROUGH: [f64; 2] = [2.0, 0.7];
/// Elements at least and at most, when none are stated.
const ELEMENTS: [f64; 2] = [40.0, 128.0];

/// The problem of a shell.
///
/// # Errors
/// When the file does not state bubble and shape, or the bubble reaches the surface.
pub fn shell(given: &Given<'_>, pair: &Pair) -> Result<Problem, StudyError> {
    let stated = given.experiment.shell.as_ref();
    let value = |x: Option<&Uncertain>| x.map(Uncertain::value);
    let lacking = |key: &str, due: &str| fault(given, key, "nothing", due);
    let Some((stated, bubble)) = stated.and_then(|s| Some((s, value(s.bubble.as_ref())? / 2.0))) else {
        return Err(lacking("shell.bubble", "the diameter of the bubble"));
    };
    let Some(outer) = outer(given, stated).map(|outer| outer.value()) else {
        return Err(lacking("body.diameter, volume or mass", "a value"));
    };
    let Some(aspect) = value(stated.aspect_ratio.as_ref()) else {
        let due = "length over diameter of the outer surface as it is let go, e.g. \"1.1\": round surfaces at rest do not move";
        return Err(lacking("shell.aspect_ratio", due));
    };
    let height = value(stated.bubble_height.as_ref()).unwrap_or(0.0);
    let across = outer * aspect.powf(-1.0 / 3.0);
    let thinnest = across.min(aspect * across - height) - bubble;
    if thinnest <= 0.0 {
        return Err(InputError::Shape {
            why: "has a bubble that touches or crosses its surface, liquid at the thinnest in m",
            found: thinnest,
            expected: "liquid all round the bubble",
        }
        .into());
    }
    let any = Start::Profile {
        meridian: spheroid(aspect * across, across),
    };
    let kind = "a drop with a bubble in it has two surfaces";
    let mut set = at_rest(
        &Pair {
            radius: outer,
            ..*pair
        },
        Err(Refusal::Kind(kind)),
        any,
    );
    let round = Start::Star {
        radius: bubble,
        shape: Vec::new(),
        velocity: Vec::new(),
    };
    set.bubble = Some(Bubble { start: round, height });
    set.liquid_radius = (outer.powi(3) - bubble.powi(3)).cbrt();
    if let Some(mode) = body(given, stated).and_then(|b| viscous::roots(2, &b).ok()?.against) {
        set.swing = TAU / mode.angular_frequency;
        set.lasts = SWINGS * set.swing;
    }
    let over = |share: f64| (share * std::f64::consts::PI * set.liquid_radius / thinnest).ceil();
    set.elements = [
        over(THROUGH[0]).clamp(ELEMENTS[0], ELEMENTS[1]) as u64,
        over(THROUGH[1]) as u64,
    ];
    set.tells_tension = false;
    set.rows.splice(0..0, sizes([outer, bubble], aspect, height));
    set.assumptions.extend(assumed(stated));
    Ok(set)
}

fn sizes([outer, bubble]: [f64; 2], aspect: f64, height: f64) -> [Row; 4] {
    [
        Row::new("Radius of the whole", format!("{:.4} mm", 1e3 * outer)),
        Row::new("Radius of the bubble", format!("{:.4} mm", 1e3 * bubble)),
        Row::new("Length over diameter at the start", format!("{aspect:.4}")),
        Row::new("Bubble above the middle", format!("{:.3} mm", 1e3 * height)),
    ]
}

fn assumed(stated: &Shell) -> Vec<String> {
    let mut all = vec![
        "the shell is one of revolution, at rest when it is let go, its bubble round; nothing touches it afterwards".to_string(),
        "the gas in the bubble keeps its volume and has no weight".to_string(),
    ];
    if stated.droplet.is_some() {
        all.push(
            "the droplet in the bubble is not followed: neither its flight nor what it does to the wall"
                .into(),
        );
    }
    all
}
