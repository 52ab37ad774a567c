//! What a simulated run says: lines and properties of its bodies as those of a clip are found, volumes, events, and words about it.

use tremolet_infer::known::known;
use tremolet_infer::property::routes::finished;
use tremolet_infer::ringdown::{Options, analyse};
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_plan::given::Given;
use tremolet_record::findings::{Caution, ClipSummary, Event, Findings};
use tremolet_report::input::Row;
use tremolet_simulate::event::{Event as Told, Kind};
use tremolet_simulate::run::Run;
use tremolet_simulate::stop::Stop;

use crate::body::{BodyFound, NO_FREE_DROP, properties};
use crate::measure::{correlations, source};
use crate::simulate::bodies::Body;
use crate::simulate::problem::Problem;
use crate::simulate::seen;
use crate::tables::told::{self, Fact};
use crate::wording;

/// Name of what happened, as in findings.
fn name(event: &Told) -> &'static str {
    match event.kind {
        Kind::PinchOff => "pinch_off",
        Kind::Merger => "coalescence",
    }
}

/// Share of the volume that a run may gain or lose before it is stopped: necks and re-meshing cost more than swings.
pub const VOLUME_DRIFT: f64 = 1e-4;

/// What a clip's ring-down must say of noise and of lines that other degrees explain; a computed motion has no noise, and all its lines are explained.
const OF_CLIPS: &[&str] = &[
    "noise_above_stated",
    "noise_below_stated",
    "product",
    "cross_talk",
    "scale_may_drift",
];

/// What each body says.
pub fn of_bodies(given: &Given<'_>, problem: &Problem, bodies: &[Body]) -> Vec<BodyFound> {
    bodies
        .iter()
        .map(|body| of_body(given, problem, body, bodies.len() == 1))
        .collect()
}

fn of_body(given: &Given<'_>, problem: &Problem, body: &Body, single: bool) -> BodyFound {
    let series = seen::series(body, problem.free_from);
    let ringdown = analyse(&series, &Options::default());
    let mut cautions: Vec<Caution> = ringdown
        .cautions
        .iter()
        .map(|c| wording::caution(c.code, &c.text, c.frames.map(|[first, last]| (first, last))))
        .collect();
    let radius = if single && problem.tells_tension && problem.star.is_ok() {
        given.radius.clone()
    } else {
        Some(of_solver(
            body.shapes[body.shapes.len() - 1].outside.radius(),
            "m",
            1.0 / 3.0,
        ))
    };
    let mut estimates = Vec::new();
    if !single || !problem.tells_tension {
        let (volume, route) = (
            body.shapes[body.shapes.len() - 1].outside.volume,
            "simulated surface",
        );
        let radius = radius.clone().unwrap_or_else(|| Uncertain::exact(f64::NAN));
        estimates.push(finished("equivalent_radius", "m", radius, route.into(), None));
        let volume = of_solver(volume, "m^3", 1.0);
        estimates.push(finished("volume", "m^3", volume, route.into(), None));
    }
    if !problem.tells_tension {
        cautions.push(wording::caution(NO_FREE_DROP.0, NO_FREE_DROP.1, None));
    } else if !ringdown.sure().is_empty() {
        let known = known(given.experiment, &given.materials, radius.clone());
        let properties = properties(&ringdown, &known, &mut cautions);
        estimates.extend(properties.estimates);
        let told = properties.cautions.iter();
        cautions.extend(told.map(|c| wording::caution(c.code, &c.text, None)));
    }
    BodyFound {
        body: body.number,
        series,
        ringdown,
        radius,
        estimates,
        cautions,
    }
}

/// A number of the solver with the share that its volumes may be off by, to a power.
fn of_solver(value: f64, unit: &str, power: f64) -> Uncertain {
    let u = VOLUME_DRIFT * power * value;
    let input = Input {
        key: "volume kept by the solver".into(),
        unit: unit.into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "study".into(),
    };
    Uncertain::of_input(value, u, input)
}

