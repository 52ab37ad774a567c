//! Weak viscosity: the normal stress of the potential flow and the pressure of the thin layer under the surface.
//!
//! ```text
//! normal stress          p = 2 nu phi_nn                                     (added to the pressure at the surface)
//! layer, first order     p harmonic inside with  dp/dn = -div_s(tau t),      tau = 2 nu t . grad grad phi . n
//! ```
//! The potential flow leaves a tangential stress tau on a surface that bears none. The layer that takes it away presses on the flow
//! inside; because the map from a harmonic function to its normal derivative is symmetric, the pressure above does exactly the work that
//! the tangential stress would, at any amplitude: together with the normal stress the energy falls as the potential flow dissipates it. On the sphere
//! p = 2 nu (n^2 - 1) b_n P_n, and the decay is (n - 1)(2n + 1) nu. What the layer remembers comes on top, in the room `memory`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | nu, phi | kinematic viscosity (Oh of the unit drop), velocity potential | R^2/t0 |
//! | n, t | normal, tangent towards larger theta | - |
//!
//! Source: \[LundgrenMansour1988\] (layer), \[JosephWang2004\] (power of the pressure correction); derived here for the form above. Holds while the
//! layer, sqrt(nu/omega), is thin beside the radius of curvature: Oh up to some 0.03 for n = 2.

use tremolet_numerics::lu::Lu;

use super::basis::Basis;
use super::flow::Flow;
use super::surface::{Surface, dot};

/// Working room.
#[derive(Debug, Clone)]
pub struct Rubbing {
    /// `p / rho` of the normal stress at the nodes.
    pub normal: Vec<f64>,
    /// Coefficients of the pressure of the layer, as harmonics r^l P_l.
    pub layer: Vec<f64>,
    curved: Vec<f64>,
    matrix: Vec<f64>,
    inner: Vec<f64>,
    lu: Lu,
}

impl Rubbing {
    /// Room for a basis.
    #[must_use]
    pub fn new(basis: &Basis) -> Self {
        let (degrees, points) = (basis.degrees(), basis.points());
        Self {
            normal: vec![0.0; points],
            layer: vec![0.0; degrees],
            curved: vec![0.0; degrees],
            matrix: vec![0.0; degrees * degrees],
            inner: vec![0.0; (degrees - 1) * (degrees - 1)],
            lu: Lu::default(),
        }
    }

    /// Fills both pressures; false when the layer cannot be solved for.
    pub fn press(&mut self, basis: &Basis, surface: &Surface, flow: &Flow, nu: f64) -> bool {
        for (l, (curved, b)) in self.curved.iter_mut().zip(flow.by_degree()).enumerate() {
            *curved = (l as f64 - 1.0) * b;
        }
        self.layer.fill(0.0);
        for i in 0..basis.points() {
            let (normal, shear) = self.stress(basis, surface, flow, i);
            self.normal[i] = 2.0 * nu * normal;
            // Weak form of -div_s(tau t) against each harmonic along the surface; the sine of tau goes with that of the line element.
            let factor = -2.0 * nu * basis.rule.weights[i] * shear * basis.across[i] * surface.radius[i];
            let bend = surface.slope[i] / surface.radius[i];
            let pairs = flow.power(i).iter().zip(flow.turn(i)).enumerate();
            for (sum, (l, (power, turn))) in self.layer.iter_mut().zip(pairs) {
                *sum += factor * (bend * l as f64 * power + turn);
            }
        }
        self.solve(basis, flow)
    }

    /// `n . grad grad phi . n`, and `t . grad grad phi . n` over the sine of theta.
    fn stress(&self, basis: &Basis, surface: &Surface, flow: &Flow, i: usize) -> (f64, f64) {
        let (r, mu, across) = (surface.radius[i], basis.rule.nodes[i], basis.across[i]);
        let (radial, turning) = (flow.radial[i], flow.turning[i]);
        let rr = dot(flow.power(i), &self.curved) / (r * r);
        let mixed = dot(flow.turn(i), flow.by_degree()) / r;
        let tt = -rr - radial / r + mu * turning / (r * r);
        // Over the sine: phi_rt / r - phi_t / r^2, and the part of the normal along theta.
        let rt = turning / (r * r) - mixed / r;
        let (up, side) = (r / surface.stretch[i], surface.slope[i] / surface.stretch[i]);
        let normal = up * up * rr + across * (2.0 * up * side * rt + side * side * tt);
        let shear = (up * up - across * side * side) * rt + up * side * (tt - rr);
        (normal, shear)
    }

