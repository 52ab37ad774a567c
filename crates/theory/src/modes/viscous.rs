//! Exact shape modes of a viscous drop in vacuum, from hardly damped to creeping.
//!
//! ```text
//! s^2 + K s + w_n^2 = 0,   K = 2(n-1) Oh [ n + (n+1)(q - 2n Q)/(q - 2Q) ],   q^2 = -s/Oh,  Q = j_{n+1}(q)/j_n(q)
//! ```
//! Solved as y^2 - k(y) y + (w_n/Oh)^2 = 0 in y = q^2, with k = K/Oh free of Oh, so that everything about degree n is in the one
//! curve y (k - y): its greatest height is the aperiodic limit, where the pair of complex roots meets and turns into two real ones.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | Oh | Ohnesorge number mu/sqrt(rho sigma R), the viscosity of the unit drop | - |
//! | s | rate, amplitude ~ e^{st}, s = -decay + i angular frequency | 1/t0, t0 = sqrt(rho R^3/sigma) |
//! | w_n | inviscid frequency sqrt(n(n-1)(n+2)) | 1/t0 |
//! | n | degree, 2 to 12 | - |
//!
//! Sources: \[Chandrasekhar1961\] sec. 98 and \[Reid1960\] (equation, rewritten here), \[MillerScriven1968\], \[Lamb1932\] art. 355.
//! Accuracy: relative 1e-11 of decay down to Oh = 1e-5, better above; at the aperiodic limit the root is double and keeps half
//! the digits. Not here: a host (see `host`), films, the higher real roots (slow swirl without tension).

use crate::modes::error::ModeError;
use crate::modes::inviscid::drop_unit;
use tremolet_numerics::bessel::ratio;
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::root::{bracketed, newton};

#[cfg(test)]
mod tests;

/// Highest degree served by this room.
pub const HIGHEST_DEGREE: u32 = 12;

/// How an amplitude returns to zero; rates in units of 1/t0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Motion {
    /// Below the aperiodic limit: e^(-decay t) cos(angular_frequency t).
    Swinging {
        /// Decay rate.
        decay: f64,
        /// Angular frequency.
        angular_frequency: f64,
    },
    /// Above it: two exponentials.
    Aperiodic {
        /// The slower rate, driven by tension.
        slow: f64,
        /// The faster rate.
        fast: f64,
    },
}

/// The aperiodic limit of one degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Ohnesorge number at which the two roots meet.
    pub ohnesorge: f64,
    /// y = q^2 of the double root; its rate is `argument * ohnesorge`.
    pub argument: f64,
    /// Im y near the limit is `width * sqrt((w_n/Oh)^2 - (w_n/Oh_c)^2)`.
    pub width: f64,
    /// y of the fast root at infinite viscosity.
    pub rigid: f64,
}

/// Limits of n = 2 to 12: computed independently in mpmath, 30 digits, as the maximum of y (k - y); the tests find them again.
const LIMITS: [Limit; 11] = [
    Limit {
        ohnesorge: 0.7664611689449911,
        argument: 3.5702139442650918,
        width: 0.9633586331716999,
        rigid: 7.105541655745199,
    },
    Limit {
        ohnesorge: 0.620917733930112,
        argument: 8.151839115694552,
        width: 0.9106210894408601,
        rigid: 16.01549835280837,
    },
    Limit {
        ohnesorge: 0.5495260113970504,
        argument: 13.739043550889267,
        width: 0.8675802766854778,
        rigid: 26.634053973311893,
    },
    Limit {
        ohnesorge: 0.5020049822274465,
        argument: 20.35920478104289,
        width: 0.8346697320869454,
        rigid: 39.01776756685461,
    },
    Limit {
        ohnesorge: 0.4664023397085887,
        argument: 28.028833348979944,
        width: 0.8092976167892535,
        rigid: 53.20808740432135,
    },
    Limit {
        ohnesorge: 0.4380552550279226,
        argument: 36.75668507390912,
        width: 0.7893097642839851,
        rigid: 69.22674465697261,
    },
    Limit {
        ohnesorge: 0.41462956036358595,
        argument: 46.54747200583981,
        width: 0.773210741312485,
        rigid: 87.08439819029876,
    },
    Limit {
        ohnesorge: 0.3947723333210539,
        argument: 57.403821583546616,
        width: 0.7599841846456163,
        rigid: 106.78602700783337,
    },
    Limit {
        ohnesorge: 0.3776220672201695,
        argument: 69.32724898431461,
        width: 0.7489297911984686,
        rigid: 128.33369616862802,
    },
    Limit {
        ohnesorge: 0.36259355789051173,
        argument: 82.31865153100271,
        width: 0.7395541186141752,
        rigid: 151.72795612156844,
    },
    Limit {
        ohnesorge: 0.3492701759086059,
        argument: 96.37857041182929,
        width: 0.7315012330034676,
        rigid: 176.96856647690416,
    },
];

