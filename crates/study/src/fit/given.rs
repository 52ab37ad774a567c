//! What a measured run gives a fit: outlines, where to begin, the drop and its scale.

use std::path::Path;

use tremolet_infer::fit::start::amplitudes;
use tremolet_infer::fit::{Begin, Frame, Outlines};
use tremolet_infer::known::{Materials, known, materials};
use tremolet_infer::property::routes::Known;
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::Findings;
use tremolet_record::mode_table::series_of;
use tremolet_record::table::Table;

use crate::error::StudyError;
use crate::fit::model::DropModel;
use crate::tables::column::{flags, integers, reals};
use crate::tables::{read, read_if_there};

/// Everything.
pub struct Given {
    /// Outlines of the free body.
    pub outlines: Outlines,
    /// Where the search begins.
    pub begin: Begin,
    /// The model.
    pub model: DropModel,
    /// Metres in a pixel at the body, with scale, edge and depth in its uncertainty.
    pub scale: Uncertain,
    /// Liquid and gas.
    pub materials: Materials,
    /// Density and reference values.
    pub known: Known,
}

/// Degrees whose start is fitted.
pub const HIGHEST: u32 = 6;
/// Amplitudes beyond this need more degrees of the solver.
const LARGE: f64 = 0.15;

/// From the tables and findings of a run.
///
/// # Errors
/// When the run lacks a table, the experiment its liquid or scale, or nothing rang.
pub fn given(run: &Path, experiment: &Experiment, findings: &Findings) -> Result<Given, StudyError> {
    let lacking = |why: &str| StudyError::Asked {
        what: "fit".into(),
        why: why.into(),
    };
    if experiment.liquid.is_none() {
        return Err(lacking("the experiment states no liquid; state [liquid]"));
    }
    let materials = materials(experiment)?;
    let of = |quantity: &str| {
        findings
            .estimates
            .iter()
            .find(|e| e.body == 1 && e.quantity == quantity)
    };
    let radius = of("equivalent_radius")
        .ok_or_else(|| lacking("the run has no scale; state camera.scale and measure again"))?;
    let (outlines, radius_px) = outlines(run)?;
    let known = known(experiment, &materials, None);
    let density = known.density.value();
    let (time, ohnesorge) = beginning(findings, &known, density, radius.value).ok_or_else(|| {
        lacking("nothing rang and no reference value is known: there is nothing to begin from")
    })?;
    let table =
        read_if_there(run, "amplitudes")?.ok_or_else(|| lacking("the run has no amplitudes of one body"))?;
    let series = series_of(&table).map_err(|why| lacking(&why.to_string()))?;
    let series = series
        .first()
        .ok_or_else(|| lacking("the run has no amplitudes of one body"))?;
    let period = std::f64::consts::TAU / 8f64.sqrt() * time;
    let start =
        amplitudes(series, HIGHEST, period).ok_or_else(|| lacking("the run has too few free frames"))?;
    let scale = Input {
        key: "scale, edge and depth of the run".into(),
        unit: "1".into(),
        standard_uncertainty: radius.standard_uncertainty / radius.value,
        degrees_of_freedom: radius.degrees_of_freedom.unwrap_or(f64::INFINITY),
        source: "findings of the run".into(),
    };
    let metre_per_px = radius.value / radius_px;
    let u = radius.standard_uncertainty / radius_px;
    let large = start.0.iter().any(|a| a.abs() > LARGE);
    Ok(Given {
        begin: Begin {
            time,
            ohnesorge,
            radius: radius_px,
            axis_angle: axis(&read(run, "shapes")?)?,
            shape: start.0,
            velocity: start.1.iter().map(|v| v * time).collect(),
        },
        outlines,
        model: DropModel {
            density,
            gas_density: known.host_density.value(),
            gas_viscosity: known.host_viscosity.value(),
            metre_per_px,
            highest: if large { 16 } else { 12 },
        },
        scale: Uncertain::of_input(metre_per_px, u, scale),
        materials,
        known,
    })
}

/// An Ohnesorge number to begin with where nothing is known of the viscosity; the fit finds its own.
const SOME_OHNESORGE: f64 = 0.005;

/// Capillary time and Ohnesorge number to begin with: by free decay, by the line of degree 2 alone, or by the reference values.
fn beginning(findings: &Findings, known: &Known, density: f64, radius: f64) -> Option<(f64, f64)> {
    let of = |quantity: &str| {
        let mut all = findings.estimates.iter();
        all.find(|e| e.body == 1 && e.quantity == quantity)
            .map(|e| e.value)
    };
    let two = findings.modes.iter().find(|m| m.body == 1 && m.degree == 2);
    // [Rayleigh1879]: omega_2^2 = 8 / t0^2; Lamb's decay of degree 2 is 5 nu / R^2.
    let of_line = two.map(|m| 8f64.sqrt() / (std::f64::consts::TAU * m.frequency.value));
    let capillary = |tension: f64| (density * radius.powi(3) / tension).sqrt();
    let reference = known.reference_tension.as_ref().map(|x| capillary(x.value()));
    let time = of("surface_tension").map(capillary).or(of_line).or(reference)?;
    let decay = two
        .map(|m| m.decay_rate.value * radius * radius / 5.0)
        .filter(|nu| *nu > 0.0);
    let reference = known.reference_viscosity.as_ref().map(Uncertain::value);
    let viscosity = of("kinematic_viscosity").or(reference).or(decay);
    let ohnesorge = viscosity.map_or(SOME_OHNESORGE, |nu| nu * time / radius.powi(2));
    Some((time, ohnesorge))
}

fn axis(shapes: &Table) -> Result<f64, StudyError> {
    Ok(reals(shapes, "axis")?.first().copied().unwrap_or(0.0))
}

/// The free outlines of the first body, and its mean radius in px.
fn outlines(run: &Path) -> Result<(Outlines, f64), StudyError> {
    let (shapes, points) = (read(run, "shapes")?, read(run, "outlines")?);
    let (frames, bodies) = (integers(&shapes, "frame")?, integers(&shapes, "body")?);
    let (times, free) = (reals(&shapes, "time")?, flags(&shapes, "free")?);
    let (x, y) = (reals(&shapes, "centre_x")?, reals(&shapes, "centre_y")?);
    let radii = reals(&shapes, "equivalent_radius")?;
    let (of_frame, of_body) = (integers(&points, "frame")?, integers(&points, "body")?);
    let (px, py, pu) = (reals(&points, "x")?, reals(&points, "y")?, reals(&points, "u")?);
    let mut all = Outlines::default();
    let mut sum = 0.0;
    // Points of a body come in the order of its frames.
    let mut next = 0;
    for i in (0..frames.len()).filter(|i| bodies[*i] == 1) {
        while next < of_frame.len() && (of_body[next], of_frame[next]) < (1, frames[i]) {
            next += 1;
        }
        let from = next;
        while next < of_frame.len() && (of_body[next], of_frame[next]) == (1, frames[i]) {
            next += 1;
        }
        if free[i] && times[i].is_finite() && next > from {
            sum += radii[i];
            all.frames.push(Frame {
                frame: u64::try_from(frames[i]).unwrap_or(0),
                time: times[i],
                centre: [x[i], y[i]],
                points: (from..next).map(|k| [px[k], py[k], pu[k]]).collect(),
            });
        }
    }
    let count = all.frames.len().max(1) as f64;
    Ok((all, sum / count))
}
