//! What the report is told: the rows, series and sentences of a finished measurement. Chooses and orders; computes no
//! physics.

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::print::print;
use tremolet_matter::uncertain::Uncertain;
use tremolet_measure::measured::{BodyTrack, Lighting, SceneSummary};
use tremolet_record::experiment::file::Experiment;
use tremolet_report::input::{AmplitudeSeries, CentrePath, Drift, Row, Spectrum};

use crate::body::BodyFound;
use crate::known::Materials;
use crate::series::free;

/// Points of a fitted curve for each sample of the series.
const FINER: usize = 4;

/// The amplitudes of one body with the fitted curves and residuals.
pub fn amplitudes(found: &BodyFound) -> Vec<AmplitudeSeries> {
    let one = |(i, &degree): (usize, &u32)| {
        let samples = &found.series.samples;
        let curve = |t: f64| found.ringdown.curve(degree, t);
        let residual =
            |s: &tremolet_record::series::ModeSample| curve(s.time).map_or(f64::NAN, |y| s.amplitude[i] - y);
        let fitted = fine(samples.iter().map(|s| s.time))
            .filter_map(|t| curve(t).map(|y| [t, y]))
            .collect();
        AmplitudeSeries {
            body: found.body,
            degree,
            time: samples.iter().map(|s| s.time).collect(),
            value: samples.iter().map(|s| s.amplitude[i]).collect(),
            u: samples.iter().map(|s| s.variance(i).max(0.0).sqrt()).collect(),
            residual: samples.iter().map(residual).collect(),
            fitted,
        }
    };
    found.series.degrees.iter().enumerate().map(one).collect()
}

/// Times with [`FINER`] steps from each to the next.
fn fine(times: impl Iterator<Item = f64>) -> impl Iterator<Item = f64> {
    let times: Vec<f64> = times.collect();
    let step = |(a, b): (f64, f64)| (0..FINER).map(move |k| a + (b - a) * k as f64 / FINER as f64);
    let last = times.last().copied();
    let pairs: Vec<(f64, f64)> = times.windows(2).map(|w| (w[0], w[1])).collect();
    pairs.into_iter().flat_map(step).chain(last)
}

/// The spectra of one body, its modes marked.
pub fn spectra(found: &BodyFound) -> Vec<Spectrum> {
    let marks = |degree: u32| {
        let own = found
            .ringdown
            .modes
            .iter()
            .filter(move |mode| mode.degree == degree);
        own.map(|mode| {
            (
                mode.angular_frequency / std::f64::consts::TAU,
                format!("f{}", lowered(mode.degree)),
            )
        })
        .collect()
    };
    let one = |spectrum: &tremolet_infer::ringdown::Spectrum| Spectrum {
        body: found.body,
        degree: spectrum.degree,
        frequency: spectrum.frequency_hz.clone(),
        power: spectrum.power.clone(),
        residual_power: spectrum.residual_power.clone(),
        power_unit: "1/Hz".into(),
        marks: marks(spectrum.degree),
    };
    found.ringdown.spectra.iter().map(one).collect()
}

fn lowered(degree: u32) -> String {
    let digit = |c: char| {
        c.to_digit(10)
            .and_then(|d| char::from_u32(0x2080 + d))
            .unwrap_or(c)
    };
    degree.to_string().chars().map(digit).collect()
}

/// Size over time, in metres when `scale` (m/px) is known and in pixels otherwise.
pub fn drift(track: &BodyTrack, scale: Option<f64>, time: impl Fn(u64) -> Option<f64>) -> Drift {
    let (factor, unit) = scale.map_or((1.0, "px"), |s| (s, "m"));
    let kept: Vec<_> = track
        .shapes
        .iter()
        .filter(|s| free(s))
        .filter_map(|s| time(s.frame).map(|t| (t, s)))
        .collect();
    let value: Vec<f64> = kept
        .iter()
        .map(|(_, s)| factor * s.equivalent_radius_px)
        .collect();
    let level = tremolet_numerics::statistics::median(&value);
    let ends = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let tenth = (value.len() / 10).max(1).min(value.len());
    let note = if value.is_empty() {
        String::new()
    } else {
        let change = ends(&value[value.len() - tenth..]) / ends(&value[..tenth]) - 1.0;
        let said = |part: f64| {
            if part.abs() < 1e-5 {
                "less than 0.001 %".to_string()
            } else {
                format!("{:+.3} %", 1e2 * part)
            }
        };
        format!(
            "From the first to the last tenth of the clip the radius changed by {}, the volume by {}.",
            said(change),
            said(3.0 * change)
        )
    };
    Drift {
        body: track.body,
        quantity: "equivalent_radius".into(),
        unit: unit.into(),
        time: kept.iter().map(|(t, _)| *t).collect(),
        u: kept.iter().map(|(_, s)| factor * s.u_radius_px).collect(),
        value,
        level: Some(level).filter(|l| l.is_finite()),
        note,
    }
}

