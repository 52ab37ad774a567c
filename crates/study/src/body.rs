//! What one body of a clip says: its series, its lines, its properties.

use tremolet_clip::source::ClipInfo;
use tremolet_infer::interval::trials_of;
use tremolet_infer::property::lines::Lines;
use tremolet_infer::property::routes::{Estimate, Known, Properties, estimate, finished};
use tremolet_infer::ringdown::{Coding, Lag, Options, Ringdown, analyse_coded};
use tremolet_infer::swing::of_size;
use tremolet_infer::turning::of_limbs;
use tremolet_matter::uncertain::Uncertain;
use tremolet_measure::measured::BodyTrack;
use tremolet_numerics::dense::Matrix;
use tremolet_optics::size::SeenRadius;
use tremolet_record::experiment::file::{Experiment, Kind};
use tremolet_record::findings::Caution;
use tremolet_record::series::ModeSeries;

use crate::camera::{lens_doubt, reference_stretch};
use crate::drift::drift;
use crate::known::{edge, radius};
use crate::lamp::lamp_shift;
use crate::series::{blur, limbs, mean_radius, modes, out_of_perspective, path, scatter, size_drift};
use crate::wording::caution;
use tremolet_infer::known::{Materials, known};

/// Code and text of the caution where the swing is not that of a free drop.
pub const NO_FREE_DROP: (&str, &str) = (
    "no_free_drop",
    "the swing is that of a drop with a bubble in it, which has two families of modes: the formulas of a free drop do not hold for it, and no surface \
     tension or viscosity is given",
);

/// Everything found of one body.
pub struct BodyFound {
    /// Number, from 1.
    pub body: u32,
    /// The amplitudes over time.
    pub series: ModeSeries,
    /// The lines.
    pub ringdown: Ringdown,
    /// Radius at rest, m, where there is a scale.
    pub radius: Option<Uncertain>,
    /// Radius and volume as estimates, then the properties.
    pub estimates: Vec<Estimate>,
    /// Cautions of every step.
    pub cautions: Vec<Caution>,
}

/// Analyses one body, its edge known to `u_edge_px` alike in all frames of the clip `info`, their zoom to `u_zoom`, whose key pictures are
/// `keys`; `time` gives the real time of the shape in a frame, frames before `free_from` are not free.
pub fn body(
    track: &BodyTrack,
    (u_edge_px, u_zoom, info, keys): (f64, f64, &ClipInfo, &[u64]),
    experiment: &Experiment,
    materials: Option<&Materials>,
    time: impl Fn(u64) -> Option<f64>,
) -> BodyFound {
    let mut series = modes(track, time);
    let free_from = experiment.free_from();
    for sample in &mut series.samples {
        sample.free &= free_from.is_none_or(|first| sample.frame >= first);
    }
    let lossy = info.lossy();
    let seen = mean_radius(track).map(|(radius_px, u_px)| SeenRadius {
        radius_px,
        u_px,
        degrees_of_freedom: track.shapes.len() as f64 - 1.0,
        u_edge_px: edge(track.u_edge_px, u_edge_px, lossy),
        u_drift_px: size_drift(track).hypot(u_zoom * radius_px),
        u_axis_px: track.u_axis_px,
        lamp: lamp_shift(experiment, materials, [radius_px, blur(track)]),
        u_lens: lens_doubt(experiment, info, track),
        reference_stretch: reference_stretch(experiment, info),
    });
    let radius = seen.and_then(|seen| radius(experiment, &seen));
    let distance = experiment
        .camera
        .as_ref()
        .and_then(|camera| camera.distance.as_ref());
    if let (Some(radius), Some(distance)) = (&radius, distance) {
        out_of_perspective(&mut series, radius.value() / distance.value());
    }
    let scatter = scatter(track).filter(|_| lossy);
    let options = Options {
        // Coding can make lines up to twice the scatter of the outline.
        least_second: 2.0 * scatter.unwrap_or(0.0),
        ..Options::default()
    };
    let coding = Coding {
        scatter: scatter.unwrap_or(0.0),
        keys,
        path: &path(track, &series),
    };
    let (mut ringdown, lag) = analyse_coded(&mut series, &options, &coding);
    of_limbs(&limbs(track, &series), &mut ringdown, scatter.unwrap_or(0.0));
    let scatter = scatter.filter(|_| !ringdown.modes.is_empty());
    if let Some(scatter) = scatter {
        ringdown.coded_with_loss(scatter, if lag.is_some() { Lag::LEFT } else { [1.0; 2] });
    }
    // Where nothing rings no uncertainty of a line can have been enlarged.
    let counts = |code: &str| !(ringdown.modes.is_empty() && code.starts_with("noise_"));
    let mut cautions: Vec<Caution> = ringdown
        .cautions
        .iter()
        .filter(|c| counts(c.code))
        .map(|c| caution(c.code, &c.text, c.frames.map(|[first, last]| (first, last))))
        .collect();
    cautions.extend(scatter.map(|scatter| told_of_coding(scatter, lag)));
    let mut estimates = Vec::new();
    if let Some(radius) = &radius {
        estimates.extend(sizes(radius));
    }
    if experiment.kind == Kind::Shell {
        cautions.push(caution(NO_FREE_DROP.0, NO_FREE_DROP.1, None));
    } else if let (Some(materials), false) = (materials, ringdown.sure().is_empty()) {
        let known = known(experiment, materials, radius.clone());
        let found = properties(&ringdown, &known, &mut cautions);
        estimates.extend(found.estimates);
        cautions.extend(found.cautions.iter().map(|c| caution(c.code, &c.text, None)));
    }
    cautions.extend(swings(
        track,
        &series,
        &ringdown,
        radius.as_ref().zip(distance),
        options.least_second,
    ));
    let (found, told) = drift(track, &series, &ringdown, experiment.camera.as_ref());
    estimates.extend(found);
    cautions.extend(told);
    BodyFound {
        body: track.body,
        series,
        ringdown,
        radius,
        estimates,
        cautions,
    }
}

