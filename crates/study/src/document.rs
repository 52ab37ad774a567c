//! What the report is told: rows, paths and sentences of a finished measurement. Chooses and orders; computes no physics.

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::print::print;
use tremolet_matter::uncertain::Uncertain;
use tremolet_measure::measured::{Lighting, SceneSummary};
use tremolet_record::experiment::file::Experiment;
use tremolet_record::table::Table;
use tremolet_report::input::{CentrePath, Drift, Row};

use crate::error::StudyError;
use crate::tables::column::{count, flags, groups, integers, reals};
use tremolet_infer::known::Materials;

/// Factor and unit of lengths: metres when `scale` (m/px) is known and pixels otherwise.
fn lengths(scale: Option<f64>) -> (f64, &'static str) {
    scale.map_or((1.0, "px"), |s| (s, "m"))
}

/// Size over time of each body, from the table of shapes: the free frames with a time.
///
/// # Errors
/// When the table lacks a column.
pub fn drifts(shapes: &Table, scale: Option<f64>) -> Result<Vec<Drift>, StudyError> {
    let (factor, unit) = lengths(scale);
    let (body, time, free) = (
        integers(shapes, "body")?,
        reals(shapes, "time")?,
        flags(shapes, "free")?,
    );
    let (radius, u) = (
        reals(shapes, "equivalent_radius")?,
        reals(shapes, "u_equivalent_radius")?,
    );
    let one = |rows: std::ops::Range<usize>| {
        let who = count(body[rows.start]);
        let kept: Vec<usize> = rows.filter(|&i| free[i] && time[i].is_finite()).collect();
        let value: Vec<f64> = kept.iter().map(|&i| factor * radius[i]).collect();
        let level = tremolet_numerics::statistics::median(&value);
        Drift {
            body: who,
            quantity: "equivalent_radius".into(),
            unit: unit.into(),
            time: kept.iter().map(|&i| time[i]).collect(),
            u: kept.iter().map(|&i| factor * u[i]).collect(),
            note: change(&value),
            value,
            level: Some(level).filter(|l| l.is_finite()),
        }
    };
    Ok(groups(&[body]).into_iter().map(one).collect())
}

/// How much the radius changed, in words.
fn change(radius: &[f64]) -> String {
    if radius.is_empty() {
        return String::new();
    }
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let tenth = (radius.len() / 10).max(1);
    let change = mean(&radius[radius.len() - tenth..]) / mean(&radius[..tenth]) - 1.0;
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
}

/// The path of the centre of each body, from the table of shapes.
///
/// # Errors
/// When the table lacks a column.
pub fn paths(shapes: &Table, scale: Option<f64>) -> Result<Vec<CentrePath>, StudyError> {
    let (factor, unit) = lengths(scale);
    let (body, time) = (integers(shapes, "body")?, reals(shapes, "time")?);
    let (x, y) = (reals(shapes, "centre_x")?, reals(shapes, "centre_y")?);
    let one = |rows: std::ops::Range<usize>| {
        let who = count(body[rows.start]);
        let kept: Vec<usize> = rows.filter(|&i| time[i].is_finite()).collect();
        CentrePath {
            body: who,
            time: kept.iter().map(|&i| time[i]).collect(),
            x: kept.iter().map(|&i| factor * x[i]).collect(),
            y: kept.iter().map(|&i| factor * y[i]).collect(),
            unit: unit.into(),
        }
    };
    Ok(groups(&[body]).into_iter().map(one).collect())
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
        "m/s^2" => Dimension::Acceleration,
        _ => return None,
    })
}
