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
    // Beyond a thousand the interval is that of a normal distribution, and the count says nothing more.
    let freedom = estimate.degrees_of_freedom.filter(|n| *n < 1000.0);
    let freedom = freedom.map_or_else(String::new, |n| {
        format!(" ({} effective degrees of freedom)", fixed(n, 0))
    });
    format!(
        "{}{whose} {}, standard uncertainty {}, 95\u{a0}% interval {ends}{freedom}.",
        words(&estimate.quantity),
        number.value_text(),
        number.u_text()
    )
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
