//! Roots of one equation in one unknown, complex or real.
//!
//! ```text
//! Newton   z' = z - f/f'                     Muller   z' = nearest root of the parabola through three points
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | z, f | unknown and function, in the caller's units |
//! | tolerance | the search ends when a step is below `tolerance * |z|` |
//!
//! How to choose the tolerance: 1e-12 is a safe choice for a simple root of a function computed to rounding. Near a
//! double root the step cannot shrink below the square root of the rounding (1e-8); both searches therefore also end,
//! and say so by the residual they report, when steps no longer shrink.
//!
//! Source: \[Press2007\] sections 9.3 to 9.5; \[Chandrupatla1997\] (bracketed search).
//!
//! Not here: finding all roots; judging which root was found. Both are the caller's business.

use crate::complex::Complex64;

#[cfg(test)]
mod tests;

/// A root and how well it is one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found<T> {
    /// The root.
    pub root: T,
    /// |f| at the root, in the units of f.
    pub residual: f64,
    /// Evaluations of f that were used.
    pub evaluations: u32,
}

/// Why no root was found.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RootError {
    /// The search did not settle.
    #[error("no root after {evaluations} evaluations: last residual {residual:e}; try a nearer start")]
    Unsettled {
        /// Evaluations of f that were used.
        evaluations: u32,
        /// |f| at the last point.
        residual: f64,
    },
    /// The function or its argument became infinite or not a number.
    #[error("function is not finite near {re} + {im} i; start nearer to the root")]
    NotFinite {
        /// Real part of the argument.
        re: f64,
        /// Imaginary part of the argument.
        im: f64,
    },
    /// The ends of the interval do not have opposite signs.
    #[error("no change of sign between {from} and {to}; widen the interval")]
    NoBracket {
        /// Lower end.
        from: f64,
        /// Upper end.
        to: f64,
    },
}

const MOST_STEPS: u32 = 60;

/// Newton's method for an analytic function: `f` returns value and derivative.
///
/// # Errors
/// [`RootError::NotFinite`] when f is not finite on the way, [`RootError::Unsettled`] when steps do not shrink to
/// `tolerance` (relative to |z|).
///
/// ```
/// use tremolet_numerics::{complex::Complex64, root::newton};
/// let found = newton(|z| (z * z + 1.0, 2.0 * z), Complex64::new(0.3, 0.8), 1e-14)?;
/// assert!((found.root - Complex64::new(0.0, 1.0)).norm() < 1e-14);
/// # Ok::<(), tremolet_numerics::root::RootError>(())
/// ```
pub fn newton(
    mut f: impl FnMut(Complex64) -> (Complex64, Complex64),
    start: Complex64,
    tolerance: f64,
) -> Result<Found<Complex64>, RootError> {
    let mut z = start;
    let mut previous = f64::INFINITY;
    let mut residual = f64::INFINITY;
    for evaluations in 1..=MOST_STEPS {
        let (value, slope) = f(z);
        residual = value.norm();
        let step = value / slope;
        let size = step.norm();
        if residual == 0.0 {
            return Ok(Found {
                root: z,
                residual,
                evaluations,
            });
        }
        if !size.is_finite() {
            return Err(not_finite(z));
        }
        z -= step;
        if settled(size, previous, z.norm(), tolerance) {
            let residual = f(z).0.norm();
            return Ok(Found {
                root: z,
                residual,
                evaluations: evaluations + 1,
            });
        }
        previous = size;
    }
    Err(RootError::Unsettled {
        evaluations: MOST_STEPS,
        residual,
    })
}

