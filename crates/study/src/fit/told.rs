//! What a fit says in the findings: estimates and cautions.

use tremolet_infer::fit::followed::Followed;
use tremolet_infer::fit::result::Fitted;
use tremolet_infer::property::routes::{Estimate, finished};
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::findings::{Caution, Correlation, Findings};

use crate::error::StudyError;
use crate::fit::given::Given;
use crate::measure::source;
use crate::wording::{self, caution};

/// Key of the method, as recorded.
pub const METHOD: &str = "fit";
/// How a value was found.
pub const ROUTE: &str = "simulation fitted to the outlines";
/// More than this over the stated variance is not noise.
const TOO_MUCH: f64 = 2.0;
/// Free decay and fit that differ by more standard uncertainties of their difference do not agree.
const APART: f64 = 2.0;

/// A fitted body.
pub struct Body {
    /// Its number.
    pub number: u32,
    /// What the fit was given.
    pub given: Given,
    /// What it found.
    pub fitted: Fitted,
    /// The fitted body in every free frame.
    pub followed: Vec<Followed>,
}

/// A body that could not be fitted, and why.
pub type Trouble = (u32, StudyError);

/// Adds what was found; what an earlier fit added is taken out.
pub fn into(findings: &mut Findings, bodies: &[Body], troubles: &[Trouble]) {
    findings.estimates.retain(|e| e.route != ROUTE);
    findings.cautions.retain(|c| !c.code.starts_with("fit_"));
    findings
        .correlations
        .retain(|c| !c.between.iter().any(|name| name.contains(OF_FIT)));
    let several = bodies.len() + troubles.len() > 1;
    for body in bodies {
        add(findings, body, several);
    }
    for (number, why) in troubles {
        let text = format!("body {number} was not fitted: {why}");
        findings.cautions.push(caution("fit_refused", &text, None));
    }
}

/// What marks the names of fitted quantities among correlations.
const OF_FIT: &str = " (fit";

fn add(findings: &mut Findings, body: &Body, several: bool) {
    let (given, fitted) = (&body.given, &body.fitted);
    let estimates = estimates(given, fitted);
    let mut said = cautions(findings, body.number, &estimates, fitted);
    if several {
        for caution in &mut said {
            caution.text = format!("body {}: {}", body.number, caution.text);
        }
    }
    findings.cautions.extend(said);
    let materials = Some(&given.materials);
    let recorded = estimates
        .iter()
        .map(|e| wording::estimate(body.number, e, METHOD, &source(e.quantity, materials)));
    findings.estimates.extend(recorded);
    if fitted.tells_tension() && fitted.tells_viscosity() {
        let whose = if several {
            format!("{OF_FIT}, body {})", body.number)
        } else {
            format!("{OF_FIT})")
        };
        findings.correlations.push(Correlation {
            between: ["surface_tension", "kinematic_viscosity"].map(|name| format!("{name}{whose}")),
            value: fitted.correlation(),
        });
    }
}

fn estimates(given: &Given, fitted: &Fitted) -> Vec<Estimate> {
    let found = |(value, relative): (f64, f64), unit: &str| of_fit(value, value * relative, unit);
    let (density, scale) = (&given.known.density, &given.scale);
    let swing: f64 = fitted.at.shape.iter().map(|a| a * a).sum();
    let tension = found(fitted.tension(), "px^3/s^2");
    let layer = of_layer(TENSION_BY_LAYER * swing);
    let tension = Uncertain::propagate(&[&tension, density, scale, &layer], |x| {
        x[0] * x[1] * x[2].powi(3) * x[3]
    });
    let reference = given.known.reference_tension.as_ref();
    let mut all = Vec::new();
    if fitted.tells_tension() {
        all.push(finished(
            "surface_tension",
            "N/m",
            tension,
            ROUTE.into(),
            reference,
        ));
    }
    if fitted.tells_viscosity() {
        let viscosity = found(fitted.viscosity(), "px^2/s");
        let layer = of_layer(VISCOSITY_BY_LAYER * swing);
        let viscosity = Uncertain::propagate(&[&viscosity, scale, &layer], |x| x[0] * x[1].powi(2) * x[2]);
        let reference = given.known.reference_viscosity.as_ref();
        all.push(finished(
            "kinematic_viscosity",
            "m^2/s",
            viscosity,
            ROUTE.into(),
            reference,
        ));
    }
    if let Some((tilt, u)) = fitted.tilt() {
        all.push(finished(
            "axis_tilt",
            "rad",
            of_fit(tilt, u, "rad"),
            ROUTE.into(),
            None,
        ));
    }
    all
}

