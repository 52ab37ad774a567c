//! Dimensionless groups of a free liquid body, and its capillary time.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `rho` | density of the liquid (for Bo: density difference) | kg/m^3 |
//! | `sigma` | surface tension | N/m |
//! | `mu` | dynamic viscosity | Pa s |
//! | `length` | a length; the caller says which (radius, diameter) and keeps to it | m |
//! | `speed` | a speed | m/s |
//! | `acceleration` | an acceleration | m/s^2 |
//!
//! Definitions as in common use, \[Lefebvre2017\]; they hold for positive arguments, others give what IEEE
//! arithmetic gives. Groups with other prefactors (some authors') are not here.

/// Ohnesorge number `mu / sqrt(rho sigma length)`: viscous against capillary and inertial.
///
/// ```
/// let oh = tremolet_matter::groups::ohnesorge(1.0e-3, 1000.0, 0.1, 0.01);
/// assert!((oh - 1.0e-3).abs() < 1e-15);
/// ```
pub fn ohnesorge(mu: f64, rho: f64, sigma: f64, length: f64) -> f64 {
    mu / (rho * sigma * length).sqrt()
}

/// Weber number `rho speed^2 length / sigma`: inertia against surface tension.
pub fn weber(rho: f64, speed: f64, length: f64, sigma: f64) -> f64 {
    rho * speed * speed * length / sigma
}

/// Bond number `rho acceleration length^2 / sigma`: body force against surface tension.
pub fn bond(rho: f64, acceleration: f64, length: f64, sigma: f64) -> f64 {
    rho * acceleration * length * length / sigma
}

/// Reynolds number `rho speed length / mu`: inertia against viscosity.
pub fn reynolds(rho: f64, speed: f64, length: f64, mu: f64) -> f64 {
    rho * speed * length / mu
}

/// Laplace number `rho sigma length / mu^2`, the inverse square of the Ohnesorge number.
pub fn laplace(rho: f64, sigma: f64, length: f64, mu: f64) -> f64 {
    rho * sigma * length / (mu * mu)
}

/// Capillary number `mu speed / sigma`: viscosity against surface tension.
pub fn capillary(mu: f64, speed: f64, sigma: f64) -> f64 {
    mu * speed / sigma
}

/// Capillary time `sqrt(rho radius^3 / sigma)`, s: the unit of time of a drop's shape modes, \[Rayleigh1879\].
pub fn capillary_time(rho: f64, radius: f64, sigma: f64) -> f64 {
    (rho * radius.powi(3) / sigma).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand with rho 1000, sigma 0.1, mu 2e-3, length 0.01, speed 0.5, acceleration 0.2 (SI).
    #[test]
    fn values_by_hand() {
        let close = |found: f64, due: f64| assert!((found / due - 1.0).abs() < 1e-14, "{found} {due}");
        close(ohnesorge(2e-3, 1000.0, 0.1, 0.01), 2e-3);
        close(weber(1000.0, 0.5, 0.01, 0.1), 25.0);
        close(bond(1000.0, 0.2, 0.01, 0.1), 0.2);
        close(reynolds(1000.0, 0.5, 0.01, 2e-3), 2500.0);
        close(laplace(1000.0, 0.1, 0.01, 2e-3), 250_000.0);
        close(capillary(2e-3, 0.5, 0.1), 0.01);
        close(capillary_time(1000.0, 0.01, 0.1), 0.1);
    }
}
