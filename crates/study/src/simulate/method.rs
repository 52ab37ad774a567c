//! Which solver, how finely; the solver at its start.
//!
//! Star-shaped bodies go to the modal solver, all else to the boundary solver; a start shape that the modal solver cannot hold goes to the other one too. What
//! `[simulation]` states goes before: a solver by its name, or by a fineness that only one of them has.

use tremolet_plan::given::Given;
use tremolet_record::experiment::simulation::{Simulation, SolverName};
use tremolet_record::provenance::Provenance;
use tremolet_simulate::liquid::InputError;
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::resolution::Resolution;
use tremolet_simulate::potential::boundary::setup::{Filling, Piece};
use tremolet_simulate::potential::modal::{Modal, Settings};
use tremolet_simulate::solver::Solver;
use tremolet_simulate::start::Start;

use crate::error::StudyError;
use crate::simulate::problem::{Problem, Refusal, fault};

/// Error of a step of either solver, and of a start shape, as shares of the radius.
const MODAL_STEP: f64 = 1e-8;
const BOUNDARY_STEP: f64 = 1e-7;
const SHAPE_ERROR: f64 = 1e-3;
/// Steps of a meridian of a star-shaped body.
const MERIDIAN: usize = 120;
/// Thinnest neck that is followed, over the radius.
const THINNEST: f64 = 5e-3;

/// A solver at its start.
pub enum Method {
    /// Star-shaped bodies by their harmonics.
    Modal(Box<Modal>, Settings),
    /// Any shape by its surface.
    Boundary(Box<Boundary>, Resolution),
}

impl Method {
    /// The solver.
    pub fn solver(&mut self) -> &mut dyn Solver {
        match self {
            Self::Modal(solver, _) => solver.as_mut(),
            Self::Boundary(solver, _) => solver.as_mut(),
        }
    }

    /// Whether it knows star-shaped bodies only.
    pub fn is_modal(&self) -> bool {
        matches!(self, Self::Modal(..))
    }

    /// Tells how finely it works.
    pub fn told(&self, provenance: &mut Provenance) {
        match self {
            Self::Modal(_, settings) => {
                provenance.set("highest_degree", settings.highest);
                provenance.set("step_error", settings.step_error);
            }
            Self::Boundary(_, resolution) => {
                provenance.set("elements", resolution.elements);
                provenance.set("step_error", resolution.tolerance);
                provenance.set("thinnest_neck", resolution.finest);
            }
        }
    }
}

/// A solver, and why it and no other.
pub struct Chosen {
    /// The solver.
    pub method: Method,
    /// Why.
    pub why: String,
    /// Whether another may take its place.
    pub is_free: bool,
}

/// Chooses a solver and sets it up.
///
/// # Errors
/// When what is asked contradicts itself, or the solver refuses body or fineness.
pub fn choose(given: &Given<'_>, problem: &Problem) -> Result<Chosen, StudyError> {
    let asked = given.experiment.simulation.clone().unwrap_or_default();
    let chosen = |method, why: &str, is_free| Chosen {
        method,
        why: why.into(),
        is_free,
    };
    match (named(given, &asked)?, &problem.star) {
        (Some(SolverName::Boundary), _) => {
            let method = boundary(problem, &asked)?;
            Ok(chosen(method, "the boundary solver, as asked", false))
        }
        (Some(SolverName::Modal), star) => {
            let method = modal(problem, &of_star(given, star)?, &asked)?;
            Ok(chosen(method, "the modal solver, as asked", false))
        }
        (None, Ok(star)) => match modal(problem, star, &asked) {
            Ok(method) => Ok(chosen(method, "the modal solver: the body is star-shaped", true)),
            Err(why @ InputError::Resolution { .. }) => {
                let method = boundary(problem, &asked)?;
                Ok(chosen(
                    method,
                    &format!("the boundary solver: for the modal one, {why}"),
                    false,
                ))
            }
            Err(why) => Err(why.into()),
        },
        (None, Err(Refusal::Kind(why))) => {
            let method = boundary(problem, &asked)?;
            Ok(chosen(method, &format!("the boundary solver: {why}"), false))
        }
        (None, Err(Refusal::Shape(why))) => {
            let method = boundary(problem, &asked)?;
            Ok(chosen(
                method,
                &format!("the boundary solver: for the modal one, {why}"),
                false,
            ))
        }
    }
}

