//! What a measured run gives the fit of one of its bodies: outlines, where to begin, the drop and its scale.

use std::path::Path;

use tremolet_infer::fit::start::amplitudes;
use tremolet_infer::fit::{Begin, Frame, Outlines};
use tremolet_infer::known::{Materials, known, materials};
use tremolet_infer::property::routes::Known;
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::experiment::file::{Experiment, Kind};
use tremolet_record::findings::{Estimate, Findings};
use tremolet_record::mode_table::series_of;
use tremolet_record::series::ModeSeries;
use tremolet_record::table::Table;

use crate::error::StudyError;
use crate::fit::model::DropModel;
use crate::tables::column::{flags, integers, reals};
use crate::tables::read;

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
pub const HIGHEST: u32 = 8;
/// Amplitudes beyond this need more degrees of the solver.
const LARGE: f64 = 0.15;

/// Why a run cannot be fitted.
pub fn lacking(why: &str) -> StudyError {
    StudyError::Asked {
        what: "fit".into(),
        why: why.into(),
    }
}

/// The amplitudes of every body of a run that has any.
///
/// # Errors
/// When the run was simulated and not filmed, or has no amplitudes, or a table is damaged.
pub fn series(run: &Path) -> Result<Vec<ModeSeries>, StudyError> {
    let there = |name: &str| run.join(format!("series/{name}.parquet")).is_file();
    if !there("outlines") {
        return Err(lacking(
            "this run has no outlines to fit to; a simulated run is first filmed (`film`) and its clip measured",
        ));
    }
    let numbered = (1..)
        .map(|k| format!("amplitudes-{k}"))
        .take_while(|name| there(name));
    let one = there("amplitudes").then(|| "amplitudes".to_string());
    let mut all = Vec::new();
    for name in one.into_iter().chain(numbered) {
        let table = read(run, &name)?;
        all.extend(series_of(&table).map_err(|why| StudyError::Run {
            file: format!("series/{name}.parquet"),
            why: why.to_string(),
        })?);
    }
    if all.is_empty() {
        return Err(lacking("no body of the run was free and gave amplitudes"));
    }
    Ok(all)
}

/// From the tables and findings of a run, for the body whose amplitudes are in `series`.
///
/// # Errors
/// When the run lacks a table, the experiment its liquid or scale, or nothing rang.
pub fn given(
    run: &Path,
    experiment: &Experiment,
    findings: &Findings,
    series: &ModeSeries,
) -> Result<Given, StudyError> {
    let body = series.body;
    if matches!(experiment.kind, Kind::Shell | Kind::Fizz) {
        return Err(lacking(
            "the drop holds gas, and the motion that is fitted is that of a drop without; its free decay stands in the findings",
        ));
    }
    if experiment.liquid.is_none() {
        return Err(lacking("the experiment states no liquid; state [liquid]"));
    }
    let materials = materials(experiment)?;
    let of = |quantity: &str| {
        findings
            .estimates
            .iter()
            .find(|e| e.body == body && e.quantity == quantity)
    };
    let radius = of("equivalent_radius")
        .ok_or_else(|| lacking("the run has no scale; state camera.scale and measure again"))?;
    let (outlines, radius_px) = outlines(run, body)?;
    let known = known(experiment, &materials, None);
    let density = known.density.value();
    let (time, ohnesorge) = beginning(findings, body, &known, density, radius.value).ok_or_else(|| {
        lacking("nothing rang and no reference value is known: there is nothing to begin from")
    })?;
    let period = std::f64::consts::TAU / 8f64.sqrt() * time;
    let start =
        amplitudes(series, HIGHEST, period).ok_or_else(|| lacking("the run has too few free frames"))?;
    let metre_per_px = radius.value / radius_px;
    let distance = experiment
        .camera
        .as_ref()
        .and_then(|camera| camera.distance.as_ref());
    let nearness = distance.map_or(0.0, |distance| radius.value / distance.value());
    let large = start.0.iter().any(|a| a.abs() > LARGE);
    Ok(Given {
        begin: Begin {
            time,
            ohnesorge,
            radius: radius_px,
            axis_angle: axis(&read(run, "shapes")?, body)?,
            shape: start.0,
            velocity: start.1.iter().map(|v| v * time).collect(),
        },
        outlines: Outlines { nearness, ..outlines },
        model: DropModel {
            density,
            gas_density: known.host_density.value(),
            gas_viscosity: known.host_viscosity.value(),
            metre_per_px,
            highest: if large { 16 } else { 12 },
        },
        scale: scale(radius, metre_per_px),
        materials,
        known,
    })
}

/// Whether an input of the radius is no doubt of a fit, which has a radius and a tilt of its own.
fn of_outlines(input: &str) -> bool {
    input.ends_with("(scatter)") || input.starts_with("axis of revolution")
}

/// Metres in a pixel at the body, with what makes them doubtful in the budget of the radius.
fn scale(radius: &Estimate, metre_per_px: f64) -> Uncertain {
    let doubts = radius.budget.iter().filter(|line| !of_outlines(&line.input));
    let parts: Vec<Uncertain> = doubts
        .map(|line| {
            let relative = line.share.sqrt() * radius.standard_uncertainty / radius.value;
            let input = Input {
                key: line.input.clone(),
                unit: line.unit.clone(),
                standard_uncertainty: line.standard_uncertainty,
                degrees_of_freedom: f64::INFINITY,
                source: "findings of the run".into(),
            };
            Uncertain::of_input(1.0, relative, input)
        })
        .collect();
    let parts: Vec<&Uncertain> = parts.iter().collect();
    Uncertain::propagate(&parts, |factors| metre_per_px * factors.iter().product::<f64>())
}

/// An Ohnesorge number to begin with where nothing is known of the viscosity; the fit finds its own.
const SOME_OHNESORGE: f64 = 0.005;

/// Capillary time and Ohnesorge number to begin with: by free decay, by the line of degree 2 alone, or by the reference values.
fn beginning(findings: &Findings, body: u32, known: &Known, density: f64, radius: f64) -> Option<(f64, f64)> {
    let of = |quantity: &str| {
        let mut all = findings.estimates.iter();
        all.find(|e| e.body == body && e.quantity == quantity)
            .map(|e| e.value)
    };
    let two = findings.modes.iter().find(|m| m.body == body && m.degree == 2);
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

/// The axis of a body where it is first seen, rad.
fn axis(shapes: &Table, body: u32) -> Result<f64, StudyError> {
    let axes = integers(shapes, "body")?.iter().zip(reals(shapes, "axis")?);
    let mut own = axes.filter(|(of, _)| **of == i64::from(body));
    Ok(own.next().map_or(0.0, |(_, axis)| *axis))
}

/// The free outlines of a body, and its mean radius in px.
fn outlines(run: &Path, body: u32) -> Result<(Outlines, f64), StudyError> {
    let body = i64::from(body);
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
    for i in (0..frames.len()).filter(|i| bodies[*i] == body) {
        while next < of_frame.len() && (of_body[next], of_frame[next]) < (body, frames[i]) {
            next += 1;
        }
        let from = next;
        while next < of_frame.len() && (of_body[next], of_frame[next]) == (body, frames[i]) {
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
