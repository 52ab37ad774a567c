//! The modes of the runs on the clock of their drop, and the courses of their amplitudes.

use tremolet_infer::among::scaling::{Expected, Number, scaled};
use tremolet_record::comparison::ScaledMode;
use tremolet_record::findings::Quantity;
use tremolet_report::compare::scaling::Course;

use crate::compare::liquid::Liquid;
use crate::compare::run::Run;
use crate::error::StudyError;
use crate::tables::{line, read_if_there};

/// Every mode of a body whose radius and liquid are known, in the order of the runs.
pub fn modes(runs: &[Run], liquids: &[Liquid]) -> Vec<ScaledMode> {
    let mut all = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        let liquid = liquids.iter().find(|liquid| liquid.runs.contains(&i));
        let Some(label) = liquid.map(|liquid| liquid.label.clone()) else {
            continue;
        };
        for mode in &run.findings.modes {
            let Some(drop) = expected(run, mode.body) else {
                continue;
            };
            let number = |q: &Quantity| -> Number { [q.value, q.standard_uncertainty.unwrap_or(0.0)] };
            let Ok(found) = scaled(
                mode.degree,
                number(&mode.frequency),
                number(&mode.decay_rate),
                &drop,
            ) else {
                continue;
            };
            all.push(ScaledMode {
                run: run.name.clone(),
                body: mode.body,
                degree: mode.degree,
                liquid: label.clone(),
                radius: drop.radius.value(),
                frequency: mode.frequency.clone(),
                decay_rate: mode.decay_rate.clone(),
                capillary_rate: found.capillary_rate,
                viscous_rate: found.viscous_rate,
                reduced_frequency: found.reduced_frequency,
                inviscid: found.inviscid,
                expected: found.expected,
                reduced_decay: found.reduced_decay,
                expected_decay: found.expected_decay,
            });
        }
    }
    all
}

/// A body as its liquid and its outline let expect it.
fn expected(run: &Run, body: u32) -> Option<Expected> {
    let materials = run.materials.as_ref()?;
    let radius = run
        .findings
        .estimates
        .iter()
        .find(|e| e.quantity == "equivalent_radius" && e.body == body)?;
    Some(Expected {
        radius: run.uncertain(radius),
        tension: run.among(&materials.tension()?.value),
        density: run.among(&materials.liquid.density.value),
        viscosity: materials.viscosity().map(|viscosity| run.among(&viscosity.value)),
        host_density: materials.gas.density.value.value(),
        host_viscosity: materials.gas.dynamic_viscosity.value.value(),
    })
}

/// The courses of the degrees that ring, from the tables of the runs; a run without them has none.
///
/// # Errors
/// A table that is damaged.
pub fn courses(runs: &[Run], scaling: &[ScaledMode]) -> Result<Vec<Course>, StudyError> {
    let mut all = Vec::new();
    for run in runs {
        let (Some(fits), Some(curves)) = (
            read_if_there(&run.folder, "fits")?,
            read_if_there(&run.folder, "curves")?,
        ) else {
            continue;
        };
        let series = line::amplitudes(&fits, &curves)?;
        let several = series.iter().any(|one| one.body > 1);
        for one in series {
            let own = |mode: &&ScaledMode| {
                mode.run == run.name && mode.body == one.body && mode.degree == one.degree
            };
            let Some(mode) = scaling.iter().find(own) else {
                continue;
            };
            // From the first sample that was fitted: before, something may have touched the drop.
            let begun = one.fitted.first().map(|point| point[0]);
            let points = one.time.iter().zip(&one.value).filter_map(|(t, a)| {
                let from = t - begun?;
                (from >= 0.0).then_some([from, *a])
            });
            all.push(Course {
                name: if several {
                    format!("{}, body {}", run.name, one.body)
                } else {
                    run.name.clone()
                },
                degree: one.degree,
                points: points.collect(),
                capillary_rate: Some(mode.capillary_rate[0]),
            });
        }
    }
    Ok(all)
}