/// The boundary solver in place of a modal one that its shape has left.
///
/// # Errors
/// When the solver refuses body or fineness.
pub fn instead(given: &Given<'_>, problem: &Problem) -> Result<Method, StudyError> {
    let asked = given.experiment.simulation.clone().unwrap_or_default();
    Ok(boundary(problem, &asked)?)
}

/// The solver that is asked for by name or by a fineness of its own.
fn named(given: &Given<'_>, asked: &Simulation) -> Result<Option<SolverName>, StudyError> {
    let (of_modal, of_boundary) = (
        asked.highest_degree.is_some(),
        asked.elements.is_some() || asked.thinnest_neck.is_some(),
    );
    let wrong = match asked.solver {
        Some(SolverName::Modal) => of_boundary,
        Some(SolverName::Boundary) => of_modal,
        None => of_modal && of_boundary,
    };
    if wrong {
        let due = "highest_degree with the modal solver, elements and thinnest_neck with the boundary solver";
        return Err(fault(given, "simulation", "a fineness of another solver", due));
    }
    let by_fineness = match (of_modal, of_boundary) {
        (true, _) => Some(SolverName::Modal),
        (_, true) => Some(SolverName::Boundary),
        _ => None,
    };
    Ok(asked.solver.or(by_fineness))
}

fn of_star(given: &Given<'_>, star: &Result<Start, Refusal>) -> Result<Start, StudyError> {
    match star {
        Ok(star) => Ok(star.clone()),
        Err(Refusal::Shape(why)) => Err(why.clone().into()),
        Err(Refusal::Kind(why)) => {
            let due = format!("\"boundary\": {why}");
            Err(fault(given, "simulation.solver", "\"modal\"", &due))
        }
    }
}

fn modal(problem: &Problem, star: &Start, asked: &Simulation) -> Result<Method, InputError> {
    let step_error = asked.step_error.as_ref().map_or(MODAL_STEP, |x| x.value());
    let at = |highest: u64| {
        let settings = Settings {
            highest: usize::try_from(highest).unwrap_or(usize::MAX),
            step_error,
            shape_error: SHAPE_ERROR,
            meridian: MERIDIAN,
        };
        let made = Modal::new(
            &problem.liquid,
            Some(&problem.gas),
            star,
            &problem.drivers,
            settings,
        );
        made.map(|solver| Method::Modal(Box::new(solver), settings))
    };
    if let Some(highest) = asked.highest_degree {
        return at(highest);
    }
    let [first, more @ ..] = problem.degrees else {
        return at(Settings::default().highest as u64);
    };
    more.iter().fold(at(*first), |best, highest| match best {
        Err(InputError::Resolution { .. }) => at(*highest),
        other => other,
    })
}

fn boundary(problem: &Problem, asked: &Simulation) -> Result<Method, InputError> {
    let [enough, too_few] = problem.elements;
    let elements = asked.elements.unwrap_or(enough);
    if elements <= too_few {
        return Err(InputError::Resolution {
            what: "elements on half a turn of a ball of all liquid",
            found: elements as f64,
            expected: format!("more than {too_few}, so that the thinnest part of the body has some"),
            advice: "leave it out to get enough",
        });
    }
    let resolution = Resolution {
        elements: usize::try_from(elements).unwrap_or(usize::MAX),
        tolerance: asked.step_error.as_ref().map_or(BOUNDARY_STEP, |x| x.value()),
        finest: asked.thinnest_neck.as_ref().map_or(THINNEST, |x| x.value()),
    };
    let piece = Piece {
        bubble: problem.bubble.clone(),
        ..Piece::alone(problem.any.clone())
    };
    let made = Boundary::new(
        &problem.liquid,
        &[piece],
        Filling::Stiff,
        &problem.drivers,
        resolution,
    );
    let made = made.and_then(|solver| {
        // The gas is known around one body that stays one.
        if problem.star_like() {
            solver.with_gas(&problem.gas)
        } else {
            Ok(solver)
        }
    });
    made.map(|solver| Method::Boundary(Box::new(solver), resolution))
}
