//! Moist air, 0 to 40 C and 60 to 110 kPa: density, viscosity, speed of sound.
//!
//! ```text
//! rho  = p Ma / (Z R T) (1 - x (1 - Mv / Ma)),      x = h f ps / p,     f = 1.00062 + 3.14e-8 p + 5.6e-7 t^2
//! ps   = exp(1.2378847e-5 T^2 - 1.9121316e-2 T + 33.93711047 - 6343.1645 / T)
//! Z    = 1 - (p / T) (a0 + a1 t + a2 t^2 + (b0 + b1 t) x + (c0 + c1 t) x^2) + (p / T)^2 (d + e x^2)
//! c    = sixteen terms in t, x, p and the carbon dioxide, see the code
//! mu   = mu_dry(T) (1 - 0.33 x)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T`, `t` | temperature | K, degrees Celsius |
//! | `p`, `ps` | pressure, saturation vapour pressure | Pa |
//! | `h`, `x` | relative humidity, mole fraction of vapour | 1 |
//! | `f`, `Z` | enhancement factor, compressibility factor | 1 |
//! | `Ma`, `Mv` | molar mass of dry air with 400 ppm carbon dioxide, of water | kg/mol |
//! | `rho`, `mu`, `c` | density, dynamic viscosity, speed of sound | kg/m^3, Pa s, m/s |
//!
//! Sources: density \[Picard2008\] (CIPM-2007; 15 to 27 C, 60 to 110 kPa), sound \[Cramer1993\] (0 to 30 C, 75 to
//! 102 kPa, x below 0.06), both read in several public files that agree, and compared here over 0 to 40 C and 60
//! to 110 kPa with a general library (5e-5 and 2e-4 at most), so they are used that far with wider
//! uncertainties. `mu_dry`: Sutherland's form fitted here to that library's values of \[LemmonJacobsen2004\]; the
//! factor of the vapour is a rounded slope of its moist-air values. Cabin air may hold ten times the carbon
//! dioxide: 0.1 % of the density, inside the uncertainty.

use crate::correlation::{Correlation, Limit};
use crate::gas_data::GasData;
use crate::sutherland::Sutherland;

const GAS_CONSTANT: f64 = 8.314_472;
const CARBON_DIOXIDE: f64 = 4e-4;
const DRY: Sutherland = Sutherland {
    viscosity: 1.845_060_5e-5,
    reference: 298.15,
    temperature: 115.692,
};

/// Saturation vapour pressure over water, Pa, at `temperature` (K).
pub fn saturation_pressure(temperature: f64) -> f64 {
    let t = temperature;
    ((1.2378847e-5 * t - 1.9121316e-2) * t + 33.93711047 - 6343.1645 / t).exp()
}

/// Mole fraction of water vapour, 1, at `temperature` (K), `pressure` (Pa) and relative `humidity` (1).
pub fn vapour(temperature: f64, pressure: f64, humidity: f64) -> f64 {
    let t = temperature - 273.15;
    let enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * t * t;
    humidity * enhancement * saturation_pressure(temperature) / pressure
}

/// Density, kg/m^3, at `temperature` (K), `pressure` (Pa) and relative `humidity` (1).
pub fn density(temperature: f64, pressure: f64, humidity: f64) -> f64 {
    let (t, x) = (temperature - 273.15, vapour(temperature, pressure, humidity));
    let ratio = pressure / temperature;
    let first = 1.58123e-6
        + t * (-2.9331e-8 + 1.1043e-10 * t)
        + x * (5.707e-6 - 2.051e-8 * t)
        + x * x * (1.9898e-4 - 2.376e-6 * t);
    let compressibility = 1.0 - ratio * first + ratio * ratio * (1.83e-11 - 0.765e-8 * x * x);
    let (dry, water) = (28.965_46e-3, 18.015_28e-3);
    ratio * dry / (compressibility * GAS_CONSTANT) * (1.0 - x * (1.0 - water / dry))
}

/// Dynamic viscosity, Pa s, at `temperature` (K), `pressure` (Pa) and relative `humidity` (1).
pub fn dynamic_viscosity(temperature: f64, pressure: f64, humidity: f64) -> f64 {
    DRY.at(temperature) * (1.0 - 0.33 * vapour(temperature, pressure, humidity))
}

/// Speed of sound at low frequency, m/s, at `temperature` (K), `pressure` (Pa) and relative `humidity` (1).
pub fn sound_speed(temperature: f64, pressure: f64, humidity: f64) -> f64 {
    let (t, p, q) = (temperature - 273.15, pressure, CARBON_DIOXIDE);
    let x = vapour(temperature, pressure, humidity);
    331.5024
        + t * (0.603055 - 0.000528 * t)
        + x * (51.471935 + t * (0.1495874 - 0.000782 * t))
        + p * (-1.82e-7 + t * (3.73e-8 - 2.93e-10 * t))
        + q * (-85.20931 + t * (-0.228525 + 5.91e-5 * t))
        - 2.835149 * x * x
        - 2.15e-13 * p * p
        + 29.179762 * q * q
        + 0.000486 * x * p * q
}

