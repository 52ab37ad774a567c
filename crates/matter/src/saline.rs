//! Sodium chloride in water by mass fraction of the salt.
//!
//! ```text
//! rho   = rho_w + 26.7822 W - 0.26389 W^2 + (-0.11734 W + 1.75e-3 W^2) T + (1.701e-4 W - 2.61e-6 W^2) T^2,   W = 100 C
//! mu    = mu_w exp(A m + B m^2 + D m^3),   A, B parabolas and D a line in T
//! sigma = sigma_w + 1.66e-3 m,     n = n_w + 1.7682e-3 W - 5.8e-6 W^2,     m = C / ((1 - C) M)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `C`, `m` | mass fraction, molality of the salt | 1, mol/kg |
//! | `T` | temperature | K |
//! | `M` | molar mass of the salt, 0.058443 | kg/mol |
//! | `rho`, `mu`, `sigma`, `n` | density, dynamic viscosity, surface tension, refractive index; `_w` of water | kg/m^3, Pa s, N/m, 1 |
//!
//! Sources, all read in a public library that quotes them, not in print: density increment \[Simion2015\] (0 to
//! 100 C); viscosity ratio \[MaoDuan2009\] (0 to 350 C, 6 mol/kg); surface tension \[Talreja2022\] (-10 to 50 C);
//! index increment \[TanHuang2015\] (20 to 45 C). The water in them is replaced by that of [`crate::water`].
//! Sea water, buffers and proteins are not here; the speed of sound is not here.

use crate::correlation::{Correlation, Limit};
use crate::liquid_data::LiquidData;
use crate::water;

const MOLAR_MASS: f64 = 0.058_442_8;

fn molality(mass_fraction: f64) -> f64 {
    mass_fraction / ((1.0 - mass_fraction) * MOLAR_MASS)
}

/// Density, kg/m^3, at salt `mass_fraction` (0 to 0.26) and `temperature` (K).
pub fn density(mass_fraction: f64, temperature: f64) -> f64 {
    let (w, t) = (100.0 * mass_fraction, temperature);
    let increment = 26.7822 - 0.26389 * w + (-0.11734 + 1.75e-3 * w) * t + (1.701e-4 - 2.61e-6 * w) * t * t;
    water::density(temperature) + w * increment
}

/// Dynamic viscosity, Pa s, at salt `mass_fraction` (0 to 0.26) and `temperature` (K).
pub fn dynamic_viscosity(mass_fraction: f64, temperature: f64) -> f64 {
    let (m, t) = (molality(mass_fraction), temperature);
    let first = -0.213_192_13 + t * (1.365_158_9e-3 - 1.219_175_6e-6 * t);
    let second = 6.916_194_5e-2 + t * (-2.729_226_3e-4 + 2.085_244_8e-7 * t);
    let third = -2.598_885_5e-3 + 7.798_922_7e-6 * t;
    water::dynamic_viscosity(temperature) * (m * (first + m * (second + m * third))).exp()
}

/// Surface tension against air, N/m, at salt `mass_fraction` (0 to 0.26) and `temperature` (K).
pub fn surface_tension(mass_fraction: f64, temperature: f64) -> f64 {
    water::surface_tension(temperature) + 1.66e-3 * molality(mass_fraction)
}

/// Refractive index against air at 589 nm.
fn refractive_index(mass_fraction: f64, temperature: f64) -> f64 {
    let w = 100.0 * mass_fraction;
    let pure =
        water::refractive_index(water::density(temperature), temperature, 589.3e-9) / water::INDEX_OF_AIR;
    pure + w * (1.7682e-3 - 5.8e-6 * w)
}

