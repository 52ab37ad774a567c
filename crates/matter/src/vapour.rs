//! Water vapour and heat in still air, for the drying of a drop; 0 to 40 C.
//!
//! ```text
//! D = 2.11e-5 (T / 273.15)^1.94 (101325 / p)          m^2/s
//! k = 2.64638e-3 T^1.5 / (T + 245.4 x 10^(-12 / T))   W/(m K)
//! h = 2.5008e6 - 2360 (T - 273.15)                    J/kg
//! c_s = p_s(T) M / (R T)                              kg/m^3
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `D`, `k` | diffusivity of vapour in air, thermal conductivity of dry air | m^2/s, W/(m K) |
//! | `h` | heat of vaporisation of water | J/kg |
//! | `c_s`, `p_s` | density of saturated vapour, its pressure ([`crate::air::saturation_pressure`]) | kg/m^3, Pa |
//! | `M`, `R` | molar mass of water, gas constant | kg/mol, J/(mol K) |
//!
//! Sources, all from memory: `D` \[HallPruppacher1976\], `k` \[USStandardAtmosphere1976\], `h` a line through the steam tables. A solute lowers the
//! vapour pressure over a drop; that is not here.

use crate::air::saturation_pressure;

/// Diffusivity of water vapour in air, m^2/s, at `temperature` (K) and `pressure` (Pa); about 3 %.
pub fn diffusivity(temperature: f64, pressure: f64) -> f64 {
    2.11e-5 * (temperature / 273.15).powf(1.94) * 101_325.0 / pressure
}

/// Thermal conductivity of dry air, W/(m K), at `temperature` (K); about 1 %.
pub fn conductivity_of_air(temperature: f64) -> f64 {
    2.646_38e-3 * temperature.powf(1.5) / (temperature + 245.4 * 10.0_f64.powf(-12.0 / temperature))
}

/// Heat of vaporisation of water, J/kg, at `temperature` (K); about 0.2 %.
pub fn heat_of_vaporisation(temperature: f64) -> f64 {
    2.5008e6 - 2360.0 * (temperature - 273.15)
}

/// Density of saturated vapour over water, kg/m^3, at `temperature` (K).
///
/// ```
/// assert!((tremolet_matter::vapour::saturation_density(293.15) - 0.0173).abs() < 1e-4);
/// ```
pub fn saturation_density(temperature: f64) -> f64 {
    saturation_pressure(temperature) * 0.018_015_28 / (8.314_462_618 * temperature)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Handbook values, from memory: 17.3 g/m^3 and 2.45 MJ/kg at 20 C, 0.0257 W/(m K) at 20 C, 2.5e-5 m^2/s at 25 C.
    #[test]
    fn handbook_values() {
        assert!((saturation_density(293.15) - 17.3e-3).abs() < 5e-5);
        assert!((heat_of_vaporisation(293.15) - 2.453e6).abs() < 2e3);
        assert!((conductivity_of_air(293.15) - 0.0257).abs() < 5e-5);
        assert!((diffusivity(298.15, 101_325.0) - 2.5e-5).abs() < 2e-7);
        assert!((diffusivity(298.15, 50_662.5) / diffusivity(298.15, 101_325.0) - 2.0).abs() < 1e-12);
    }
}
