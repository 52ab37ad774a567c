//! Water at atmospheric pressure: surface tension, density and viscosity by formula.
//!
//! ```text
//! sigma = 0.2358 tau^1.256 (1 - 0.625 tau),   tau = 1 - T / 647.096
//! mu    = 1e-6 (280.68 t^-1.9 + 511.45 t^-7.7 + 61.131 t^-19.6 + 0.45903 t^-40),   t = T / 300
//! 1/rho = (10 K R / 0.1 MPa) (a5 + sum a_i (10 / (593 - T))^n_i + sum b_i (10 / (T - 232))^m_i)
//! ```
//!
//! `T` temperature (K), `sigma` surface tension (N/m), `mu` dynamic viscosity (Pa s). Sources: \[IAPWSR176\]
//! equation 1 (used here 0.01 to 100 C); \[IAPWSSR608\] specific volume and viscosity (253.15 to 383.15 K, 0.1 MPa). The bare
//! formulas; they check no range and carry no uncertainty.

/// Surface tension against its vapour, N/m, of water at `temperature` (K) below 647.096 K.
pub fn surface_tension(temperature: f64) -> f64 {
    let tau = 1.0 - temperature / 647.096;
    0.2358 * tau.powf(1.256) * (1.0 - 0.625 * tau)
}

/// Dynamic viscosity, Pa s, of liquid water at `temperature` (K) and 0.1 MPa.
pub fn dynamic_viscosity(temperature: f64) -> f64 {
    let t = temperature / 300.0;
    let terms = [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];
    1e-6 * terms
        .iter()
        .map(|(a, b): &(f64, f64)| a * t.powf(*b))
        .sum::<f64>()
}

/// Density, kg/m^3, of liquid water at `temperature` (K) and 0.1 MPa.
///
/// The coefficients were written from memory and stand on the check points of the release, see the tests.
pub fn density(temperature: f64) -> f64 {
    let alpha = 10.0 / (593.0 - temperature);
    let beta = 10.0 / (temperature - 232.0);
    let warm = [
        (6.74458446e3, 4),
        (-2.22521604e5, 5),
        (1.00231247e8, 7),
        (-1.63552118e9, 8),
        (8.32299658e9, 9),
    ];
    let cold = [
        (5.78545292e-3, 1),
        (-1.53195665e-2, 2),
        (3.11337859e-2, 3),
        (-4.23546241e-2, 4),
        (3.38713507e-2, 5),
        (-1.19946761e-2, 6),
    ];
    let sum = |terms: &[(f64, i32)], x: f64| terms.iter().map(|(a, n)| a * x.powi(*n)).sum::<f64>();
    let reduced = 1.93763157e-2 + sum(&warm, alpha) + sum(&cold, beta);
    1e5 / (461.518_05 * 10.0 * reduced)
}

#[cfg(test)]
mod tests {
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
}
