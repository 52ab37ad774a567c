//! The light of the traced camera against a ray trace of its own, in another language, by quadratics.
//!
//! `traced.py` knows balls and spheroids by their equations and follows every branch; the program knows a meridian through points. Places within
//! half a pixel of which the script's own light changes by more than [`STEEP`] are edges and are left out: there a shift of a hundredth of a pixel counts.

use std::fmt::Write as _;
use std::time::Instant;

use tremolet_clip::traced::medium::Medium;
use tremolet_clip::traced::meridian::spheroid;
use tremolet_clip::traced::pinhole::{Pinhole, axis};
use tremolet_clip::traced::surface::{Ray, Skin};
use tremolet_clip::traced::tracer::Tracer;
use tremolet_clip::traced::vector::Vector;
use tremolet_clip::traced::world::{Board, Pattern, Room, World};

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::python::{self, word};

/// See the module.
pub const CASE: Case = Case {
    name: "traced",
    question: "Light through drops and bubbles against a ray trace that is not ours",
    method: "Single rays of a camera at 0.3 m through a ball of water, a tilted spheroid of dyed liquid, a ball with a bubble in the middle and one with a \
             bubble aside, before a board of waves in a room that is brighter above; light in fractions of full scale. The other trace knows \
             the bodies by their equations and follows every branch to 1e-6 of the whole. Left out are places within half a pixel of which its own \
             light changes by more than 0.05: edges.",
    version: 1,
    run,
};

/// Change of light within half a pixel from which a place is an edge.
const STEEP: f64 = 0.05;
/// What must hold.
const ALLOWED: f64 = 1e-3;

const CAMERA: Pinhole = Pinhole {
    width: 400,
    height: 400,
    scale_m_per_px: 6e-5,
    distance: 0.3,
    opening: None,
};
const DYE: Medium = Medium {
    index: 1.40,
    absorption: 45.0,
};

/// A spheroid: half axes along and across, place, axis, inside, outside.
struct Ball {
    half: [f64; 2],
    centre: Vector,
    axis: Vector,
    inside: Medium,
    outside: Medium,
}

fn drop() -> Ball {
    Ball {
        half: [0.01; 2],
        centre: [0.0, 0.0, 0.3],
        axis: axis(0.3, 0.1),
        inside: Medium::WATER,
        outside: Medium::GAS,
    }
}

fn bubble(radius: f64, centre: Vector) -> Ball {
    Ball {
        half: [radius; 2],
        centre,
        axis: axis(0.0, 0.0),
        inside: Medium::GAS,
        outside: Medium::WATER,
    }
}

fn scenes() -> Vec<(&'static str, Vec<Ball>)> {
    let flat = Ball {
        half: [0.006, 0.011],
        centre: [0.001, -0.0005, 0.3],
        axis: axis(0.5, 0.4),
        inside: DYE,
        outside: Medium::GAS,
    };
    vec![
        ("ball of water", vec![drop()]),
        ("dyed spheroid, tilted", vec![flat]),
        (
            "bubble in the middle",
            vec![drop(), bubble(0.004, [0.0, 0.0, 0.3])],
        ),
        (
            "bubble aside",
            vec![drop(), bubble(0.0028, [0.002, -0.0015, 0.2975])],
        ),
    ]
}

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let side = bench.pick(9, 31);
    for (name, balls) in scenes() {
        let places = places(side);
        let theirs = by_script(bench, &balls, &places)?;
        let tracer = tracer(&balls)?;
        let mut kept = Vec::new();
        for (place, theirs) in places.iter().zip(theirs.chunks_exact(5)) {
            let (low, high) = theirs
                .iter()
                .fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(*x), high.max(*x)));
            if high - low <= STEEP {
                let ours = tracer.look(&CAMERA.ray(*place, [0.0; 2])).0;
                kept.push((ours - theirs[0]).abs());
            }
        }
        let worst = kept.iter().copied().fold(0.0, f64::max);
        let figure = (kept.len() * 2 > places.len()).then_some(worst);
        outcome.within(
            name,
            "worst difference of light",
            figure,
            ALLOWED,
            " of full scale",
        );
        outcome.tell(
            name,
            "places compared",
            format!("{} of {}", kept.len(), places.len()),
        );
        let mean = kept.iter().sum::<f64>() / kept.len().max(1) as f64;
        outcome.tell(name, "mean difference", format!("{mean:.1e}"));
        let begun = Instant::now();
        let lights: f64 = (0..20_000)
            .map(|k| tracer.look(&CAMERA.ray(places[k % places.len()], [0.0; 2])).0)
            .sum();
        let each = begun.elapsed().as_secs_f64() / 2e4;
        outcome.tell(
            name,
            "time for a ray, one thread",
            format!("{:.1} us (mean light {:.3})", 1e6 * each, lights / 2e4),
        );
    }
    Ok(outcome)
}

