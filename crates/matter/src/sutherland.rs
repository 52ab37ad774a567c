//! Viscosity of a dilute gas against temperature.
//!
//! ```text
//! mu = mu_0 (T / T_0)^1.5 (T_0 + S) / (T + S)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `mu`, `mu_0` | dynamic viscosity, at `T_0` | Pa s |
//! | `T`, `T_0` | temperature, reference | K |
//! | `S` | Sutherland's temperature | K |
//!
//! Source: \[Sutherland1893\]; the form for air with its two constants as in \[USStandardAtmosphere1976\] (from memory).
//! Holds over a few hundred kelvin at pressures up to some bar; the change with pressure is left out.

/// Constants of one gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sutherland {
    /// Viscosity at the reference temperature, Pa s.
    pub viscosity: f64,
    /// Reference temperature, K.
    pub reference: f64,
    /// Sutherland's temperature, K.
    pub temperature: f64,
}

impl Sutherland {
    /// Dynamic viscosity, Pa s, at `temperature` (K).
    ///
    /// ```
    /// use tremolet_matter::sutherland::STANDARD_ATMOSPHERE;
    /// assert!((STANDARD_ATMOSPHERE.at(293.15) - 18.13406e-6).abs() < 1e-11);
    /// ```
    pub fn at(self, temperature: f64) -> f64 {
        let t = temperature / self.reference;
        self.viscosity * t * t.sqrt() * (self.reference + self.temperature) / (temperature + self.temperature)
    }
}

/// Dry air of the US Standard Atmosphere 1976: 1.458e-6 T^1.5 / (T + 110.4).
pub const STANDARD_ATMOSPHERE: Sutherland = Sutherland {
    viscosity: 1.458e-6 / 111.4,
    reference: 1.0,
    temperature: 110.4,
};

#[cfg(test)]
mod tests {
    use super::*;

    // US Standard Atmosphere 1976 formula at 20 C, uPa s: recomputed independently.
    #[test]
    fn standard_atmosphere() {
        let found = 1e6 * STANDARD_ATMOSPHERE.at(293.15);
        assert!((found - 18.13406).abs() < 1e-5, "{found}");
    }
}
