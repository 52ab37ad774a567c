//! `measure`: a clip and an experiment file in, a run folder out.
//!
//! Look, infer, write, draw: the run folder is filled under another name and put in place when it is whole, so a stop at
//! any instant leaves nothing half-written.

use std::f64::consts::PI;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tremolet_matter::uncertain::Uncertain;
use tremolet_measure::aside::Shelf;
use tremolet_measure::measured::Happening;
use tremolet_record::experiment::body::Body;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::findings::{Caution, ClipSummary, Correlation, Event, Findings, Quantity};
use tremolet_record::folder::RunFolder;
use tremolet_record::store::sha256_of_file;
use tremolet_report::input::TruthRow;

use crate::aside::Aside;
use crate::body::{BodyFound, body};
use crate::error::StudyError;
use crate::hand::notes;
use crate::logged::{Beside, beside, log_of, source_of};
use crate::look::{Progress, Seen, Watch, look};
use crate::wording;
use crate::write::{self, Whole};
use tremolet_infer::known::{Materials, materials};

/// What is asked for.
pub struct Request<'a> {
    /// The experiment.
    pub experiment: &'a Experiment,
    /// The clip, a file or a folder of stills.
    pub clip: PathBuf,
    /// Where the run folder will be.
    pub out: PathBuf,
    /// Whether a folder that is there is moved aside.
    pub replace: bool,
    /// Worker threads; 0 takes as many as there are cores. The result does not depend on it.
    pub threads: usize,
    /// Whether the annotated clip is made.
    pub overlay: bool,
    /// The truth to lay beside what is found: quantity, unit, value; for a painted clip.
    pub truth: Vec<(String, String, f64)>,
    /// The command, word by word, for the provenance; empty when there was none.
    pub command: Vec<String>,
}

/// Everything found in a clip, before it is written.
pub struct Found {
    /// What was seen.
    pub seen: Seen,
    /// What each body says.
    pub bodies: Vec<BodyFound>,
    /// What came of the log beside the clip, where there is one.
    pub logged: Option<Beside>,
    /// The findings as recorded.
    pub findings: Findings,
    /// Liquid and gas.
    pub materials: Option<Materials>,
}

/// Measures without writing anything.
///
/// # Errors
/// When clip or log cannot be read or the clip cannot be measured, or the materials are unknown.
pub fn find(request: &Request<'_>, progress: &mut Progress<'_>) -> Result<Found, StudyError> {
    find_on(request, None, &mut |_, _| {}, progress)
}

/// As [`find`], with the outlines on a shelf, where one is given.
fn find_on(
    request: &Request<'_>,
    shelf: Option<&Arc<dyn Shelf>>,
    watch: &mut Watch<'_>,
    progress: &mut Progress<'_>,
) -> Result<Found, StudyError> {
    let experiment = request.experiment;
    let materials = experiment
        .liquid
        .is_some()
        .then(|| materials(experiment))
        .transpose()?;
    let recorded = log_of(experiment)?;
    let clip = (request.clip.as_path(), request.threads);
    let seen = look(experiment, clip, shelf, watch, progress)?;
    let u_edge_px = seen.measured.scene.u_edge_px;
    let mut bodies: Vec<BodyFound> = seen
        .measured
        .bodies
        .iter()
        .map(|track| {
            body(
                track,
                (u_edge_px, seen.measured.camera.u_zoom(), &seen.info, &seen.keys),
                experiment,
                materials.as_ref(),
                |frame| seen.time_of(track.body, frame),
            )
        })
        .collect();
    let logged = beside(experiment, recorded.as_ref(), &seen, &mut bodies);
    let mut findings = findings(request, &seen, &bodies, materials.as_ref())?;
    findings
        .cautions
        .extend(logged.iter().flat_map(|logged| logged.cautions.iter().cloned()));
    Ok(Found {
        seen,
        bodies,
        logged,
        findings,
        materials,
    })
}

/// Measures and writes the run folder; returns where it lies.
///
/// # Errors
/// As [`find`], and when the folder cannot be written. Nothing is left half-written.
pub fn measure(request: &Request<'_>, progress: &mut Progress<'_>) -> Result<PathBuf, StudyError> {
    watched(request, &mut |_, _| {}, progress)
}