/// Whether the size swings with the shape by `least` (over R) or more; `near` has radius and distance of the lens.
fn swings(
    track: &BodyTrack,
    series: &ModeSeries,
    ringdown: &Ringdown,
    near: Option<(&Uncertain, &Uncertain)>,
    least: f64,
) -> Vec<Caution> {
    let size = |frame: u64| {
        let place = track.shapes.binary_search_by_key(&frame, |s| s.frame).ok()?;
        track.shapes.get(place).map(|shape| shape.equivalent_radius_px)
    };
    let free = series.samples.iter().filter(|s| s.free);
    let (times, sizes): (Vec<f64>, Vec<f64>) = free.filter_map(|s| Some((s.time, size(s.frame)?))).unzip();
    let ratio = near.map_or(0.0, |(radius, distance)| radius.value() / distance.value());
    let told = of_size(&times, &sizes, ringdown, ratio, least);
    told.iter().map(|c| caution(c.code, &c.text, None)).collect()
}

fn told_of_coding(scatter: f64, lag: Option<Lag>) -> Caution {
    let text = match lag {
        None => format!(
            "the clip was coded with loss: its outlines scatter by {:.4} % of the radius, and that much of a swing may be held back in step \
             with it; frequencies and decay rates carry that in their uncertainty",
            1e2 * scatter
        ),
        Some(lag) => format!(
            "the clip was coded with loss: its outlines scatter by {:.4} % of the radius and lag by {:.4} +- {:.4} % of it, as jumps at \
             {} key pictures show; the lag was taken out of the amplitudes, what is left of it is in the uncertainty of frequencies and decay rates",
            1e2 * scatter,
            1e2 * lag.size,
            1e2 * lag.u,
            lag.pictures
        ),
    };
    caution("coded_with_loss", &text, None)
}

fn sizes(radius: &Uncertain) -> [Estimate; 2] {
    let of = |radius: f64| 4.0 / 3.0 * std::f64::consts::PI * radius.powi(3);
    let volume = Uncertain::propagate(&[radius], |x| of(x[0]));
    let route = "outline as a body of revolution, scale";
    let trials = [
        trials_of(radius, &[radius], |x| x[0]),
        trials_of(&volume, &[radius], |x| of(x[0])),
    ];
    [
        finished("equivalent_radius", "m", radius.clone(), route.into(), None).looked_at(trials[0]),
        finished("volume", "m^3", volume, route.into(), None).looked_at(trials[1]),
    ]
}

/// The properties; lines that determine nothing become a caution.
pub fn properties(ringdown: &Ringdown, known: &Known, cautions: &mut Vec<Caution>) -> Properties {
    let lines = lines(ringdown);
    match estimate(&lines, known) {
        Ok(found) => found,
        Err(why) => {
            let text = format!("the lines were found but do not determine surface tension: {why}");
            cautions.push(caution("not_determined", &text, None));
            Properties::default()
        }
    }
}

/// The lines of a ring-down as property estimation wants them: those that are surely modes.
pub fn lines(ringdown: &Ringdown) -> Lines {
    let count = 2 * ringdown.modes.len();
    let all = Lines {
        degrees: ringdown.modes.iter().map(|mode| mode.degree).collect(),
        values: ringdown
            .modes
            .iter()
            .flat_map(|mode| [mode.angular_frequency, mode.decay_rate])
            .collect(),
        covariance: Matrix::from_fn(count, count, |i, j| ringdown.covariance[i * count + j]),
        degrees_of_freedom: ringdown
            .modes
            .iter()
            .map(|mode| mode.degrees_of_freedom)
            .collect(),
    };
    all.only(&ringdown.sure())
}
