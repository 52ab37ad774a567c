//! How well a planned release will tell surface tension, viscosity and radius: what noise leaves of the amplitudes, what they leave of
//! frequencies and decays, and the budget that measuring will make of it.
//!
//! ```text
//! R in px -> noise of one frame (optics::edge_limit) -> lines (infer::foreseen) -> budget (infer::foreseen::property)
//! let go at rest:  a_n(t) = a e^{-g t} (cos w t + g/w sin w t)        frames = rate min(time free, time in view)
//! u(r)^2 = (u_frame^2 + u_levels^2) / frames + u_map^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a`, `w`, `g` | amplitude over R when let go, angular frequency, decay rate | 1, rad/s, 1/s |
//! | `r` | radius in the picture | px |
//!
//! Source: own composition of the rooms named, each with its sources. The very code that measures makes the budget. Not in it: a
//! surface film, rotation, a lens that is not stated, an axis that points out of the picture; a caution says so. Degrees 2 to 6.

use std::f64::consts::PI;

use tremolet_infer::budget::{BudgetLine, budget};
use tremolet_infer::foreseen::property::{Prospect, prospects};
use tremolet_infer::foreseen::{Coded, Expected, Mode, Record, Standing, lines};
use tremolet_infer::known::known;
use tremolet_infer::property::routes::Known;
use tremolet_infer::ringdown::{Lag, Options};
use tremolet_matter::uncertain::Uncertain;
use tremolet_optics::blur::shape_doubt;
use tremolet_optics::edge_limit::{FrameLimit, Outline, coded_scatter};
use tremolet_optics::field::View;
use tremolet_optics::lamp::LampShift;
use tremolet_optics::perspective::{scale_change, seen_radius};
use tremolet_optics::size::{SeenRadius, SetUp, UNKNOWN_EDGE_PX};
use tremolet_record::experiment::camera::Coding;
use tremolet_theory::modes::host::{Pair, root};

use crate::given::Given;
use crate::place::SOURCE;
use crate::release::begun;

/// Highest degree of the outline that the meter fits at least.
const OUTLINE: usize = 8;
/// Degrees that may ring.
const RINGING: std::ops::RangeInclusive<u32> = 2..=6;
/// Smallest amplitude that is a swing at all.
const NO_SWING: f64 = 1e-9;
/// Width of an edge, its height and noise on both sides where the file is silent.
const BLUR_PX: f64 = 1.2;
const CONTRAST: f64 = 0.6;
const NOISE: [f64; 2] = [0.005, 0.01];
/// Times of decay of degree 2 that are filmed where no time is stated.
const DECAYS: f64 = 3.0;
/// Index of a liquid of which none is known, with its standard uncertainty: between water and glycerol.
const UNKNOWN_INDEX: [f64; 2] = [1.40, 0.05];

/// How the drop swings when it is let go.
#[derive(Debug, Clone, PartialEq)]
pub enum Begin {
    /// At rest: degree and amplitude over R.
    AtRest(Vec<(u32, f64)>),
    /// Anyhow: degree, amplitude over R, phase (rad) of `e^{-g t} cos(w t + phase)`.
    Swinging(Vec<(u32, f64, f64)>),
}

/// What the camera shows of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Width of the blur, pixel included, px.
    pub blur_px: f64,
    /// Light side less dark side, over full scale.
    pub contrast: f64,
    /// Standard deviation of a pixel on the dark and on the light side, over full scale.
    pub noise: [f64; 2],
    /// Pixels across and down, if stated.
    pub picture: Option<[f64; 2]>,
    /// Quantiser of a coding with loss.
    pub quantiser: Option<u8>,
}

/// A planned release, as its prospect needs it.
#[derive(Debug, Clone)]
pub struct Run {
    /// Drop and gas, best estimates.
    pub pair: Pair,
    /// How it begins.
    pub begin: Begin,
    /// Frames a second.
    pub rate: f64,
    /// Time in which it is free and filmed, s, the view apart.
    pub time: f64,
    /// Exposure, s.
    pub exposure: f64,
    /// Residual acceleration, m/s^2.
    pub acceleration: f64,
    /// The picture of the edge.
    pub sight: Sight,
    /// Scale, m/px.
    pub scale: Uncertain,
    /// Distance of the lens and depth of the body, m.
    pub distance: Option<Uncertain>,
    /// See `distance`.
    pub depth: Option<Uncertain>,
    /// Half angle of the lamp (rad) and index of the liquid, each with its standard uncertainty.
    pub lamp: Option<[[f64; 2]; 2]>,
    /// Liquid, gas and mass, without the radius.
    pub known: Known,
}