/// The findings of a run.
pub fn findings(given: &Given<'_>, found: &[BodyFound], done: &Run) -> Findings {
    let last = done.samples.last().map_or(0.0, |sample| sample.time);
    let mut findings = Findings::of_clip(ClipSummary {
        frames: done.samples.len() as u64,
        duration: wording::exact(last, "s"),
        sha256: None,
    });
    let materials = Some(&given.materials);
    for body in found {
        let estimates = body.estimates.iter();
        findings.estimates.extend(
            estimates.map(|e| wording::estimate(body.body, e, e.quantity, &source(e.quantity, materials))),
        );
        let modes = body.ringdown.modes.iter();
        findings
            .modes
            .extend(modes.map(|mode| wording::mode(body.body, mode)));
        findings.correlations.extend(correlations(body));
        findings.cautions.extend(body.cautions.iter().map(|c| {
            let mut caution = c.clone();
            if found.len() > 1 {
                caution.text = format!("body {}: {}", body.body, c.text);
            }
            caution
        }));
    }
    findings.events = done
        .checkpoint
        .events
        .iter()
        .map(|told| event(told, done))
        .collect();
    findings
        .cautions
        .extend(given.experiment.cautions.iter().cloned());
    findings.cautions.retain(|c| !OF_CLIPS.contains(&c.code.as_str()));
    findings.cautions.extend(ended_early(done));
    findings
}

fn event(told: &Told, done: &Run) -> Event {
    let after = done.samples.partition_point(|sample| sample.time < told.time);
    let last = done.samples.len().saturating_sub(1);
    Event {
        name: name(told).into(),
        time: wording::exact(told.time, "s"),
        frames: [after.saturating_sub(1) as u64, after.min(last) as u64],
        found_by: "program".into(),
    }
}

fn ended_early(done: &Run) -> Option<Caution> {
    let text = match &done.stop {
        Stop::End => return None,
        stop @ Stop::Cancelled { .. } => format!(
            "the simulation was {stop}; what it had is kept, and simulate --resume with this folder goes on from there"
        ),
        stop => format!("the simulation {stop}; what it had until then is kept"),
    };
    Some(wording::caution("simulation_ended_early", &text, None))
}

/// The facts of the report: what was done, with what, on which assumptions.
pub fn facts(given: &Given<'_>, problem: &Problem, bodies: &[Body], (done, why): (&Run, &str)) -> Vec<Fact> {
    let last = done.samples.last().map_or(0.0, |sample| sample.time);
    let summary = format!(
        "The motion was computed, not filmed: {} instants over {last:.3} s from the experiment file, in {} steps. The solver {}.{}",
        done.samples.len(),
        done.effort.steps,
        done.stop,
        parts(bodies, &done.checkpoint.events, done.samples.len())
    );
    let mut facts = vec![(told::SUMMARY, Row::new("", summary))];
    let rows = problem.rows.iter().cloned();
    facts.extend(rows.map(|row| (told::EXPERIMENT, row)));
    facts.push((told::EXPERIMENT, Row::new("Solved by", why)));
    let assumed = given.assumptions.iter().chain(&problem.assumptions);
    facts.extend(assumed.map(|text| (told::ASSUMPTION, Row::new("", text.clone()))));
    facts
}

/// What became of a body that parted, in words.
fn parts(bodies: &[Body], happened: &[Told], instants: usize) -> String {
    let Some(first) = happened.iter().find(|h| h.kind == Kind::PinchOff) else {
        return String::new();
    };
    let left = bodies
        .iter()
        .filter(|b| b.shapes.last().is_some_and(|s| s.instant + 1 == instants));
    let volumes: Vec<String> = left
        .map(|b| format!("{:.4} mL", 1e6 * b.shapes[b.shapes.len() - 1].outside.volume))
        .collect();
    let joins = match happened.iter().filter(|h| h.kind == Kind::Merger).count() {
        0 => String::new(),
        1 => " Two bodies ran together once.".into(),
        more => format!(" Two bodies ran together {more} times."),
    };
    let end = match &volumes[..] {
        [one] => format!("one body of {one} is left"),
        more => format!("there are {} bodies, from above: {}", more.len(), more.join(", ")),
    };
    format!(
        " It first parted at {:.4} s.{joins} At the end {end}.",
        first.time
    )
}
