//! Checks a value against a schema of `docs/`. The few keywords of JSON Schema 2020-12 that those use are known here; another one fails the test
//! instead of passing unread.

use serde_json::Value;

/// What in `value` does not fit, with its place.
pub fn misfits(root: &Value, schema: &Value, value: &Value, place: &str) -> Vec<String> {
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
            "enum" => rule.as_array().unwrap().contains(value),
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
        "boolean" => value.is_boolean(),
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