/// One quantity as it will be known.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// Name in the findings.
    pub quantity: &'static str,
    /// Value with its parts, modes that may or may not be found taken as not found.
    pub value: Uncertain,
    /// The part by noise, which repeats of the run show as scatter.
    pub u_noise: f64,
    /// Largest share first.
    pub budget: Vec<BudgetLine>,
    /// Standard uncertainty and its part by noise if those modes are found, and key pictures show the lag of a coding.
    pub hopeful: Option<[f64; 2]>,
}

/// What is to be expected of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Radius in the picture, px.
    pub radius_px: f64,
    /// Frames in which it is free and in view.
    pub frames: usize,
    /// Time until it leaves the view, s; infinite where it stays.
    pub in_view: f64,
    /// Standard deviations of the amplitudes of one frame, from degree 2.
    pub amplitudes: Vec<f64>,
    /// The modes.
    pub modes: Vec<Mode>,
    /// Surface tension, viscosities, radius, as far as they will be known.
    pub quantities: Vec<Quantity>,
}

impl Outlook {
    /// One quantity, if it will be known.
    pub fn of(&self, quantity: &str) -> Option<&Quantity> {
        self.quantities.iter().find(|one| one.quantity == quantity)
    }
}

impl Run {
    /// The run of an experiment file, with what had to be taken for granted; the words say what is missing otherwise.
    ///
    /// # Errors
    /// What is missing or impossible, in words.
    pub fn of(given: &Given<'_>) -> Result<(Self, Vec<String>), String> {
        let camera = given.experiment.camera.as_ref();
        let camera = camera.ok_or("no [camera] is stated")?;
        let pair = given
            .pair()
            .ok_or("size, surface tension or viscosity of the drop are not known")?;
        let scale = camera.scale.clone().ok_or("camera.scale is not stated")?;
        let rate = camera
            .capture_rate
            .as_ref()
            .ok_or("camera.capture_rate is not stated")?
            .value();
        let (start, _) = begun(given, &pair).map_err(|why| why.to_string())?;
        let at_rest = RINGING
            .filter_map(|n| Some((n, *start.amplitudes.get(n as usize)?)))
            .filter(|(_, a)| a.abs() > NO_SWING);
        let mut assumed = Vec::new();
        let mut or = |stated: Option<&Uncertain>, value: f64, words: &str| {
            stated.map_or_else(
                || {
                    assumed.push(format!("{words} ({SOURCE})"));
                    value
                },
                Uncertain::value,
            )
        };
        let blur_px = or(
            camera.blur.as_ref(),
            BLUR_PX,
            "camera.blur is not stated: 1.2 px taken",
        );
        let contrast = or(
            camera.contrast.as_ref(),
            CONTRAST,
            "camera.contrast is not stated: 60 % taken",
        );
        let noise = match (&camera.noise, &camera.noise_dark) {
            (Some(light), dark) => [dark.as_ref().unwrap_or(light).value(), light.value()],
            (None, _) => [
                NOISE[0],
                or(
                    None,
                    NOISE[1],
                    "camera.noise is not stated: 1 % of full scale on the light side and half of it on the dark side taken",
                ),
            ],
        };
        let exposure = or(
            camera.exposure.as_ref(),
            0.0,
            "camera.exposure is not stated: an instant taken",
        );
        let decay = root(2, &pair).map_err(|why| why.to_string())?.decay;
        let time = or(
            given.time.as_ref(),
            DECAYS / decay,
            &format!(
                "no available time is stated: {:.1} s are filmed, three times of decay of degree 2",
                DECAYS / decay
            ),
        );
        if camera.coding.is_none() {
            assumed.push("camera.coding is not stated: without loss taken, as few cameras record".into());
        }
        let index = given.materials.liquid.refractive_index.as_ref();
        let index = index.map_or(UNKNOWN_INDEX, |p| {
            [p.value.value(), p.value.standard_uncertainty()]
        });
        let lamp = camera.lamp_half_angle.as_ref();
        let run = Self {
            begin: Begin::AtRest(at_rest.collect()),
            rate,
            time,
            exposure,
            acceleration: given.acceleration.as_ref().map_or(0.0, Uncertain::value),
            sight: Sight {
                blur_px,
                contrast,
                noise,
                picture: camera.picture,
                quantiser: camera.coding.and_then(Coding::quantiser),
            },
            scale,
            distance: camera.distance.clone(),
            depth: camera.depth.clone(),
            lamp: lamp.map(|h| [[h.value(), h.standard_uncertainty()], index]),
            known: known(given.experiment, &given.materials, None),
            pair,
        };
        Ok((run, assumed))
    }

