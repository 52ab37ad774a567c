//! Liquids: what wins, what is correlated, what is refused.

use super::*;
use crate::uncertain::Input;

fn uncertain(key: &str, value: f64, u: f64) -> Uncertain {
    let input = Input {
        key: key.into(),
        unit: "SI".into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: format!("{key} as stated"),
    };
    Uncertain::of_input(value, u, input)
}

fn request(name: &str, kelvin: f64) -> Request {
    Request {
        name: name.into(),
        mass_fraction: None,
        temperature: uncertain("temperature of the liquid", kelvin, 0.5),
        stated: Stated::default(),
    }
}

// IAPWS SR6-08(2011) and R1-76(2014) at 298.15 K by a general library.
#[test]
fn water_at_25_celsius() {
    let water = properties(&request("Water", 298.15)).expect("known");
    let value = |p: &Option<Property>| p.as_ref().expect("present").value.value();
    assert!((water.density.value.value() - 997.04701).abs() < 1e-5);
    assert!((value(&water.surface_tension) - 71.972205e-3).abs() < 1e-9);
    assert!((value(&water.dynamic_viscosity) - 889.9968e-6).abs() < 1e-10);
    assert!((value(&water.sound_speed) - 1496.6992).abs() < 1e-4);
    assert!(water.aqueous);
    assert_eq!(water.reference_surface_tension, water.surface_tension);
    assert_eq!(water.reference_dynamic_viscosity, water.dynamic_viscosity);
}

// d sigma/dT = -0.15136 mN/(m K) at 20 C: difference of the release's values at 15 and 25 C, by hand.
#[test]
fn uncertainty_of_temperature_and_formula() {
    let water = properties(&request("water", 293.15)).expect("known");
    let tension = water.surface_tension.expect("present").value;
    let [warmth, formula] = tension.parts() else {
        panic!("two inputs")
    };
    assert_eq!(warmth.input.key, "temperature of the liquid");
    assert!(
        (warmth.contribution + 0.5 * 0.15136e-3).abs() < 1e-6,
        "{}",
        warmth.contribution
    );
    assert_eq!(formula.input.key, "surface tension of water (formula)");
    assert!((formula.contribution - 0.0025 * 72.736140e-3).abs() < 1e-9);
}

// Both fall with temperature: with the formulas' own part small, the correlation tends to one.
#[test]
fn properties_are_correlated_through_the_temperature() {
    let water = properties(&request("water", 293.15)).expect("known");
    let (tension, viscosity) = (
        water.surface_tension.expect("yes").value,
        water.dynamic_viscosity.expect("yes").value,
    );
    let due = tension.parts()[0].contribution * viscosity.parts()[0].contribution;
    assert!(due > 0.0);
    assert!((tension.covariance(&viscosity) / due - 1.0).abs() < 1e-12);
    let correlation = tension.correlation(&viscosity);
    assert!(correlation > 0.3 && correlation < 1.0, "{correlation}");
    let colder = properties(&request("water", 283.15))
        .expect("known")
        .surface_tension
        .expect("yes")
        .value;
    assert!(
        tension.correlation(&colder) > 0.99,
        "one liquid, one formula, one thermometer"
    );
}

#[test]
fn what_is_stated_wins_and_the_formula_stays_beside_it() {
    let mut request = request("water", 293.15);
    request.stated.surface_tension = Some(uncertain("surface tension", 0.070, 0.001));
    let water = properties(&request).expect("known");
    let tension = water.surface_tension.expect("present");
    assert!(tension.stated);
    assert_eq!(tension.value.value(), 0.070);
    assert_eq!(tension.source, "surface tension as stated");
    let reference = water.reference_surface_tension.expect("present");
    assert!(!reference.stated);
    assert!((reference.value.value() - 72.736140e-3).abs() < 1e-9);
    assert!(!water.density.stated);
}

#[test]
fn out_of_range_is_refused_unless_stated() {
    let mut hot = request("ethanol", 340.0);
    let error = properties(&hot).expect_err("too hot").to_string();
    assert_eq!(
        error,
        "density of ethanol is known for a temperature of 273.15 to 333.15 K, found 340 K; stay inside, or state the value where a liquid may"
    );
    hot.stated = Stated {
        density: Some(Uncertain::exact(750.0)),
        surface_tension: Some(Uncertain::exact(0.018)),
        dynamic_viscosity: Some(Uncertain::exact(0.5e-3)),
    };
    let ethanol = properties(&hot).expect("all stated");
    assert_eq!(ethanol.reference_surface_tension, None);
    assert_eq!(ethanol.reference_dynamic_viscosity, None);
    assert_eq!(ethanol.sound_speed, None);
    assert_eq!(ethanol.density.source, "stated");
}

#[test]
fn every_liquid_refuses_what_is_outside_and_knows_what_is_inside() {
    for liquid in all() {
        let mut request = request(&liquid.name, 295.15);
        request.mass_fraction = liquid.solute.map(|_| uncertain("mass fraction", 0.2, 0.001));
        let found = properties(&request).expect("room temperature");
        assert_eq!(
            found.aqueous,
            ["water", "glycerol-water", "saline"].contains(&found.name.as_str())
        );
        assert!(found.density.value.value() > 500.0);
        assert!(found.surface_tension.expect("yes").value.standard_uncertainty() > 0.0);
        assert!(found.dynamic_viscosity.expect("yes").value.relative() > 0.001);
        for kelvin in [200.0, 500.0, f64::NAN] {
            request.temperature = Uncertain::exact(kelvin);
            let error = properties(&request).expect_err("outside");
            assert!(
                matches!(
                    error,
                    MatterError::OutOfRange {
                        input: "temperature",
                        ..
                    }
                ),
                "{error}"
            );
        }
    }
}

