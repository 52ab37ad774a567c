//! Carbon dioxide in water and in air: how much dissolves, how fast it spreads; 0 to 40 C.
//!
//! ```text
//! H = H_0 exp(b (1/T - 1/T_0))       H_0 = 0.034 mol/(L atm), b = 2400 K, T_0 = 298.15 K
//! D_water = 2.35e-6 exp(-2119 / T)                            m^2/s
//! D_air   = 1.6e-5 (T / 298.15)^1.75 (101325 / p)             m^2/s
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `H` | solubility in pure water (Henry's law): concentration over pressure of the gas | mol/(m^3 Pa) |
//! | `D_water`, `D_air` | diffusivity of the gas in water, in air | m^2/s |
//! | `T`, `p` | temperature, pressure | K, Pa |
//!
//! Sources: solubility \[Sander2023\] (range of its entries read: 3.3e-4 to 3.4e-4 mol/(m^3 Pa) at 25 C, 2300 to 2400 K); diffusivity in water
//! \[Versteeg1988\] (from memory), in air a handbook value with the usual exponent (from memory). Solutes lower the solubility: a molar salt
//! solution by about a fifth; in the rest of a fizzing mixture it is not known here.

use crate::correlation::{Correlation, Limit};

/// Solubility in pure water, mol/(m^3 Pa), at `temperature` (K).
///
/// ```
/// assert!((tremolet_matter::carbon_dioxide::solubility(298.15) - 3.3555e-4).abs() < 1e-8);
/// ```
pub fn solubility(temperature: f64) -> f64 {
    34.0 / 101_325.0 * (2400.0 * (1.0 / temperature - 1.0 / 298.15)).exp()
}

/// Diffusivity in water, m^2/s, at `temperature` (K).
pub fn diffusivity_in_water(temperature: f64) -> f64 {
    2.35e-6 * (-2119.0 / temperature).exp()
}

/// Diffusivity in air, m^2/s, at `temperature` (K) and `pressure` (Pa).
pub fn diffusivity_in_air(temperature: f64, pressure: f64) -> f64 {
    1.6e-5 * (temperature / 298.15).powf(1.75) * 101_325.0 / pressure
}

/// The three with ranges, sources and standard uncertainties (chosen here): 3 %, 3 %, 5 %; in the order of the module. The last needs
/// temperature and pressure, the others temperature.
pub fn correlations() -> [Correlation; 3] {
    let warm = || Limit::temperature(273.15, 313.15);
    [
        Correlation::new(
            "solubility of carbon dioxide",
            "mol/(m^3 Pa)",
            "Sander 2023, Henry's law in pure water",
            vec![warm()],
            |x| solubility(x[0]),
        )
        .relative(0.03),
        Correlation::new(
            "diffusivity of carbon dioxide in water",
            "m^2/s",
            "Versteeg and van Swaaij 1988, from memory",
            vec![warm()],
            |x| diffusivity_in_water(x[0]),
        )
        .relative(0.03),
        Correlation::new(
            "diffusivity of carbon dioxide in air",
            "m^2/s",
            "handbook value, from memory",
            vec![warm(), Limit::pressure(50e3, 150e3)],
            |x| diffusivity_in_air(x[0], x[1]),
        )
        .relative(0.05),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertain::Uncertain;

    // Recomputed independently from the formulas: 25 and 20 C.
    #[test]
    fn values_of_the_formulas() {
        for (t, h, d) in [
            (298.15, 3.355_54e-4, 1.925_16e-9),
            (293.15, 3.849_36e-4, 1.705_38e-9),
        ] {
            assert!((solubility(t) / h - 1.0).abs() < 2e-6, "{t}");
            assert!((diffusivity_in_water(t) / d - 1.0).abs() < 3e-6, "{t}");
        }
        // Half the pressure, twice the diffusivity.
        assert!((diffusivity_in_air(298.15, 50_662.5) - 3.2e-5).abs() < 1e-12);
    }

    #[test]
    fn outside_the_range_there_is_no_value() {
        let [solubility, _, air] = correlations();
        let hot = Uncertain::exact(350.0);
        assert!(solubility.at("water", &[&hot]).is_err());
        let value = air
            .at("air", &[&Uncertain::exact(298.15), &Uncertain::exact(101_325.0)])
            .unwrap();
        assert!((value.value.value() - 1.6e-5).abs() < 1e-12);
        assert!((value.value.standard_uncertainty() - 0.05 * 1.6e-5).abs() < 1e-12);
    }
}
