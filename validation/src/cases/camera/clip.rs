//! A painted clip of the ringing drop, measured with and without what is stated of the camera, and the figures compared.

use std::f64::consts::TAU;

use tempfile::TempDir;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::Recipe;
use tremolet_clip::painted::stills::write_stills;
use tremolet_measure::measured::BodyShape;

use crate::bench::Bench;
use crate::case::{Failure, Outcome};
use crate::door::{Answer, measure};
use crate::ringing::{Ringing, Stated};

/// Side of the picture, px.
const SIDE: usize = 320;

/// Which clip.
#[derive(Clone, Copy)]
pub struct Clip<'a> {
    /// The drop.
    pub drop: &'a Ringing,
    /// How many frames.
    pub frames: u64,
    /// How it drifts, px/s.
    pub drift: [f64; 2],
    /// Seed of the noise.
    pub seed: u64,
    /// Time that the program gives a frame less that of the painter, which is its top row's, s.
    pub stamped: f64,
}

/// A clip on the disk with its truth.
pub struct Painted<'a> {
    clip: Clip<'a>,
    start: [f64; 2],
    folder: TempDir,
}

impl<'a> Clip<'a> {
    /// Paints it with a camera changed by `change`.
    ///
    /// # Errors
    /// As painting and writing do.
    pub fn painted(&self, bench: &Bench, change: impl Fn(&mut Recipe)) -> Result<Painted<'a>, Failure> {
        let folder = bench.scratch()?;
        let drop = self.drop;
        let mut recipe = Recipe::silhouette(SIDE, SIDE, self.frames, drop.rate_fps, drop.scale);
        // The drift passes the middle of the picture in the middle of the clip.
        let half = 0.5 * self.frames as f64 / drop.rate_fps;
        let start = [160.4 - half * self.drift[0], 158.7 - half * self.drift[1]];
        recipe.bodies = vec![drop.body(start, self.drift)?];
        recipe.seed = self.seed;
        change(&mut recipe);
        let path = folder.path().join("stills");
        write_stills(&mut Painter::new(recipe)?, &path).map_err(Failure::file(&path))?;
        Ok(Painted {
            clip: *self,
            start,
            folder,
        })
    }
}

impl Painted<'_> {
    /// Measures it; `camera` are more lines for `[camera]`.
    ///
    /// # Errors
    /// When the program refuses.
    pub fn measured(&self, camera: &str) -> Result<Answer, Failure> {
        self.masked(camera, &[])
    }

    /// The same with masks over rectangles of the picture: left, top, right, bottom.
    ///
    /// # Errors
    /// When the program refuses.
    pub fn masked(&self, camera: &str, masks: &[[f64; 4]]) -> Result<Answer, Failure> {
        let plain = Stated::exactly(self.clip.drop, "stills").experiment();
        let mut text = plain.replace("\n[clip]", &format!("{camera}\n[clip]"));
        for [left, top, right, bottom] in masks {
            text += &format!(
                "\n[[clip.mask]]\ncorners = [[{left}, {top}], [{right}, {top}], [{right}, {bottom}], [{left}, {bottom}]]\n"
            );
        }
        measure(self.folder.path(), "stills", &text)
    }

    /// Where the drop is at a time, px.
    fn centre(&self, time: f64) -> [f64; 2] {
        [0, 1].map(|i| self.start[i] + self.clip.drift[i] * time)
    }

    /// The amplitude of a degree at a time.
    fn amplitude(&self, degree: u32, time: f64) -> Result<f64, Failure> {
        let k = degree as usize - 2;
        let (root, [size, phase]) = (&self.clip.drop.roots()?[k], self.clip.drop.swings[k]);
        Ok(size * (-root.decay * time).exp() * (root.angular_frequency * time + phase).cos())
    }

    fn time(&self, answer: &Answer, shape: &BodyShape) -> f64 {
        let delay = answer.taken.first().map_or(0.0, |taken| taken.delay);
        shape.frame as f64 / self.clip.drop.rate_fps + delay - self.clip.stamped
    }
}

/// What is compared with the truth.
#[derive(Debug, Clone, Copy)]
pub enum Figure {
    /// Relative error of surface tension, %.
    Tension,
    /// Of kinematic viscosity, %.
    Viscosity,
    /// Of the frequency of a degree, %.
    Frequency(u32),
    /// Of its decay rate, %.
    Decay(u32),
    /// Error of the radius, px.
    Radius,
    /// The same over its stated uncertainty.
    RadiusOverItsUncertainty,
    /// Root mean square error of the amplitude of a degree.
    Amplitude(u32),
    /// Root mean square distance from the true path, a constant apart, px.
    Path,
}