/// The path of the centre.
pub fn path(track: &BodyTrack, scale: Option<f64>, time: impl Fn(u64) -> Option<f64>) -> CentrePath {
    let (factor, unit) = scale.map_or((1.0, "px"), |s| (s, "m"));
    let kept: Vec<_> = track
        .shapes
        .iter()
        .filter_map(|s| time(s.frame).map(|t| (t, s.centre_px)))
        .collect();
    CentrePath {
        body: track.body,
        time: kept.iter().map(|(t, _)| *t).collect(),
        x: kept.iter().map(|(_, c)| factor * c[0]).collect(),
        y: kept.iter().map(|(_, c)| factor * c[1]).collect(),
        unit: unit.into(),
    }
}

/// What is known of the experiment, as rows.
pub fn experiment(experiment: &Experiment, materials: Option<&Materials>, scene: &SceneSummary) -> Vec<Row> {
    let mut rows = vec![Row::new("Kind", experiment.kind.name())];
    let mut add = |label: &str, value: Option<&Uncertain>, unit: &str, dimension: Dimension| {
        if let Some(value) = value {
            rows.push(Row::new(label, said(value, unit, dimension)));
        }
    };
    if let Some(camera) = &experiment.camera {
        add(
            "Capture rate",
            camera.capture_rate.as_ref(),
            "fps",
            Dimension::Rate,
        );
        add("Scale", camera.scale.as_ref(), "mm/px", Dimension::LengthPerPixel);
        add(
            "Distance of the lens",
            camera.distance.as_ref(),
            "m",
            Dimension::Length,
        );
        add(
            "Depth behind the plane of the scale",
            camera.depth.as_ref(),
            "mm",
            Dimension::Length,
        );
    }
    if let Some(body) = &experiment.body {
        add(
            "Diameter as stated",
            body.diameter.as_ref(),
            "mm",
            Dimension::Length,
        );
        add("Volume as stated", body.volume.as_ref(), "mL", Dimension::Volume);
        add("Mass as stated", body.mass.as_ref(), "g", Dimension::Mass);
    }
    if let Some(materials) = materials {
        let liquid = &materials.liquid;
        let tension = liquid.surface_tension.as_ref();
        let viscosity = liquid.dynamic_viscosity.as_ref();
        add(
            "Density of the liquid",
            Some(&liquid.density.value),
            "kg/m^3",
            Dimension::Density,
        );
        add(
            "Reference surface tension",
            tension.map(|p| &p.value),
            "mN/m",
            Dimension::SurfaceTension,
        );
        add(
            "Reference viscosity",
            viscosity.map(|p| &p.value),
            "mPa s",
            Dimension::DynamicViscosity,
        );
        rows.insert(1, Row::new("Liquid", liquid.name.clone()));
        rows.insert(2, Row::new("Gas around", materials.gas.name.clone()));
    }
    let lighting = match scene.lighting {
        Lighting::BackLit => "back-lit: dark bodies before an even light",
        Lighting::Cluttered => "bright bodies before uneven surroundings",
    };
    rows.push(Row::new("Lighting as seen", lighting));
    rows
}

/// A value with its uncertainty in a unit.
fn said(value: &Uncertain, unit: &str, dimension: Dimension) -> String {
    let u = Some(value.standard_uncertainty()).filter(|u| *u > 0.0);
    let text =
        print(value.value(), u, unit, dimension).unwrap_or_else(|_| format!("{:.6e} SI", value.value()));
    text.replace("+-", "±").replace("^3", "³").replace("^2", "²")
}

/// The dimension of an SI unit as findings write it.
pub fn dimension(unit: &str) -> Option<Dimension> {
    Some(match unit {
        "N/m" => Dimension::SurfaceTension,
        "m" => Dimension::Length,
        "m^3" => Dimension::Volume,
        "m^2/s" => Dimension::KinematicViscosity,
        "Pa s" => Dimension::DynamicViscosity,
        _ => return None,
    })
}
