//! The plan sheet of an experiment: expectations of its kind, of the surroundings and of the camera, what breaks, what to do.

use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::file::{Experiment, Kind};
use tremolet_record::sheet::{Curve, Entry, FORMAT, Group, Moment, Shape, Sheet, WaveMap};

use crate::camera::{Moving, Swing, seen, swing};
use crate::error::PlanError;
use crate::given::Given;
use crate::row::{CELSIUS, KPA, M_S2, MM, S, Told, text};
use crate::{column, common, fizz, limits, procedure, puff, release, safety, shell, wanted};

/// What the rooms of the kinds give.
#[derive(Debug, Clone, Default)]
pub struct OfKind {
    /// Tables.
    pub groups: Vec<Group>,
    /// Time strip.
    pub moments: Vec<Moment>,
    /// Shapes.
    pub shapes: Vec<Shape>,
    /// Courses.
    pub curves: Vec<Curve>,
    /// Wave map.
    pub waves: Option<WaveMap>,
    /// What breaks.
    pub alarms: Vec<tremolet_record::sheet::Alarm>,
    /// Swings that the camera must follow.
    pub swings: Vec<Swing>,
    /// Greatest half width over the radius of the body.
    pub reach: f64,
    /// Highest speed of an edge, m/s.
    pub speed: f64,
    /// Time that the run needs to show what it is for, s.
    pub needed: Option<f64>,
    /// Whether it is long and lies along the longer side of the picture.
    pub long: bool,
}

/// Makes the sheet.
///
/// # Errors
/// [`PlanError::Matter`]: see [`Given::new`]. What cannot be said stands in its row instead.
pub fn sheet(experiment: &Experiment) -> Result<Sheet, PlanError> {
    let given = Given::new(experiment)?;
    let kind = of_kind(&given);
    let moving = Moving {
        swings: kind.swings,
        reach: kind.reach.max(1.0),
        speed: kind.speed,
        needed: kind.needed,
        long: kind.long,
    };
    let mut groups = kind.groups;
    groups.extend(seen(&given, &moving));
    let mut cautions = safety::cautions(&given);
    let (foreseen, caution) = wanted::of_kind(&given);
    groups.extend(foreseen);
    cautions.extend(caution);
    groups.push(common::drifting(&given));
    groups.push(common::quiet(&given));
    groups.extend(common::drying(&given));
    if matches!(experiment.kind, Kind::Release | Kind::Puff) {
        groups.push(common::film(&given));
    }
    let mut alarms = limits::alarms(&given, &moving);
    alarms.extend(kind.alarms);
    cautions.extend(experiment.cautions.iter().cloned());
    let mut moments = kind.moments;
    moments.sort_by(|a, b| a.time.total_cmp(&b.time));
    let mut sheet = Sheet {
        format: FORMAT,
        file: experiment.file.clone(),
        title: experiment
            .title
            .clone()
            .unwrap_or_else(|| format!("A {}", experiment.kind.name())),
        kind: experiment.kind.name().into(),
        alarms,
        given: entries(&given),
        assumptions: given.assumptions.clone(),
        groups,
        moments,
        shapes: kind.shapes,
        curves: kind.curves,
        waves: kind.waves,
        procedure: Vec::new(),
        cautions,
    };
    sheet.procedure = procedure::procedure(&given, &sheet);
    Ok(sheet)
}

fn of_kind(given: &Given<'_>) -> OfKind {
    match given.experiment.kind {
        Kind::Release => of_release(given),
        Kind::Puff => puff::puff(given),
        Kind::Column => column::column(given),
        Kind::Shell => shell::shell(given),
        Kind::Fizz => fizz::fizz(given),
    }
}

fn of_release(given: &Given<'_>) -> OfKind {
    let Some(found) = release::release(given) else {
        return OfKind {
            groups: vec![release::modes(given)],
            ..OfKind::default()
        };
    };
    let swings = release::DEGREES.iter().filter_map(|n| {
        let rows = || found.groups.iter().flat_map(|group| &group.rows);
        let value = |key: &str| rows().find(|row| row.key == key).and_then(|row| row.value);
        swing(
            &n.to_string(),
            &format!("degree {n}"),
            *n,
            value(&format!("frequency_{n}")),
            value(&format!("amplitude_{n}")),
        )
    });
    let lasts = found
        .groups
        .iter()
        .flat_map(|group| &group.rows)
        .find(|row| row.key == "lasts_2")
        .and_then(|row| row.value);
    OfKind {
        swings: swings.collect(),
        groups: found.groups.clone(),
        moments: found.moments,
        shapes: found.shapes,
        curves: found.curves,
        reach: found.reach,
        speed: found.speed,
        needed: lasts,
        ..OfKind::default()
    }
}

fn entries(given: &Given<'_>) -> Vec<Entry> {
    let materials = &given.materials;
    let entry = |name: &str, value: Option<&Uncertain>, told: Told, source: &str| {
        value.map(|value| {
            let u = value.standard_uncertainty();
            Entry {
                name: name.into(),
                text: text(value.value(), (u > 0.0).then_some(u), told),
                source: source.into(),
            }
        })
    };
    use tremolet_matter::quantity::dimension::Dimension as D;
    let told = |dimension, si, unit| Told { dimension, si, unit };
    let liquid = &materials.liquid;
    let source = |property: Option<&tremolet_matter::property::Property>| {
        property.map_or(String::new(), |p| p.source.clone())
    };
    let diameter = given.radius.as_ref().map(|r| r.scaled(2.0));
    let (tension, viscosity) = (materials.tension(), materials.viscosity());
    [
        entry("diameter of the drop", diameter.as_ref(), MM, "[body]"),
        Some(Entry {
            name: "liquid".into(),
            text: liquid.name.clone(),
            source: "[liquid]".into(),
        }),
        entry(
            "temperature of the liquid",
            Some(&given.temperature),
            CELSIUS,
            "[liquid]",
        ),
        entry(
            "density",
            Some(&given.density),
            told(D::Density, "kg/m^3", "kg/m^3"),
            &source(Some(&liquid.density)),
        ),
        entry(
            "surface tension",
            given.tension.as_ref(),
            told(D::SurfaceTension, "N/m", "mN/m"),
            &source(tension),
        ),
        entry(
            "dynamic viscosity",
            given.viscosity.as_ref(),
            told(D::DynamicViscosity, "Pa s", "mPa s"),
            &source(viscosity),
        ),
        Some(Entry {
            name: "gas".into(),
            text: materials.gas.name.clone(),
            source: "[gas]".into(),
        }),
        entry(
            "temperature of the gas",
            Some(&given.gas_temperature),
            CELSIUS,
            "[gas]",
        ),
        entry("pressure of the gas", Some(&given.pressure), KPA, "[gas]"),
        entry(
            "residual acceleration",
            given.acceleration.as_ref(),
            M_S2,
            "[surroundings] or its place",
        ),
        entry(
            "available time",
            given.time.as_ref(),
            S,
            "[surroundings] or its place",
        ),
    ]
    .into_iter()
    .flatten()
    .collect()
}