    /// What is to be expected of it.
    ///
    /// # Errors
    /// What cannot be, in words.
    pub fn outlook(&self) -> Result<Outlook, String> {
        let radius_px = self.radius_px()?;
        let in_view = self.in_view()?;
        let frames = (self.time.min(in_view) * self.rate).min(1e7) as usize;
        let outline = self.outline(radius_px);
        let limit = outline.limit(OUTLINE).map_err(|why| why.to_string())?;
        let radius = self.radius(&outline, &limit, frames)?;
        let known = Known {
            radius: Some(radius.clone()),
            ..self.known.clone()
        };
        let expected = self.expected()?;
        let record = Record {
            rate: self.rate,
            frames,
            exposure: self.exposure,
            noise: limit.amplitudes.clone(),
            coded: None,
        };
        let scatter = self.sight.quantiser.map(|quantiser| {
            let coded = coded_scatter(quantiser, self.sight.contrast);
            coded.hypot(outline.scatter()) / radius_px
        });
        let seen = |hopeful: bool| {
            // Key pictures show most of the lag of a coding in some clips and in others not.
            let left = if hopeful { Lag::LEFT } else { [1.0; 2] };
            let record = Record {
                coded: scatter.map(|scatter| Coded { scatter, left }),
                ..record.clone()
            };
            let found = lines(&expected, &record, &Options::default(), hopeful);
            let all = prospects(&found, &known).map_err(|why| why.to_string());
            all.map(|(all, _)| (found, all))
        };
        let (found, all) = seen(false)?;
        let doubtful = scatter.is_some() || found.modes.iter().any(|m| m.standing == Standing::Doubtful);
        let others = if doubtful { seen(true)?.1 } else { Vec::new() };
        let names = ["surface_tension", "kinematic_viscosity", "dynamic_viscosity"];
        let mut quantities: Vec<Quantity> = names
            .iter()
            .filter_map(|name| joined(name, &all, &others))
            .collect();
        quantities.extend(of_radius(&radius));
        Ok(Outlook {
            radius_px,
            frames,
            in_view,
            amplitudes: (2..=OUTLINE).filter_map(|n| limit.amplitude(n)).collect(),
            modes: found.modes,
            quantities,
        })
    }

    /// Radius in the picture, px.
    fn radius_px(&self) -> Result<f64, String> {
        let (r, scale) = (self.pair.radius, self.scale.value());
        let Some(distance) = self.distance.as_ref().map(Uncertain::value) else {
            return Ok(r / scale);
        };
        let seen = seen_radius(r, distance).map_err(|why| why.to_string())?;
        let depth = self.depth.as_ref().map_or(0.0, Uncertain::value);
        Ok(seen / scale / (1.0 + scale_change(depth, distance)))
    }

    /// Time until it begins to leave the view, s; infinite where it stays or the picture is not stated.
    ///
    /// # Errors
    /// What cannot be, in words.
    pub fn in_view(&self) -> Result<f64, String> {
        let Some(picture) = self.sight.picture else {
            return Ok(f64::INFINITY);
        };
        let swing: f64 = match &self.begin {
            Begin::AtRest(all) => all.iter().map(|(_, a)| a.abs()).sum(),
            Begin::Swinging(all) => all.iter().map(|(_, a, _)| a.abs()).sum(),
        };
        let view = View {
            pixels: picture[0].min(picture[1]),
            offset: 0.0,
            reach: self.pair.radius * (1.0 + swing),
            speed: 0.0,
            acceleration: self.acceleration,
        };
        view.time(self.scale.value()).map_err(|why| why.to_string())
    }

