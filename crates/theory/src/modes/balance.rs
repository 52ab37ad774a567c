//! The balance of stress at the surface of a viscous drop in a viscous host: the scalar equation whose root is the mode.
//!
//! Inside, the flow of degree n is a potential part r^n and a shear part j_n(q r); outside r^-(n+1) and h_n(k r). Velocity is
//! continuous and the shear stress too; that fixes the tangential velocity V per unit radial velocity, and what is left of
//! the 4x4 boundary determinant is the normal stress against the tension:
//!
//! ```text
//! f(s) = s^2 [rho_i/n + rho_o/(n+1)] + s X(s) + (n-1)(n+2) = 0
//! X = 2 (mu_i - mu_o)(N V - 2) - mu_i (n+1)(V - 1/n) G + n mu_o (V + 1/(n+1)) H
//! V = { mu_i [g/n - 2(n-1)/n] + mu_o [2(n+2)/(n+1) - h/(n+1)] } / (mu_i g + mu_o h)
//! G = q/Q_n(q), g = G - 2,  q^2 = -s rho_i/mu_i;     H = k/S_n(k), h = H + 2,  k^2 = -s rho_o/mu_o;   N = n(n+1)
//! ```
//!
//! | symbol | meaning | unit here |
//! |---|---|---|
//! | s | rate, amplitude ~ e^{st}, s = -decay + i angular frequency | 1/t0, t0 = sqrt((rho_i + rho_o) R^3/sigma) |
//! | rho_i, rho_o | densities inside and outside | their sum |
//! | mu_i, mu_o | viscosities inside and outside | (rho_i + rho_o) R^2/t0 |
//! | Q_n, S_n | ratios j_{n+1}/j_n and h_{n-1}/h_n | - |
//!
//! Derived for this program by eliminating the four coefficients; no column is lost to overflow, and the vanishing density or
//! viscosity of either fluid is a plain limit. Equivalent to the determinant of \[MillerScriven1968\] and, without host, to
//! \[Reid1960\] and \[Chandrasekhar1961\] sec. 98; tested against that determinant built column by column.
//!
//! The outer flow must vanish far away, Im k > 0; on the upper half of the s plane this is k = i sqrt(s rho_o/mu_o). The square
//! root is taken with its cut along the negative imaginary s axis, so f is analytic across the negative real axis as seen
//! from above.
//!
//! A film of elasticity E that moves with the surface and keeps its area where it can pulls along it and, where it is bent, across
//! \[LuApfel1991\]:
//!
//! ```text
//! mu_i T_i - mu_o T_o = (E/s)(2 - N V),   f gains 2 s (mu_i T_i - mu_o T_o);   E to infinity: V = 2/N
//! T_i = 2(n-1)/n + (V - 1/n) g,           T_o = 2(n+2)/(n+1) - (V + 1/(n+1)) h
//! ```
//!
//! Not here: the search for the root; viscosity of a film, and exchange between film and liquid.

use crate::modes::viscous::shear;
use tremolet_numerics::bessel::hankel_ratio;
use tremolet_numerics::complex::{Complex64, I};

/// A drop and its host in natural units, for one degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// n.
    pub degree: u32,
    /// rho_i; rho_i + rho_o = 1.
    pub density: f64,
    /// mu_i.
    pub viscosity: f64,
    /// rho_o.
    pub host_density: f64,
    /// mu_o.
    pub host_viscosity: f64,
}

/// A quantity and its derivative with respect to s.
type Jet = (Complex64, Complex64);

impl Balance {
    /// rho_i/n + rho_o/(n+1): the mass that swings.
    #[must_use]
    pub fn inertia(&self) -> f64 {
        let n = f64::from(self.degree);
        self.density / n + self.host_density / (n + 1.0)
    }

    /// (n-1)(n+2): the spring of the surface.
    #[must_use]
    pub fn stiffness(&self) -> f64 {
        let n = f64::from(self.degree);
        (n - 1.0) * (n + 2.0)
    }

    /// f(s) and df/ds \[MillerScriven1968\]; see the head of this file for f.
    #[must_use]
    pub fn value(&self, s: Complex64) -> (Complex64, Complex64) {
        let (m, (x, x_slope)) = (self.inertia(), self.resistance(s));
        (
            s * s * m + s * x + self.stiffness(),
            2.0 * s * m + x + s * x_slope,
        )
    }

