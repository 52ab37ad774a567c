//! A comparison as files: the page, the figures as SVG, the tables as CSV and Parquet, everything as JSON.

use std::path::Path;

use tremolet_record::comparison::{Comparison, ScaledMode};
use tremolet_record::folder::RunFolder;
use tremolet_record::store;
use tremolet_record::table::{Column, Table};
use tremolet_report::compare::page::{Page, render};
use tremolet_report::compare::scaling::Course;

use crate::compare::json;
use crate::error::StudyError;
use crate::tables::column::{integer, real, text};
use crate::tables::keep;
use crate::write::stamp;

/// Writes the page as one HTML file; a file that is there is left alone unless `replace`.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn page(
    comparison: &Comparison,
    courses: &[Course],
    file: &Path,
    replace: bool,
) -> Result<(), StudyError> {
    if store::exists(file) && !replace {
        return Err(StudyError::There {
            file: file.to_owned(),
        });
    }
    Ok(store::write_whole(
        file,
        render(comparison, courses).html.as_bytes(),
    )?)
}

/// Writes a folder of the page, `figures/*.svg`, `tables/*.csv`, `series/*.parquet` and `comparison.json`, whole or not at all; one that is there is moved aside
/// with `replace`.
///
/// # Errors
/// When it is there already, or cannot be written.
pub fn folder(
    comparison: &Comparison,
    courses: &[Course],
    out: &Path,
    replace: bool,
) -> Result<(), StudyError> {
    let folder = RunFolder::begin(out, replace)?;
    let Page { html, figures } = render(comparison, courses);
    folder.write("comparison.html", html.as_bytes())?;
    folder.write("comparison.json", (json(comparison)? + "\n").as_bytes())?;
    for figure in figures {
        folder.write(&format!("figures/{}", figure.name), figure.svg.as_bytes())?;
    }
    for table in [
        values(comparison),
        means(comparison),
        scaling(&comparison.scaling),
        points(courses),
    ] {
        keep(&folder, &table)?;
    }
    folder.finish(&stamp())?;
    Ok(())
}

fn named(name: &str, description: &str, columns: Vec<Column>) -> Table {
    Table {
        name: name.into(),
        description: description.into(),
        columns,
    }
}

/// One row a value.
fn values(comparison: &Comparison) -> Table {
    let rows: Vec<_> = comparison
        .quantities
        .iter()
        .flat_map(|q| q.entries.iter().map(move |entry| (q, entry)))
        .collect();
    let words = |of: &dyn Fn(
        &(
            &tremolet_record::comparison::Compared,
            &tremolet_record::comparison::Entry,
        ),
    ) -> String| { rows.iter().map(of).collect::<Vec<_>>() };
    let numbers =
        |of: &dyn Fn(&tremolet_record::comparison::Entry) -> f64| rows.iter().map(|(_, e)| of(e)).collect();
    let or_none = f64::NAN;
    named(
        "values",
        "Every value of every run, SI, in the unit of its row.",
        vec![
            text("quantity", "what", words(&|(q, _)| q.quantity.clone())),
            text(
                "liquid",
                "the liquid, empty for what belongs to the run",
                words(&|(q, _)| q.liquid.clone().unwrap_or_default()),
            ),
            text("unit", "unit of the numbers", words(&|(q, _)| q.unit.clone())),
            text("run", "name of the run", words(&|(_, e)| e.run.clone())),
            integer(
                "body",
                "number of the body, from 1",
                rows.iter().map(|(_, e)| i64::from(e.body)).collect(),
            ),
            real(
                "value",
                "1",
                "the value, at the common temperature where there is one",
                numbers(&|e| e.value),
            ),
            real(
                "standard_uncertainty",
                "1",
                "its standard uncertainty",
                numbers(&|e| e.standard_uncertainty),
            ),
            real(
                "own",
                "1",
                "the part of it that no other run shares",
                numbers(&|e| e.own),
            ),
            real(
                "as_found",
                "1",
                "the value as the run gives it, where brought",
                numbers(&|e| e.as_found.unwrap_or(or_none)),
            ),
            real(
                "weight",
                "1",
                "weight in the mean",
                numbers(&|e| e.weight.unwrap_or(or_none)),
            ),
            real(
                "normalised_deviation",
                "1",
                "difference from the others over its standard uncertainty",
                numbers(&|e| e.normalised_deviation.unwrap_or(or_none)),
            ),
            integer(
                "disagrees",
                "1 where it disagrees",
                rows.iter().map(|(_, e)| i64::from(e.disagrees)).collect(),
            ),
        ],
    )
}

