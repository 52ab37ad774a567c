//! The bodies of a simulated run, each followed through its instants.
//!
//! ```text
//! the same body    next in order from above, with the same volume to 2 %
//! ```
//! Bodies on one axis cannot pass each other, so those that keep their volume keep their order; what parts or joins has another volume afterwards and begins
//! anew. A body that sheds less than that goes on.
//!
//! Source: definitions.

use std::f64::consts::PI;

use tremolet_simulate::outside::{Outside, amplitudes, evened};
use tremolet_simulate::run::Run;
use tremolet_simulate::sample::Sample;

/// Share by which the volume of the same body may differ between two instants.
const SAME: f64 = 0.02;
/// Steps of the meridian of a body from the boundary solver.
const MERIDIAN: usize = 200;
/// Highest degree told of a body.
pub const HIGHEST: usize = 16;

/// One surface at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Number of the instant.
    pub instant: usize,
    /// s.
    pub time: f64,
    /// Place of the origin of its z in the laboratory, m.
    pub origin: f64,
    /// Points `[z, rho]`, m, from the upper end of the axis.
    pub meridian: Vec<[f64; 2]>,
    /// Volume, middle, area.
    pub outside: Outside,
    /// `a_0` to `a_highest` about its middle; `None` for a body that is not star-shaped.
    pub amplitudes: Option<Vec<f64>>,
    /// Bubbles in it.
    pub bubbles: Vec<Shape>,
}

impl Shape {
    /// Height of its middle in the laboratory, m.
    pub fn height(&self) -> f64 {
        self.outside.middle + self.origin
    }
}

/// A body through the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Number, from 1, in order of appearance, from above.
    pub number: u32,
    /// At each instant at which it is there.
    pub shapes: Vec<Shape>,
}

/// Follows the bodies of a run.
pub fn bodies(done: &Run) -> Vec<Body> {
    let mut all: Vec<Body> = Vec::new();
    let mut before: Vec<usize> = Vec::new();
    for (instant, sample) in done.samples.iter().enumerate() {
        let shapes = shapes(instant, sample);
        let known: Vec<f64> = before.iter().map(|k| last(&all[*k]).outside.volume).collect();
        let seen: Vec<f64> = shapes.iter().map(|s| s.outside.volume).collect();
        let same = same(&known, &seen);
        let mut now = Vec::new();
        for (shape, same) in shapes.into_iter().zip(same) {
            let place = same.map_or_else(
                || {
                    let number = u32::try_from(all.len() + 1).unwrap_or(u32::MAX);
                    all.push(Body {
                        number,
                        shapes: Vec::new(),
                    });
                    all.len() - 1
                },
                |k| before[k],
            );
            all[place].shapes.push(shape);
            now.push(place);
        }
        before = now;
    }
    all
}

fn last(body: &Body) -> &Shape {
    &body.shapes[body.shapes.len() - 1]
}

