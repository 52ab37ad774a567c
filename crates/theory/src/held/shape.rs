//! The shape of a drop at rest on a ring or on the rim of a needle or cup, without weight.
//!
//! ```text
//! cap of height h on a circle of radius a:   V = pi h (3 a^2 + h^2) / 6,     R = (a^2 + h^2) / (2 h)
//! loop: two caps of one curvature;  V < 4 pi a^3 / 3: a lens, h = h;   above: a ball of radius R with the ring off its middle
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `V`, `a` | volume of the drop, radius of the ring or rim | m^3, m |
//! | `h`, `R` | height of a cap, radius of its sphere | m |
//!
//! A surface of constant pressure jump `2 sigma / R` that ends in a circle is part of a sphere \[Lamb1932\]. On a loop two caps, each more than half a sphere, are
//! not stable: liquid runs to one side until both make up one ball.
//!
//! For a support without width, wetted up to its edge and no further. Not here: liquid that creeps along the support; weight (see `bond` in the
//! range of validity).

use std::f64::consts::{PI, SQRT_2};

use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, positive};
use crate::validity::Validity;

/// Part of a sphere on a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cap {
    /// Height above the plane of the circle, m.
    pub height: f64,
    /// Radius of the sphere, m.
    pub radius: f64,
    /// Angle from the axis, at the sphere's centre, between the top and the circle: above pi/2 for more than half a sphere, rad.
    pub opening: f64,
}

/// A drop on a loop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OnLoop {
    /// Two equal caps.
    Lens(Cap),
    /// One ball, the ring at this angle from the axis on it, rad, up to pi/2; the drop sits to one side.
    Ball {
        /// Radius of the ball, m.
        radius: f64,
        /// Angle of the ring from the axis, seen from the centre, rad.
        ring: f64,
    },
}

/// The cap of a `volume` (m^3) on a rim of radius `rim` (m): a drop on the end of a needle or on a full cup.
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive, [`TheoryError::Root`] if the search fails.
///
/// ```
/// use std::f64::consts::PI;
/// let half = tremolet_theory::held::shape::cap(2.0 / 3.0 * PI * 1e-9, 1e-3)?;
/// assert!((half.height - 1e-3).abs() < 1e-12 && (half.opening - PI / 2.0).abs() < 1e-9);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn cap(volume: f64, rim: f64) -> Result<Cap, TheoryError> {
    let target = 6.0 * positive("volume", volume)? / (PI * positive("radius of the rim", rim)?.powi(3));
    let short = |h: f64| h * (3.0 + h * h) / target - 1.0;
    let what = "height of the cap";
    let found =
        bracketed(short, 0.0, 1.0 + target, 0.0).map_err(|source| TheoryError::Root { what, source })?;
    let h = found.root;
    Ok(Cap {
        height: rim * h,
        radius: rim * (1.0 + h * h) / (2.0 * h),
        opening: 2.0 * h.atan(),
    })
}

/// A drop of `volume` (m^3) on a thin loop of radius `ring` (m).
///
/// # Errors
/// As [`cap`].
pub fn on_loop(volume: f64, ring: f64) -> Result<OnLoop, TheoryError> {
    let ball = (3.0 * positive("volume", volume)? / (4.0 * PI)).cbrt();
    if ball > positive("radius of the ring", ring)? {
        return Ok(OnLoop::Ball {
            radius: ball,
            ring: (ring / ball).asin(),
        });
    }
    cap(0.5 * volume, ring).map(OnLoop::Lens)
}

/// Where weight does not count: Bond number of the residual `acceleration` (m/s^2) up to 0.1, with the drop's `density` (kg/m^3), `radius` (m) and
/// `tension` (N/m).
#[must_use]
pub fn validity(density: f64, acceleration: f64, radius: f64, tension: f64) -> Validity {
    let bond = density * acceleration.abs() * radius * radius / tension;
    Validity::always().with("Bond number of the residual acceleration", bond, 0.0, 0.1)
}

/// How far a held drop sags under a steady `acceleration` (m/s^2) if its lowest pinned mode has the angular `frequency` (rad/s): `g / w^2`, m; an order of
/// magnitude.
///
/// # Errors
/// [`TheoryError::Quantity`] for a frequency that is not positive, an acceleration that is not finite.
pub fn sag(acceleration: f64, frequency: f64) -> Result<f64, TheoryError> {
    crate::error::required("acceleration", acceleration, true, "a finite number of m/s^2")?;
    Ok(acceleration.abs() / positive("angular frequency", frequency)?.powi(2))
}

