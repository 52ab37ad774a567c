//! Gases: values, what is correlated, what is refused.

use super::*;

fn uncertain(key: &str, value: f64, u: f64) -> Uncertain {
    let input = Input {
        key: key.into(),
        unit: "SI".into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "test".into(),
    };
    Uncertain::of_input(value, u, input)
}

fn request(name: &str) -> Request {
    Request {
        name: name.into(),
        temperature: uncertain("temperature of the gas", 293.15, 0.5),
        pressure: uncertain("pressure", 101_325.0, 500.0),
        relative_humidity: Some(Uncertain::exact(0.0)),
    }
}

// Dry air, 20 C, 101325 Pa, by a general library: 1.204575 kg/m^3, 18.2057 uPa s, 343.344 m/s.
#[test]
fn dry_air() {
    let air = properties(&request("Air")).expect("known");
    assert!((air.density.value.value() - 1.204575).abs() < 1e-4);
    assert!((air.dynamic_viscosity.value.value() - 18.2057e-6).abs() < 0.02e-6);
    assert!((air.sound_speed.value.value() - 343.344).abs() < 0.03);
    assert!(air.density.source.starts_with("CIPM-2007"));
}

// An ideal gas has relative parts -u(T)/T and u(p)/p, by hand; a real one differs by
// (T B' - B) p / (R T). With handbook values of B and T B' at 20 C, from memory, that is 0.3 % for argon (-1.7e-5,
// 6.5e-5 m^3/mol), somewhat less for nitrogen and air, 2 % for carbon dioxide (-1.3e-4, 3e-4 m^3/mol).
#[test]
fn uncertainty_of_the_density() {
    for (name, off) in [
        ("air", 4e-3),
        ("nitrogen", 4e-3),
        ("argon", 4e-3),
        ("co2", 2.5e-2),
    ] {
        let density = properties(&request(name)).expect("known").density.value;
        let relative: Vec<f64> = density
            .parts()
            .iter()
            .map(|part| part.contribution / density.value())
            .collect();
        assert!(
            (relative[0] / (-0.5 / 293.15) - 1.0).abs() < off,
            "{name}: {relative:?}"
        );
        assert!(
            (relative[1] / (500.0 / 101_325.0) - 1.0).abs() < off,
            "{name}: {relative:?}"
        );
        assert_eq!(relative.len(), 3);
    }
}

#[test]
fn properties_are_correlated_through_the_temperature() {
    let air = properties(&request("air")).expect("known");
    let covariance = air.sound_speed.value.covariance(&air.density.value);
    assert!(covariance < 0.0, "warmer air is thinner and carries sound faster");
    let twin = properties(&request("air")).expect("known");
    assert!((air.density.value.correlation(&twin.density.value) - 1.0).abs() < 1e-12);
}

#[test]
fn a_humidity_that_is_not_given_goes_into_the_uncertainty() {
    let mut asked = request("air");
    asked.temperature = Uncertain::exact(293.15);
    asked.pressure = Uncertain::exact(101_325.0);
    asked.relative_humidity = None;
    let density = properties(&asked).expect("known").density.value;
    // Dry to saturated is 1.20456 to 1.19413 kg/m^3 (a general library), over sqrt 12.
    let due = (1.20456_f64 - 1.19413) / 12.0_f64.sqrt();
    assert!((density.parts()[0].contribution.abs() - due).abs() < 1e-4);
    assert_eq!(density.parts()[0].input.key, "relative humidity (not given)");
}

#[test]
fn vacuum_is_nothing_at_any_temperature() {
    let mut asked = request("vacuum");
    asked.temperature = Uncertain::exact(4.0);
    asked.pressure = Uncertain::exact(0.0);
    let nothing = properties(&asked).expect("known");
    assert_eq!(nothing.density.value, Uncertain::exact(0.0));
    assert_eq!(nothing.dynamic_viscosity.value, Uncertain::exact(0.0));
    assert_eq!(nothing.sound_speed.value, Uncertain::exact(0.0));
}

#[test]
fn out_of_range_is_refused() {
    let mut asked = request("air");
    asked.pressure = Uncertain::exact(20e3);
    let error = properties(&asked).expect_err("too thin").to_string();
    assert_eq!(
        error,
        "density of air is known for a pressure of 60000 to 110000 Pa, found 20000 Pa; stay inside, or state the value where a liquid may"
    );
    for name in ["air", "nitrogen", "argon", "carbon dioxide"] {
        let mut asked = request(name);
        asked.temperature = Uncertain::exact(400.0);
        let error = properties(&asked).expect_err("too hot");
        assert!(matches!(
            error,
            MatterError::OutOfRange {
                input: "temperature",
                ..
            }
        ));
    }
    let mut wet = request("air");
    wet.relative_humidity = Some(Uncertain::exact(50.0));
    assert!(matches!(
        properties(&wet),
        Err(MatterError::OutOfRange {
            input: "relative humidity",
            ..
        })
    ));
}

#[test]
fn unknown_names_are_answered_with_the_nearest() {
    let error = properties(&request("argoon")).expect_err("unknown").to_string();
    assert!(
        error.starts_with("no gas is called \"argoon\"; nearest known: argon, "),
        "{error}"
    );
}

// The relative standard uncertainties that the rooms state; for air at half humidity 0.0116 is the mole fraction.
#[test]
fn own_uncertainty_of_every_formula() {
    let rows = [
        ("air", 5e-4, 0.003 + 0.1 * 0.01159, 5e-4),
        ("nitrogen", 1e-3, 5e-3, 1e-3),
        ("argon", 1e-3, 5e-3, 1e-3),
        ("carbon-dioxide", 1e-3, 5e-3, 1e-3),
    ];
    for (name, rho, mu, c) in rows {
        let found = properties(&Request {
            name: name.into(),
            temperature: Uncertain::exact(293.15),
            pressure: Uncertain::exact(101_325.0),
            relative_humidity: Some(Uncertain::exact(0.5)),
        })
        .expect("known");
        let close = |property: Property, due: f64| {
            let relative = property.value.relative();
            assert!((relative / due - 1.0).abs() < 1e-3, "{name}: {relative} {due}");
        };
        close(found.density, rho);
        close(found.dynamic_viscosity, mu);
        close(found.sound_speed, c);
    }
}
