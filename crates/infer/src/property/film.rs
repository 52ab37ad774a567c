//! What a film on the surface may have done to the surface tension, where the damping looks like that of one.
//!
//! ```text
//! suspected:  effective viscosities of clean modes rise with the degree and do not agree
//! g_film(n_1; nu) = g(n_1),      u(ln sigma) = 2 max_n |ln w_film(n; nu) - ln w_clean(n; nu_n)|
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n_1` | lowest degree that was found | 1 |
//! | `nu` | viscosity for which a film that does not stretch has the decay of `n_1` | m^2/s |
//! | `nu_n` | effective viscosity of degree n with a clean surface | m^2/s |
//! | `w`, `g` | angular frequency, decay rate | rad/s, 1/s |
//!
//! A film lowers frequencies by some tenths of a per cent. How much depends on its elasticity, which is not known; the shift of a
//! film that does not stretch stands for its size \[MillerScriven1968\], \[LuApfel1991\].

use tremolet_theory::modes::film::inextensible;
use tremolet_theory::modes::host::{Pair, root};

use crate::property::fit::{Conditions, Fit};
use crate::property::lines::Lines;

/// Rounds in which the viscosity below the film settles; decay goes about as its square root.
const ROUNDS: usize = 12;

/// Whether the effective viscosities rise with the degree, as a film makes them.
pub fn suspected(lines: &Lines, each: &Fit) -> bool {
    let count = lines.degrees.len();
    count > 1 && (1..count).all(|i| each.viscosity(i) > each.viscosity(i - 1))
}

/// Relative standard uncertainty of the surface tension for the shift that a film gives the frequencies; none when no such film
/// has a decay as was found.
pub fn doubt_of_tension(lines: &Lines, each: &Fit, conditions: &Conditions) -> Option<f64> {
    let pair = |kinematic: f64| Pair {
        radius: conditions.radius,
        tension: each.tension(),
        density: conditions.density,
        viscosity: kinematic * conditions.density,
        host_density: conditions.host_density,
        host_viscosity: conditions.host_viscosity,
    };
    let (lowest, decay) = (*lines.degrees.first()?, lines.values[1]);
    let mut below = 0.3 * each.viscosity(0);
    for _ in 0..ROUNDS {
        let film = inextensible(lowest, &pair(below)).ok()?;
        below *= (decay / film.decay).powi(2);
    }
    let shift = |(i, &degree): (usize, &u32)| {
        let film = inextensible(degree, &pair(below)).ok()?;
        let clean = root(degree, &pair(each.viscosity(i))).ok()?;
        Some((film.angular_frequency / clean.angular_frequency).ln().abs())
    };
    let shifts: Option<Vec<f64>> = lines.degrees.iter().enumerate().map(shift).collect();
    let largest = shifts?.into_iter().fold(0.0, f64::max);
    Some(2.0 * largest).filter(|u| u.is_finite())
}