impl Figure {
    fn name(self) -> String {
        match self {
            Self::Tension => "surface tension".into(),
            Self::Viscosity => "kinematic viscosity".into(),
            Self::Frequency(n) => format!("frequency of mode {n}"),
            Self::Decay(n) => format!("decay of mode {n}"),
            Self::Radius => "radius".into(),
            Self::RadiusOverItsUncertainty => "radius over its uncertainty".into(),
            Self::Amplitude(n) => format!("a_{n}, rms error"),
            Self::Path => "path, rms error".into(),
        }
    }

    fn unit(self) -> &'static str {
        match self {
            Self::Radius | Self::Path => " px",
            Self::RadiusOverItsUncertainty | Self::Amplitude(_) => "",
            _ => " %",
        }
    }

    fn of(self, answer: &Answer, painted: &Painted<'_>) -> Result<Option<f64>, Failure> {
        let drop = painted.clip.drop;
        let percent = |found: Option<f64>, truth: f64| found.map(|found| 100.0 * (found / truth - 1.0));
        Ok(match self {
            Self::Tension => answer.error_percent("surface_tension", drop.pair.tension),
            Self::Viscosity => answer.error_percent("kinematic_viscosity", drop.kinematic_viscosity()),
            Self::Frequency(n) => {
                let truth = drop.roots()?[n as usize - 2].angular_frequency / TAU;
                percent(answer.mode(n).map(|m| m.frequency.value), truth)
            }
            Self::Decay(n) => {
                let truth = drop.roots()?[n as usize - 2].decay;
                percent(answer.mode(n).map(|m| m.decay_rate.value), truth)
            }
            Self::Radius => {
                let off = answer.error_percent("equivalent_radius", drop.pair.radius);
                off.map(|off| 0.01 * off * drop.radius_px())
            }
            Self::RadiusOverItsUncertainty => answer
                .estimate("equivalent_radius")
                .map(|e| (e.value - drop.pair.radius) / e.standard_uncertainty),
            Self::Amplitude(n) => {
                let shapes = answer.bodies.first().map_or(&[][..], |b| &b.shapes);
                let off = |s: &BodyShape| -> Result<Option<f64>, Failure> {
                    let truth = painted.amplitude(n, painted.time(answer, s))?;
                    Ok(s.amplitude.get(n as usize - 2).map(|a| a - truth))
                };
                let all: Result<Vec<Option<f64>>, Failure> = shapes.iter().map(off).collect();
                rms(&all?.into_iter().flatten().collect::<Vec<f64>>())
            }
            Self::Path => {
                let shapes = answer.bodies.first().map_or(&[][..], |b| &b.shapes);
                let along = |i: usize| -> Option<f64> {
                    let off = |s: &BodyShape| s.centre_px[i] - painted.centre(painted.time(answer, s))[i];
                    let all: Vec<f64> = shapes.iter().map(off).collect();
                    let mean = all.iter().sum::<f64>() / all.len() as f64;
                    rms(&all.iter().map(|off| off - mean).collect::<Vec<f64>>())
                };
                along(0).zip(along(1)).map(|(x, y)| x.hypot(y))
            }
        })
    }
}

fn rms(all: &[f64]) -> Option<f64> {
    (!all.is_empty()).then(|| (all.iter().map(|v| v * v).sum::<f64>() / all.len() as f64).sqrt())
}

/// Holds figures of the first answer against bounds and tells those of the second.
///
/// # Errors
/// When theory gives no root.
pub fn compare(
    outcome: &mut Outcome,
    clip: &str,
    [with, without]: [&Answer; 2],
    painted: &Painted<'_>,
    bounds: &[(Figure, f64)],
) -> Result<(), Failure> {
    for (figure, bound) in bounds {
        outcome.within(
            clip,
            &figure.name(),
            figure.of(with, painted)?,
            *bound,
            figure.unit(),
        );
        let plain = figure.of(without, painted)?;
        let text = plain.map_or("absent".into(), |p| format!("{p:+.3e}{}", figure.unit()));
        if let Some(row) = outcome.rows.last_mut() {
            row.found = format!("{}, without {text}", row.found);
        }
    }
    outcome.tell(clip, "cautions", with.cautions());
    Ok(())
}

/// Says that none of the `codes` is raised.
pub fn quiet(outcome: &mut Outcome, clip: &str, answer: &Answer, codes: &[&str]) {
    let raised: Vec<&str> = answer
        .findings
        .cautions
        .iter()
        .map(|c| c.code.as_str())
        .filter(|code| codes.contains(code))
        .collect();
    let none = raised.is_empty();
    outcome.must(
        clip,
        "cautions about the camera",
        format!("{} {}", raised.len(), raised.join(", ")),
        "none",
        none,
    );
}

/// Says whether a caution is raised.
pub fn raised(outcome: &mut Outcome, clip: &str, answer: &Answer, code: &str) {
    let there = answer.findings.cautions.iter().any(|c| c.code == code);
    outcome.must(clip, "caution", answer.cautions(), code, there);
}