/// Muller's method: needs no derivative; starts from `start` and two neighbours at distance `spread`.
///
/// # Errors
/// As [`newton`].
pub fn muller(
    mut f: impl FnMut(Complex64) -> Complex64,
    start: Complex64,
    spread: f64,
    tolerance: f64,
) -> Result<Found<Complex64>, RootError> {
    let mut z = [start + spread, start - Complex64::new(0.0, spread), start];
    let mut v = z.map(&mut f);
    let mut previous = f64::INFINITY;
    for evaluations in 4..=MOST_STEPS {
        let step = parabola_step(&z, &v);
        let size = step.norm();
        if !size.is_finite() {
            return Err(not_finite(z[2]));
        }
        let next = z[2] + step;
        let value = f(next);
        if value.norm_sqr() == 0.0 || settled(size, previous, next.norm(), tolerance) {
            return Ok(Found {
                root: next,
                residual: value.norm(),
                evaluations,
            });
        }
        z = [z[1], z[2], next];
        v = [v[1], v[2], value];
        previous = size;
    }
    Err(RootError::Unsettled {
        evaluations: MOST_STEPS,
        residual: v[2].norm(),
    })
}

/// From the last of three points to the nearest root of the parabola through them.
fn parabola_step(z: &[Complex64; 3], v: &[Complex64; 3]) -> Complex64 {
    let first = (v[2] - v[1]) / (z[2] - z[1]);
    let second = (first - (v[1] - v[0]) / (z[1] - z[0])) / (z[2] - z[0]);
    let slope = first + (z[2] - z[1]) * second;
    let root = (slope * slope - 4.0 * v[2] * second).sqrt();
    let (plus, minus) = (slope + root, slope - root);
    let larger = if plus.norm_sqr() >= minus.norm_sqr() {
        plus
    } else {
        minus
    };
    -2.0 * v[2] / larger
}

/// A step small enough, or one of rounding size that no longer shrinks.
fn settled(step: f64, previous: f64, size: f64, tolerance: f64) -> bool {
    step <= tolerance * size || (step <= 1e-7 * size && step >= 0.5 * previous)
}

fn not_finite(z: Complex64) -> RootError {
    RootError::NotFinite { re: z.re, im: z.im }
}

/// A real root between `from` and `to`, where f has opposite signs; by Chandrupatla's method, which never leaves the
/// interval and needs at most some 60 evaluations.
///
/// `tolerance` is absolute, in the units of x; zero means to rounding.
///
/// # Errors
/// [`RootError::NoBracket`] when f has the same sign at both ends or is not finite there.
///
/// ```
/// let found = tremolet_numerics::root::bracketed(|x| x * x - 2.0, 0.0, 2.0, 0.0)?;
/// assert!((found.root - 2f64.sqrt()).abs() < 1e-15);
/// # Ok::<(), tremolet_numerics::root::RootError>(())
/// ```
pub fn bracketed(
    mut f: impl FnMut(f64) -> f64,
    from: f64,
    to: f64,
    tolerance: f64,
) -> Result<Found<f64>, RootError> {
    let (mut a, mut b) = (to, from);
    let (mut fa, mut fb) = (f(a), f(b));
    if (fa * fb).is_nan() || fa * fb > 0.0 {
        return Err(RootError::NoBracket { from, to });
    }
    let mut share = 0.5;
    for evaluations in 3..=200 {
        let x = a + share * (b - a);
        let fx = f(x);
        let (c, fc) = if (fx > 0.0) == (fa > 0.0) {
            (a, fa)
        } else {
            (b, fb)
        };
        if (fx > 0.0) != (fa > 0.0) {
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        let (best, value) = if fa.abs() < fb.abs() { (a, fa) } else { (b, fb) };
        let closest = 2.0 * f64::EPSILON * best.abs() + 0.5 * tolerance;
        let least = closest / (b - a).abs();
        if least > 0.5 || value == 0.0 {
            return Ok(Found {
                root: best,
                residual: value.abs(),
                evaluations,
            });
        }
        share = next_share([a, b, c], [fa, fb, fc]).clamp(least, 1.0 - least);
    }
    Ok(Found {
        root: a,
        residual: fa.abs(),
        evaluations: 200,
    })
}

/// Inverse quadratic interpolation where it is safe, else the middle; as a share of the way from a to b.
fn next_share(x: [f64; 3], f: [f64; 3]) -> f64 {
    let [a, b, c] = x;
    let [fa, fb, fc] = f;
    let place = (a - b) / (c - b);
    let height = (fa - fb) / (fc - fb);
    if height * height < place && (1.0 - height) * (1.0 - height) < 1.0 - place {
        fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    } else {
        0.5
    }
}
