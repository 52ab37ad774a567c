//! From what inference found to what is recorded: estimates, modes, cautions in the form of findings.json.
//!
//! ```text
//! f = w / (2 pi),     Q = w / (2 g)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w`, `f` | angular frequency, frequency | rad/s, Hz |
//! | `g` | decay rate | 1/s |
//!
//! Changes form, computes no physics.

use std::f64::consts::TAU;

use tremolet_infer::property::routes::Estimate;
use tremolet_infer::ringdown::Mode;
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::findings::{self, BudgetLine, Coverage, Quantity, Reference, Trials};

/// Degrees of freedom from which Student's factor is that of a normal distribution to four digits; recorded as infinite.
const MANY: f64 = 1e4;

/// A value with unit and uncertainty.
pub fn quantity(value: f64, u: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        unit: unit.into(),
        standard_uncertainty: Some(u),
    }
}

/// A value that was chosen, not found.
pub fn exact(value: f64, unit: &str) -> Quantity {
    Quantity {
        value,
        unit: unit.into(),
        standard_uncertainty: None,
    }
}

/// An estimate as it is recorded; `source` says where the reference is from, `method` names how it was found.
pub fn estimate(body: u32, found: &Estimate, method: &str, source: &str) -> findings::Estimate {
    let u = found.value.standard_uncertainty();
    let line = |line: &tremolet_infer::budget::BudgetLine| BudgetLine {
        input: line.input.clone(),
        standard_uncertainty: line.standard_uncertainty.unwrap_or(line.share.sqrt() * u),
        unit: if line.sensitivity.is_some() {
            line.unit.clone()
        } else {
            found.unit.into()
        },
        sensitivity: line.sensitivity.unwrap_or(1.0),
        share: line.share,
    };
    let reference = found
        .reference
        .as_ref()
        .map(|(known, _): &(Uncertain, f64)| Reference {
            value: known.value(),
            standard_uncertainty: Some(known.standard_uncertainty()),
            source: source.into(),
        });
    findings::Estimate {
        quantity: found.quantity.into(),
        body,
        value: found.value.value(),
        unit: found.unit.into(),
        standard_uncertainty: u,
        degrees_of_freedom: Some(found.degrees_of_freedom).filter(|freedom| *freedom < MANY),
        interval_95: found.interval_95,
        coverage: Some(coverage(found)),
        route: found.route.clone(),
        method: Some(method.into()),
        reference,
        normalised_deviation: found
            .reference
            .as_ref()
            .map(|(_, deviation)| *deviation)
            .filter(|d| d.is_finite()),
        budget: found.budget.iter().map(line).collect(),
        assumptions: Vec::new(),
        explanation: None,
    }
}

/// By which method the interval came, and what trials said.
fn coverage(found: &Estimate) -> Coverage {
    let trials = found.trials.map(|trials| Trials {
        count: trials.count as u64,
        mean: trials.mean,
        standard_deviation: trials.standard_deviation,
        interval_95: trials.interval_95,
        linear_interval_95: found.linear_interval_95(),
        tolerance: trials.tolerance,
    });
    let method = if found.is_of_trials() {
        "monte_carlo"
    } else {
        "welch_satterthwaite"
    };
    Coverage {
        method: method.into(),
        trials,
    }
}

/// A mode as it is recorded. One view cannot tell the order, so it is left open.
pub fn mode(body: u32, mode: &Mode) -> findings::Mode {
    let quality = mode.angular_frequency / (2.0 * mode.decay_rate);
    findings::Mode {
        body,
        degree: mode.degree,
        order: None,
        frequency: quantity(mode.angular_frequency / TAU, mode.u_angular_frequency / TAU, "Hz"),
        decay_rate: quantity(mode.decay_rate, mode.u_decay_rate, "1/s"),
        amplitude: quantity(mode.amplitude, mode.u_amplitude, "1"),
        quality: Some(quality).filter(|q| q.is_finite() && *q > 0.0),
        cycles: Some(mode.cycles).filter(|cycles| cycles.is_finite()),
    }
}

/// A caution as it is recorded.
pub fn caution(code: &str, text: &str, frames: Option<(u64, u64)>) -> findings::Caution {
    findings::Caution {
        code: code.into(),
        text: text.into(),
        frames: frames.map(|(first, last)| [first, last]),
    }
}
