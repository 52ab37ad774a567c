//! Large swings computed by a solver that shares no flow code with the fit, then filmed, measured and fitted: what the model of the fit costs.

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::cases::fit::{By, Fitted, one_run, rows};
use crate::ledger::Ledger;

/// See the module.
pub const CASE: Case = Case {
    name: "fit_apart",
    question: "The fit of clips that another solver computed",
    method: "As the case `fit`, but the motion is computed by boundary integrals with their own account of the vortical layer, in a vacuum, and shares no flow code with the \
             solver that is fitted. Where the two accounts of viscosity differ at large swings, the difference is in the error of the viscosity; the budget has a part for it.",
    version: 1,
    run,
};

fn run(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    let runs = bench.pick(1, 24);
    let mut ledger = Ledger::open(bench, &CASE, "runs")?;
    ledger.fill(bench, runs, &mut |run| one_run(bench, run, By::Boundary))?;
    let all: Vec<&Fitted> = ledger.done(runs).collect();
    let clip = format!("{} runs", all.len());
    rows(&mut outcome, &clip, "surface tension", (0.3, false), &all, |f| {
        f.tension.as_ref()
    });
    rows(
        &mut outcome,
        &clip,
        "kinematic viscosity",
        (5.0, false),
        &all,
        |f| f.viscosity.as_ref(),
    );
    Ok(outcome)
}
