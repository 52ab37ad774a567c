//! The balance of stress at the surface of a round liquid column in a host: the scalar equation whose root is the growth of a wave along it.
//!
//! The surface is r = a + zeta cos(k z) e^{st}. Inside, the flow is a potential part I(k r) and a shear part I(q r); outside K(k r) and
//! K(p r). Velocity and shear stress are continuous, which fixes the velocity V along the axis (a quarter wave on) per unit velocity
//! outwards; what is left of the 4x4 boundary determinant is the normal stress against the tension:
//!
//! ```text
//! D(s) = 1 - x^2 - s^2 (rho_i A + rho_o C)/x - s X(s) = 0
//! X = A L_i (A - V) + C L_o (C + V) + 2 (mu_i - mu_o)(x V - 1)
//! V = [A L_i - C L_o - 2 x (mu_i - mu_o)]/(L_i + L_o)
//! A = G(x)/x,  L_i = mu_i (q^2 - x^2)/[G(q) - G(x)],  q^2 = x^2 + s rho_i/mu_i,   G(z) = z I_0(z)/I_1(z)
//! C = H(x)/x,  L_o = mu_o (p^2 - x^2)/[H(p) - H(x)],  p^2 = x^2 + s rho_o/mu_o,   H(z) = z K_0(z)/K_1(z)
//! ```
//!
//! | symbol | meaning | unit here |
//! |---|---|---|
//! | x = k a | wave number times the radius of the column | 1 |
//! | s | rate, amplitude ~ e^{st} | 1/t0, t0 = sqrt((rho_i + rho_o) a^3/sigma) |
//! | rho_i, rho_o | densities inside and outside | their sum |
//! | mu_i, mu_o | dynamic viscosities inside and outside | (rho_i + rho_o) a^2/t0 |
//! | L_i, L_o | stiffness of the shear layers | the same |
//!
//! Derived for this program by eliminating the four coefficients, so that nothing overflows and a vanishing density or viscosity of
//! either fluid is a plain limit. Contains \[Rayleigh1879\] (no viscosity), \[Chandrasekhar1961\] sec. 111 (no host) and \[Tomotika1935\] (both
//! creeping; its general form with inertia); tested against each and against the determinant written out.
//!
//! For small waves, round about the axis, on a column without end. Not here: the search for the root; films; flow along the column.

use tremolet_numerics::complex::Complex64;
use tremolet_numerics::cylinder::{inner, inner_pair, outer, outer_pair};

/// A column and its host in natural units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColumnBalance {
    /// `rho_i`.
    pub density: f64,
    /// `mu_i`.
    pub viscosity: f64,
    /// `rho_o`.
    pub host_density: f64,
    /// `mu_o`.
    pub host_viscosity: f64,
}

impl ColumnBalance {
    /// `(rho_i A + rho_o C)/x`: the mass that moves with a wave of this `x` \[Rayleigh1879\].
    #[must_use]
    pub fn inertia(&self, x: f64) -> f64 {
        let (a, c) = potentials(x);
        (self.density * a + self.host_density * c) / x
    }

    /// Square of the rate without viscosity, `(1 - x^2)/inertia` \[Rayleigh1879\]; negative for waves that do not grow.
    #[must_use]
    pub fn inviscid_square(&self, x: f64) -> f64 {
        (1.0 - x * x) / self.inertia(x)
    }

    /// D at wave number `x` (above zero) and rate `s`, see the head of this file \[Chandrasekhar1961\], \[Tomotika1935\].
    #[must_use]
    pub fn value(&self, x: f64, s: Complex64) -> Complex64 {
        let (a, c) = potentials(x);
        let (li, lo) = (self.inner_layer(x, s), self.outer_layer(x, s));
        let excess = self.viscosity - self.host_viscosity;
        let grip = li + lo;
        let along = if grip == Complex64::ZERO {
            Complex64::ZERO
        } else {
            (a * li - c * lo - 2.0 * x * excess) / grip
        };
        let resistance = a * li * (a - along) + c * lo * (c + along) + 2.0 * excess * (x * along - 1.0);
        1.0 - x * x - s * s * self.inertia(x) - s * resistance
    }

    /// `L_i`.
    fn inner_layer(&self, x: f64, s: Complex64) -> Complex64 {
        if self.viscosity == 0.0 {
            return Complex64::ZERO;
        }
        let square = Complex64::from(x * x);
        let [_, _, quotient] = inner_pair(square, square + s * self.density / self.viscosity);
        self.viscosity / quotient
    }

    /// `L_o`.
    fn outer_layer(&self, x: f64, s: Complex64) -> Complex64 {
        if self.host_viscosity == 0.0 {
            return Complex64::ZERO;
        }
        let square = x * x + s * self.host_density / self.host_viscosity;
        let [_, _, quotient] = outer_pair(Complex64::from(x), square.sqrt());
        self.host_viscosity / quotient
    }
}

/// A and C.
fn potentials(x: f64) -> (f64, f64) {
    (
        inner(Complex64::from(x * x)).re / x,
        outer(Complex64::from(x)).re / x,
    )
}
