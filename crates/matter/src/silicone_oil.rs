//! Silicone oils (polydimethylsiloxane) by their nominal viscosity grade, 0 to 60 C.
//!
//! ```text
//! rho   = rho_25 / (1 + beta (T - 298.15)),       sigma = sigma_25 + s (T - 298.15)
//! nu    = nu_25 10^(E (1 / T - 1 / 298.15)),      mu = rho nu
//! E     = -log10(1 - V) / (1 / 311.15 - 1 / 372.15)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T` | temperature | K |
//! | `rho`, `rho_25` | density, at 25 C | kg/m^3 |
//! | `beta` | thermal expansion | 1/K |
//! | `sigma`, `sigma_25`, `s` | surface tension, at 25 C, its slope | N/m, N/m, N/(m K) |
//! | `nu`, `nu_25`, `mu` | kinematic viscosity, at 25 C (the grade), dynamic viscosity | m^2/s, m^2/s, Pa s |
//! | `V` | viscosity-temperature coefficient of suppliers, 1 - nu(99 C) / nu(38 C) | 1 |
//!
//! Sources: density, surface tension and index at 25 C of the grades 0.65 and 1 cSt were read in a supplier's
//! table; those of the other grades, all expansions, coefficients V and speeds of sound are **from memory** of
//! suppliers' tables \[SiliconeSupplier\]. The slope of the surface tension of the two lightest grades is that of
//! \[Mulero2012\] for hexamethyldisiloxane and octamethyltrisiloxane by a general library. A grade is a name, not
//! a measurement: state the density and the viscosity on the supplier's certificate where there is one. The
//! light grades evaporate and burn.

use crate::correlation::{Correlation, Limit};
use crate::liquid_data::LiquidData;

/// What is tabulated for one grade at 25 C, in the units of the table above.
#[derive(Clone, Copy)]
struct Grade {
    viscosity_mm2_s: f64,
    density: f64,
    expansion: f64,
    surface_tension: f64,
    slope: f64,
    index: f64,
    coefficient: f64,
    sound_speed: f64,
}

/// One row for each grade; columns: grade (mm^2/s), kg/m^3, 1/K, N/m, N/(m K), index, V, m/s.
const TABLE: [[f64; 8]; 7] = [
    [0.65, 760.0, 1.34e-3, 15.9e-3, -0.089e-3, 1.375, 0.31, 873.0],
    [1.0, 816.0, 1.29e-3, 17.4e-3, -0.092e-3, 1.382, 0.37, 915.0],
    [5.0, 915.0, 1.05e-3, 19.7e-3, -0.065e-3, 1.396, 0.54, 955.0],
    [10.0, 935.0, 1.08e-3, 20.1e-3, -0.065e-3, 1.399, 0.56, 967.0],
    [50.0, 960.0, 1.04e-3, 20.8e-3, -0.06e-3, 1.402, 0.59, 985.0],
    [100.0, 965.0, 0.96e-3, 20.9e-3, -0.06e-3, 1.403, 0.60, 990.0],
    [1000.0, 970.0, 0.96e-3, 21.2e-3, -0.06e-3, 1.4035, 0.61, 992.0],
];

/// The heaviest grade whose values at 25 C were read in a table, mm^2/s.
const HEAVIEST_READ_MM2_S: f64 = 1.0;

impl Grade {
    fn of(row: [f64; 8]) -> Self {
        let [
            viscosity_mm2_s,
            density,
            expansion,
            surface_tension,
            slope,
            index,
            coefficient,
            sound_speed,
        ] = row;
        Self {
            viscosity_mm2_s,
            density,
            expansion,
            surface_tension,
            slope,
            index,
            coefficient,
            sound_speed,
        }
    }

    fn density(&self, temperature: f64) -> f64 {
        self.density / (1.0 + self.expansion * (temperature - 298.15))
    }

