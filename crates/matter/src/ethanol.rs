//! Ethanol, water-free, 0 to 60 C at atmospheric pressure.
//!
//! ```text
//! rho   = 1162.39 - 2.25788 T + 5.30621e-3 T^2 - 6.63070e-6 T^3
//! mu    = 1.082371e-3 exp(5.761469 y - 0.993829 y^2),   y = 298.15 / T - 1
//! sigma = 24.05e-3 - 0.0832e-3 t
//! c     = 1141.77 - 3.37802 (T - 298.15) + 3.37561e-3 (T - 298.15)^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T`, `t` | temperature | K, degrees Celsius |
//! | `rho`, `mu`, `sigma`, `c` | density, dynamic viscosity, surface tension, speed of sound | kg/m^3, Pa s, N/m, m/s |
//!
//! Sources: density \[LandoltBoernstein8G\], surface tension \[Jasper1972\], both read in public files that quote
//! them, not in print. Viscosity and speed of sound are fits made here to a general library's values of
//! \[Kiselev2005\] and \[Schroeder2014\]; they differ from it by up to 5e-5 and 0.5 m/s. The refractive index is from memory.
//! A few per cent of water, which ethanol draws from air, change all of this; such mixtures are not here.

use crate::correlation::{Correlation, Limit};
use crate::liquid_data::LiquidData;

/// Density, kg/m^3, at `temperature` (K); published for 191 to 400 K.
pub fn density(temperature: f64) -> f64 {
    1162.39 + temperature * (-2.25788 + temperature * (5.30621e-3 - 6.63070e-6 * temperature))
}

/// Dynamic viscosity, Pa s, at `temperature` (K), 273.15 to 333.15 K.
pub fn dynamic_viscosity(temperature: f64) -> f64 {
    let y = 298.15 / temperature - 1.0;
    1.082_371_3e-3 * (y * (5.761_468_67 - 0.993_829_33 * y)).exp()
}

/// Surface tension against air, N/m, at `temperature` (K).
pub fn surface_tension(temperature: f64) -> f64 {
    24.05e-3 - 0.0832e-3 * (temperature - 273.15)
}

/// Speed of sound, m/s, at `temperature` (K), 273.15 to 333.15 K.
pub fn sound_speed(temperature: f64) -> f64 {
    let d = temperature - 298.15;
    1141.76966 + d * (-3.37801912 + 3.3756077e-3 * d)
}

/// Ethanol as a liquid of the catalogue.
///
/// Standard uncertainties (chosen here): density 0.1 %, viscosity 2 %, surface tension 0.15 mN/m, speed of sound
/// 3 m/s, refractive index 1e-3.
pub fn liquid() -> LiquidData {
    let limits = || vec![Limit::temperature(273.15, 333.15)];
    LiquidData {
        name: "ethanol".into(),
        aliases: vec!["ethyl-alcohol".into(), "alcohol".into()],
        aqueous: false,
        solute: None,
        density: Correlation::new(
            "density",
            "kg/m^3",
            "Landolt-Boernstein IV/8G (2000)",
            limits(),
            |x| density(x[0]),
        )
        .relative(1e-3),
        surface_tension: Correlation::new("surface tension", "N/m", "Jasper 1972", limits(), |x| {
            surface_tension(x[0])
        })
        .absolute(0.15e-3),
        dynamic_viscosity: Correlation::new(
            "dynamic viscosity",
            "Pa s",
            "fit made here to a general library's values of Kiselev et al. 2005",
            limits(),
            |x| dynamic_viscosity(x[0]),
        )
        .relative(0.02),
        sound_speed: Some(
            Correlation::new(
                "speed of sound",
                "m/s",
                "fit made here to a general library's values of Schroeder et al. 2014",
                limits(),
                |x| sound_speed(x[0]),
            )
            .absolute(3.0),
        ),
        refractive_index: Some(
            Correlation::new(
                "refractive index",
                "1",
                "handbook value, from memory, 589 nm",
                limits(),
                |x| 1.3614 - 4.0e-4 * (x[0] - 293.15),
            )
            .absolute(1e-3),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Schroeder et al. 2014 (density, sound) and Kiselev et al. 2005 (viscosity) by a general library at 101325 Pa.
    // The density formula is independent of it; viscosity and sound were fitted to it.
    #[test]
    fn values_of_a_general_library() {
        let rows = [
            (273.15, 806.41485, 1.81866359e-3, 1228.7844),
            (293.15, 789.42148, 1.19378983e-3, 1158.5017),
            (298.15, 785.13327, 1.08235062e-3, 1141.6233),
            (333.15, 754.05355, 0.58441085e-3, 1027.1879),
        ];
        for (kelvin, rho, mu, c) in rows {
            assert!((density(kelvin) / rho - 1.0).abs() < 2e-4, "{kelvin}");
            assert!((dynamic_viscosity(kelvin) / mu - 1.0).abs() < 1e-4, "{kelvin}");
            assert!((sound_speed(kelvin) - c).abs() < 0.6, "{kelvin}");
        }
    }

    // Jasper's line by a general library: 22.386 (20 C), 21.970 mN/m (25 C). Another library's correlation
    // gives 22.367 and 21.884, within twice the stated uncertainty.
    #[test]
    fn surface_tension_of_the_line() {
        assert!((surface_tension(293.15) - 22.386e-3).abs() < 1e-6);
        assert!((surface_tension(298.15) - 21.970e-3).abs() < 1e-6);
        assert!((surface_tension(298.15) - 21.884e-3).abs() < 0.3e-3);
    }

    // Handbook values from memory: 1.3614 at 20 C, 1.3594 at 25 C.
    #[test]
    fn refractive_index_at_two_temperatures() {
        let index = liquid().refractive_index.expect("tabulated");
        for (kelvin, due) in [(293.15, 1.3614), (298.15, 1.3594)] {
            let found = index
                .at("ethanol", &[&crate::uncertain::Uncertain::exact(kelvin)])
                .expect("in range");
            assert!((found.value.value() - due).abs() < 1e-4, "{kelvin}");
        }
    }
}