/// As [`measure`]; `watch` sees the outlines as they are found.
///
/// # Errors
/// As [`measure`].
pub fn watched(
    request: &Request<'_>,
    watch: &mut Watch<'_>,
    progress: &mut Progress<'_>,
) -> Result<PathBuf, StudyError> {
    let folder = RunFolder::begin(&request.out, request.replace)?;
    let started = std::time::SystemTime::now();
    let aside = Aside::of_run(&request.out)?;
    let shelf: Arc<dyn Shelf> = aside.clone();
    let found = find_on(request, Some(&shelf), watch, progress);
    aside.checked()?;
    let found = found?;
    let whole = Whole {
        request,
        found: &found,
        started,
    };
    let filled = write::fill(&folder, &whole, progress);
    aside.checked()?;
    let provenance = filled?;
    // The report is made from what is on the disk: what was found need not lie in memory beside it.
    drop(found);
    write::report(&folder, request.experiment.title.as_deref(), &provenance)?;
    Ok(folder.finish(&write::stamp())?)
}

fn findings(
    request: &Request<'_>,
    seen: &Seen,
    bodies: &[BodyFound],
    materials: Option<&Materials>,
) -> Result<Findings, StudyError> {
    let duration = match (seen.times.first(), seen.times.last()) {
        (Some(first), Some(last)) => last - first,
        _ => 0.0,
    };
    let mut findings = Findings::of_clip(ClipSummary {
        frames: seen.measured.frames,
        duration: Quantity {
            value: duration,
            unit: "s".into(),
            standard_uncertainty: None,
        },
        sha256: hash(&request.clip)?,
    });
    for found in bodies {
        let of_log = |quantity: &str| source_of(quantity, request.experiment);
        let source = |quantity: &str| of_log(quantity).unwrap_or_else(|| source(quantity, materials));
        let estimates = found.estimates.iter();
        findings
            .estimates
            .extend(estimates.map(|e| wording::estimate(found.body, e, e.quantity, &source(e.quantity))));
        findings.modes.extend(
            found
                .ringdown
                .modes
                .iter()
                .map(|mode| wording::mode(found.body, mode)),
        );
        let several = bodies.len() > 1;
        findings
            .cautions
            .extend(found.cautions.iter().map(|c| of_body(found.body, several, c)));
        findings.correlations.extend(correlations(found));
    }
    findings.events = events(seen);
    findings.cautions.extend(seen.cautions.iter().cloned());
    findings
        .cautions
        .extend(request.experiment.cautions.iter().cloned());
    findings.notes = notes(request.experiment);
    findings
        .cautions
        .extend(of_experiment(request.experiment, bodies));
    Ok(findings)
}

/// What happened between bodies, each in the middle of the frames between which it did.
fn events(seen: &Seen) -> Vec<Event> {
    let event = |h: &Happening| {
        let (first, last) = h.frames;
        let (begun, ended) = (seen.time(first)?, seen.time(last)?);
        Some(Event {
            name: h.name.into(),
            time: Quantity {
                value: (begun + ended) / 2.0,
                unit: "s".into(),
                // Anywhere between the two frames, all times alike.
                standard_uncertainty: Some((ended - begun) / 12.0_f64.sqrt()),
            },
            frames: [first, last],
            found_by: "program".into(),
        })
    };
    seen.measured.happenings.iter().filter_map(event).collect()
}

/// A caution of one body, which says whose it is when there are several.
fn of_body(body: u32, several: bool, caution: &Caution) -> Caution {
    let mut caution = caution.clone();
    if several {
        caution.text = format!("body {body}: {}", caution.text);
    }
    caution
}

fn hash(clip: &Path) -> Result<Option<String>, StudyError> {
    Ok(if clip.is_file() {
        Some(sha256_of_file(clip)?)
    } else {
        None
    })
}

/// Where the reference value of a quantity is from.
pub fn source(quantity: &str, materials: Option<&Materials>) -> String {
    let Some(materials) = materials else {
        return String::new();
    };
    let liquid = &materials.liquid;
    let property = match quantity {
        "surface_tension" => liquid
            .reference_surface_tension
            .as_ref()
            .or(liquid.surface_tension.as_ref()),
        _ => liquid
            .reference_dynamic_viscosity
            .as_ref()
            .or(liquid.dynamic_viscosity.as_ref()),
    };
    property.map_or(String::new(), |p| p.source.clone())
}

/// Correlations of surface tension with the viscosity, from the inputs they share.
pub fn correlations(found: &BodyFound) -> Vec<Correlation> {
    let get = |quantity: &str| found.estimates.iter().find(|e| e.quantity == quantity);
    let pairs = [
        ("surface_tension", "kinematic_viscosity"),
        ("surface_tension", "equivalent_radius"),
    ];
    let one = |(a, b): (&str, &str)| {
        let value = get(a)?.value.correlation(&get(b)?.value);
        Some(Correlation {
            between: [a.into(), b.into()],
            value,
        })
    };
    pairs.into_iter().filter_map(one).collect()
}

