//! What thin layers on both sides of the surface remember: half derivatives in time, as a handful of relaxing variables.
//!
//! ```text
//! liquid   b_n' += 4 nu (n - 1)(n^2 - 1) F_n[b_n],     F_n(s) = 1 / (sqrt(s/nu) + n - 1)
//! gas      b_n' -= (2n + 1)^2/(n + 1) sqrt(rho_g mu_g)/rho  s^(1/2)[b_n],   and its inertia  rho_g/rho n/(n + 1) b_n'
//! 1/(sqrt(s/nu) + a) = sqrt(nu)/pi int sqrt(L)/(L + nu a^2) dL/(s + L)        s^(1/2) = 1/pi int L^(-1/2) s/(s + L) dL
//! y_j' = b_n - L_j y_j       on L_j = L_0 e^(jh), by the trapezoidal rule in ln L
//! ```
//! With them a single degree obeys `s^2 + K s + omega^2 = 0` with K exact to relative order nu/omega: decay and frequency are right to
//! one order beyond Lamb's, and so is the start from rest. Rates too slow to matter within a run are taken together as an integral, rates
//! too fast for the step as acting at once. Sphere and single degrees only: at finite amplitude the memory is that of the degrees.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | nu, rho_g, mu_g | kinematic viscosity of the liquid; density and dynamic viscosity of the gas | unit drop |
//! | s, L | complex rate, relaxation rates | 1/t0 |
//!
//! Source: K of \[Prosperetti1980\], its ratio of Bessel functions for large arguments \[DLMF\] 10.40.1, derived here; gas layer \[MillerScriven1968\] for a
//! light gas. The trapezoidal rule errs by exp(-pi^2/h), its ends by 2 %, of what is remembered. Holds for sqrt(nu/omega) well below 1; the gas light beside the liquid.

use std::f64::consts::PI;

/// Spacing of ln L: errs by 2e-3 of what is remembered.
const SPACING: f64 = 1.6;
/// Slowest rate below that of the slowest mode, as a share.
const SLOWEST: f64 = 0.03;
/// Fastest rate above that of the fastest mode, as a share; the step bears 3.
const FASTEST: f64 = 1.5;
/// Nodes taken together at either end.
const BEYOND: i32 = 24;

/// Weights of one degree.
#[derive(Debug, Clone, PartialEq)]
struct Weights {
    /// Of the relaxing variables in `b'`.
    of_each: Vec<f64>,
    /// Of `b` itself in `b'`.
    at_once: f64,
    /// Of `b'`: inertia.
    inertia: f64,
}

/// The relaxing variables of all degrees from 2.
#[derive(Debug, Clone, PartialEq)]
pub struct Memory {
    rates: Vec<f64>,
    weights: Vec<Weights>,
}

/// Liquid and gas in units of the drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layers {
    /// Kinematic viscosity of the liquid: Oh.
    pub nu: f64,
    /// Density of the gas over that of the liquid.
    pub gas_density: f64,
    /// Dynamic viscosity of the gas over sqrt(rho sigma R).
    pub gas_viscosity: f64,
}

/// Angular frequency of a degree of the unit drop without viscosity, from the linear limit of the equations solved here.
#[must_use]
pub fn frequency(degree: usize) -> f64 {
    let n = degree as f64;
    (n * (n - 1.0) * (n + 2.0)).sqrt()
}

impl Memory {
    /// For degrees 2 to `highest`; without variables where nothing rubs.
    #[must_use]
    pub fn new(highest: usize, layers: &Layers) -> Self {
        let rubs = layers.nu > 0.0 || layers.gas_density * layers.gas_viscosity > 0.0;
        let slowest = SLOWEST * frequency(2);
        let span = (FASTEST * frequency(highest) / slowest).ln();
        let count = if rubs { (span / SPACING).ceil() as i32 } else { 0 };
        let node = |j: i32| slowest * (f64::from(j) * SPACING).exp();
        // The first is the integral of all that is slower than the second.
        let rates = (0..count).map(|j| if j == 0 { 0.0 } else { node(j) }).collect();
        let weights = (2..=highest).map(|n| weights(n, layers, count, &node)).collect();
        Self { rates, weights }
    }

    /// Variables of each degree.
    #[must_use]
    pub fn each(&self) -> usize {
        self.rates.len()
    }

    /// Rates of the variables of all degrees (degree by degree), and `b_n'` with what they do; `flow[k]` and `rates[k]` belong to degree k + 2.
    pub fn remember(&self, flow: &[f64], variables: &[f64], rates: &mut [f64], kept: &mut [f64]) {
        let each = self.each();
        for (k, weights) in self.weights.iter().enumerate() {
            let mine = k * each..(k + 1) * each;
            let past: f64 = variables[mine.clone()]
                .iter()
                .zip(&weights.of_each)
                .map(|(y, w)| y * w)
                .sum();
            rates[k] = (rates[k] + past + weights.at_once * flow[k]) / (1.0 + weights.inertia);
            let pairs = kept[mine.clone()].iter_mut().zip(&variables[mine]);
            for ((rate, y), relaxing) in pairs.zip(&self.rates) {
                *rate = flow[k] - relaxing * y;
            }
        }
    }
}

