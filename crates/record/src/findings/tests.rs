use crate::findings::{Findings, FindingsError};

/// A file written once and never changed: it must keep loading.
const KEPT: &str = include_str!("../../tests/data/findings-format-1.json");

#[test]
fn the_kept_file_loads_and_goes_round() {
    let findings = Findings::from_json(KEPT).unwrap();
    assert_eq!(findings.estimates[0].value, 0.0687);
    assert_eq!(findings.estimates[1].degrees_of_freedom, None);
    assert_eq!(findings.modes[0].order, None);
    assert_eq!(findings.cautions[0].frames, Some([0, 1]));
    assert_eq!(
        Findings::from_json(&findings.to_json().unwrap()).unwrap(),
        findings
    );
}

#[test]
fn a_newer_format_is_refused_by_its_number() {
    let error = Findings::from_json(r#"{"format": 2, "anything": []}"#).unwrap_err();
    assert!(matches!(error, FindingsError::Newer { found: 2 }));
    assert!(error.to_string().contains("newer version"));
}

#[test]
fn no_format_and_no_json_are_refused() {
    assert!(matches!(
        Findings::from_json("{}").unwrap_err(),
        FindingsError::NoFormat
    ));
    assert!(matches!(
        Findings::from_json(r#"{"format": 0}"#).unwrap_err(),
        FindingsError::NoFormat
    ));
    assert!(matches!(
        Findings::from_json("{\"format\": 1").unwrap_err(),
        FindingsError::Json(_)
    ));
}

#[test]
fn what_is_not_finite_is_not_written() {
    let good = Findings::from_json(KEPT).unwrap();
    let mut bad = good.clone();
    bad.estimates[0].budget[0].share = f64::NAN;
    assert!(bad.to_json().unwrap_err().to_string().contains("surface_tension"));
    let mut bad = good.clone();
    bad.modes[0].decay_rate.standard_uncertainty = Some(f64::INFINITY);
    assert!(
        bad.to_json()
            .unwrap_err()
            .to_string()
            .contains("decay rate of mode 2")
    );
    let mut bad = good;
    bad.estimates[1].degrees_of_freedom = Some(f64::INFINITY);
    assert!(bad.to_json().is_err());
}