    /// f(s) with a film of this elasticity, in units of the tension, on the surface; infinite: a film that does not stretch
    /// \[LuApfel1991\], \[MillerScriven1968\].
    #[must_use]
    pub fn value_with_film(&self, s: Complex64, elasticity: f64) -> Complex64 {
        let n = f64::from(self.degree);
        let area = n * (n + 1.0);
        let (inner, outer) = (self.viscosity, self.host_viscosity);
        let (g, _) = scaled(inner, self.inner_shear(s));
        let (h, _) = scaled(outer, self.outer_shear(s));
        let still_inside = 2.0 * (n - 1.0) / n * inner - (g - 2.0 * inner) / n;
        let still_outside = 2.0 * (n + 2.0) / (n + 1.0) * outer - (h + 2.0 * outer) / (n + 1.0);
        let grip = (g - 2.0 * inner) + (h + 2.0 * outer);
        let v = if elasticity.is_infinite() {
            Complex64::from(2.0 / area)
        } else {
            let spring = elasticity / s;
            (still_outside - still_inside + 2.0 * spring) / (grip + area * spring)
        };
        let pull = 2.0 * (inner - outer) * (area * v - 2.0);
        let x = pull - (n + 1.0) * (v - 1.0 / n) * g + n * (v + 1.0 / (n + 1.0)) * h;
        let of_film = 2.0 * (still_inside - still_outside + v * grip);
        s * s * self.inertia() + s * (x + of_film) + self.stiffness()
    }

    /// X(s) and dX/ds \[MillerScriven1968\].
    #[must_use]
    pub fn resistance(&self, s: Complex64) -> (Complex64, Complex64) {
        let n = f64::from(self.degree);
        let (inner, outer) = (self.viscosity, self.host_viscosity);
        let (g, g_slope) = scaled(inner, self.inner_shear(s));
        let (h, h_slope) = scaled(outer, self.outer_shear(s));
        // mu g and mu h stand for the products: a factor without viscosity carries no stress.
        let below = (g - 2.0 * inner) + (h + 2.0 * outer);
        let above = (g - 2.0 * n * inner) / n + (2.0 * (n + 1.0) * outer - h) / (n + 1.0);
        let v = above / below;
        let v_slope = (g_slope / n - h_slope / (n + 1.0) - v * (g_slope + h_slope)) / below;
        let (from_inside, from_outside) = (v - 1.0 / n, v + 1.0 / (n + 1.0));
        let pull = 2.0 * (inner - outer);
        let x = pull * (n * (n + 1.0) * v - 2.0) - (n + 1.0) * from_inside * g + n * from_outside * h;
        let slope = (pull * n * (n + 1.0) - (n + 1.0) * g + n * h) * v_slope
            - (n + 1.0) * from_inside * g_slope
            + n * from_outside * h_slope;
        (x, slope)
    }

    /// G = q/Q and dG/ds.
    fn inner_shear(&self, s: Complex64) -> Jet {
        let per_rate = -self.density / self.viscosity;
        let (g, slope) = shear(self.degree, s * per_rate);
        (g, slope * per_rate)
    }

    /// H = k/S and dH/ds. With z = k^2: dH/dz = -((2n-1) v - 1 - z v^2)/(2 z v^2), v = 1/H.
    fn outer_shear(&self, s: Complex64) -> Jet {
        let odd = f64::from(2 * self.degree) - 1.0;
        let per_rate = -self.host_density / self.host_viscosity;
        let k = I * Complex64::from_polar(1.0, std::f64::consts::FRAC_PI_4) * (-I * s * -per_rate).sqrt();
        if k.norm() < 1e-5 {
            return (
                odd - k * k / (odd - 2.0),
                Complex64::from(-per_rate / (odd - 2.0)),
            );
        }
        let h = k / hankel_ratio(self.degree, k);
        (h, -per_rate * (odd * h - h * h - k * k) / (2.0 * k * k))
    }
}

/// A jet times a viscosity; a fluid without viscosity carries no shear, however thin its boundary layer.
fn scaled(viscosity: f64, jet: Jet) -> Jet {
    if viscosity > 0.0 {
        (viscosity * jet.0, viscosity * jet.1)
    } else {
        (Complex64::ZERO, Complex64::ZERO)
    }
}
