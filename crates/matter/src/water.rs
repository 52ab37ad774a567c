//! Water at atmospheric pressure: the formulas, and the entry of water among the liquids.
//!
//! ```text
//! sigma = 0.2358 tau^1.256 (1 - 0.625 tau),   tau = 1 - T / 647.096
//! mu    = 1e-6 (280.68 t^-1.9 + 511.45 t^-7.7 + 61.131 t^-19.6 + 0.45903 t^-40),   t = T / 300
//! v     = (10 K R / p0) (a5 + sum a_i alpha^n_i + sum b_i beta^m_i),   alpha = 10 / (593 - T),  beta = 10 / (T - 232)
//! c^2   = -v^2 / (dv/dp + T (dv/dT)^2 / cp)
//! (n^2 - 1) / (n^2 + 2) = d (a0 + a1 d + a2 q + a3 l^2 q + a4 / l^2 + a5 / (l^2 - luv^2) + a6 / (l^2 - lir^2) + a7 d^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T` | temperature | K |
//! | `sigma` | surface tension against the vapour | N/m |
//! | `mu` | dynamic viscosity | Pa s |
//! | `v`, `rho = 1/v` | specific volume, density | m^3/kg, kg/m^3 |
//! | `c`, `cp` | speed of sound, isobaric heat capacity | m/s, J/(kg K) |
//! | `n` | refractive index against vacuum | 1 |
//! | `d`, `q`, `l` | rho / 1000, T / 273.15, wavelength / 0.589 um | 1 |
//!
//! Sources: \[IAPWSR176\] (used here 0.01 to 100 C); \[IAPWSSR608\] volume, heat capacity, viscosity (253.15 to
//! 383.15 K, 0.1 MPa); \[IAPWSR997\] refractive index (261.15 to 773.15 K, 0.2 to 1.1 um). The coefficients of the
//! volume were written from memory; these and all others were then compared with a general library's listing of the
//! releases and stand on its check points, the printed releases were not at hand. The bare functions check no
//! range and carry no uncertainty; [`liquid`] does. Dissolved gas, salts and surface films are not here.

use crate::correlation::{Correlation, Limit};
use crate::liquid_data::LiquidData;

/// Surface tension against its vapour, N/m, of water at `temperature` (K) below 647.096 K.
pub fn surface_tension(temperature: f64) -> f64 {
    let tau = 1.0 - temperature / 647.096;
    0.2358 * tau.powf(1.256) * (1.0 - 0.625 * tau)
}

/// Dynamic viscosity, Pa s, of liquid water at `temperature` (K) and 0.1 MPa.
pub fn dynamic_viscosity(temperature: f64) -> f64 {
    let t = temperature / 300.0;
    let terms = [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];
    1e-6 * terms
        .iter()
        .map(|(a, b): &(f64, f64)| a * t.powf(*b))
        .sum::<f64>()
}

const GAS_CONSTANT: f64 = 461.518_05;
const REFERENCE_TEMPERATURE: f64 = 10.0;
const REFERENCE_PRESSURE: f64 = 1e5;

/// Terms `(a, n)` of alpha and `(b, m)` of beta of one series of the release.
type Series = (&'static [(f64, i32)], &'static [(f64, i32)]);

const GIBBS: Series = (
    &[(-1.661470539e5, 4), (2.708781640e6, 5), (-1.557191544e8, 7)],
    &[
        (-8.237426256e-1, 2),
        (1.908956353, 3),
        (-2.017597384, 4),
        (8.546361348e-1, 5),
    ],
);
const VOLUME: Series = (
    &[
        (6.74458446e3, 4),
        (-2.22521604e5, 5),
        (1.00231247e8, 7),
        (-1.63552118e9, 8),
        (8.32299658e9, 9),
    ],
    &[
        (5.78545292e-3, 1),
        (-1.53195665e-2, 2),
        (3.11337859e-2, 3),
        (-4.23546241e-2, 4),
        (3.38713507e-2, 5),
        (-1.19946761e-2, 6),
    ],
);
const VOLUME_BY_PRESSURE: Series = (
    &[
        (-7.5245878e-6, 1),
        (-1.3767418e-2, 3),
        (1.0627293e1, 5),
        (-2.0457795e2, 6),
        (1.2037414e3, 7),
    ],
    &[
        (-3.1091470e-6, 1),
        (2.8964919e-5, 3),
        (-1.3112763e-4, 4),
        (3.0410453e-4, 5),
        (-3.9034594e-4, 6),
        (2.3403117e-4, 7),
        (-4.8510101e-5, 9),
    ],
);