/// Air as a gas of the catalogue.
///
/// Standard uncertainties (chosen here): density 0.05 %, viscosity 0.3 % plus a tenth of the vapour's mole fraction,
/// speed of sound 0.05 %.
pub fn gas() -> GasData {
    let limits = || {
        vec![
            Limit::temperature(273.15, 313.15),
            Limit::pressure(60e3, 110e3),
            Limit::relative_humidity(0.0, 1.0),
        ]
    };
    GasData {
        name: "air",
        aliases: &["cabin-air", "moist-air"],
        humid: true,
        density: Correlation::new("density", "kg/m^3", "CIPM-2007 (Picard et al. 2008)", limits(), |x| {
            density(x[0], x[1], x[2])
        })
        .relative(5e-4),
        dynamic_viscosity: Correlation::new(
            "dynamic viscosity",
            "Pa s",
            "fit made here to a general library's values of Lemmon and Jacobsen 2004, with a factor for vapour",
            limits(),
            |x| dynamic_viscosity(x[0], x[1], x[2]),
        )
        .spread(|x, value| value * (0.003 + 0.1 * vapour(x[0], x[1], x[2]))),
        sound_speed: Correlation::new("speed of sound", "m/s", "Cramer 1993", limits(), |x| {
            sound_speed(x[0], x[1], x[2])
        })
        .relative(5e-4),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Dry air at 101325 Pa by a general library: equation of state of Lemmon et al. 2000, viscosity of Lemmon and
    // Jacobsen 2004 (the latter fitted, the others independent).
    #[test]
    fn dry_air_of_a_general_library() {
        let rows = [
            (273.15, 1.2930656, 17.218406e-6, 331.44089),
            (293.15, 1.2045752, 18.205675e-6, 343.34389),
            (298.15, 1.1843185, 18.448082e-6, 346.25099),
            (313.15, 1.1274497, 19.165234e-6, 354.81738),
        ];
        for (kelvin, rho, mu, c) in rows {
            assert!(
                (density(kelvin, 101_325.0, 0.0) / rho - 1.0).abs() < 1e-4,
                "{kelvin}"
            );
            assert!(
                (dynamic_viscosity(kelvin, 101_325.0, 0.0) / mu - 1.0).abs() < 1e-3,
                "{kelvin}"
            );
            assert!(
                (sound_speed(kelvin, 101_325.0, 0.0) / c - 1.0).abs() < 1e-4,
                "{kelvin}"
            );
        }
    }

    // The same library's moist-air mixture (Hyland and Wexler): kg/m^3, uPa s, m/s, mole fraction of vapour.
    #[test]
    fn moist_air_of_a_general_library() {
        let rows = [
            (293.15, 101_325.0, 0.5, 1.1993593, 18.1432, 343.963, 0.0115913),
            (293.15, 101_325.0, 1.0, 1.1941329, 18.0805, 344.585, 0.0231826),
            (313.15, 101_325.0, 0.5, 1.1119888, 18.9267, 356.854, 0.0366155),
            (313.15, 101_325.0, 1.0, 1.0966061, 18.6870, 358.910, 0.0732309),
        ];
        for (t, p, h, rho, mu, c, x) in rows {
            assert!((vapour(t, p, h) / x - 1.0).abs() < 1e-3, "{t} {h}");
            assert!((density(t, p, h) / rho - 1.0).abs() < 1e-4, "{t} {h}");
            assert!(
                (1e6 * dynamic_viscosity(t, p, h) / mu - 1.0).abs() < 2e-3,
                "{t} {h}"
            );
            assert!((sound_speed(t, p, h) / c - 1.0).abs() < 2e-4, "{t} {h}");
        }
    }

    // 2339 Pa at 20 C is the rounded handbook value, from memory.
    #[test]
    fn saturation() {
        assert!((saturation_pressure(293.15) - 2339.0).abs() < 1.0);
    }

    // CIPM-2007 and Cramer 1993 recomputed independently from the formulas: kg/m^3, m/s, mole fraction.
    #[test]
    fn values_of_the_formulas() {
        let rows = [
            (296.15, 101_325.0, 0.5, 1.18608413, 345.866517, 0.013927576),
            (273.15, 60e3, 1.0, 0.76255981, 331.982102, 0.010212385),
            (313.15, 110e3, 1.0, 1.19310269, 358.612581, 0.067468422),
        ];
        for (t, p, h, rho, c, x) in rows {
            assert!((density(t, p, h) - rho).abs() < 1e-8, "{t}: {}", density(t, p, h));
            assert!(
                (sound_speed(t, p, h) - c).abs() < 1e-6,
                "{t}: {}",
                sound_speed(t, p, h)
            );
            assert!((vapour(t, p, h) - x).abs() < 1e-9, "{t}");
        }
    }
}
