//! How cold a drying drop gets, and how soon.
//!
//! ```text
//! at rest    k (T - T_s) + R e s (T^4 - T_s^4) + P / (4 pi R) = h D (c_s(T_s) - c_far)
//! time       t = rho c R^2 / (3 [k + 4 R e s T_m^3 + h D c_s'(T_m)]),     T_m = (T + T_s) / 2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T`, `T_s`, `T_m` | temperature of the room, of the drop at rest, mean of the two | K |
//! | `R`, `rho`, `c` | radius, density, specific heat of the drop | m, kg/m^3, J/(kg K) |
//! | `k` | thermal conductivity of air | W/(m K) |
//! | `e`, `s` | emissivity of the surface (0.95 for water), Stefan-Boltzmann constant | 1, W/(m^2 K^4) |
//! | `P` | power taken up from lamps | W |
//! | `h`, `D` | heat of vaporisation, diffusivity of the vapour | J/kg, m^2/s |
//! | `c_s`, `c_far` | density of saturated vapour, of vapour far away | kg/m^3 |
//! | `t` | time in which the difference falls to 1/e | s |
//!
//! Without radiation and lamps the temperature at rest does not depend on the size (wet bulb). With them it does: a drop of 24 mm is warmed by the walls as much as by the
//! air, and stays some 4 K warmer than one of 2 mm.
//!
//! Source: \[Maxwell1877\] with radiation added; the time is the balance linearised, own derivation, within 10 % of the whole course for water in a cabin. Still air; walls as warm as the
//! air; the drop of one temperature throughout, which holds when its inside conducts far better than air.

use std::f64::consts::PI;

use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// Stefan-Boltzmann constant, W/(m^2 K^4).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Air and walls round a drop, and the vapour it gives off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Temperature of air and walls, K.
    pub temperature: f64,
    /// Density of vapour far away, kg/m^3.
    pub vapour: f64,
    /// Thermal conductivity of the air, W/(m K).
    pub conductivity: f64,
    /// Diffusivity of the vapour, m^2/s.
    pub diffusivity: f64,
    /// Heat of vaporisation, J/kg.
    pub heat: f64,
    /// Emissivity of the drop, 0 to 1; 0 leaves radiation out.
    pub emissivity: f64,
}

impl Room {
    /// Temperature (K) at which a drop of `radius` (m) that takes up the `power` (W) comes to rest; `saturation` gives the density of saturated
    /// vapour (kg/m^3) at a temperature.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything impossible, [`TheoryError::Root`] if there is no balance within 80 K of the room: then it boils or freezes.
    pub fn rest(&self, radius: f64, power: f64, saturation: impl Fn(f64) -> f64) -> Result<f64, TheoryError> {
        self.check()?;
        let lamp = not_negative("power", power)? / (4.0 * PI * positive("radius", radius)?);
        let gain = |t: f64| {
            let radiation =
                radius * self.emissivity * STEFAN_BOLTZMANN * (self.temperature.powi(4) - t.powi(4));
            let vapour = self.heat * self.diffusivity * (saturation(t) - self.vapour);
            self.conductivity * (self.temperature - t) + radiation + lamp - vapour
        };
        let what = "temperature of the drop at rest";
        bracketed(gain, self.temperature - 80.0, self.temperature + 80.0, 1e-10)
            .map(|found| found.root)
            .map_err(|source| TheoryError::Root { what, source })
    }

    /// Time (s) in which the drop comes to rest but for 1/e: `density` (kg/m^3) and `specific_heat` (J/(kg K)) of the liquid, `rest` its temperature then
    /// (K).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive.
    pub fn time(
        &self,
        radius: f64,
        density: f64,
        specific_heat: f64,
        rest: f64,
        saturation: impl Fn(f64) -> f64,
    ) -> Result<f64, TheoryError> {
        let capacity = positive("density", density)? * positive("specific heat", specific_heat)?;
        let mean = 0.5 * (self.temperature + positive("temperature at rest", rest)?);
        let exchange = self.exchange(radius, mean, saturation)?;
        Ok(capacity * radius * radius / (3.0 * exchange))
    }

    /// Heat that a drop gives to the room per kelvin, over `4 pi R`: air, radiation and vapour together, W/(m K), at `temperature` (K).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything impossible.
    pub fn exchange(
        &self,
        radius: f64,
        temperature: f64,
        saturation: impl Fn(f64) -> f64,
    ) -> Result<f64, TheoryError> {
        self.check()?;
        let step = 0.05;
        let slope = (saturation(temperature + step) - saturation(temperature - step)) / (2.0 * step);
        let radiation =
            4.0 * positive("radius", radius)? * self.emissivity * STEFAN_BOLTZMANN * temperature.powi(3);
        let vapour = self.heat * self.diffusivity * slope;
        positive("exchange of heat", self.conductivity + radiation + vapour)
    }

    fn check(&self) -> Result<(), TheoryError> {
        positive("temperature of the room", self.temperature)?;
        not_negative("density of vapour", self.vapour)?;
        positive("conductivity of the air", self.conductivity)?;
        positive("diffusivity of the vapour", self.diffusivity)?;
        not_negative("heat of vaporisation", self.heat)?;
        let inside = (0.0..=1.0).contains(&self.emissivity);
        required("emissivity", self.emissivity, inside, "from 0 to 1").map(drop)
    }
}

