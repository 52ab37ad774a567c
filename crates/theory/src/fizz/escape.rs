//! How long a still drop takes to lose its dissolved gas through its surface.
//!
//! ```text
//! left = 6/pi^2 sum_k exp(-k^2 pi^2 x) / k^2,   x = D t / R^2          early: 1 - 6 sqrt(x / pi) + 3 x
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | left | share of the gas above saturation with the room that is still dissolved | 1 |
//! | `D`, `R`, `t` | diffusivity, radius of the drop, time | m^2/s, m, s |
//!
//! Source: diffusion out of a sphere \[Crank1975\] section 6.3. For a drop at rest inside, whose surface is in balance with the room from the start; stirring
//! makes it faster, a film on the surface slower.

use std::f64::consts::PI;

use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// Share left after `time` (s) in a drop of `radius` (m) with `diffusivity` (m^2/s).
///
/// # Errors
/// [`TheoryError::Quantity`] for a radius or diffusivity that is not positive, a negative time.
///
/// ```
/// // A drop of 2 mm has lost 99 % of its carbon dioxide in four minutes.
/// let left = tremolet_theory::fizz::escape::left(0.001, 1.9e-9, 240.0)?;
/// assert!(left < 0.01);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn left(radius: f64, diffusivity: f64, time: f64) -> Result<f64, TheoryError> {
    let reach = positive("diffusivity", diffusivity)? * not_negative("time", time)?;
    Ok(share(reach / positive("radius", radius)?.powi(2)))
}

/// Time until only the share `left` is left, s.
///
/// # Errors
/// As [`left`]; a share outside 0 to 1, [`TheoryError::Root`] if the search fails.
pub fn time(radius: f64, diffusivity: f64, left: f64) -> Result<f64, TheoryError> {
    let inside = left > 0.0 && left <= 1.0;
    required("share left", left, inside, "a number above 0 and up to 1")?;
    let unit = positive("radius", radius)?.powi(2) / positive("diffusivity", diffusivity)?;
    if left == 1.0 {
        return Ok(0.0);
    }
    let what = "time of escape";
    let most = (6.0 / (PI * PI * left)).ln().max(0.0) / (PI * PI) + 1.0;
    let found = bracketed(|x| share(x) - left, 0.0, most, 0.0)
        .map_err(|source| TheoryError::Root { what, source })?;
    Ok(unit * found.root)
}

/// Share left at `x`; the early form is exact to 1e-14 below 0.03.
fn share(x: f64) -> f64 {
    if x < 0.03 {
        return 1.0 - 6.0 * (x / PI).sqrt() + 3.0 * x;
    }
    let term = |k: f64| (-(k * PI).powi(2) * x).exp() / (k * k);
    6.0 / (PI * PI) * (1..=12).map(f64::from).map(term).sum::<f64>()
}

/// Where a drop at rest inside holds: `speed` (m/s) of what stirs it, times its `radius` (m), over the `diffusivity` (m^2/s), up to 1.
#[must_use]
pub fn validity(radius: f64, diffusivity: f64, speed: f64) -> Validity {
    Validity::always().with(
        "stirring over diffusion",
        radius * speed.abs() / diffusivity,
        0.0,
        1.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    // Laplace inversion, validation/theory/fizz.py; radius and diffusivity 1.
    #[test]
    fn shares_by_laplace_inversion() {
        let rows = [
            (0.001, 0.895_952_553_030_83),
            (0.01, 0.691_486_249_871_35),
            (0.03, 0.503_676_985_716_5),
            (0.1, 0.229_521_261_974_04),
            (0.5, 0.004_372_141_211_974_8),
        ];
        for (x, due) in rows {
            assert!((left(1.0, 1.0, x).unwrap() - due).abs() < 1e-12, "{x}");
            assert!((time(1.0, 1.0, due).unwrap() / x - 1.0).abs() < 1e-9, "{x}");
        }
    }

    #[test]
    fn both_forms_agree_where_they_meet() {
        assert!((share(0.03 - 1e-12) - share(0.03)).abs() < 1e-11);
        assert!(
            (time(0.012, 1.9e-9, 1e-6).unwrap()
                - 0.012_f64.powi(2) / 1.9e-9 * (6e6 / (PI * PI)).ln() / (PI * PI))
                .abs()
                < 1e-3
        );
        assert_eq!(time(1.0, 1.0, 1.0).unwrap(), 0.0);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(left(0.0, 1.0, 1.0).is_err() && left(1.0, 1.0, -1.0).is_err());
        assert!(time(1.0, 1.0, 0.0).is_err() && time(1.0, 1.0, 1.1).is_err());
    }

    #[test]
    fn a_stirred_drop_is_outside() {
        assert!(validity(0.012, 1.9e-9, 1e-7).holds() && !validity(0.012, 1.9e-9, 1e-6).holds());
    }
}
