use super::*;
use crate::quantity::print::print;
use Dimension as D;
use proptest::prelude::*;

#[test]
fn the_forms_that_files_use() {
    // text, dimension, value, standard uncertainty (SI); by hand from the definitions of the units
    let rows = [
        ("24 mm", D::Length, 0.024, None),
        ("24 +- 0.5 mm", D::Length, 0.024, Some(0.0005)),
        ("24 ± 0.5 mm", D::Length, 0.024, Some(0.0005)),
        ("24 mm +- 500 um", D::Length, 0.024, Some(0.0005)),
        ("24 mm +- 2 %", D::Length, 0.024, Some(0.00048)),
        ("24 +- 0.5 mm (k=2)", D::Length, 0.024, Some(0.00025)),
        (
            "24 +- 0.5 mm (limits)",
            D::Length,
            0.024,
            Some(0.0005 / 3.0_f64.sqrt()),
        ),
        ("0.40 +- 0.005", D::Fraction, 0.4, Some(0.005)),
        ("40 %", D::Fraction, 0.4, None),
        ("40 % +- 2 %", D::Fraction, 0.4, Some(0.02)),
        ("84 kPa", D::Pressure, 84e3, None),
        ("1 bar", D::Pressure, 1e5, None),
        ("1 atm", D::Pressure, 101_325.0, None),
        ("22 +- 0.5 degC", D::Temperature, 295.15, Some(0.5)),
        ("295.15 K", D::Temperature, 295.15, None),
        ("0.5 degC", D::TemperatureDifference, 0.5, None),
        ("1.2 mPa s", D::DynamicViscosity, 1.2e-3, None),
        ("1.2 cP", D::DynamicViscosity, 1.2e-3, None),
        ("0.02 m/s^2", D::Acceleration, 0.02, None),
        ("480 fps", D::Rate, 480.0, None),
        ("0.050 +- 0.0003 mm/px", D::LengthPerPixel, 5e-5, Some(3e-7)),
        ("8 ms", D::Time, 8e-3, None),
        ("4 deg", D::Angle, 0.069_813_170_079_773_18, None),
        ("30 mL", D::Volume, 3e-5, None),
        ("13.2 g", D::Mass, 13.2e-3, None),
        ("72.8 mN/m", D::SurfaceTension, 0.0728, None),
        ("8.7e-6 m^2/s", D::KinematicViscosity, 8.7e-6, None),
        ("10 cSt", D::KinematicViscosity, 1e-5, None),
        ("1 g/cm^3", D::Density, 1000.0, None),
        ("1000 kg m^-3", D::Density, 1000.0, None),
        ("-3 mm", D::Length, -0.003, None),
    ];
    for (text, dimension, value, u) in rows {
        let stated = parse(text, dimension).unwrap();
        assert!(
            (stated.value - value).abs() <= 1e-12 * value.abs(),
            "{text}: {}",
            stated.value
        );
        assert_eq!(stated.standard_uncertainty.is_some(), u.is_some(), "{text}");
        let (found, due) = (stated.standard_uncertainty.unwrap_or(0.0), u.unwrap_or(0.0));
        assert!((found - due).abs() <= 1e-12 * due, "{text}: {found}");
    }
}

#[test]
fn what_is_refused_and_why() {
    type Check = fn(&Problem) -> bool;
    let rows: [(&str, Dimension, Check); 17] = [
        ("24", D::Length, |p| *p == Problem::MissingUnit),
        ("24 +- 2 %", D::Length, |p| *p == Problem::MissingUnit),
        ("24 mm +- 0.5", D::Length, |p| *p == Problem::MissingUnit),
        (
            "24 kPa",
            D::Length,
            |p| matches!(p, Problem::WrongDimension { found, .. } if found == "pressure"),
        ),
        ("24 furlong", D::Length, |p| {
            matches!(p, Problem::UnknownUnit { .. })
        }),
        ("NaN mm", D::Length, |p| matches!(p, Problem::NoNumber { .. })),
        ("inf mm", D::Length, |p| matches!(p, Problem::NoNumber { .. })),
        ("1e999 mm", D::Length, |p| *p == Problem::NotFinite),
        ("", D::Length, |p| matches!(p, Problem::NoNumber { .. })),
        ("24 +- -0.5 mm", D::Length, |p| *p == Problem::NegativeUncertainty),
        ("24 25 mm", D::Length, |p| matches!(p, Problem::TwoNumbers { .. })),
        ("0,5 mm", D::Length, |p| matches!(p, Problem::TwoNumbers { .. })),
        ("1 +- 2 +- 3 mm", D::Length, |p| {
            matches!(p, Problem::TwoNumbers { .. })
        }),
        ("24 +- 0.5 mm (k=0)", D::Length, |p| {
            matches!(p, Problem::Note { .. })
        }),
        ("24 mm (k=2)", D::Length, |p| matches!(p, Problem::Note { .. })),
        ("40 +- 2 %", D::Fraction, |p| *p == Problem::AmbiguousPercent),
        ("-300 degC", D::Temperature, |p| *p == Problem::BelowAbsoluteZero),
    ];
    for (text, dimension, right) in rows {
        let error = parse(text, dimension).unwrap_err();
        assert!(right(&error.problem), "{text}: {:?}", error.problem);
        let message = error.to_string();
        assert!(
            message.contains(text) && message.contains(dimension.example()),
            "{message}"
        );
    }
}

#[test]
fn every_example_is_right() {
    for dimension in Dimension::all() {
        assert!(parse(dimension.example(), dimension).is_ok(), "{dimension}");
    }
}

#[test]
fn the_input_keeps_the_unit_of_the_file() {
    let d = parse("24 +- 0.5 mm", D::Length)
        .unwrap()
        .uncertain("diameter", "stated");
    let part = &d.parts()[0];
    assert!((part.input.standard_uncertainty - 0.5).abs() < 1e-12);
    assert_eq!(part.input.unit, "mm");
    assert!((part.contribution - 0.0005).abs() < 1e-15);
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(text in any::<String>()) {
        for dimension in Dimension::all() {
            let _ = parse(&text, dimension);
        }
    }

    #[test]
    fn no_text_of_its_own_letters_makes_it_panic(text in "[-+±/0-9eE.,() kmu%µ°CP^²⁻s=1]{0,16}") {
        for dimension in Dimension::all() {
            let _ = parse(&text, dimension);
        }
    }

    #[test]
    fn what_is_printed_reads_back(x in -1e3..1e3, power in -8i32..8, spread in -6.0..2.0f64) {
        let value = x * 10f64.powi(power);
        let u = 10f64.powi(power) * 10f64.powf(spread);
        let back = parse(&print(value, Some(u), "mm", D::Length).unwrap(), D::Length).unwrap();
        prop_assert!((back.value - value).abs() <= 0.051 * u + 1e-12 * value.abs());
        prop_assert!((back.standard_uncertainty.unwrap() / u - 1.0).abs() <= 0.0501);
        let plain = parse(&print(value, None, "mm", D::Length).unwrap(), D::Length).unwrap();
        prop_assert!((plain.value - value).abs() <= 1e-15 * value.abs());
    }
}