/// Saline as a liquid of the catalogue; 0.01 to 50 C, mass fraction 0 to 0.26.
///
/// Standard uncertainties (chosen here from how published formulas differ): density 0.4 kg/m^3, viscosity 1 %,
/// surface tension 0.18 mN/m plus 6 % of what the salt adds, refractive index 5e-4.
pub fn liquid() -> LiquidData {
    let within = |low: f64, high: f64| vec![Limit::temperature(low, high), Limit::mass_fraction(0.0, 0.26)];
    LiquidData {
        name: "saline".into(),
        aliases: vec![
            "salt-water".into(),
            "nacl-water".into(),
            "sodium-chloride-solution".into(),
            "nacl".into(),
        ],
        aqueous: true,
        solute: Some("sodium chloride"),
        density: Correlation::new(
            "density",
            "kg/m^3",
            "IAPWS SR6-08(2011) and increment of Simion et al. 2015",
            within(273.16, 323.15),
            |x| density(x[1], x[0]),
        )
        .absolute(0.4),
        surface_tension: Correlation::new(
            "surface tension",
            "N/m",
            "IAPWS R1-76(2014) and increment of Talreja-Muthreja et al. 2022",
            within(273.16, 323.15),
            |x| surface_tension(x[1], x[0]),
        )
        .spread(|x, _| 0.18e-3_f64.hypot(0.1e-3 * molality(x[1]))),
        dynamic_viscosity: Correlation::new(
            "dynamic viscosity",
            "Pa s",
            "IAPWS SR6-08(2011) and ratio of Mao and Duan 2009",
            within(273.16, 323.15),
            |x| dynamic_viscosity(x[1], x[0]),
        )
        .relative(0.01),
        sound_speed: None,
        refractive_index: Some(
            Correlation::new(
                "refractive index",
                "1",
                "IAPWS R9-97 and increment of Tan and Huang 2015, 589 nm",
                within(293.15, 318.15),
                |x| refractive_index(x[1], x[0]),
            )
            .absolute(5e-4),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // A general library's incompressible-fluid table (Melinder), independent of the formulas: kg/m^3 and mPa s.
    #[test]
    fn density_and_viscosity_of_another_table() {
        let rows = [
            (0.05, 278.15, 1037.3812, 1.622282),
            (0.05, 293.15, 1033.9708, 1.083736),
            (0.1, 293.15, 1070.5830, 1.193316),
            (0.1, 298.15, 1068.7090, 1.065386),
            (0.2, 278.15, 1154.5430, 2.300610),
            (0.2, 298.15, 1145.3665, 1.368927),
        ];
        for (c, kelvin, rho, mu) in rows {
            assert!((density(c, kelvin) - rho).abs() < 0.5, "{c} {kelvin}");
            assert!(
                (1e3 * dynamic_viscosity(c, kelvin) / mu - 1.0).abs() < 0.04,
                "{c} {kelvin}"
            );
        }
    }

    // Dutcher et al. 2010 by a public library, mN/m: another formula for the same salt.
    #[test]
    fn surface_tension_of_another_formula() {
        for (c, kelvin, due) in [
            (0.009, 298.15, 72.2173),
            (0.05, 293.15, 74.1682),
            (0.1, 298.15, 74.9676),
            (0.2, 293.15, 79.4250),
        ] {
            let found = 1e3 * surface_tension(c, kelvin);
            let added = found - 1e3 * water::surface_tension(kelvin);
            assert!((found - due).abs() < 0.1 + 0.06 * added, "{c}: {found} {due}");
        }
    }

    // Handbook value for 10 % at 20 C, from memory: 1.3505.
    #[test]
    fn refractive_index_of_ten_per_cent() {
        assert!((refractive_index(0.1, 293.15) - 1.3505).abs() < 5e-4);
    }

    #[test]
    fn without_salt_it_is_water() {
        assert_eq!(density(0.0, 293.15), water::density(293.15));
        assert_eq!(dynamic_viscosity(0.0, 293.15), water::dynamic_viscosity(293.15));
        assert_eq!(surface_tension(0.0, 293.15), water::surface_tension(293.15));
    }

    // What the salt changes, by a public library that quotes the four formulas: kg/m^3 added, ratio of
    // viscosities, N/m added, index added. Its molar mass, 58.443 g/mol, is 3e-6 larger: hence the tolerance 5e-6.
    #[test]
    fn values_of_the_formulas() {
        let rows = [
            (0.009, 298.15, 6.247192, 1.01352134, 0.257955e-3, 0.001586682),
            (0.1, 278.15, 75.137128, 1.18320585, 3.155972e-3, 0.017102),
            (0.2, 313.15, 145.624951, 1.59822909, 7.100936e-3, 0.033044),
            (0.25, 293.15, 190.563196, 1.89866642, 9.467914e-3, 0.040580),
        ];
        for (c, t, rho, mu, sigma, n) in rows {
            assert!((density(c, t) - water::density(t) - rho).abs() < 1e-5, "{c}");
            assert!(
                (dynamic_viscosity(c, t) / water::dynamic_viscosity(t) - mu).abs() < 5e-6,
                "{c}"
            );
            let added = surface_tension(c, t) - water::surface_tension(t);
            assert!((added / sigma - 1.0).abs() < 5e-6, "{c}: {added}");
            assert!(
                (refractive_index(c, t) - refractive_index(0.0, t) - n).abs() < 1e-8,
                "{c}"
            );
        }
    }
}
