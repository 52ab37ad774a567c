//! The published schema of findings.json against what the program writes. The few keywords of JSON Schema 2020-12 that the
//! schema uses are checked here; a keyword that is not known here fails the test instead of passing unread.

use serde_json::{Value, json};
use tremolet_record::findings::{Coverage, Estimate, Findings, Trials};

const SCHEMA: &str = include_str!("../../../docs/findings.schema.json");
const KEPT: &str = include_str!("data/findings-format-1.json");

/// What in `value` does not fit, with its place.
fn misfits(root: &Value, schema: &Value, value: &Value, place: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (keyword, rule) in schema.as_object().expect("a schema is an object") {
        let fits = match keyword.as_str() {
            "$schema" | "title" | "description" | "$defs" => true,
            "$ref" => {
                let name = rule.as_str().unwrap().strip_prefix("#/$defs/").unwrap();
                found.extend(misfits(root, &root["$defs"][name], value, place));
                true
            }
            "const" => value == rule,
            "type" => match rule {
                Value::Array(kinds) => kinds.iter().any(|kind| is(value, kind)),
                kind => is(value, kind),
            },
            "minimum" => value
                .as_f64()
                .is_none_or(|number| number >= rule.as_f64().unwrap()),
            "maximum" => value
                .as_f64()
                .is_none_or(|number| number <= rule.as_f64().unwrap()),
            "minItems" => value
                .as_array()
                .is_none_or(|items| items.len() as u64 >= rule.as_u64().unwrap()),
            "maxItems" => value
                .as_array()
                .is_none_or(|items| items.len() as u64 <= rule.as_u64().unwrap()),
            "pattern" => value
                .as_str()
                .is_none_or(|text| matches(text, rule.as_str().unwrap())),
            "required" => rule
                .as_array()
                .unwrap()
                .iter()
                .all(|key| value.get(key.as_str().unwrap()).is_some()),
            "items" => {
                for (i, item) in value.as_array().into_iter().flatten().enumerate() {
                    found.extend(misfits(root, rule, item, &format!("{place}/{i}")));
                }
                true
            }
            "properties" => {
                for (key, inner) in rule.as_object().unwrap() {
                    if let Some(item) = value.get(key) {
                        found.extend(misfits(root, inner, item, &format!("{place}/{key}")));
                    }
                }
                true
            }
            "additionalProperties" => {
                assert_eq!(rule, false, "only false is known here");
                let known = &schema["properties"];
                value
                    .as_object()
                    .is_none_or(|object| object.keys().all(|key| known.get(key).is_some()))
            }
            other => panic!("the keyword {other} is not known to this test"),
        };
        if !fits {
            found.push(format!("{place}: {keyword} {rule}"));
        }
    }
    found
}

fn is(value: &Value, kind: &Value) -> bool {
    match kind.as_str().unwrap() {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "null" => value.is_null(),
        other => panic!("the type {other} is not known to this test"),
    }
}

fn matches(text: &str, pattern: &str) -> bool {
    match pattern {
        "^[0-9a-f]{64}$" => text.len() == 64 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')),
        "^[a-z][a-z0-9_]*$" => {
            text.starts_with(|first: char| first.is_ascii_lowercase())
                && text
                    .bytes()
                    .all(|b| matches!(b, b'a'..=b'z' | b'0'..=b'9' | b'_'))
        }
        other => panic!("the pattern {other} is not known to this test"),
    }
}

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