/// For each volume of the second list which of the first it is: as many pairs as there can be, in order.
fn same(known: &[f64], seen: &[f64]) -> Vec<Option<usize>> {
    let alike = |i: usize, j: usize| (seen[j] / known[i] - 1.0).abs() < SAME;
    // Longest common subsequence, from the ends.
    let mut length = vec![vec![0_usize; seen.len() + 1]; known.len() + 1];
    for i in (0..known.len()).rev() {
        for j in (0..seen.len()).rev() {
            let with = if alike(i, j) { 1 + length[i + 1][j + 1] } else { 0 };
            length[i][j] = with.max(length[i + 1][j]).max(length[i][j + 1]);
        }
    }
    let mut found = vec![None; seen.len()];
    let (mut i, mut j) = (0, 0);
    while i < known.len() && j < seen.len() {
        if alike(i, j) && length[i][j] == 1 + length[i + 1][j + 1] {
            found[j] = Some(i);
            (i, j) = (i + 1, j + 1);
        } else if length[i + 1][j] >= length[i][j + 1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    found
}

/// The bodies of an instant from above, each with its bubbles.
fn shapes(instant: usize, sample: &Sample) -> Vec<Shape> {
    let mut bodies: Vec<Shape> = Vec::new();
    let single = sample.surfaces.len() == 1;
    for surface in &sample.surfaces {
        let Some(outside) = Outside::of(surface) else {
            continue;
        };
        let told = (single && !sample.amplitudes.is_empty()).then(|| sample.amplitudes.clone());
        let shape = Shape {
            instant,
            time: sample.time,
            origin: sample.origin,
            meridian: evened(surface, MERIDIAN),
            amplitudes: told.or_else(|| amplitudes(surface, HIGHEST)),
            outside,
            bubbles: Vec::new(),
        };
        match bodies.last_mut() {
            Some(body) if !surface.holds_liquid => body.bubbles.push(shape),
            _ => bodies.push(shape),
        }
    }
    bodies
}

/// Area of the outline of a meridian turned about its axis and seen from the side, m^2.
pub fn seen_area(meridian: &[[f64; 2]]) -> f64 {
    let pairs = meridian.windows(2);
    pairs.map(|p| (p[0][0] - p[1][0]) * (p[0][1] + p[1][1])).sum()
}

/// Volume of a ball, m^3.
pub fn ball(radius: f64) -> f64 {
    4.0 / 3.0 * PI * radius.powi(3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_simulate::checkpoint::Checkpoint;
    use tremolet_simulate::sample::{Surface, Watched};
    use tremolet_simulate::start::Start;
    use tremolet_simulate::stop::Stop;

    fn surface(radius: f64, height: f64) -> Surface {
        let star = Start::Star {
            radius,
            shape: Vec::new(),
            velocity: Vec::new(),
        };
        let points = star.meridian(60);
        Surface {
            meridian: points.iter().map(|[z, r]| [z + height, *r]).collect(),
            holds_liquid: true,
        }
    }

    fn run(instants: Vec<Vec<Surface>>) -> Run {
        let sample = |(k, surfaces): (usize, Vec<Surface>)| Sample {
            time: 0.1 * k as f64,
            origin: 0.0,
            surfaces,
            amplitudes: Vec::new(),
            watched: Watched::default(),
        };
        Run {
            samples: instants.into_iter().enumerate().map(sample).collect(),
            stop: Stop::End,
            checkpoint: Checkpoint {
                solver: String::new(),
                time: 0.0,
                step: 0.0,
                pace: 0.0,
                events: Vec::new(),
                layout: Vec::new(),
                state: Vec::new(),
                first: Watched::default(),
            },
            effort: Default::default(),
        }
    }

    #[test]
    fn bodies_go_on_until_they_part_or_join() {
        let whole = || surface(0.010, 0.0);
        let (big, small) = (|| surface(0.009, 0.004), || surface(0.0064, -0.012));
        let found = bodies(&run(vec![
            vec![whole()],
            vec![whole()],
            vec![big(), small()],
            vec![big(), small()],
            vec![big(), surface(0.003, -0.001), surface(0.0061, -0.012)],
            vec![whole(), surface(0.0061, -0.012)],
        ]));
        let told: Vec<(u32, Vec<usize>)> = found
            .iter()
            .map(|b| (b.number, b.shapes.iter().map(|s| s.instant).collect()))
            .collect();
        assert_eq!(
            told,
            [
                (1, vec![0, 1]),
                (2, vec![2, 3, 4]),
                (3, vec![2, 3]),
                (4, vec![4]),
                (5, vec![4, 5]),
                (6, vec![5])
            ]
        );
        let volume = found[1].shapes[0].outside.volume;
        assert!(
            (volume / ball(0.009) - 1.0).abs() < 1e-6 && (found[1].shapes[0].height() - 0.004).abs() < 1e-9
        );
    }

    #[test]
    fn a_bubble_belongs_to_the_body_that_holds_it() {
        let bubble = Surface {
            holds_liquid: false,
            ..surface(0.004, 0.001)
        };
        let found = bodies(&run(vec![vec![surface(0.01, 0.0), bubble]]));
        assert_eq!((found.len(), found[0].shapes[0].bubbles.len()), (1, 1));
        let bubble = &found[0].shapes[0].bubbles[0];
        assert!((bubble.outside.radius() / 0.004 - 1.0).abs() < 1e-7);
        assert!(bubble.amplitudes.as_ref().is_some_and(|a| a[2].abs() < 1e-7));
        assert!((seen_area(&bubble.meridian) / (PI * 0.004 * 0.004) - 1.0).abs() < 1e-3);
    }
}
