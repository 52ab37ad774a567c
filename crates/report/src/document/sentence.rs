//! Findings as sentences with numbers: what was found, how sure, by which way, whether it agrees.
//!
//! Agreement is the usual one of a normalised deviation, \|d\| <= 2 (about 95 %), \[JCGM100\]; d itself is recorded, not
//! computed here. Plain text, unescaped.

use tremolet_record::findings::Estimate;

use crate::number::{fixed, interval, shown};
use crate::text::words;

/// Normalised deviation up to which two values agree.
pub const AGREES: f64 = 2.0;

/// The sentences about one estimate.
pub fn about(estimate: &Estimate, several: bool) -> String {
    let mut said = vec![
        value(estimate, several),
        format!("Found by: {}.", trimmed(&estimate.route)),
    ];
    said.extend(reference(estimate));
    said.extend(
        estimate
            .explanation
            .as_ref()
            .map(|text| format!("{}.", trimmed(text))),
    );
    said.join(" ")
}

/// A sentence without its full stop, so that one can be set.
fn trimmed(text: &str) -> &str {
    text.trim().trim_end_matches('.')
}

fn value(estimate: &Estimate, several: bool) -> String {
    let number = shown(
        estimate.value,
        Some(estimate.standard_uncertainty),
        &estimate.unit,
    );
    let [low, high] = estimate.interval_95;
    let ends = interval(low, high, estimate.standard_uncertainty, &estimate.unit);
    let whose = if several {
        format!(" of body {}", estimate.body)
    } else {
        String::new()
    };
    let how = how(estimate);
    format!(
        "{}{whose} {}, standard uncertainty {}, 95\u{a0}% interval {ends}{how}.",
        words(&estimate.quantity),
        number.value_text(),
        number.u_text()
    )
}

/// By which method the interval came.
fn how(estimate: &Estimate) -> String {
    let trials = estimate
        .coverage
        .as_ref()
        .and_then(|coverage| coverage.trials.as_ref());
    let by_trials = estimate
        .coverage
        .as_ref()
        .is_some_and(|coverage| coverage.method == "monte_carlo");
    if let (true, Some(trials)) = (by_trials, trials) {
        let [low, high] = trials.linear_interval_95;
        let linear = interval(low, high, estimate.standard_uncertainty, &estimate.unit);
        return format!(
            " by Monte Carlo ({} trials of the full model; linear propagation would give {linear}, which is not good enough here)",
            trials.count
        );
    }
    // Beyond a thousand the interval is that of a normal distribution, and the count says nothing more.
    let freedom = estimate.degrees_of_freedom.filter(|n| *n < 1000.0);
    let by = estimate
        .coverage
        .as_ref()
        .map_or("", |_| " by Welch and Satterthwaite");
    let freedom = freedom.map(|n| format!("{} effective degrees of freedom{by}", fixed(n, 0)));
    let confirmed = trials.map(|trials| format!("confirmed by {} trials", trials.count));
    let parts: Vec<String> = freedom.into_iter().chain(confirmed).collect();
    if parts.is_empty() {
        return String::new();
    }
    format!(" ({})", parts.join("; "))
}

fn reference(estimate: &Estimate) -> Option<String> {
    let reference = estimate.reference.as_ref()?;
    let number = shown(reference.value, reference.standard_uncertainty, &estimate.unit).text();
    let from = trimmed(&reference.source);
    Some(match estimate.normalised_deviation {
        Some(d) if d.abs() <= AGREES => {
            format!(
                "Agrees with the reference, {number} ({from}): normalised deviation {}.",
                fixed(d, 1)
            )
        }
        Some(d) => format!(
            "Does not agree with the reference, {number} ({from}): normalised deviation {}, beyond {}.",
            fixed(d, 1),
            fixed(AGREES, 0)
        ),
        None => format!("Reference: {number} ({from})."),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_record::findings::{Coverage, Trials};

    fn estimate(method: &str, count: u64) -> Estimate {
        Estimate {
            quantity: "surface_tension".into(),
            body: 1,
            value: 0.069,
            unit: "N/m".into(),
            standard_uncertainty: 0.0207,
            degrees_of_freedom: Some(40.0),
            interval_95: [0.0358, 0.118],
            coverage: Some(Coverage {
                method: method.into(),
                trials: Some(Trials {
                    count,
                    mean: 0.071,
                    standard_deviation: 0.021,
                    interval_95: [0.0358, 0.118],
                    linear_interval_95: [0.0284, 0.1096],
                    tolerance: 1e-3,
                }),
            }),
            route: "mode 2".into(),
            method: None,
            reference: None,
            normalised_deviation: None,
            budget: Vec::new(),
            assumptions: Vec::new(),
            explanation: None,
        }
    }

    #[test]
    fn the_method_of_the_interval_is_said() {
        let by_trials = about(&estimate("monte_carlo", 310_000), false).replace('\u{a0}', " ");
        assert!(
            by_trials.contains("interval 36 to 118 mN/m by Monte Carlo (310000 trials"),
            "{by_trials}"
        );
        assert!(by_trials.contains("28 to 110 mN/m") && !by_trials.contains("Welch"));
        let linear = about(&estimate("welch_satterthwaite", 40_000), false).replace('\u{a0}', " ");
        let due = "(40 effective degrees of freedom by Welch and Satterthwaite; confirmed by 40000 trials)";
        assert!(linear.contains(due), "{linear}");
    }
}
