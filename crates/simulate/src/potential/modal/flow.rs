//! The flow inside: a potential of harmonics and what it does at the surface.
//!
//! ```text
//! phi = sum b_l r^l P_l(mu)      flux = r^2 phi_r - (1 - mu^2) r_mu phi_mu
//! e_n' = (n + 1/2) int flux P_n dmu          T = pi int phi flux dmu
//! ```
//! A map from potential to flux that is symmetric for any number of degrees (the derivative of T with the surface potential) keeps energy a hundred times
//! better and follows steeper shapes, but its highest degrees are three to ten times as fast, and so is the work: the projection is used.
//!
//! The coefficient of degree 1 is set so that the momentum, `2 pi int phi n_z`, is nil: the frame moves with the body.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | phi, b_l | velocity potential, coefficients | R^2/t0 |
//! | r, mu | radius of the surface, cos(theta) | R, - |
//!
//! Source: potential flow \[Lamb1932\] art. 275; kinematic condition by the chain rule. The tables hold r^l P_l for every node and degree: with
//! r between 0.7 and 1.5 some 20 degrees lose six digits, which [`tremolet_numerics::lu::Lu::spread`] watches.

use super::basis::Basis;
use super::surface::{Surface, dot};

/// Harmonics and flow at the nodes.
#[derive(Debug, Clone)]
pub struct Flow {
    degrees: usize,
    /// `b_l`.
    pub series: Vec<f64>,
    /// `l b_l`.
    by_degree: Vec<f64>,
    power: Vec<f64>,
    turn: Vec<f64>,
    flux: Vec<f64>,
    /// `phi`.
    pub potential: Vec<f64>,
    /// `phi_r`.
    pub radial: Vec<f64>,
    /// `phi_mu`.
    pub turning: Vec<f64>,
}

impl Flow {
    /// Room for a basis.
    #[must_use]
    pub fn new(basis: &Basis) -> Self {
        let (degrees, points) = (basis.degrees(), basis.points());
        let table = vec![0.0; degrees * points];
        Self {
            degrees,
            series: vec![0.0; degrees],
            by_degree: vec![0.0; degrees],
            power: table.clone(),
            turn: table.clone(),
            flux: table,
            potential: vec![0.0; points],
            radial: vec![0.0; points],
            turning: vec![0.0; points],
        }
    }

    /// Harmonics at a surface.
    pub fn harmonics(&mut self, basis: &Basis, surface: &Surface) {
        for i in 0..basis.points() {
            let (r, along) = (surface.radius[i], basis.across[i] * surface.slope[i]);
            let row = i * self.degrees;
            let mut power = 1.0;
            for l in 0..self.degrees {
                let (value, slope) = (basis.values(i)[l], basis.slopes(i)[l]);
                self.power[row + l] = power * value;
                self.turn[row + l] = power * slope;
                self.flux[row + l] = power * (l as f64 * r * value - along * slope);
                power *= r;
            }
        }
    }

    /// Takes up the coefficients of degree 2 and above, sets that of degree 1, and fills the flow at the nodes.
    pub fn take(&mut self, basis: &Basis, surface: &Surface, from_two: &[f64]) {
        self.series[0] = 0.0;
        self.series[1] = 0.0;
        self.series[2..].copy_from_slice(from_two);
        self.series[1] = self.still(basis, surface);
        for (l, (by, b)) in self.by_degree.iter_mut().zip(&self.series).enumerate() {
            *by = l as f64 * b;
        }
        for i in 0..basis.points() {
            self.potential[i] = dot(self.power(i), &self.series);
            self.radial[i] = dot(self.power(i), &self.by_degree) / surface.radius[i];
            self.turning[i] = dot(self.turn(i), &self.series);
        }
    }

    /// The coefficient of degree 1 that leaves no momentum.
    fn still(&mut self, basis: &Basis, surface: &Surface) -> f64 {
        let (mut all, mut one) = (0.0, 0.0);
        for i in 0..basis.points() {
            let weight = basis.rule.weights[i] * facing(basis, surface, i);
            let row = self.power(i);
            all += weight * dot(row, &self.series);
            one += weight * row[1];
        }
        -all / one
    }

