//! A quantity: what is read can be printed, and what is printed reads back as the same value within a twentieth of its
//! uncertainty (two digits of which are printed).

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::quantity::parse::{Stated, parse};
use tremolet_matter::quantity::print::print;

/// Reads `text` as every dimension, prints what was read and reads that.
pub fn read(text: &str) {
    for dimension in Dimension::all() {
        match parse(text, dimension) {
            Ok(stated) => there_and_back(&stated, dimension),
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
}

fn there_and_back(stated: &Stated, dimension: Dimension) {
    assert!(stated.value.is_finite(), "{stated:?}");
    assert!(
        stated
            .standard_uncertainty
            .is_none_or(|u| u.is_finite() && u >= 0.0),
        "{stated:?}"
    );
    // A value that only just fits can be too large for a double in its own unit.
    let largest = stated.value.abs().max(stated.standard_uncertainty.unwrap_or(0.0));
    if largest / stated.scale > 1e300 || largest > 1e300 {
        return;
    }
    let printed = print(stated.value, stated.standard_uncertainty, &stated.unit, dimension)
        .unwrap_or_else(|error| panic!("{stated:?} is not printed: {error}"));
    let back = parse(&printed, dimension).unwrap_or_else(|error| panic!("{stated:?} -> {printed}: {error}"));
    let u = stated.standard_uncertainty.unwrap_or(0.0);
    let offset = if dimension == Dimension::Temperature {
        300.0
    } else {
        0.0
    };
    let rounding = 1e-14 * (stated.value.abs() + offset) + f64::MIN_POSITIVE * stated.scale.max(1.0);
    let off = (back.value - stated.value).abs();
    assert!(
        off <= 0.0501 * u + rounding,
        "{stated:?} -> {printed} -> {back:?}"
    );
    let off = (back.standard_uncertainty.unwrap_or(0.0) - u).abs();
    assert!(
        off <= 0.0501 * u + rounding,
        "{stated:?} -> {printed} -> {back:?}"
    );
}