fn weights(degree: usize, layers: &Layers, count: i32, node: &dyn Fn(i32) -> f64) -> Weights {
    let n = degree as f64;
    let nu = layers.nu;
    let liquid = 4.0 * nu * (n - 1.0) * (n * n - 1.0) * SPACING * nu.sqrt() / PI;
    let of_liquid = |j: i32| {
        let rate = node(j);
        liquid * rate.powf(1.5) / (rate + nu * (n - 1.0).powi(2))
    };
    let gas = (2.0 * n + 1.0).powi(2) / (n + 1.0) * (layers.gas_density * layers.gas_viscosity).sqrt();
    let of_gas = |j: i32| gas * SPACING / PI * node(j).sqrt();
    let inertia = layers.gas_density * n / (n + 1.0);
    if count == 0 {
        return Weights {
            of_each: Vec::new(),
            at_once: 0.0,
            inertia,
        };
    }
    let sum = |range: std::ops::Range<i32>, f: &dyn Fn(i32) -> f64| range.map(f).sum::<f64>();
    let (slow, fast) = (1 - BEYOND..1, count..count + BEYOND);
    let of_each = (0..count).map(|j| match j {
        0 => sum(slow.clone(), &of_liquid),
        _ => of_liquid(j) + of_gas(j) * node(j),
    });
    Weights {
        of_each: of_each.collect(),
        at_once: sum(fast.clone(), &|j| of_liquid(j) / node(j)) - sum(1 - BEYOND..count, &of_gas),
        inertia: inertia + sum(fast, &|j| of_gas(j) / node(j)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    type Complex = (f64, f64);

    fn times(a: Complex, b: Complex) -> Complex {
        (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
    }

    /// What a degree does with a motion `e^(s t)`: `sum w_j / (s + L_j) + at once - inertia s`.
    fn response(memory: &Memory, degree: usize, omega: f64) -> Complex {
        let weights = &memory.weights[degree - 2];
        let parts = memory.rates.iter().zip(&weights.of_each).map(|(rate, w)| {
            let size = rate * rate + omega * omega;
            (w * rate / size, -w * omega / size)
        });
        let (re, im) = parts.fold((weights.at_once, -weights.inertia * omega), |a, b| {
            (a.0 + b.0, a.1 + b.1)
        });
        (re, im)
    }

    #[test]
    fn the_layer_in_the_liquid_remembers_as_it_should() {
        let layers = Layers {
            nu: 1e-3,
            gas_density: 0.0,
            gas_viscosity: 0.0,
        };
        let memory = Memory::new(16, &layers);
        for n in 2..=8_usize {
            let omega = frequency(n);
            // 1 / (z + n - 1), z = sqrt(i omega / nu) = (1 + i) sqrt(omega / 2 nu).
            let z = (omega / 2e-3).sqrt();
            let (re, im) = (z + n as f64 - 1.0, z);
            let size = re * re + im * im;
            let factor = 4e-3 * (n as f64 - 1.0) * ((n * n) as f64 - 1.0);
            let known = (factor * re / size, -factor * im / size);
            let found = response(&memory, n, omega);
            let off = (found.0 - known.0).hypot(found.1 - known.1) / known.0.hypot(known.1);
            assert!(off < 0.02, "{n} {off}");
        }
    }

    #[test]
    fn the_layer_in_the_gas_rubs_by_the_half_derivative() {
        let layers = Layers {
            nu: 0.0,
            gas_density: 1.2e-3,
            gas_viscosity: 2e-5,
        };
        let memory = Memory::new(16, &layers);
        for n in 2..=8_usize {
            let omega = frequency(n);
            let half = (omega / 2.0).sqrt();
            let factor = (2.0 * n as f64 + 1.0).powi(2) / (n as f64 + 1.0) * (1.2e-3_f64 * 2e-5).sqrt();
            let inertia = 1.2e-3 * n as f64 / (n as f64 + 1.0);
            let known = times((-factor, 0.0), (half, half));
            let found = response(&memory, n, omega);
            let off = (found.0 - known.0).hypot(found.1 + inertia * omega - known.1) / known.0.hypot(known.1);
            assert!(off < 0.02, "{n} {off}");
        }
    }

    #[test]
    fn nothing_to_rub_needs_no_variable() {
        let memory = Memory::new(
            8,
            &Layers {
                nu: 0.0,
                gas_density: 0.0,
                gas_viscosity: 0.0,
            },
        );
        assert_eq!(memory.each(), 0);
        let (mut rates, mut none) = (vec![1.0; 7], []);
        memory.remember(&[3.0; 7], &[], &mut rates, &mut none);
        assert_eq!(rates, [1.0; 7]);
    }
}