    fn outline(&self, radius_px: f64) -> Outline {
        Outline {
            radius_px,
            blur_px: self.sight.blur_px,
            levels: [0.0, self.sight.contrast],
            variances: self.sight.noise.map(|noise| noise * noise),
        }
    }

    fn radius(&self, outline: &Outline, limit: &FrameLimit, frames: usize) -> Result<Uncertain, String> {
        let n = frames.max(1) as f64;
        let map = match self.sight.picture {
            // A picture that the body all but fills shows no light to map; measuring such clips is another matter.
            Some(picture) => outline.by_map(picture, frames).unwrap_or(0.0),
            None => 0.0,
        };
        let lamp = self.lamp.map_or(LampShift::default(), |[angle, index]| {
            LampShift::of(index, angle, [outline.radius_px, outline.blur_px])
        });
        let seen = SeenRadius {
            radius_px: outline.radius_px * (1.0 - lamp.value),
            u_px: (limit.radius_px.hypot(limit.by_levels_px) / n.sqrt()).hypot(map),
            degrees_of_freedom: f64::INFINITY,
            u_edge_px: shape_doubt(outline.blur_px, outline.radius_px).hypot(match self.sight.quantiser {
                Some(_) => UNKNOWN_EDGE_PX,
                None => 0.0,
            }),
            u_drift_px: 0.0,
            u_axis_px: 0.0,
            lamp,
            u_lens: 0.0,
            reference_stretch: 1.0,
        };
        let set_up = SetUp {
            scale: &self.scale,
            distance: self.distance.as_ref(),
            depth: self.depth.as_ref(),
        };
        let radius = seen.of_body(&set_up, "plan");
        if radius.value().is_finite() {
            Ok(radius)
        } else {
            Err("the lens would be inside the drop".into())
        }
    }

    fn expected(&self) -> Result<Vec<Expected>, String> {
        let one = |degree: u32, amplitude: f64, phase: Option<f64>| {
            let root = root(degree, &self.pair).map_err(|why| why.to_string())?;
            let (w, g) = (root.angular_frequency, root.decay);
            // What creeps back has no phase.
            let at_rest = if w > 0.0 { -(g / w).atan() } else { 0.0 };
            let turned = if amplitude < 0.0 { PI } else { 0.0 };
            Ok(Expected {
                degree,
                angular_frequency: w,
                decay_rate: g,
                amplitude: match phase {
                    Some(_) => amplitude.abs(),
                    None => amplitude.abs() / at_rest.cos(),
                },
                phase: phase.unwrap_or(at_rest) + turned,
            })
        };
        match &self.begin {
            Begin::AtRest(all) => all.iter().map(|(n, a)| one(*n, *a, None)).collect(),
            Begin::Swinging(all) => all.iter().map(|(n, a, p)| one(*n, *a, Some(*p))).collect(),
        }
    }
}

/// A quantity with modes in doubt taken as not found and, where there are any, as found; none where only the latter tells it.
fn joined(name: &str, fearful: &[Prospect], hopeful: &[Prospect]) -> Option<Quantity> {
    let of = |all: &[Prospect]| all.iter().find(|p| p.quantity == name).cloned();
    let hopeful = of(hopeful).map(|p| [p.value.standard_uncertainty(), p.u_noise]);
    let found = of(fearful)?;
    Some(Quantity {
        quantity: found.quantity,
        u_noise: found.u_noise,
        budget: found.budget,
        value: found.value,
        hopeful,
    })
}

fn of_radius(radius: &Uncertain) -> [Quantity; 1] {
    let scatter = radius
        .parts()
        .iter()
        .find(|part| part.input.key == "radius of the outline (scatter)");
    [Quantity {
        quantity: "equivalent_radius",
        u_noise: scatter.map_or(0.0, |part| part.contribution.abs()),
        budget: budget(radius),
        value: radius.clone(),
        hopeful: None,
    }]
}

#[cfg(test)]
pub(crate) mod tests;