/// Amplitude (m) at which a shaken held drop settles if the whole jitter of r.m.s. `acceleration` (m/s^2) lies at its pinned mode of angular `frequency`
/// (rad/s) and `decay` rate (1/s): `sqrt(2) a / (2 g w)`, a driven oscillator on its resonance. An order of magnitude: jitter spreads over many
/// frequencies and the support damps, so less is seen.
///
/// # Errors
/// [`TheoryError::Quantity`] for a frequency or decay rate that is not positive, an acceleration that is not finite.
pub fn shaken(acceleration: f64, frequency: f64, decay: f64) -> Result<f64, TheoryError> {
    let width = 2.0 * positive("decay rate", decay)?;
    Ok(SQRT_2 * sag(acceleration, frequency)? * frequency / width)
}

#[cfg(test)]
mod tests {
    use super::*;

    // x'' + 2 g x' + w^2 x = A cos(w t), stepped through 30 decay times by the trapezium rule in ten thousandths of a period.
    #[test]
    fn a_shaken_drop_settles_where_the_stepped_oscillator_does() {
        let (w, g, a) = (20.0_f64, 0.8, 3e-3);
        let step = 2.0 * PI / w / 1e4;
        let (mut x, mut v, mut most) = (0.0_f64, 0.0_f64, 0.0_f64);
        let push = |t: f64| SQRT_2 * a * (w * t).cos();
        for k in 0..(30.0 / g / step) as usize {
            let t = k as f64 * step;
            let half = v + 0.5 * step * (push(t) - 2.0 * g * v - w * w * x);
            x += step * half;
            v = half + 0.5 * step * (push(t + step) - 2.0 * g * half - w * w * x);
            if t > 25.0 / g {
                most = most.max(x.abs());
            }
        }
        let said = shaken(a, w, g).unwrap();
        assert!((most / said - 1.0).abs() < 2e-3, "{most} {said}");
        assert!(shaken(a, w, 0.0).is_err());
    }

    // Height by search with the volume itself, validation/theory/held.py.
    #[test]
    fn caps_below_and_above_half_a_sphere() {
        let rows = [
            (0.2e-6, 5e-3, 0.004_144_063_590_74, 0.005_088_394_774_92),
            (2e-6, 1e-3, 0.015_567_881_251_4, 0.007_816_058_034_11),
        ];
        for (volume, rim, height, radius) in rows {
            let found = cap(volume, rim).unwrap();
            assert!((found.height / height - 1.0).abs() < 1e-10);
            assert!((found.radius / radius - 1.0).abs() < 1e-10);
            assert!((found.opening.sin() - rim / radius).abs() < 1e-9);
            assert_eq!(found.opening > PI / 2.0, height > radius);
        }
    }

    // By hand: the ball of a ring's own radius is where lens and ball meet.
    #[test]
    fn a_loop_holds_a_lens_or_a_ball() {
        let whole = 4.0 / 3.0 * PI * 1e-9;
        let OnLoop::Lens(lens) = on_loop(0.999_999 * whole, 1e-3).unwrap() else {
            panic!("a lens was due")
        };
        assert!((lens.height / 1e-3 - 1.0).abs() < 1e-5);
        let OnLoop::Ball { radius, ring } = on_loop(8.0 * whole, 1e-3).unwrap() else {
            panic!("a ball was due")
        };
        assert!((radius - 2e-3).abs() < 1e-15 && (ring - PI / 6.0).abs() < 1e-12);
        // A thin lens: V = pi a^2 h for both sides, each of mean height h / 2.
        let OnLoop::Lens(thin) = on_loop(PI * 1e-6 * 1e-6, 1e-3).unwrap() else {
            panic!("a lens was due")
        };
        assert!((thin.height / 1e-6 - 1.0).abs() < 1e-5);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(cap(0.0, 1.0).is_err() && cap(1.0, -1.0).is_err() && on_loop(1.0, 0.0).is_err());
        assert!(validity(1000.0, 0.02, 0.012, 0.07).holds() && !validity(1000.0, 9.81, 0.012, 0.07).holds());
        assert!((sag(-0.02, 2.0).unwrap() - 0.005).abs() < 1e-15 && sag(1.0, 0.0).is_err());
    }
}
