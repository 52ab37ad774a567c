//! Glycerol-water mixtures by mass fraction of glycerol: density, viscosity, surface tension, refractive index.
//!
//! ```text
//! mu    = mu_w^al mu_g^(1 - al),   al = 1 - C + a b C (1 - C) / (a C + b (1 - C))
//! a     = 0.705 - 0.0017 t,   b = (4.9 + 0.036 t) a^2.5
//! mu_w  = 1.790 exp((-1230 - t) t / (36100 + 360 t)),   mu_g = 12100 exp((-1233 + t) t / (9900 + 70 t))
//! rho   = k (rho_w + (rho_g - rho_w) / (1 + (rho_g / rho_w) (1 / C - 1))),   k = 1 + A sin(pi C^1.31)^0.81
//! rho_w = 1000 (1 - (|t - 3.98| / 615)^1.71),   rho_g = 1273.3 - 0.6121 t,   A = 1.78e-6 t^2 - 1.82e-4 t + 1.41e-2
//! sigma = (1 - C) sigma_w + C sigma_g + 6.8e-3 C (1 - C),   sigma_g = 63.60e-3 - 0.067e-3 (t - 22)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `C` | mass fraction of glycerol | 1 |
//! | `t` | temperature | degrees Celsius |
//! | `mu`, `mu_w`, `mu_g` | dynamic viscosity of mixture, water, glycerol | mPa s in the formula, Pa s here |
//! | `rho`, `rho_w`, `rho_g` | density of mixture, water, glycerol | kg/m^3 |
//! | `k` | contraction on mixing | 1 |
//! | `sigma`, `sigma_w`, `sigma_g` | surface tension of mixture, water \[IAPWSR176\], glycerol | N/m |
//!
//! Sources: viscosity \[Cheng2008\], 0 to 100 C; the factor a^2.5 is missing in some reprints. Density
//! \[VolkKahler2018\], 15 to 30 C, read in public files that quote it, with the coefficients of pure glycerol as later
//! corrected by its author (a file of 2017 says so; another keeps 1273 - 0.612 t, 0.3 kg/m^3 lower). Surface
//! tension: pure glycerol \[Khosharay2016\] at 22 to 37 C, four values read in a public data listing; the bend
//! 6.8e-3 C (1 - C) was set here to a handbook table at 18 C **from memory**. The refractive index is a parabola
//! through handbook values at 20 C **from memory**. The speed of sound is not here.

use crate::correlation::{Correlation, Limit};
use crate::liquid_data::LiquidData;
use crate::water;
use std::f64::consts::PI;

/// Dynamic viscosity, Pa s, at glycerol `mass_fraction` (0 to 1) and `temperature` (K).
pub fn dynamic_viscosity(mass_fraction: f64, temperature: f64) -> f64 {
    let (c, t) = (mass_fraction, temperature - 273.15);
    let water = 1.790e-3 * ((-1230.0 - t) * t / (36_100.0 + 360.0 * t)).exp();
    let glycerol = 12.1 * ((-1233.0 + t) * t / (9900.0 + 70.0 * t)).exp();
    let a = 0.705 - 0.0017 * t;
    let b = (4.9 + 0.036 * t) * a.powf(2.5);
    let weight = 1.0 - c + a * b * c * (1.0 - c) / (a * c + b * (1.0 - c));
    water.powf(weight) * glycerol.powf(1.0 - weight)
}

/// Density, kg/m^3, at glycerol `mass_fraction` (0 to 1) and `temperature` (K), published for 15 to 30 C.
pub fn density(mass_fraction: f64, temperature: f64) -> f64 {
    let (c, t) = (mass_fraction, temperature - 273.15);
    let water = 1000.0 * (1.0 - ((t - 3.98).abs() / 615.0).powf(1.71));
    let glycerol = 1273.3 - 0.6121 * t;
    let ideal = water + c * (glycerol - water) / (c + glycerol / water * (1.0 - c));
    let bend = 1.41e-2 + t * (-1.82e-4 + 1.78e-6 * t);
    // A hair outside 0 to 1 the sine is negative or no number; `max` makes the contraction zero there.
    ideal * (1.0 + bend * (PI * c.powf(1.31)).sin().max(0.0).powf(0.81))
}