    /// `r^l P_l` at node `i`.
    #[must_use]
    pub fn power(&self, i: usize) -> &[f64] {
        &self.power[i * self.degrees..(i + 1) * self.degrees]
    }

    /// `r^l P'_l` at node `i`.
    #[must_use]
    pub fn turn(&self, i: usize) -> &[f64] {
        &self.turn[i * self.degrees..(i + 1) * self.degrees]
    }

    /// `l b_l`.
    #[must_use]
    pub fn by_degree(&self) -> &[f64] {
        &self.by_degree
    }

    /// Flux of each harmonic at node `i`.
    #[must_use]
    pub fn fluxes(&self, i: usize) -> &[f64] {
        &self.flux[i * self.degrees..(i + 1) * self.degrees]
    }

    /// Rates of the coefficients of the surface.
    pub fn carry(&self, basis: &Basis, rates: &mut [f64]) {
        rates.fill(0.0);
        for i in 0..basis.points() {
            let weighted = basis.rule.weights[i] * dot(self.fluxes(i), &self.series);
            rates
                .iter_mut()
                .zip(basis.values(i))
                .for_each(|(rate, p)| *rate += weighted * p);
        }
        for (n, rate) in rates.iter_mut().enumerate() {
            *rate *= n as f64 + 0.5;
        }
    }

    /// Half the square of the speed at node `i`.
    #[must_use]
    pub fn half_square(&self, basis: &Basis, surface: &Surface, i: usize) -> f64 {
        let along = self.turning[i] / surface.radius[i];
        (self.radial[i].powi(2) + basis.across[i] * along * along) / 2.0
    }

    /// `int phi flux dmu`, the kinetic energy over pi.
    #[must_use]
    pub fn work(&self, basis: &Basis, surface: &Surface) -> f64 {
        surface.integral(basis, |i| self.potential[i] * dot(self.fluxes(i), &self.series))
    }

    /// Momentum along z over mass, by the surface integral of phi n_z.
    #[must_use]
    pub fn velocity(&self, basis: &Basis, surface: &Surface) -> f64 {
        1.5 * surface.integral(basis, |i| self.potential[i] * facing(basis, surface, i))
    }

    /// `A`: row n, column l hold `int P_n r^l P_l dmu`.
    pub fn matrix(&self, basis: &Basis, matrix: &mut [f64]) {
        tested(basis, |i| (basis.values(i), self.power(i)), matrix);
    }

    /// The same with the flux of the harmonic.
    pub fn flux_matrix(&self, basis: &Basis, matrix: &mut [f64]) {
        tested(basis, |i| (basis.values(i), self.fluxes(i)), matrix);
    }

    /// `K / 2 pi`: row l, column k hold `int r^l P_l flux_k dmu`.
    pub fn energy_matrix(&self, basis: &Basis, matrix: &mut [f64]) {
        tested(basis, |i| (self.power(i), self.fluxes(i)), matrix);
    }
}

/// `sum w_i test_n column_l`: row n, column l.
fn tested<'a>(basis: &Basis, at: impl Fn(usize) -> (&'a [f64], &'a [f64]), matrix: &mut [f64]) {
    matrix.fill(0.0);
    for i in 0..basis.points() {
        let (tests, row) = at(i);
        for (test, out) in tests.iter().zip(matrix.chunks_exact_mut(basis.degrees())) {
            let factor = basis.rule.weights[i] * test;
            out.iter_mut().zip(row).for_each(|(sum, x)| *sum += factor * x);
        }
    }
}

/// `n_z dS / (2 pi dmu)` at node `i`.
#[must_use]
pub fn facing(basis: &Basis, surface: &Surface, i: usize) -> f64 {
    let r = surface.radius[i];
    r * (r * basis.rule.nodes[i] - basis.across[i] * surface.slope[i])
}