/// What the experiment file leaves open and what that means.
fn of_experiment(experiment: &Experiment, bodies: &[BodyFound]) -> Vec<Caution> {
    let mut cautions = Vec::new();
    let camera = experiment.camera.as_ref();
    let scale = camera.and_then(|c| c.scale.as_ref());
    if scale.is_some() && camera.and_then(|c| c.distance.as_ref()).is_none() && !bodies.is_empty() {
        let text = "the distance of the lens is not stated: the view is taken as parallel and the depth of the body is not \
                    in the budget (a sphere at ten radii looks 0.5 % too large, which is 1.5 % of surface tension)";
        cautions.push(wording::caution("no_distance", text, None));
    }
    if scale.is_none() {
        let text = "no scale is stated: sizes stay in pixels";
        cautions.push(wording::caution("no_scale", text, None));
    }
    if let ([found], Some(body)) = (bodies, &experiment.body) {
        cautions.extend(
            found
                .radius
                .iter()
                .filter_map(|radius| size_against(radius, body)),
        );
    }
    cautions
}

/// A caution when the volume that was measured and one that was stated differ by more than twice the standard uncertainty of
/// their difference; the mass is held against the outline where surface tension is found.
fn size_against(radius: &Uncertain, body: &Body) -> Option<Caution> {
    let seen = Uncertain::propagate(&[radius], |x| 4.0 / 3.0 * PI * x[0].powi(3));
    let stated = body.volumes(None);
    let off = |volume: &Uncertain| {
        let difference = Uncertain::combine(0.0, &[(&seen, 1.0), (volume, -1.0)]);
        (seen.value() - volume.value()) / difference.standard_uncertainty()
    };
    let (key, volume) = stated.iter().find(|(_, volume)| off(volume).abs() > 2.0)?;
    let text = format!(
        "the outline gives {:.4} mL, the stated {key} {:.4} mL: they differ by {:.1} times the standard uncertainty of their difference; \
         check scale, depth and what is stated",
        1e6 * seen.value(),
        1e6 * volume.value(),
        off(volume).abs()
    );
    Some(wording::caution("stated_size_disagrees", &text, None))
}

/// Truth beside what was found, for the report.
pub fn truth_rows(truth: &[(String, String, f64)], findings: &Findings) -> Vec<TruthRow> {
    let mode = |name: &str| {
        let (kind, degree) = name.rsplit_once(' ')?;
        let found = findings
            .modes
            .iter()
            .find(|m| Some(m.degree) == degree.parse().ok())?;
        let quantity = if kind.starts_with("frequency") {
            &found.frequency
        } else {
            &found.decay_rate
        };
        Some((quantity.value, quantity.standard_uncertainty?))
    };
    let row = |(quantity, unit, truth): &(String, String, f64)| {
        let estimate = findings.estimates.iter().find(|e| e.quantity == *quantity);
        let found = estimate
            .map(|e| (e.value, e.standard_uncertainty))
            .or_else(|| mode(quantity));
        TruthRow {
            quantity: quantity.clone(),
            unit: unit.clone(),
            truth: *truth,
            found: found.map(|f| f.0),
            u: found.map(|f| f.1),
            deviation: found.map(|(value, u)| (value - truth) / u),
        }
    };
    truth.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_matter::uncertain::Input;

    fn radius(value: f64, u: f64) -> Uncertain {
        let input = Input {
            key: "radius".into(),
            unit: "m".into(),
            standard_uncertainty: u,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        Uncertain::of_input(value, u, input)
    }

    #[test]
    fn a_caution_names_its_body_only_where_there_are_several() {
        let caution = wording::caution("nothing_rings", "no oscillation", None);
        assert_eq!(of_body(2, false, &caution), caution);
        assert_eq!(of_body(2, true, &caution).text, "body 2: no oscillation");
    }

    #[test]
    fn a_stated_size_is_held_against_the_outline() {
        let text = "format = 1\nkind = \"release\"\n[body]\ndiameter = \"20 +- 0.1 mm\"\n";
        let body = Experiment::parse(text, "x").unwrap().body.unwrap();
        // Diameters 20.3 +- 0.1 and 20 +- 0.1 mm differ by 2.1 standard uncertainties of 0.141 mm, 20.26 by 1.8.
        let told = size_against(&radius(10.15e-3, 5e-5), &body).expect("they disagree");
        assert!(
            told.code == "stated_size_disagrees" && told.text.contains("diameter"),
            "{}",
            told.text
        );
        assert_eq!(size_against(&radius(10.13e-3, 5e-5), &body), None);
    }
}