/// Surface tension against air, N/m, at glycerol `mass_fraction` (0 to 1) and `temperature` (K); partly from memory.
pub fn surface_tension(mass_fraction: f64, temperature: f64) -> f64 {
    let glycerol = 63.60e-3 - 0.067e-3 * (temperature - 295.15);
    let c = mass_fraction;
    (1.0 - c) * water::surface_tension(temperature) + c * glycerol + 6.8e-3 * c * (1.0 - c)
}

/// Refractive index against air at 589 nm; from memory.
fn refractive_index(c: f64, temperature: f64) -> f64 {
    let slope = -1.0e-4 - 1.3e-4 * c;
    1.33299 + c * (0.11929 + 0.02168 * c) + slope * (temperature - 293.15)
}

/// Glycerol-water as a liquid of the catalogue; 15 to 30 C, mass fraction 0 to 1.
///
/// Standard uncertainties (chosen here): density 0.05 %, viscosity 3 %, surface tension 0.3 mN/m at the ends rising
/// to 1 mN/m at equal masses, refractive index 2e-3. Pure glycerol takes up water within minutes: the mass fraction
/// and its uncertainty count most.
pub fn liquid() -> LiquidData {
    let within = |low: f64, high: f64| vec![Limit::temperature(low, high), Limit::mass_fraction(0.0, 1.0)];
    LiquidData {
        name: "glycerol-water".into(),
        aliases: vec![
            "glycerine-water".into(),
            "glycerin-water".into(),
            "water-glycerol".into(),
        ],
        aqueous: true,
        solute: Some("glycerol"),
        density: Correlation::new(
            "density",
            "kg/m^3",
            "Volk and Kaehler 2018",
            within(288.15, 303.15),
            |x| density(x[1], x[0]),
        )
        .relative(5e-4),
        surface_tension: Correlation::new(
            "surface tension",
            "N/m",
            "ends IAPWS R1-76 and Khosharay et al. 2016, between them a handbook table from memory",
            within(288.15, 310.15),
            |x| surface_tension(x[1], x[0]),
        )
        .spread(|x, _| 0.3e-3 + 2.8e-3 * x[1] * (1.0 - x[1])),
        dynamic_viscosity: Correlation::new(
            "dynamic viscosity",
            "Pa s",
            "Cheng 2008",
            within(273.15, 373.15),
            |x| dynamic_viscosity(x[1], x[0]),
        )
        .relative(0.03),
        sound_speed: None,
        refractive_index: Some(
            Correlation::new(
                "refractive index",
                "1",
                "handbook values, from memory, 589 nm",
                within(283.15, 313.15),
                |x| refractive_index(x[1], x[0]),
            )
            .absolute(2e-3),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Cheng 2008: computed independently from the formula, mPa s at 0, 20, 25 and 40 C.
    #[test]
    fn values_of_the_formula() {
        let rows = [
            (0.0, [1.79000, 1.00486, 0.89274, 0.65460]),
            (0.2, [3.32407, 1.74139, 1.52451, 1.07507]),
            (0.4, [8.06549, 3.68482, 3.13722, 2.05891]),
            (0.5, [14.58433, 6.00225, 5.00369, 3.11128]),
            (0.6, [30.40718, 10.91148, 8.84785, 5.12502]),
            (0.8, [256.35355, 60.85913, 45.35040, 21.12270]),
            (0.9, [1280.85658, 223.74595, 156.34697, 61.52993]),
            (1.0, [12100.0, 1413.83066, 905.68001, 282.44403]),
        ];
        for (c, due) in rows {
            for (celsius, due) in [0.0, 20.0, 25.0, 40.0].into_iter().zip(due) {
                let found = 1e3 * dynamic_viscosity(c, celsius + 273.15);
                assert!(
                    (found - due).abs() < 6e-6 + 1e-9 * due,
                    "{c} {celsius}: {found} {due}"
                );
            }
        }
    }

    // A general library's incompressible-fluid table (Melinder), kg/m^3, at 15, 20, 25, 30 C: independent data.
    #[test]
    fn density_of_another_table() {
        let rows = [
            (0.1, [1023.1806, 1022.0269, 1020.6961, 1019.2209]),
            (0.3, [1074.2051, 1072.4131, 1070.5015, 1068.4855]),
            (0.5, [1128.5318, 1126.0786, 1123.5711, 1121.0158]),
            (0.6, [1156.2009, 1153.5135, 1150.7845, 1148.0192]),
        ];
        for (c, due) in rows {
            for (celsius, due) in [15.0, 20.0, 25.0, 30.0].into_iter().zip(due) {
                let found = density(c, celsius + 273.15);
                assert!((found / due - 1.0).abs() < 5e-4, "{c} {celsius}: {found} {due}");
            }
        }
    }

    // Pure glycerol at 20 C, handbook values from memory: 1261 kg/m^3, 63.4 mN/m, 1412 mPa s, 1.4746.
    #[test]
    fn pure_glycerol() {
        assert!((density(1.0, 293.15) - 1261.0).abs() < 0.5);
        assert!((surface_tension(1.0, 293.15) - 63.4e-3).abs() < 0.5e-3);
        assert!((dynamic_viscosity(1.0, 293.15) / 1.412 - 1.0).abs() < 0.005);
        assert!((refractive_index(1.0, 293.15) - 1.4746).abs() < 1e-3);
    }

    // Khosharay et al. 2016, pure glycerol, 22 to 37 C, stated to 0.3 mN/m: read in a public data listing.
    #[test]
    fn surface_tension_of_pure_glycerol() {
        for (kelvin, due) in [(295.15, 63.6), (300.15, 63.3), (305.15, 62.9), (310.15, 62.6)] {
            assert!(
                (1e3 * surface_tension(1.0, kelvin) - due).abs() < 0.07,
                "{kelvin}"
            );
        }
    }

    // Handbook table at 18 C, mN/m, from memory; it set the bend, so this guards the form, not the truth.
    #[test]
    fn surface_tension_between_the_ends() {
        for (c, due) in [(0.1, 72.9), (0.2, 72.4), (0.3, 72.0), (0.5, 70.0), (0.85, 66.0)] {
            let found = 1e3 * surface_tension(c, 291.15);
            assert!((found - due).abs() < 0.45, "{c}: {found} {due}");
        }
    }

    // The water of the density formula is coarse: it may differ from IAPWS SR6-08 by half the stated uncertainty.
    #[test]
    fn without_glycerol_it_is_water() {
        for kelvin in [288.15, 293.15, 298.15, 303.15] {
            let ratio = density(0.0, kelvin) / water::density(kelvin);
            assert!((ratio - 1.0).abs() < 2.5e-4, "{kelvin}: {ratio}");
            assert_eq!(surface_tension(0.0, kelvin), water::surface_tension(kelvin));
        }
    }

    // Volk and Kaehler 2018 recomputed independently from the formula, kg/m^3.
    #[test]
    fn density_of_the_formula() {
        let rows = [
            (0.1, 15.0, 1023.000361),
            (0.5, 20.0, 1126.226199),
            (0.8, 25.0, 1205.088831),
            (0.9, 30.0, 1228.957310),
        ];
        for (c, celsius, due) in rows {
            let found = density(c, celsius + 273.15);
            assert!((found - due).abs() < 2e-6, "{c} {celsius}: {found}");
        }
    }

    // IAPWS R9-97 for water at 30 C, and 1.4730 for glycerol at 25 C (handbook, from memory).
    #[test]
    fn refractive_index_falls_with_temperature() {
        let pure = water::refractive_index(water::density(303.15), 303.15, 589.3e-9) / water::INDEX_OF_AIR;
        assert!((refractive_index(0.0, 303.15) - pure).abs() < 2e-4);
        assert!((refractive_index(1.0, 298.15) - 1.4730).abs() < 5e-4);
    }
}
