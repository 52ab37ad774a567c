//! What a fit says: estimates, cautions and tables.

use std::f64::consts::TAU;

use tremolet_infer::fit::problem::SECTORS;
use tremolet_infer::fit::result::Fitted;
use tremolet_infer::property::routes::{Estimate, finished};
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::findings::{Caution, Correlation, Findings};
use tremolet_record::table::Table;

use crate::fit::given::{Given, HIGHEST};
use crate::measure::source;
use crate::tables::column::{integer, real, text};
use crate::wording::{self, caution};

/// Key of the method, as recorded.
pub const METHOD: &str = "fit";
/// How a value was found.
pub const ROUTE: &str = "simulation fitted to the outlines";
/// More than this over the stated variance is not noise.
const TOO_MUCH: f64 = 2.0;
/// Free decay and fit that differ by more standard uncertainties of their difference do not agree.
const APART: f64 = 2.0;

/// Adds what was found; what an earlier fit added is taken out.
pub fn into(findings: &mut Findings, given: &Given, fitted: &Fitted) {
    findings.estimates.retain(|e| e.route != ROUTE);
    findings.cautions.retain(|c| !c.code.starts_with("fit_"));
    let estimates = estimates(given, fitted);
    findings.cautions.extend(cautions(findings, &estimates, fitted));
    let materials = Some(&given.materials);
    let recorded = estimates
        .iter()
        .map(|e| wording::estimate(1, e, METHOD, &source(e.quantity, materials)));
    findings.estimates.extend(recorded);
    if fitted.tells_viscosity() {
        findings.correlations.push(Correlation {
            between: ["surface_tension (fit)".into(), "kinematic_viscosity (fit)".into()],
            value: fitted.correlation(),
        });
    }
}

fn estimates(given: &Given, fitted: &Fitted) -> Vec<Estimate> {
    let found = |(value, relative): (f64, f64), unit: &str| of_fit(value, value * relative, unit);
    let (density, scale) = (&given.known.density, &given.scale);
    let tension = found(fitted.tension(), "px^3/s^2");
    let tension = Uncertain::propagate(&[&tension, density, scale], |x| x[0] * x[1] * x[2].powi(3));
    let reference = given.known.reference_tension.as_ref();
    let mut all = vec![finished(
        "surface_tension",
        "N/m",
        tension,
        ROUTE.into(),
        reference,
    )];
    if fitted.tells_viscosity() {
        let viscosity = found(fitted.viscosity(), "px^2/s");
        let viscosity = Uncertain::propagate(&[&viscosity, scale], |x| x[0] * x[1].powi(2));
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

/// A number that the fit gave, with its standard uncertainty.
fn of_fit(value: f64, u: f64, unit: &str) -> Uncertain {
    let input = Input {
        key: "outlines, by the fit".into(),
        unit: unit.into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "study".into(),
    };
    Uncertain::of_input(value, u, input)
}

fn cautions(findings: &Findings, estimates: &[Estimate], fitted: &Fitted) -> Vec<Caution> {
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
    if !fitted.tells_viscosity() {
        let text = format!(
            "the fit does not determine the viscosity: its standard uncertainty is {:.0} %",
            100.0 * fitted.viscosity().1
        );
        all.push(caution("fit_viscosity_not_determined", &text, None));
    }
    if !fitted.converged {
        let text = "the search for the best fit ran out of steps; what it has is given";
        all.push(caution("fit_not_converged", text, None));
    }
    for estimate in estimates {
        let free = findings
            .estimates
            .iter()
            .find(|e| e.body == 1 && e.quantity == estimate.quantity);
        if let Some(free) = free {
            let (value, u) = (estimate.value.value(), estimate.value.standard_uncertainty());
            // Scale and density are common to both: what is not is the smaller of the two at least.
            let spread = (free.standard_uncertainty.powi(2) - u * u)
                .abs()
                .sqrt()
                .max(u.min(free.standard_uncertainty));
            let apart = (value - free.value) / spread;
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

/// Frame by frame, round the outline, and the unknowns.
pub fn tables(given: &Given, fitted: &Fitted) -> [Table; 3] {
    [frames(fitted), residuals(given, fitted), unknowns(fitted)]
}

fn frames(fitted: &Fitted) -> Table {
    let rows = &fitted.by_frame;
    let frame = rows
        .iter()
        .map(|r| i64::try_from(r.0).unwrap_or(i64::MAX))
        .collect();
    let mut columns = vec![
        integer("frame", "frame of the clip, from 0", frame),
        real("time", "s", "real time", rows.iter().map(|r| r.1).collect()),
        real(
            "left",
            "px",
            "root mean square distance of the outline from the fitted silhouette",
            rows.iter().map(|r| r.2).collect(),
        ),
    ];
    for n in 2..=8_usize {
        let values = fitted
            .shapes
            .iter()
            .map(|s| s.get(n).copied().unwrap_or(0.0))
            .collect();
        columns.push(real(
            &format!("a_{n}"),
            "1",
            "amplitude of the fitted body about its centre of mass",
            values,
        ));
    }
    Table {
        name: "fit".into(),
        description: "The fitted motion in the frames that were used.".into(),
        columns,
    }
}

fn residuals(given: &Given, fitted: &Fitted) -> Table {
    let angle = (0..SECTORS)
        .map(|k| TAU * (k as f64 + 0.5) / SECTORS as f64)
        .collect();
    let metre = given.scale.value();
    Table {
        name: "fit-residuals".into(),
        description: "What the fit leaves round the outline, over all frames used.".into(),
        columns: vec![
            real(
                "angle",
                "rad",
                "from the upper end of the axis, rightwards",
                angle,
            ),
            real(
                "left_px",
                "px",
                "root mean square distance from the fitted silhouette",
                fitted.by_sector.clone(),
            ),
            real(
                "left",
                "m",
                "the same",
                fitted.by_sector.iter().map(|px| px * metre).collect(),
            ),
        ],
    }
}

fn unknowns(fitted: &Fitted) -> Table {
    let general = [
        "ln t0 (t0 in s)",
        "ln Oh",
        "radius, px",
        "axis in the picture, rad",
        "sin^2 of the tilt",
    ];
    let mut names: Vec<String> = general.iter().map(ToString::to_string).collect();
    for kind in ["a", "v"] {
        names.extend((2..=HIGHEST).map(|n| format!("{kind}_{n}")));
    }
    let list = fitted.at.list();
    names.truncate(list.len());
    let u = (0..list.len()).map(|place| fitted.u(place)).collect();
    Table {
        name: "fit-unknowns".into(),
        description: "The unknowns of the fit: amplitudes a and rates v (over t0) at the first free frame."
            .into(),
        columns: vec![
            text("unknown", "what", names),
            real("value", "1", "value, in the unit of its name", list),
            real("u", "1", "standard uncertainty", u),
        ],
    }
}