/// Sum of the `order`-th derivative of the series by `T / 10 K`.
///
/// alpha grows and beta falls with temperature: d alpha / d(T/10) = alpha^2, d beta / d(T/10) = -beta^2.
fn series((warm, cold): Series, temperature: f64, order: i32) -> f64 {
    let alpha = REFERENCE_TEMPERATURE / (593.0 - temperature);
    let beta = REFERENCE_TEMPERATURE / (temperature - 232.0);
    let rising = |n: i32| (0..order).map(|k| f64::from(n + k)).product::<f64>();
    let sum = |terms: &[(f64, i32)], x: f64| {
        terms
            .iter()
            .map(|(a, n)| a * rising(*n) * x.powi(n + order))
            .sum::<f64>()
    };
    sum(warm, alpha) + (-1.0_f64).powi(order) * sum(cold, beta)
}

fn specific_volume(temperature: f64) -> f64 {
    GAS_CONSTANT * REFERENCE_TEMPERATURE / REFERENCE_PRESSURE
        * (1.93763157e-2 + series(VOLUME, temperature, 0))
}

/// Density, kg/m^3, of liquid water at `temperature` (K) and 0.1 MPa.
pub fn density(temperature: f64) -> f64 {
    1.0 / specific_volume(temperature)
}

/// Speed of sound, m/s, in liquid water at `temperature` (K) and 0.1 MPa.
pub fn sound_speed(temperature: f64) -> f64 {
    let volume = specific_volume(temperature);
    let by_temperature = GAS_CONSTANT / REFERENCE_PRESSURE * series(VOLUME, temperature, 1);
    let by_pressure = GAS_CONSTANT * REFERENCE_TEMPERATURE / REFERENCE_PRESSURE.powi(2)
        * series(VOLUME_BY_PRESSURE, temperature, 0);
    let reduced = temperature / REFERENCE_TEMPERATURE;
    let heat_capacity = -GAS_CONSTANT * (-8.983025854 + reduced * series(GIBBS, temperature, 2));
    (-volume * volume / (by_pressure + temperature * by_temperature.powi(2) / heat_capacity)).sqrt()
}

/// Refractive index against vacuum of water of `density` (kg/m^3) at `temperature` (K), for light of
/// `wavelength` (m, in vacuum).
pub fn refractive_index(density: f64, temperature: f64, wavelength: f64) -> f64 {
    let (d, q) = (density / 1000.0, temperature / 273.15);
    let l2 = (wavelength / 0.589e-6).powi(2);
    let (ultraviolet, infrared) = (0.229_202_f64, 5.432_937_f64);
    let sum = 0.244257733 + 9.74634476e-3 * d - 3.73234996e-3 * q
        + 2.68678472e-4 * l2 * q
        + 1.58920570e-3 / l2
        + 2.45934259e-3 / (l2 - ultraviolet.powi(2))
        + 0.900704920 / (l2 - infrared.powi(2))
        - 1.66626219e-2 * d * d;
    let refraction = d * sum;
    ((2.0 * refraction + 1.0) / (1.0 - refraction)).sqrt()
}

/// Refractive index of air at 20 C and 101 kPa for yellow light, by which an index against vacuum is divided.
pub const INDEX_OF_AIR: f64 = 1.000_27;

/// Water as a liquid of the catalogue, 0.01 to 100 C at about 0.1 MPa.
///
/// Standard uncertainties: density 2e-5 relative (dissolved air and a pressure some 30 kPa off included);
/// surface tension 0.25 % (the release's 0.5 % read as k = 2, from memory); viscosity 0.5 % (from memory);
/// speed of sound 0.02 %; refractive index 1e-4, for 589.3 nm, against air.
pub fn liquid() -> LiquidData {
    let limits = || vec![Limit::temperature(273.16, 373.15)];
    let supplement = "IAPWS SR6-08(2011), 0.1 MPa";
    LiquidData {
        name: "water".into(),
        aliases: vec!["h2o".into(), "pure-water".into(), "distilled-water".into()],
        aqueous: true,
        solute: None,
        density: Correlation::new("density", "kg/m^3", supplement, limits(), |x| density(x[0]))
            .relative(2e-5),
        surface_tension: Correlation::new("surface tension", "N/m", "IAPWS R1-76(2014)", limits(), |x| {
            surface_tension(x[0])
        })
        .relative(0.0025),
        dynamic_viscosity: Correlation::new("dynamic viscosity", "Pa s", supplement, limits(), |x| {
            dynamic_viscosity(x[0])
        })
        .relative(0.005),
        sound_speed: Some(
            Correlation::new("speed of sound", "m/s", supplement, limits(), |x| {
                sound_speed(x[0])
            })
            .relative(2e-4),
        ),
        refractive_index: Some(
            Correlation::new(
                "refractive index",
                "1",
                "IAPWS R9-97, 589.3 nm, against air",
                limits(),
                |x| refractive_index(density(x[0]), x[0], 589.3e-9) / INDEX_OF_AIR,
            )
            .absolute(1e-4),
        ),
    }
}

#[cfg(test)]
mod tests;