    /// Decades by which the kinematic viscosity at `temperature` exceeds that at 25 C.
    fn decades(&self, temperature: f64) -> f64 {
        let steepness = -(1.0 - self.coefficient).log10() / (1.0 / 311.15 - 1.0 / 372.15);
        steepness * (1.0 / temperature - 1.0 / 298.15)
    }

    fn dynamic_viscosity(&self, temperature: f64) -> f64 {
        self.density(temperature) * self.viscosity_mm2_s * 1e-6 * 10.0_f64.powf(self.decades(temperature))
    }

    fn source(&self) -> &'static str {
        if self.viscosity_mm2_s <= HEAVIEST_READ_MM2_S {
            "supplier's table at 25 C, change with temperature from memory"
        } else {
            "supplier's table, from memory"
        }
    }
}

/// All grades as liquids of the catalogue: `silicone-oil-0.65`, `silicone-oil-1`, up to `silicone-oil-1000`.
///
/// Standard uncertainties (chosen here): density 0.5 %, surface tension 0.6 mN/m, viscosity 5 % at 25 C (suppliers'
/// limits) and a tenth of the change away from it, speed of sound 2 %, refractive index 2e-3.
pub fn liquids() -> Vec<LiquidData> {
    TABLE.iter().map(|row| liquid(Grade::of(*row))).collect()
}

fn limits() -> Vec<Limit> {
    vec![Limit::temperature(273.15, 333.15)]
}

fn liquid(grade: Grade) -> LiquidData {
    let source = grade.source();
    let line = move |at_25: f64, slope: f64| move |x: &[f64]| at_25 + slope * (x[0] - 298.15);
    let tension = line(grade.surface_tension, grade.slope);
    let index = line(grade.index, -4.0e-4);
    LiquidData {
        name: format!("silicone-oil-{}", grade.viscosity_mm2_s),
        aliases: aliases(grade.viscosity_mm2_s),
        aqueous: false,
        solute: None,
        density: Correlation::new("density", "kg/m^3", source, limits(), move |x| {
            grade.density(x[0])
        })
        .relative(5e-3),
        surface_tension: Correlation::new("surface tension", "N/m", source, limits(), tension)
            .absolute(0.6e-3),
        dynamic_viscosity: viscosity(grade),
        sound_speed: Some(sound(line(grade.sound_speed, -3.3))),
        refractive_index: Some(
            Correlation::new("refractive index", "1", source, limits(), index).absolute(2e-3),
        ),
    }
}

fn sound(line: impl Fn(&[f64]) -> f64 + 'static) -> Correlation {
    let source = "supplier's table, from memory";
    Correlation::new("speed of sound", "m/s", source, limits(), line).relative(0.02)
}

fn viscosity(grade: Grade) -> Correlation {
    let source = "nominal grade at 25 C, change with temperature from a supplier's table, from memory";
    let change = move |x: &[f64]| 0.1 * grade.decades(x[0]) * std::f64::consts::LN_10;
    Correlation::new("dynamic viscosity", "Pa s", source, limits(), move |x| {
        grade.dynamic_viscosity(x[0])
    })
    .spread(move |x, value| value * 0.05_f64.hypot(change(x)))
}