    /// From the weak divergence to the coefficients; degree 0 carries no flux.
    fn solve(&mut self, basis: &Basis, flow: &Flow) -> bool {
        let degrees = basis.degrees();
        flow.energy_matrix(basis, &mut self.matrix);
        for n in 1..degrees {
            let from = &self.matrix[n * degrees + 1..(n + 1) * degrees];
            self.inner[(n - 1) * (degrees - 1)..n * (degrees - 1)].copy_from_slice(from);
        }
        self.layer[0] = 0.0;
        let sound = self.lu.factor(degrees - 1, &self.inner);
        if sound {
            self.lu.solve(&mut self.layer[1..]);
        }
        sound
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(shape: &[f64], flow: &[f64]) -> (Basis, Surface, Flow, Rubbing) {
        let basis = Basis::new(16, 44);
        let fill = |from: &[f64]| {
            let mut all = from.to_vec();
            all.resize(15, 0.0);
            all
        };
        let mut surface = Surface::sphere(&basis);
        assert!(surface.shape(&basis, &fill(shape)));
        let mut inside = Flow::new(&basis);
        inside.harmonics(&basis, &surface);
        inside.take(&basis, &surface, &fill(flow));
        let mut rubbing = Rubbing::new(&basis);
        assert!(rubbing.press(&basis, &surface, &inside, 0.01));
        (basis, surface, inside, rubbing)
    }

    #[test]
    fn on_a_sphere_each_degree_has_its_own_pressures() {
        for n in 2..=5_usize {
            let mut flow = vec![0.0; 5];
            flow[n - 2] = 1.0;
            let (basis, _, _, rubbing) = at(&[], &flow);
            let degree = n as f64;
            for i in 0..basis.points() {
                let known = 0.02 * degree * (degree - 1.0) * basis.values(i)[n];
                assert!((rubbing.normal[i] - known).abs() < 1e-12);
            }
            for (l, c) in rubbing.layer.iter().enumerate() {
                let known = if l == n {
                    0.02 * (degree * degree - 1.0)
                } else {
                    0.0
                };
                assert!((c - known).abs() < 1e-11, "{n} {l} {c}");
            }
        }
    }

    // 2 mu int e:e dV = mu int d|u|^2/dn dS for a potential flow [Lamb1932] art. 329: another road to the same loss.
    #[test]
    fn at_any_amplitude_the_pressures_take_what_the_flow_dissipates() {
        let (basis, surface, flow, rubbing) = at(&[0.25, 0.08, -0.03], &[0.4, -0.3, 0.2, 0.1]);
        let taken = surface.integral(&basis, |i| {
            let pressure = rubbing.normal[i] + dot(flow.power(i), &rubbing.layer);
            pressure * dot(flow.fluxes(i), &flow.series)
        });
        let lost = 0.01
            * surface.integral(&basis, |i| {
                let (r, mu, across) = (surface.radius[i], basis.rule.nodes[i], basis.across[i]);
                // |u|^2 and its slopes by differences along r and mu, inside the body.
                let square = |r: f64, mu: f64| {
                    let table = tremolet_numerics::legendre::table(basis.highest, mu);
                    let sum = |f: &dyn Fn(usize) -> f64| {
                        (1..basis.degrees()).map(|l| flow.series[l] * f(l)).sum::<f64>()
                    };
                    let radial = sum(&|l| l as f64 * r.powi(l as i32 - 1) * table.value[l]);
                    let turning = sum(&|l| r.powi(l as i32 - 1) * table.slope[l]);
                    radial * radial + (1.0 - mu * mu) * turning * turning
                };
                let h = 1e-5;
                let along_r = (square(r + h, mu) - square(r - h, mu)) / (2.0 * h);
                let along_mu = (square(r, mu + h) - square(r, mu - h)) / (2.0 * h);
                r * r * along_r - across * surface.slope[i] * along_mu
            });
        assert!((taken / lost - 1.0).abs() < 1e-6, "{taken} {lost}");
    }
}