/// The exact motion of degree 2 to 12 at any Ohnesorge number \[Chandrasekhar1961\].
///
/// # Errors
/// [`ModeError::Degree`], [`ModeError::Quantity`] for an Ohnesorge number that is not positive and finite;
/// [`ModeError::Root`] or [`ModeError::Branch`] if the search fails (no case is known).
///
/// ```
/// use tremolet_theory::modes::viscous::{Motion, motion};
/// let Motion::Swinging { decay, .. } = motion(2, 0.01)? else { unreachable!() };
/// assert!((decay - 0.047_414_843_760_36).abs() < 1e-14);   // Lamb's formula says 0.05
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn motion(degree: u32, ohnesorge: f64) -> Result<Motion, ModeError> {
    let limit = aperiodic_limit(degree)?;
    if !(ohnesorge > 0.0 && ohnesorge.is_finite()) {
        return Err(ModeError::Quantity {
            name: "Ohnesorge number",
            value: ohnesorge,
            expected: "a positive number",
        });
    }
    if ohnesorge < limit.ohnesorge {
        let y = swinging(degree, ohnesorge, &limit)?;
        return Ok(Motion::Swinging {
            decay: ohnesorge * y.re,
            angular_frequency: ohnesorge * y.im.abs(),
        });
    }
    let [slow, fast] = aperiodic(degree, ohnesorge, &limit)?;
    Ok(Motion::Aperiodic {
        slow: ohnesorge * slow,
        fast: ohnesorge * fast,
    })
}

/// The aperiodic limit of degree 2 to 12 \[Chandrasekhar1961\].
///
/// # Errors
/// [`ModeError::Degree`].
pub fn aperiodic_limit(degree: u32) -> Result<Limit, ModeError> {
    let outside = ModeError::Degree {
        degree,
        lowest: 2,
        highest: HIGHEST_DEGREE,
    };
    let index = degree.checked_sub(2).ok_or(outside)?;
    LIMITS.get(index as usize).copied().ok_or(outside)
}

/// Decay rate of an irrotational swing, (n-1)(2n+1) Oh \[Lamb1932\]: the limit of vanishing Oh and the rate in the first instants
/// after an irrotational start. Already 5 % above the exact decay of n = 2 at Oh = 0.01.
#[must_use]
pub fn irrotational_decay(degree: u32, ohnesorge: f64) -> f64 {
    let n = f64::from(degree);
    (n - 1.0).max(0.0) * (2.0 * n + 1.0) * ohnesorge
}

/// Coefficient c_n of the small-Oh decay (n-1)(2n+1) Oh (1 - c_n sqrt(Oh)), c_n = sqrt 2 (n^2-1)/((2n+1) sqrt(w_n)); the expansion
/// of \[Chandrasekhar1961\] sec. 98 for large |q|. Relative error of the decay some 0.15 Oh for n = 2, growing with n.
#[must_use]
pub fn boundary_layer_coefficient(degree: u32) -> f64 {
    let n = f64::from(degree);
    std::f64::consts::SQRT_2 * (n * n - 1.0) / ((2.0 * n + 1.0) * drop_unit(degree).sqrt())
}

/// Slow rate in the limit of large Oh: n(n+2)(2n+1)/[2(2n^2+4n+3) Oh], the creeping return to the sphere \[Chandrasekhar1961\].
#[must_use]
pub fn creeping_decay(degree: u32, ohnesorge: f64) -> f64 {
    let n = f64::from(degree);
    n * (n + 2.0) * (2.0 * n + 1.0) / (2.0 * (2.0 * n * n + 4.0 * n + 3.0) * ohnesorge)
}