#[test]
fn mixtures_need_their_composition() {
    let mut mixture = request("Glycerol Water", 293.15);
    let error = properties(&mixture).expect_err("no composition").to_string();
    assert_eq!(
        error,
        "glycerol-water needs the mass fraction of glycerol (0 to 1)"
    );
    mixture.mass_fraction = Some(uncertain("mass fraction", 0.5, 0.002));
    let half = properties(&mixture).expect("known");
    let viscosity = half.dynamic_viscosity.expect("yes").value;
    assert!((viscosity.value() - 6.00225e-3).abs() < 1e-8);
    assert!(
        viscosity
            .parts()
            .iter()
            .any(|part| part.input.key == "mass fraction")
    );
    mixture.mass_fraction = Some(uncertain("mass fraction", 1.1, 0.002));
    assert!(matches!(
        properties(&mixture),
        Err(MatterError::OutOfRange {
            input: "mass fraction",
            ..
        })
    ));
    let mut pure = request("water", 293.15);
    pure.mass_fraction = Some(uncertain("mass fraction", 0.5, 0.002));
    assert!(matches!(
        properties(&pure),
        Err(MatterError::NeedlessMassFraction { .. })
    ));
}

#[test]
fn unknown_names_are_answered_with_the_nearest() {
    let error = properties(&request("watr", 293.15))
        .expect_err("unknown")
        .to_string();
    assert!(
        error.starts_with("no liquid is called \"watr\"; nearest known: water, "),
        "{error}"
    );
    let oil = properties(&request("Silicone oil 10 cSt", 298.15)).expect("alias");
    assert_eq!(oil.name, "silicone-oil-10");
}

#[test]
fn names_belong_to_one_liquid() {
    let all = all();
    let mut names: Vec<&String> = all
        .iter()
        .flat_map(|l| std::iter::once(&l.name).chain(&l.aliases))
        .collect();
    let count = names.len();
    assert!(names.iter().all(|name| names::plain(name) == **name));
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn a_liquid_of_ones_own() {
    let mut own = request("own", 1000.0);
    assert_eq!(properties(&own), Err(MatterError::MissingDensity));
    own.stated.density = Some(uncertain("density", 3000.0, 10.0));
    let found = properties(&own).expect("density is enough");
    assert_eq!(found.density.value.value(), 3000.0);
    assert!(found.density.stated);
    assert_eq!(found.surface_tension, None);
    assert_eq!(found.dynamic_viscosity, None);
}

#[test]
fn stated_values_must_be_above_zero() {
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        for name in ["own", "water"] {
            let mut asked = request(name, 293.15);
            asked.stated.density = Some(Uncertain::exact(1000.0));
            asked.stated.surface_tension = Some(Uncertain::exact(bad));
            let error = properties(&asked).expect_err("no such liquid").to_string();
            assert!(
                error.starts_with("the stated surface tension must be above zero"),
                "{error}"
            );
        }
    }
}

// The standard uncertainties that the rooms state, by hand at 25 C: kg/m^3, mN/m, uPa s, m/s, 1.
#[test]
fn own_uncertainty_of_every_formula() {
    let rows = [
        ("water", None, 0.01994, 0.17993, 4.450, Some(0.29934), Some(1e-4)),
        ("ethanol", None, 0.785, 0.15, 21.647, Some(3.0), Some(1e-3)),
        ("mercury", None, 2.0, 5.0, 30.7, Some(5.0), None),
        ("saline", Some(0.1), 0.4, 0.26181, 10.66, None, Some(5e-4)),
        (
            "glycerol-water",
            Some(0.5),
            0.56187,
            1.0,
            150.11,
            None,
            Some(2e-3),
        ),
        (
            "silicone-oil-10",
            None,
            4.675,
            0.6,
            467.5,
            Some(19.34),
            Some(2e-3),
        ),
    ];
    for (name, fraction, rho, sigma, mu, c, n) in rows {
        let mut asked = request(name, 298.15);
        asked.temperature = Uncertain::exact(298.15);
        asked.mass_fraction = fraction.map(Uncertain::exact);
        let found = properties(&asked).expect("known");
        let close = |property: Option<Property>, due: Option<f64>| match (property, due) {
            (Some(property), Some(due)) => {
                let u = property.value.standard_uncertainty();
                assert!((u / due - 1.0).abs() < 5e-3, "{name}: {u} {due}");
            }
            (property, due) => assert_eq!(property.is_some(), due.is_some(), "{name}"),
        };
        close(Some(found.density), Some(rho));
        close(found.surface_tension, Some(1e-3 * sigma));
        close(found.dynamic_viscosity, Some(1e-6 * mu));
        close(found.sound_speed, c);
        close(found.refractive_index, n);
    }
}

#[test]
fn a_mass_fraction_at_its_end_keeps_a_finite_uncertainty() {
    for end in [0.0, 1.0] {
        let mut asked = request("glycerol-water", 293.15);
        asked.mass_fraction = Some(uncertain("mass fraction", end, 0.01));
        let found = properties(&asked).expect("known");
        assert!(found.density.value.standard_uncertainty().is_finite(), "{end}");
        assert!(
            found.dynamic_viscosity.expect("yes").value.relative().is_finite(),
            "{end}"
        );
    }
}