/// One row a mean.
fn means(comparison: &Comparison) -> Table {
    let rows: Vec<_> = comparison
        .quantities
        .iter()
        .filter_map(|q| Some((q, q.mean.as_ref()?)))
        .collect();
    let numbers = |of: &dyn Fn(&tremolet_record::comparison::Mean) -> f64| {
        rows.iter().map(|(_, m)| of(m)).collect::<Vec<_>>()
    };
    named(
        "means",
        "Means over runs of one liquid, SI, in the unit of their row; the squares of the three parts add up to that of the uncertainty.",
        vec![
            text(
                "quantity",
                "what",
                rows.iter().map(|(q, _)| q.quantity.clone()).collect(),
            ),
            text(
                "liquid",
                "the liquid",
                rows.iter()
                    .map(|(q, _)| q.liquid.clone().unwrap_or_default())
                    .collect(),
            ),
            text(
                "unit",
                "unit of the numbers",
                rows.iter().map(|(q, _)| q.unit.clone()).collect(),
            ),
            real("value", "1", "the mean", numbers(&|m| m.value)),
            real(
                "standard_uncertainty",
                "1",
                "its standard uncertainty",
                numbers(&|m| m.standard_uncertainty),
            ),
            real(
                "low_95",
                "1",
                "lower end of the 95 % interval",
                numbers(&|m| m.interval_95[0]),
            ),
            real("high_95", "1", "upper end of it", numbers(&|m| m.interval_95[1])),
            real(
                "within",
                "1",
                "part from errors of each run alone",
                numbers(&|m| m.within),
            ),
            real(
                "between",
                "1",
                "part from what differs from run to run",
                numbers(&|m| m.between),
            ),
            real("shared", "1", "part from what runs share", numbers(&|m| m.shared)),
            real(
                "between_runs",
                "1",
                "standard deviation of what differs from run to run",
                numbers(&|m| m.between_runs.standard_deviation),
            ),
            real(
                "between_runs_low_95",
                "1",
                "lower end of its 95 % interval",
                numbers(&|m| m.between_runs.interval_95[0]),
            ),
            real(
                "between_runs_high_95",
                "1",
                "upper end of it",
                numbers(&|m| m.between_runs.interval_95[1]),
            ),
            real(
                "probability",
                "1",
                "of such a scatter where the budgets tell all",
                numbers(&|m| m.between_runs.probability),
            ),
        ],
    )
}

/// One row a mode.
fn scaling(modes: &[ScaledMode]) -> Table {
    let numbers = |of: &dyn Fn(&ScaledMode) -> f64| modes.iter().map(of).collect::<Vec<_>>();
    let u = |q: &tremolet_record::findings::Quantity| q.standard_uncertainty.unwrap_or(f64::NAN);
    let first = |pair: &Option<[f64; 2]>, k: usize| pair.map_or(f64::NAN, |p| p[k]);
    named(
        "scaling",
        "Modes in units of their drop, for the surface tension and viscosity expected of the liquid.",
        vec![
            text(
                "run",
                "name of the run",
                modes.iter().map(|m| m.run.clone()).collect(),
            ),
            integer(
                "body",
                "number of the body, from 1",
                modes.iter().map(|m| i64::from(m.body)).collect(),
            ),
            integer(
                "degree",
                "degree n",
                modes.iter().map(|m| i64::from(m.degree)).collect(),
            ),
            text(
                "liquid",
                "the liquid",
                modes.iter().map(|m| m.liquid.clone()).collect(),
            ),
            real("radius", "m", "radius of equal volume", numbers(&|m| m.radius)),
            real("frequency", "Hz", "frequency", numbers(&|m| m.frequency.value)),
            real(
                "u_frequency",
                "Hz",
                "its standard uncertainty",
                numbers(&|m| u(&m.frequency)),
            ),
            real(
                "decay_rate",
                "1/s",
                "decay rate",
                numbers(&|m| m.decay_rate.value),
            ),
            real(
                "u_decay_rate",
                "1/s",
                "its standard uncertainty",
                numbers(&|m| u(&m.decay_rate)),
            ),
            real(
                "capillary_rate",
                "1/s",
                "sqrt(sigma/(rho R^3))",
                numbers(&|m| m.capillary_rate[0]),
            ),
            real(
                "u_capillary_rate",
                "1/s",
                "its standard uncertainty",
                numbers(&|m| m.capillary_rate[1]),
            ),
            real(
                "viscous_rate",
                "1/s",
                "nu/R^2",
                numbers(&|m| first(&m.viscous_rate, 0)),
            ),
            real(
                "u_viscous_rate",
                "1/s",
                "its standard uncertainty",
                numbers(&|m| first(&m.viscous_rate, 1)),
            ),
            real(
                "reduced_frequency",
                "1",
                "2 pi frequency over capillary rate",
                numbers(&|m| m.reduced_frequency[0]),
            ),
            real(
                "u_reduced_frequency",
                "1",
                "its standard uncertainty",
                numbers(&|m| m.reduced_frequency[1]),
            ),
            real("inviscid", "1", "sqrt(n(n-1)(n+2))", numbers(&|m| m.inviscid)),
            real(
                "expected",
                "1",
                "by the exact root",
                numbers(&|m| m.expected.unwrap_or(f64::NAN)),
            ),
            real(
                "reduced_decay",
                "1",
                "decay rate over viscous rate",
                numbers(&|m| first(&m.reduced_decay, 0)),
            ),
            real(
                "u_reduced_decay",
                "1",
                "its standard uncertainty",
                numbers(&|m| first(&m.reduced_decay, 1)),
            ),
            real(
                "expected_decay",
                "1",
                "by the exact root",
                numbers(&|m| m.expected_decay.unwrap_or(f64::NAN)),
            ),
        ],
    )
}

/// One row a point of a course.
fn points(courses: &[Course]) -> Table {
    let rows: Vec<(&Course, [f64; 2])> = courses
        .iter()
        .flat_map(|c| c.points.iter().map(move |p| (c, *p)))
        .collect();
    named(
        "courses",
        "Amplitudes over time of each run, from its first free frame on.",
        vec![
            text(
                "run",
                "name of the run",
                rows.iter().map(|(c, _)| c.name.clone()).collect(),
            ),
            integer(
                "degree",
                "degree n",
                rows.iter().map(|(c, _)| i64::from(c.degree)).collect(),
            ),
            real(
                "time",
                "s",
                "time from the first free frame",
                rows.iter().map(|(_, p)| p[0]).collect(),
            ),
            real(
                "capillary_time",
                "1",
                "the same over the capillary time of the drop",
                rows.iter()
                    .map(|(c, p)| c.capillary_rate.map_or(f64::NAN, |rate| rate * p[0]))
                    .collect(),
            ),
            real(
                "amplitude",
                "1",
                "amplitude over the radius",
                rows.iter().map(|(_, p)| p[1]).collect(),
            ),
        ],
    )
}