/// Places in the picture on a grid over the body, none on its middle lines.
fn places(side: usize) -> Vec<[f64; 2]> {
    let step = 340.0 / side as f64;
    let at = |k: usize| 199.5 + (k as f64 + 0.37 - 0.5 * side as f64) * step;
    (0..side)
        .flat_map(|j| (0..side).map(move |i| [at(i), at(j)]))
        .collect()
}

fn world() -> World {
    World {
        board: Some(Board {
            distance: 0.54,
            middle: [0.0; 2],
            half: [0.25, 0.22],
            border: 0.2,
            pattern: Pattern::Waves {
                periods: [0.11, 0.15],
            },
            levels: [0.1, 0.9],
        }),
        lamps: Vec::new(),
        room: Room {
            overhead: 0.5,
            underfoot: 0.1,
        },
    }
}

fn tracer(balls: &[Ball]) -> Result<Tracer, Failure> {
    let skin = |ball: &Ball| Skin {
        meridian: spheroid(ball.half[0], ball.half[1], 180),
        centre: ball.centre,
        axis: ball.axis,
        inside: ball.inside,
        outside: ball.outside,
    };
    let skins: Vec<Skin> = balls.iter().map(skin).collect();
    Tracer::new(&skins, world(), Medium::GAS).map_err(|why| Failure::Refused(why.to_string()))
}

/// The script's light at each place and at four beside it.
fn by_script(bench: &Bench, balls: &[Ball], places: &[[f64; 2]]) -> Result<Vec<f64>, Failure> {
    let mut text = String::from("scene board 0.54 0.1 0.9 0.11 0.15 0.25 0.22 0.2\nscene room 0.5 0.1\n");
    let mut line = |words: &str, numbers: &[f64]| {
        text.push_str(words);
        for number in numbers {
            // Writing into a string cannot fail.
            let _ = write!(text, " {number:e}");
        }
        text.push('\n');
    };
    for ball in balls {
        let media = [
            ball.inside.index,
            ball.inside.absorption,
            ball.outside.index,
            ball.outside.absorption,
        ];
        line(
            "ball",
            &[&ball.centre[..], &ball.axis, &ball.half, &media].concat(),
        );
    }
    for [x, y] in places {
        for [dx, dy] in [[0.0, 0.0], [0.5, 0.0], [-0.5, 0.0], [0.0, 0.5], [0.0, -0.5]] {
            let Ray { from, direction } = CAMERA.ray([x + dx, y + dy], [0.0; 2]);
            line("ray", &[from, direction].concat());
        }
    }
    let scratch = bench.scratch()?;
    let file = scratch.path().join("scene.txt");
    std::fs::write(&file, text).map_err(Failure::file(&file))?;
    let said = python::run(bench, "traced.py", &[word(&file)])?;
    let lights: Result<Vec<f64>, _> = said.lines().map(|line| line.trim().parse()).collect();
    let lights = lights.map_err(|why: std::num::ParseFloatError| Failure::Text {
        what: "traced.py".into(),
        cause: why.to_string(),
    })?;
    if lights.len() == 5 * places.len() {
        return Ok(lights);
    }
    Err(Failure::Text {
        what: "traced.py".into(),
        cause: format!("{} lights for {} rays", lights.len(), 5 * places.len()),
    })
}
