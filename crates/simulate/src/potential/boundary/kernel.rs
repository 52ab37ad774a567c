//! The potential of a ring of sources and of a ring of dipoles across its band.
//!
//! ```text
//! single = integral over the ring of G r' dpsi            = r' K / (pi P)                         G = 1 / (4 pi |x - y|)
//! double = integral over the ring of J dG/dn(y) r' dpsi   = [E r' D / d^2 + z_u (K - E) / 2] / (pi P)
//! D = r_u (z - z') - z_u (r - r'),   P^2 = (r + r')^2 + (z - z')^2,   d^2 = (r - r')^2 + (z - z')^2,   k' = d / P
//! ```
//! Both forms are free of divisions by either radius, so they hold on the axis and beside it. Near the ring itself K and E have a
//! logarithm; [`pair_beside`] trades it for the weights of a rule that knows it.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r, z; r', z' | place of the target, place of the ring | m |
//! | r_u, z_u, J | slope of the meridian by its running number, its length | m |
//! | n | normal (-z_u, r_u) / J: out of the liquid, which lies to the right of the path | 1 |
//! | K, E, k' | complete elliptic integrals and complementary modulus | 1 |
//!
//! Source: Green's function of Laplace's equation integrated round a ring, \[DLMF\] 19.2.8; derived here, checked by quadrature.

use std::f64::consts::{FRAC_1_PI, PI};

use tremolet_numerics::elliptic::{both, over};

/// A place on a meridian with the slope there.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Place {
    /// Distance from the axis, m.
    pub r: f64,
    /// Height along the axis, m.
    pub z: f64,
    /// Slope of `r` by the running number, m.
    pub r_u: f64,
    /// Slope of `z` by the running number, m.
    pub z_u: f64,
}

/// `[single, double]` at a target (r, z) away from the ring.
#[inline]
#[must_use]
pub fn pair(target: [f64; 2], ring: &Place) -> [f64; 2] {
    let parts = Parts::of(target, ring);
    let reach = parts.reach.sqrt();
    let [first, second] = over(reach, parts.gap.sqrt().min(reach));
    parts.combine(ring, first, second)
}

/// The same for a target at one end of the interval over which rings are summed: `trade` is `ln t - v / w` for a ring at the share `t` of
/// the interval from the target, with plain weight `w` and weight `v` for the logarithm.
#[inline]
#[must_use]
pub fn pair_beside(target: [f64; 2], ring: &Place, trade: f64) -> [f64; 2] {
    let parts = Parts::of(target, ring);
    let reach = parts.reach.sqrt();
    let [first, second] = over(reach, parts.gap.sqrt().min(reach));
    // Where the target lies on the axis there is no logarithm.
    if target[0] == 0.0 {
        return parts.combine(ring, first, second);
    }
    let [other, other_second] = both((4.0 * target[0] * ring.r / parts.reach).sqrt().min(1.0));
    let factor = 2.0 * trade / (PI * reach);
    parts.combine(
        ring,
        first + factor * other,
        second + factor * (other - other_second),
    )
}

struct Parts {
    /// `d^2`.
    gap: f64,
    /// `P^2`.
    reach: f64,
    /// `D`.
    across: f64,
}

impl Parts {
    #[inline]
    fn of(target: [f64; 2], ring: &Place) -> Self {
        let (dr, dz) = (target[0] - ring.r, target[1] - ring.z);
        Self {
            gap: dr * dr + dz * dz,
            reach: (target[0] + ring.r).powi(2) + dz * dz,
            across: ring.r_u * dz - ring.z_u * dr,
        }
    }

    /// From `K / P` and `E / P`.
    #[inline]
    fn combine(&self, ring: &Place, first: f64, second: f64) -> [f64; 2] {
        let double = second * ring.r * self.across / self.gap + 0.5 * ring.z_u * (first - second);
        [ring.r * first * FRAC_1_PI, double * FRAC_1_PI]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::quadrature::gauss_legendre;

    #[test]
    fn rings_agree_with_quadrature_round_them_also_near_the_axis() {
        let rule = gauss_legendre(200);
        let cases = [
            (
                [0.7, 0.2],
                Place {
                    r: 0.5,
                    z: -0.1,
                    r_u: 0.3,
                    z_u: -0.8,
                },
            ),
            (
                [0.0, 0.2],
                Place {
                    r: 0.5,
                    z: -0.1,
                    r_u: 0.3,
                    z_u: -0.8,
                },
            ),
            (
                [0.4, 0.1],
                Place {
                    r: 1e-6,
                    z: 0.0,
                    r_u: 1.0,
                    z_u: -0.1,
                },
            ),
            (
                [1e-6, 0.0],
                Place {
                    r: 0.3,
                    z: 0.1,
                    r_u: 0.1,
                    z_u: -1.0,
                },
            ),
        ];
        for (target, ring) in cases {
            let target: [f64; 2] = target;
            let sum = |f: &dyn Fn(f64) -> f64| 2.0 * rule.integral(0.0, PI, f);
            let distance = |angle: f64| {
                let square = target[0].powi(2) + ring.r.powi(2) - 2.0 * target[0] * ring.r * angle.cos();
                (square + (target[1] - ring.z).powi(2)).sqrt()
            };
            let single = sum(&|a| ring.r / (4.0 * PI * distance(a)));
            let double = sum(&|a| {
                let out = -ring.z_u * (target[0] * a.cos() - ring.r) + ring.r_u * (target[1] - ring.z);
                ring.r * out / (4.0 * PI * distance(a).powi(3))
            });
            let found = pair(target, &ring);
            assert!(
                (found[0] / single - 1.0).abs() < 1e-12,
                "{target:?}: {found:?} {single}"
            );
            assert!(
                (found[1] - double).abs() < 1e-11 * double.abs().max(1e-3 * ring.r),
                "{target:?}: {found:?} {double}"
            );
        }
    }
}