/// What the theory of the layer leaves open, as a budget names it: one error for all runs.
pub const LAYER: &str = "vortical layer at large swings (formula)";
/// Relative standard uncertainty that it gives surface tension and viscosity, over the sum of the squares of the amplitudes at the start: what two accounts of
/// that layer, both true to the first order in the swing, differ by. Values of the case `fit_apart` of the validation; no published source.
const TENSION_BY_LAYER: f64 = 0.002;
const VISCOSITY_BY_LAYER: f64 = 0.06;

/// A factor of one with that doubt.
fn of_layer(relative: f64) -> Uncertain {
    let input = Input {
        key: LAYER.into(),
        unit: "1".into(),
        standard_uncertainty: relative,
        degrees_of_freedom: f64::INFINITY,
        source: "two accounts of the layer beside each other".into(),
    };
    Uncertain::of_input(1.0, relative, input)
}

/// A number that the fit gave, with its standard uncertainty.
fn of_fit(value: f64, u: f64, unit: &str) -> Uncertain {
    let input = Input {
        key: "outlines (fit)".into(),
        unit: unit.into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "study".into(),
    };
    Uncertain::of_input(value, u, input)
}

fn cautions(findings: &Findings, body: u32, estimates: &[Estimate], fitted: &Fitted) -> Vec<Caution> {
    let mut all = Vec::new();
    if fitted.chi_square > TOO_MUCH {
        let text = format!(
            "the fitted motion leaves {:.1} times the variance that the outlines state ({:.3} % of their swing): uncertainties were enlarged by {:.1}; \
             a body that is not one of revolution, a support, or a swing beyond the model leave more than noise",
            fitted.chi_square,
            100.0 * (1.0 - fitted.explained),
            fitted.chi_square.sqrt()
        );
        all.push(caution("fit_leaves_more_than_noise", &text, None));
    }
    let told = [
        (
            fitted.tells_tension(),
            "surface tension",
            fitted.tension().1,
            "fit_surface_tension_not_determined",
        ),
        (
            fitted.tells_viscosity(),
            "viscosity",
            fitted.viscosity().1,
            "fit_viscosity_not_determined",
        ),
    ];
    for (_, what, u, code) in told.into_iter().filter(|(told, ..)| !told) {
        let text = format!(
            "the fit does not determine the {what}: its standard uncertainty is {:.0} %",
            100.0 * u
        );
        all.push(caution(code, &text, None));
    }
    if !fitted.converged {
        let text = "the search for the best fit ran out of steps; what it has is given";
        all.push(caution("fit_not_converged", text, None));
    }
    for estimate in estimates {
        let free = findings
            .estimates
            .iter()
            .find(|e| e.body == body && e.quantity == estimate.quantity && e.route != ROUTE);
        if let Some(free) = free {
            let (value, u) = (estimate.value.value(), estimate.value.standard_uncertainty());
            let apart = (value - free.value) / spread(free.standard_uncertainty, u);
            if apart.abs() > APART {
                let text = format!(
                    "{} by free decay is {:.4e}, by the fit {value:.4e} {}: they differ by {:.1} standard uncertainties; at large swings believe the fit",
                    estimate.quantity.replace('_', " "),
                    free.value,
                    estimate.unit,
                    apart.abs()
                );
                all.push(caution("fit_and_free_decay_differ", &text, None));
            }
        }
    }
    all
}

/// Standard uncertainty of the difference of two estimates of one quantity that share scale and density: what is not common is at least the
/// smaller of the two.
#[must_use]
pub fn spread(one: f64, other: f64) -> f64 {
    (one * one - other * other).abs().sqrt().max(one.min(other))
}
