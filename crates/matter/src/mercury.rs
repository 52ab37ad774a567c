//! Mercury, 0 to 60 C at atmospheric pressure.
//!
//! ```text
//! rho = 13595.08 - 2.466 t + 3.2e-4 t^2,     sigma = 0.4906 - 0.2049e-3 t,     c = 1451 - 0.46 (t - 20)
//! mu  = 1.692e-3 (273 / T)^(1.00617 (373 / T)^0.38073)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T`, `t` | temperature | K, degrees Celsius |
//! | `rho`, `mu`, `sigma`, `c` | density, dynamic viscosity, surface tension, speed of sound | kg/m^3, Pa s, N/m, m/s |
//!
//! Viscosity: \[Turdukozhaeva2013\], read in a public file that quotes it. Everything else is from memory (density
//! as tabulated in handbooks, surface tension after \[Jasper1972\]). The surface of mercury fouls within
//! minutes; a film is not described here. It is opaque, so it has no refractive index.

use crate::correlation::{Correlation, Limit};
use crate::liquid_data::LiquidData;

/// Dynamic viscosity, Pa s, at `temperature` (K).
pub fn dynamic_viscosity(temperature: f64) -> f64 {
    let exponent = 1.00617 * (373.0 / temperature).powf(0.38073);
    1.692e-3 * (273.0 / temperature).powf(exponent)
}

/// Density, kg/m^3, at `temperature` (K); from memory.
pub fn density(temperature: f64) -> f64 {
    let t = temperature - 273.15;
    13_595.08 + t * (-2.466 + 3.2e-4 * t)
}

/// Surface tension of a clean surface, N/m, at `temperature` (K); from memory.
pub fn surface_tension(temperature: f64) -> f64 {
    0.4906 - 0.2049e-3 * (temperature - 273.15)
}

/// Mercury as a liquid of the catalogue.
///
/// Standard uncertainties (chosen here): density 2 kg/m^3, surface tension 5 mN/m (published values scatter so),
/// viscosity 2 %, speed of sound 5 m/s.
pub fn liquid() -> LiquidData {
    let limits = || vec![Limit::temperature(273.15, 333.15)];
    LiquidData {
        name: "mercury".into(),
        aliases: vec!["hg".into(), "quicksilver".into()],
        aqueous: false,
        solute: None,
        density: Correlation::new("density", "kg/m^3", "handbook line, from memory", limits(), |x| {
            density(x[0])
        })
        .absolute(2.0),
        surface_tension: Correlation::new(
            "surface tension",
            "N/m",
            "Jasper 1972, from memory",
            limits(),
            |x| surface_tension(x[0]),
        )
        .absolute(5e-3),
        dynamic_viscosity: Correlation::new(
            "dynamic viscosity",
            "Pa s",
            "Turdukozhaeva et al. 2013",
            limits(),
            |x| dynamic_viscosity(x[0]),
        )
        .relative(0.02),
        sound_speed: Some(
            Correlation::new(
                "speed of sound",
                "m/s",
                "handbook line, from memory",
                limits(),
                |x| 1451.0 - 0.46 * (x[0] - 293.15),
            )
            .absolute(5.0),
        ),
        refractive_index: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Handbook values at 20 C, from memory: 13546 kg/m^3, 1.55 mPa s, 486.5 mN/m.
    #[test]
    fn handbook_values() {
        assert!((density(293.15) - 13_546.0).abs() < 2.0);
        assert!((dynamic_viscosity(293.15) / 1.55e-3 - 1.0).abs() < 0.02);
        assert!((surface_tension(293.15) - 0.4865).abs() < 0.2e-3);
    }

    // Least-squares line of IUPAC Solubility Data Series 29, read in a public file (rounded to 4 digits there),
    // and a textbook table's 1.53 mPa s and 484 mN/m at 25 C, read in a public file.
    #[test]
    fn second_sources() {
        for kelvin in [280.0_f64, 293.15, 310.0_f64] {
            let series = 1e3 * (1.542e-7 * kelvin * kelvin - 0.002531 * kelvin + 14.27);
            assert!((density(kelvin) / series - 1.0).abs() < 5e-4);
        }
        assert!((dynamic_viscosity(298.15) / 1.53e-3 - 1.0).abs() < 0.01);
        assert!((surface_tension(298.15) - 0.484).abs() < 2.5e-3);
    }

    // Handbook line from memory, -0.46 m/s per kelvin from 1451 m/s at 20 C: 1446.4 m/s at 30 C.
    #[test]
    fn sound_slows_with_temperature() {
        let sound = liquid().sound_speed.expect("tabulated");
        let found = sound
            .at("mercury", &[&crate::uncertain::Uncertain::exact(303.15)])
            .expect("in range");
        assert!((found.value.value() - 1446.4).abs() < 1e-9);
    }
}