/// Relative change of a property of the liquid, given as a function of the temperature, between `from` and `to` (K).
///
/// # Errors
/// [`TheoryError::Quantity`] when the property is not positive at `from` or no number at `to`.
pub fn change(property: impl Fn(f64) -> f64, from: f64, to: f64) -> Result<f64, TheoryError> {
    let before = positive("property at the first temperature", property(from))?;
    let after = required(
        "property at the second temperature",
        property(to),
        true,
        "a finite number",
    )?;
    Ok(after / before - 1.0)
}

/// Where one temperature throughout the drop holds: exchange with the room (W/(m K), from [`Room::exchange`]) over the conductivity of the liquid
/// up to 0.5; `draught` (m/s) past a `radius` (m) slow against the diffusivity of heat in air (`R v / D` up to 0.5).
#[must_use]
pub fn validity(
    exchange: f64,
    liquid_conductivity: f64,
    radius: f64,
    draught: f64,
    diffusivity: f64,
) -> Validity {
    Validity::always()
        .with(
            "exchange over conductivity of the liquid",
            exchange / liquid_conductivity,
            0.0,
            0.5,
        )
        .with(
            "draught over diffusion",
            radius * draught.abs() / diffusivity,
            0.0,
            0.5,
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The vapour of validation/theory/drying.py.
    fn saturation(t: f64) -> f64 {
        0.0173 * (0.0575 * (t - 293.15)).exp()
    }

    fn cabin(emissivity: f64) -> Room {
        Room {
            temperature: 295.15,
            vapour: 0.4 * saturation(295.15),
            conductivity: 0.0257,
            diffusivity: 2.45e-5,
            heat: 2.45e6,
            emissivity,
        }
    }

    // The whole course integrated, validation/theory/drying.py: temperature at rest, time to 1 - 1/e of the way.
    #[test]
    fn rest_and_time_of_an_integrated_course() {
        let rows = [
            (1e-3, 0.0, 286.194_945_3, 18.986),
            (1e-3, 0.95, 286.857_246_4, 17.448),
            (12e-3, 0.0, 286.194_945_3, 2734.0),
            (12e-3, 0.95, 290.469_685_5, 1370.5),
        ];
        for (radius, emissivity, rest, time) in rows {
            let room = cabin(emissivity);
            let found = room.rest(radius, 0.0, saturation).unwrap();
            assert!((found - rest).abs() < 1e-6, "{found}");
            let t = room.time(radius, 998.2, 4184.0, found, saturation).unwrap();
            assert!((t / time - 1.0).abs() < 0.1, "{t} {time}");
        }
        let lit = cabin(0.95).rest(5e-3, 1e-3, saturation).unwrap();
        assert!((lit - 288.869_013_1).abs() < 1e-6);
    }

    // Water at 22 C in 40 % humidity, an estimate of the order: about 8 K colder, 16 s at 1 mm and 40 min at 12 mm without radiation, tension +1.6 %,
    // viscosity +22 %; recomputed independently. The tension is IAPWS R1-76(2014), the viscosity IAPWS SR6-08, written out here.
    #[test]
    fn a_drop_of_water_in_a_cabin() {
        let rest = cabin(0.0).rest(1e-3, 0.0, saturation).unwrap();
        assert!((295.15 - rest - 8.0).abs() < 2.0);
        let tension = |t: f64| {
            let tau = 1.0 - t / 647.096;
            0.2358 * tau.powf(1.256) * (1.0 - 0.625 * tau)
        };
        let viscosity = |t: f64| {
            let s = t / 300.0;
            280.68 * s.powf(-1.9) + 511.45 * s.powf(-7.7) + 61.131 * s.powf(-19.6) + 0.45903 * s.powf(-40.0)
        };
        assert!((change(tension, 295.15, 287.15).unwrap() - 0.016).abs() < 0.001);
        assert!((change(viscosity, 295.15, 287.15).unwrap() - 0.22).abs() < 0.015);
    }

    #[test]
    fn dry_air_and_no_vapour() {
        // Nothing evaporates: the drop stays as warm as the room.
        let room = Room {
            heat: 0.0,
            ..cabin(0.5)
        };
        assert!((room.rest(1e-3, 0.0, saturation).unwrap() - 295.15).abs() < 1e-8);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(
            cabin(1.5).rest(1e-3, 0.0, saturation).is_err() && cabin(0.9).rest(0.0, 0.0, saturation).is_err()
        );
        assert!(cabin(0.9).rest(1e-3, 100.0, saturation).is_err());
        assert!(cabin(0.9).time(1e-3, 0.0, 1.0, 290.0, saturation).is_err());
        assert!(change(|_| 0.0, 1.0, 2.0).is_err() && change(|t| 1.0 / (2.0 - t), 1.0, 2.0).is_err());
        assert!(
            validity(0.08, 0.6, 1e-3, 0.0, 2e-5).holds() && !validity(0.08, 0.1, 1e-3, 0.0, 2e-5).holds()
        );
    }
}
