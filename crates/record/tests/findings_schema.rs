//! The published schema of findings.json against what the program writes.

mod schema;

use serde_json::{Value, json};
use tremolet_record::findings::{Coverage, Estimate, Findings, Trials};

use schema::misfits;

const SCHEMA: &str = include_str!("../../../docs/findings.schema.json");
const KEPT: &str = include_str!("data/findings-format-1.json");

fn check(value: &Value) -> Vec<String> {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    misfits(&schema, &schema, value, "")
}

#[test]
fn the_kept_findings_fit() {
    assert_eq!(check(&serde_json::from_str(KEPT).unwrap()), Vec::<String>::new());
}

#[test]
fn every_field_that_is_written_is_in_the_schema() {
    let mut findings = Findings::from_json(KEPT).unwrap();
    let full = Estimate {
        method: Some("ringdown".into()),
        explanation: Some("as expected".into()),
        assumptions: vec!["axis in the image plane".into()],
        coverage: Some(Coverage {
            method: "monte_carlo".into(),
            trials: Some(Trials {
                count: 40_000,
                mean: 0.0688,
                standard_deviation: 6e-4,
                interval_95: [0.0675, 0.0701],
                linear_interval_95: [0.0674, 0.07],
                tolerance: 3e-5,
            }),
        }),
        ..findings.estimates[0].clone()
    };
    findings.estimates.push(full);
    let mut endless = findings.clone();
    let trials = endless
        .estimates
        .last_mut()
        .and_then(|e| e.coverage.as_mut()?.trials.as_mut());
    trials.expect("given").linear_interval_95[1] = f64::INFINITY;
    assert!(endless.to_json().is_err());
    findings.modes[0].order = Some(-1);
    findings.modes[0].quality = Some(283.0);
    findings.modes[0].cycles = Some(20.5);
    let written = serde_json::from_str(&findings.to_json().unwrap()).unwrap();
    assert_eq!(check(&written), Vec::<String>::new());
}

#[test]
fn what_does_not_fit_is_found() {
    let good: Value = serde_json::from_str(KEPT).unwrap();
    for (place, wrong) in [
        ("/format", json!(2)),
        ("/clip/frames", json!(-1)),
        ("/clip/sha256", json!("E3")),
        ("/estimates/0/value", json!("0.0687")),
        ("/estimates/0/quantity", json!("Surface tension")),
        ("/estimates/0/interval_95", json!([1.0])),
        ("/estimates/0/degrees_of_freedom", json!("many")),
        ("/correlations/0/value", json!(1.5)),
        ("/modes/0/order", json!(0.5)),
        ("/modes/0/frequency", json!({ "value": 1.0 })),
        ("/cautions/0/frames", json!([0, 1, 2])),
        ("/cautions/0", json!({ "code": "x", "text": "y", "other": 1 })),
    ] {
        let mut bad = good.clone();
        *bad.pointer_mut(place).unwrap() = wrong;
        let found = check(&bad);
        assert!(
            !found.is_empty() && found.iter().all(|text| text.starts_with(place)),
            "{place} {found:?}"
        );
    }
}
