//! Water: check points of the releases.

use super::*;

// IAPWS R1-76(2014), mN/m: computed independently from the formula; 20 and 25 C also by a library.
#[test]
fn surface_tension_of_the_release() {
    let rows = [
        (0.01, 75.646271),
        (5.0, 74.941714),
        (10.0, 74.221044),
        (15.0, 73.485804),
        (20.0, 72.736140),
        (25.0, 71.972205),
        (30.0, 71.194151),
        (35.0, 70.402134),
        (40.0, 69.596312),
        (50.0, 67.943906),
        (60.0, 66.238263),
        (80.0, 62.672855),
        (100.0, 58.911869),
    ];
    for (celsius, due) in rows {
        let found = 1e3 * surface_tension(celsius + 273.15);
        assert!((found - due).abs() < 1e-6, "{celsius}: {found} {due}");
    }
}

// IAPWS SR6-08(2011), uPa s: from a general library's implementation of the release.
#[test]
fn viscosity_of_the_release() {
    let rows = [
        (273.16, 1791.1583),
        (283.15, 1305.9017),
        (293.15, 1001.5673),
        (298.15, 889.9968),
        (303.15, 797.2062),
        (313.15, 652.7335),
        (333.15, 466.0393),
    ];
    for (kelvin, due) in rows {
        let found = 1e6 * dynamic_viscosity(kelvin);
        assert!((found - due).abs() < 1e-4, "{kelvin}: {found} {due}");
    }
    assert!((1e6 * dynamic_viscosity(260.0) - 3058.360751).abs() < 1e-6);
    assert!((1e6 * dynamic_viscosity(375.0) - 276.2072449).abs() < 1e-7);
}

// IAPWS SR6-08(2011), kg/m^3: from a general library's implementation of the release.
#[test]
fn density_of_the_release() {
    let rows = [
        (273.16, 999.84306),
        (283.15, 999.70186),
        (293.15, 998.20655),
        (298.15, 997.04701),
        (303.15, 995.64882),
        (313.15, 992.21576),
        (333.15, 983.19525),
    ];
    for (kelvin, due) in rows {
        assert!(
            (density(kelvin) - due).abs() < 1e-5,
            "{kelvin}: {} {due}",
            density(kelvin)
        );
    }
    assert!((density(260.0) - 997.0683603).abs() < 1e-7, "{}", density(260.0));
    assert!((density(375.0) - 957.0097103).abs() < 1e-7, "{}", density(375.0));
}

// IAPWS SR6-08(2011), m/s: from a general library's implementation of the release; 260, 298.15 and 375 K are
// the release's own check points (that they are, from memory).
#[test]
fn speed_of_sound_of_the_release() {
    let rows = [
        (273.16, 1402.4307),
        (283.15, 1447.2701),
        (293.15, 1482.3443),
        (298.15, 1496.6992),
        (303.15, 1509.1511),
        (313.15, 1528.9017),
        (333.15, 1550.9726),
    ];
    for (kelvin, due) in rows {
        let found = sound_speed(kelvin);
        assert!((found - due).abs() < 1e-4, "{kelvin}: {found} {due}");
    }
    assert!((sound_speed(260.0) - 1324.872578).abs() < 1e-6);
    assert!((sound_speed(375.0) - 1541.466114).abs() < 1e-6);
}

// IAPWS-95 by a second library (a general one, 101325 Pa): another formulation, so a wider tolerance.
#[test]
fn density_and_viscosity_of_the_other_formulation() {
    for (kelvin, rho, mu) in [
        (293.15, 998.20715, 1001.5961e-6),
        (298.15, 997.04764, 890.0225e-6),
    ] {
        assert!((density(kelvin) / rho - 1.0).abs() < 1e-6);
        assert!((dynamic_viscosity(kelvin) / mu - 1.0).abs() < 1e-4);
    }
}

// IAPWS R9-97: check values of the release as a general library lists them (0.2265 and 0.5893 um).
#[test]
fn refractive_index_of_the_release() {
    let ultraviolet = refractive_index(997.047435, 298.15, 0.2265e-6);
    assert!((ultraviolet - 1.39277824).abs() < 1e-8, "{ultraviolet}");
    let steam = refractive_index(30.4758534, 773.15, 0.5893e-6);
    assert!((steam - 1.00949307).abs() < 1e-8, "{steam}");
}

// Handbook value 1.3330 at 20 C against air, sodium light (from memory).
#[test]
fn refractive_index_is_given_against_air() {
    let index = liquid().refractive_index.expect("water has an index");
    let temperature = crate::uncertain::Uncertain::exact(293.15);
    let found = index
        .at("water", &[&temperature])
        .expect("in range")
        .value
        .value();
    assert!((found - 1.33299).abs() < 3e-5, "{found}");
}
