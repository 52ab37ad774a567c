//! Dry nitrogen, argon and carbon dioxide, -20 to 60 C and 50 to 150 kPa.
//!
//! ```text
//! rho = p M / (R T Z),   Z = 1 + B p / (R T),   B = b0 + b1 y + b2 y^2,   y = 298.15 / T
//! c^2 = (R T / M) (g0 + g1 z + g2 z^2 + (p / 1e5) (k0 + k1 z)),            z = T / 298.15 - 1
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T`, `p` | temperature, pressure | K, Pa |
//! | `M`, `R` | molar mass, gas constant | kg/mol, J/(mol K) |
//! | `B` | second virial coefficient, as fitted | m^3/mol |
//! | `rho`, `c` | density, speed of sound | kg/m^3, m/s |
//!
//! Viscosity by Sutherland's form ([`crate::sutherland`]). All constants were fitted here to a general library's
//! values: nitrogen \[Span2000\], argon \[Tegeler1999\], carbon dioxide \[SpanWagner1996\], viscosities of nitrogen
//! and argon \[LemmonJacobsen2004\], of carbon dioxide as that library has it. The fits are within 6e-5 (density),
//! 2e-4 (sound) and 1.2e-3 (viscosity) of it over the whole range. Humidity is not here.

use crate::correlation::{Correlation, Limit};
use crate::gas_data::GasData;
use crate::sutherland::Sutherland;

const GAS_CONSTANT: f64 = 8.314_462_618;

/// The fitted constants of one gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PureGas {
    /// Molar mass, kg/mol.
    pub molar_mass: f64,
    /// b0, b1, b2 of the second virial coefficient, m^3/mol.
    pub virial: [f64; 3],
    /// g0, g1, g2, k0, k1 of the speed of sound, 1.
    pub sound: [f64; 5],
    /// Viscosity.
    pub viscosity: Sutherland,
}

/// Nitrogen.
pub const NITROGEN: PureGas = PureGas {
    molar_mass: 0.028_013_48,
    virial: [4.28713016e-5, -3.71564854e-5, -1.04072961e-5],
    sound: [
        1.39958553,
        -3.10134645e-3,
        -1.71024026e-2,
        1.13919737e-3,
        3.42538208e-3,
    ],
    viscosity: Sutherland {
        viscosity: 1.780_725_7e-5,
        reference: 298.15,
        temperature: 111.585,
    },
};

/// Argon.
pub const ARGON: PureGas = PureGas {
    molar_mass: 0.039_948,
    virial: [3.43827756e-5, -3.86422818e-5, -1.10998708e-5],
    sound: [
        1.66673551,
        -3.28386556e-4,
        -1.02341533e-2,
        7.27051118e-4,
        4.11333004e-3,
    ],
    viscosity: Sutherland {
        viscosity: 2.262_779_6e-5,
        reference: 298.15,
        temperature: 148.633,
    },
};

/// Carbon dioxide.
pub const CARBON_DIOXIDE: PureGas = PureGas {
    molar_mass: 0.044_009_8,
    virial: [-1.43849044e-5, 6.92153015e-5, -1.78066068e-4],
    sound: [1.28885886, -0.13978563, 0.04398974, -7.69135e-3, 0.02929324],
    viscosity: Sutherland {
        viscosity: 1.492_106_3e-5,
        reference: 298.15,
        temperature: 247.309,
    },
};

impl PureGas {
    /// Density, kg/m^3, at `temperature` (K) and `pressure` (Pa).
    pub fn density(&self, temperature: f64, pressure: f64) -> f64 {
        let [b0, b1, b2] = self.virial;
        let y = 298.15 / temperature;
        let ratio = pressure / (GAS_CONSTANT * temperature);
        ratio * self.molar_mass / (1.0 + ratio * (b0 + y * (b1 + b2 * y)))
    }

    /// Speed of sound, m/s, at `temperature` (K) and `pressure` (Pa).
    pub fn sound_speed(&self, temperature: f64, pressure: f64) -> f64 {
        let [g0, g1, g2, k0, k1] = self.sound;
        let z = temperature / 298.15 - 1.0;
        let factor = g0 + z * (g1 + g2 * z) + pressure / 1e5 * (k0 + k1 * z);
        (GAS_CONSTANT * temperature / self.molar_mass * factor).sqrt()
    }

    /// The gas as one of the catalogue. Standard uncertainties (chosen here): 0.1 %, viscosity 0.5 %, sound 0.1 %.
    fn gas(self, name: &'static str, aliases: &'static [&'static str], equation: &str) -> GasData {
        let limits = || vec![Limit::temperature(253.15, 333.15), Limit::pressure(50e3, 150e3)];
        let source = |of: &str| format!("fit made here to a general library's values of {of}");
        let transport = if self == CARBON_DIOXIDE {
            "its viscosity of carbon dioxide"
        } else {
            "Lemmon and Jacobsen 2004"
        };
        GasData {
            name,
            aliases,
            humid: false,
            density: Correlation::new("density", "kg/m^3", source(equation), limits(), move |x| {
                self.density(x[0], x[1])
            })
            .relative(1e-3),
            dynamic_viscosity: Correlation::new(
                "dynamic viscosity",
                "Pa s",
                source(transport),
                limits(),
                move |x| self.viscosity.at(x[0]),
            )
            .relative(5e-3),
            sound_speed: Correlation::new("speed of sound", "m/s", source(equation), limits(), move |x| {
                self.sound_speed(x[0], x[1])
            })
            .relative(1e-3),
        }
    }
}

/// The three gases of the catalogue.
pub fn gases() -> Vec<GasData> {
    vec![
        NITROGEN.gas("nitrogen", &["n2"], "Span et al. 2000"),
        ARGON.gas("argon", &["ar"], "Tegeler et al. 1999"),
        CARBON_DIOXIDE.gas("carbon-dioxide", &["co2"], "Span and Wagner 1996"),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    // A general library at the corners and the middle: K, Pa, kg/m^3, uPa s, m/s. The fits were made to it, so this
    // guards the constants and the form.
    fn guard(gas: PureGas, rows: [(f64, f64, f64, f64, f64); 4]) {
        for (t, p, rho, mu, c) in rows {
            assert!(
                (gas.density(t, p) / rho - 1.0).abs() < 1e-4,
                "{t} {p}: {}",
                gas.density(t, p)
            );
            assert!((1e6 * gas.viscosity.at(t) / mu - 1.0).abs() < 1.5e-3, "{t} {p}");
            assert!((gas.sound_speed(t, p) / c - 1.0).abs() < 3e-4, "{t} {p}");
        }
    }

    #[test]
    fn nitrogen() {
        guard(
            NITROGEN,
            [
                (253.15, 150e3, 1.9985803, 15.663518, 324.39174),
                (293.15, 101_325.0, 1.1648302, 17.572933, 349.10442),
                (298.15, 101_325.0, 1.1452449, 17.804741, 352.07033),
                (333.15, 50e3, 0.50565249, 19.377422, 372.03791),
            ],
        );
    }

    #[test]
    fn argon() {
        guard(
            ARGON,
            [
                (253.15, 150e3, 2.8523139, 19.703157, 296.33190),
                (293.15, 101_325.0, 1.6618207, 22.306535, 318.95906),
                (298.15, 101_325.0, 1.6338635, 22.623995, 321.67382),
                (333.15, 50e3, 0.72120941, 24.785662, 340.00606),
            ],
        );
    }

    #[test]
    fn carbon_dioxide() {
        guard(
            CARBON_DIOXIDE,
            [
                (253.15, 150e3, 3.1772874, 12.736006, 248.60615),
                (293.15, 101_325.0, 1.8393449, 14.674783, 266.55554),
                (298.15, 101_325.0, 1.8079703, 14.914621, 268.62291),
                (333.15, 50e3, 0.79577239, 16.567868, 282.86872),
            ],
        );
    }
}