/// K/Oh at y = q^2, and its derivative with respect to y \[Reid1960\]. With G = q/Q the bracket is n + (n+1)(G - 2n)/(G - 2).
#[must_use]
pub fn resistance(degree: u32, y: Complex64) -> (Complex64, Complex64) {
    let n = f64::from(degree);
    let (shear, slope) = shear(degree, y);
    let below = shear - 2.0;
    let k = 2.0 * (n - 1.0) * (n + (n + 1.0) * (shear - 2.0 * n) / below);
    (
        k,
        4.0 * (n - 1.0) * (n - 1.0) * (n + 1.0) * slope / (below * below),
    )
}

/// G = q/Q_n(q) at y = q^2, an entire-looking function of y (poles only), and dG/dy = -(G^2 + y - (2n+3) G)/(2y) \[Reid1960\].
#[must_use]
pub fn shear(degree: u32, y: Complex64) -> (Complex64, Complex64) {
    let odd = f64::from(2 * degree + 3);
    if y.norm() < 1e-5 {
        return (odd - y / (odd + 2.0), Complex64::from(-1.0 / (odd + 2.0)));
    }
    let q = y.sqrt();
    let g = q / ratio(degree, q);
    (g, -(g * g + y - odd * g) / (2.0 * y))
}

/// F = y^2 - k y + (w/Oh)^2 and dF/dy.
fn balance(degree: u32, drive: f64, y: Complex64) -> (Complex64, Complex64) {
    let (k, slope) = resistance(degree, y);
    (y * (y - k) + drive, 2.0 * y - k - y * slope)
}

fn drive(degree: u32, ohnesorge: f64) -> f64 {
    (drop_unit(degree) / ohnesorge).powi(2)
}

/// The complex root with Im y < 0 (Im s > 0); it is the only one.
fn swinging(degree: u32, ohnesorge: f64, limit: &Limit) -> Result<Complex64, ModeError> {
    let drive = drive(degree, ohnesorge);
    let near_limit = ohnesorge > 0.6 * limit.ohnesorge;
    let start = if near_limit {
        let beyond = drive - self::drive(degree, limit.ohnesorge);
        Complex64::new(limit.argument, -limit.width * beyond.max(0.0).sqrt())
    } else {
        settled_quadratic(degree, drive)
    };
    let found = newton(|y| balance(degree, drive, y), start, 1e-15)
        .map_err(|source| ModeError::Root { degree, source })?;
    let y = found.root;
    if y.im < 0.0 && y.re > 0.0 {
        return Ok(y);
    }
    Err(ModeError::Branch {
        degree,
        re: -ohnesorge * y.re,
        im: -ohnesorge * y.im,
    })
}

/// A start for weak damping: y^2 - k y + drive = 0 solved with k from the last y, three times.
fn settled_quadratic(degree: u32, drive: f64) -> Complex64 {
    let mut y = Complex64::new(0.0, -drive.sqrt());
    for _ in 0..3 {
        let half = resistance(degree, y).0 / 2.0;
        y = half - (half * half - drive).sqrt();
        if y.im > 0.0 {
            y = 2.0 * half - y;
        }
    }
    y
}

/// Both real roots y: the slow one below the summit of y (k - y), the fast one between summit and its zero.
fn aperiodic(degree: u32, ohnesorge: f64, limit: &Limit) -> Result<[f64; 2], ModeError> {
    let drive = drive(degree, ohnesorge);
    let f = |y: f64| balance(degree, drive, Complex64::from(y)).0.re;
    if f(limit.argument) >= 0.0 {
        return Ok([limit.argument; 2]);
    }
    let search = |from: f64, to: f64| {
        bracketed(f, from, to, 0.0)
            .map(|found| found.root)
            .map_err(|source| ModeError::Root { degree, source })
    };
    Ok([
        search(0.0, limit.argument)?,
        search(limit.argument, 1.001 * limit.rigid)?,
    ])
}
