//! Viscosity of glycerol-water mixtures by mass fraction.
//!
//! ```text
//! mu = mu_w^al mu_g^(1 - al),   al = 1 - C + a b C (1 - C) / (a C + b (1 - C))
//! a = 0.705 - 0.0017 t,   b = (4.9 + 0.036 t) a^2.5
//! mu_w = 1.790 exp((-1230 - t) t / (36100 + 360 t)),   mu_g = 12100 exp((-1233 + t) t / (9900 + 70 t))
//! ```
//!
//! `C` mass fraction of glycerol (1), `t` temperature (degrees Celsius), `mu` dynamic viscosities (mPa s in
//! the formula, Pa s here). Source: \[Cheng2008\], 0 to 100 C; the factor a^2.5 is missing in some reprints.
//! The bare formula; it checks no range and carries no uncertainty.

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
}