fn aliases(grade: f64) -> Vec<String> {
    let forms = [
        "silicone-oil-#-cst",
        "silicone-oil-#cst",
        "silicone-#",
        "silicone-#-cst",
        "silicone-#cst",
        "pdms-#",
    ];
    let grade = grade.to_string();
    forms.iter().map(|form| form.replace('#', &grade)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertain::Uncertain;

    fn at(correlation: &Correlation, kelvin: f64) -> Uncertain {
        correlation
            .at("oil", &[&Uncertain::exact(kelvin)])
            .expect("in range")
            .value
    }

    // 0.65 and 1 cSt read in a supplier's table; the others from memory (specific gravity, mN/m, 25 C).
    #[test]
    fn values_at_25_celsius() {
        let rows = [
            (0.65, 0.760, 15.9),
            (1.0, 0.816, 17.4),
            (5.0, 0.915, 19.7),
            (10.0, 0.935, 20.1),
            (50.0, 0.960, 20.8),
            (100.0, 0.965, 20.9),
            (1000.0, 0.970, 21.2),
        ];
        assert_eq!(rows.len(), liquids().len());
        for ((grade, gravity, tension), liquid) in rows.into_iter().zip(liquids()) {
            assert_eq!(liquid.name, format!("silicone-oil-{grade}"));
            let density = at(&liquid.density, 298.15).value();
            assert!((density - 1000.0 * gravity).abs() < 1e-9);
            assert!((at(&liquid.surface_tension, 298.15).value() - 1e-3 * tension).abs() < 1e-12);
            let kinematic = at(&liquid.dynamic_viscosity, 298.15).value() / density;
            assert!((kinematic / (1e-6 * grade) - 1.0).abs() < 1e-12);
        }
    }

    // Equation of state of hexamethyldisiloxane and octamethyltrisiloxane by a general library (kg/m^3, m/s,
    // mN/m; 0, 25, 60 C): what the two lightest grades are. Within the stated uncertainties (k = 2).
    #[test]
    fn lightest_grades_against_their_pure_substances() {
        let rows = [
            (0, 273.15, 785.697, 964.86, 17.678),
            (0, 298.15, 759.660, 875.10, 15.421),
            (0, 333.15, 721.873, 754.08, 12.379),
            (1, 273.15, 840.220, 1004.05, 18.924),
            (1, 298.15, 815.391, 917.07, 16.590),
            (1, 333.15, 779.732, 798.98, 13.492),
        ];
        let oils = liquids();
        for (i, kelvin, rho, c, sigma) in rows {
            let within = |found: Uncertain, due: f64| {
                let off = (found.value() - due).abs();
                assert!(
                    off < 2.0 * found.standard_uncertainty(),
                    "{i} {kelvin}: {} {due}",
                    found.value()
                );
            };
            within(at(&oils[i].density, kelvin), rho);
            within(at(&oils[i].surface_tension, kelvin), 1e-3 * sigma);
            within(at(oils[i].sound_speed.as_ref().expect("tabulated"), kelvin), c);
        }
    }

    // A supplier's formula for the heavier oils, log10 nu = 763.1 / T - 2.559 + log10 nu_25, read in a public file.
    #[test]
    fn viscosity_against_a_supplier_s_formula() {
        for (i, kelvin) in [(5, 283.15), (5, 323.15), (6, 283.15), (6, 323.15)] {
            let oil = &liquids()[i];
            let kinematic = at(&oil.dynamic_viscosity, kelvin).value() / at(&oil.density, kelvin).value();
            let due = 1e-6 * TABLE[i][0] * 10.0_f64.powf(763.1 / kelvin - 2.559);
            assert!(
                (kinematic / due - 1.0).abs() < 0.03,
                "{i} {kelvin}: {kinematic} {due}"
            );
        }
    }

    // By hand for 10 cSt at 0 C: E = 676.8 K, 0.2078 decades, a tenth of that in e-folds 0.0478, with 0.05: 0.0692.
    #[test]
    fn uncertainty_grows_away_from_25_celsius() {
        let relative = at(&liquids()[3].dynamic_viscosity, 273.15).relative();
        assert!((relative - 0.0692).abs() < 1e-4, "{relative}");
    }

    // Slope of the index -4e-4 per kelvin, from memory: 1.399 at 25 C is 1.395 at 35 C.
    #[test]
    fn index_falls_with_temperature() {
        let oil = &liquids()[3];
        let index = at(oil.refractive_index.as_ref().expect("tabulated"), 308.15).value();
        assert!((index - 1.395).abs() < 1e-9, "{index}");
    }

    #[test]
    fn what_is_from_memory_says_so() {
        let oils = liquids();
        assert_eq!(
            oils[1].density.source(),
            "supplier's table at 25 C, change with temperature from memory"
        );
        assert_eq!(oils[2].density.source(), "supplier's table, from memory");
    }
}
