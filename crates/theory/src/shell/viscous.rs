//! Exact shape modes of a viscous liquid shell: two families, each with its decay.
//!
//! ```text
//! four parts between the surfaces: potentials r^n and r^-(n+1), shear j_n(k r) and h_n(k r),   k^2 = -s/Oh, Im k >= 0
//! at both surfaces: no shear stress, and normal stress against the tension:  det(4 x 4) = 0
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | s | rate, amplitude ~ e^{st}, s = -decay + i angular frequency | 1/t0, t0 = sqrt(rho b^3/sigma_b) |
//! | Oh | mu/sqrt(rho sigma_b b) | 1 |
//! | j_n, h_n | spherical Bessel function, spherical Hankel function of the first kind | |
//!
//! Each column is scaled at the surface where it is largest, so that none overflows however thin the shear layers: j_n at the
//! outer surface, h_n at the inner one; in between stand ratios, from products of ratios of neighbouring degrees.
//!
//! A thick liquid is not always the sooner at rest: once the shear layers reach across the shell, the fast mode moves it with little shear and its decay
//! falls before it rises again (x = 0.6, n = 2: 2.23 at Oh 0.1, 1.20 at 0.4, 2.51 at 1.5).
//!
//! Source: the problem of \[LyellWang1986\], whose text was not seen; the determinant was derived here and agrees with one written in Bessel functions of general order,
//! and with the dissipation of the potential flow for a small viscosity. The gas has no inertia here. Degrees 2 to 12, as long as the mode swings. Not here: films, a bubble
//! out of the middle.

use crate::error::TheoryError;
use crate::shell::body::{Shell, UnitShell};
use crate::shell::inviscid::{HIGHEST_DEGREE, ShellMode, unit_families};
use crate::shell::irrotational::unit_decay;
use tremolet_numerics::bessel::{hankel_ratio, ratio};
use tremolet_numerics::complex::{Complex64, I};
use tremolet_numerics::root::muller;

/// A mode of a viscous shell: e^(-decay t) cos(angular_frequency t).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShellRoot {
    /// Decay rate, 1/s.
    pub decay: f64,
    /// Angular frequency, rad/s.
    pub angular_frequency: f64,
}

/// Both viscous modes of one degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViscousFamilies {
    /// The slow one, in which the surfaces move against each other; none where viscosity does not let it swing.
    pub against: Option<ShellRoot>,
    /// The fast one, in which they move together; none where viscosity does not let it swing.
    pub together: Option<ShellRoot>,
}

/// Both modes of `degree` (2 to 12) \[LyellWang1986\]; the gas is taken as massless.
///
/// # Errors
/// [`TheoryError::Degree`], [`TheoryError::Quantity`] for an impossible shell; [`TheoryError::Root`] if the search fails (no case is known).
///
/// ```
/// use tremolet_theory::shell::{body::Shell, viscous::roots};
/// let unit = Shell { inner_radius: 0.5, outer_radius: 1.0, density: 1.0, viscosity: 0.001, inner_tension: 1.0, outer_tension: 1.0, inner_gas: 0.0, outer_gas: 0.0 };
/// assert!((roots(2, &unit)?.against.map_or(0.0, |root| root.decay) - 0.006_651_168_878).abs() < 1e-11);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn roots(degree: u32, shell: &Shell) -> Result<ViscousFamilies, TheoryError> {
    let (unit, time) = shell.natural()?;
    crate::error::degree_within(degree, 2, HIGHEST_DEGREE)?;
    let massless = UnitShell {
        inner_gas: 0.0,
        outer_gas: 0.0,
        ..unit
    };
    let both = unit_families(degree, &massless);
    let of = |mode: ShellMode| {
        let decay = unit_decay(degree, massless.ratio, mode.inner_over_outer);
        match followed(degree, &massless, mode.angular_frequency, decay) {
            Ok(s) => Ok(Some(ShellRoot {
                decay: -s.re / time,
                angular_frequency: s.im / time,
            })),
            Err(TheoryError::Branch { .. }) => Ok(None),
            Err(other) => Err(other),
        }
    };
    Ok(ViscousFamilies {
        against: of(both.against)?,
        together: of(both.together)?,
    })
}

/// The root that begins at `swing` without viscosity and whose decay rises by `slope` per viscosity, followed to the viscosity of the shell.
fn followed(degree: u32, shell: &UnitShell, swing: f64, slope: f64) -> Result<Complex64, TheoryError> {
    if shell.viscosity == 0.0 {
        return Ok(Complex64::new(0.0, swing));
    }
    let n = f64::from(degree);
    let thinnest = shell.ratio.min(1.0 - shell.ratio) / n;
    let mut viscosity = shell.viscosity.min(1e-3 * swing * thinnest * thinnest);
    let mut s = near(
        degree,
        shell,
        viscosity,
        Complex64::new(-0.9 * slope * viscosity, swing),
    )?;
    let mut change = Complex64::new(-0.9 * slope, 0.0);
    while viscosity < shell.viscosity {
        let next = (1.35 * viscosity).min(shell.viscosity);
        let found = near(degree, shell, next, s + change * (next - viscosity))?;
        change = (found - s) / (next - viscosity);
        (s, viscosity) = (found, next);
    }
    Ok(s)
}

/// The root near `start`, if it is still a swing.
fn near(degree: u32, shell: &UnitShell, viscosity: f64, start: Complex64) -> Result<Complex64, TheoryError> {
    let what = "a swinging mode of a liquid shell";
    let at = UnitShell { viscosity, ..*shell };
    let spread = 1e-3 * start.re.abs().max(1e-3 * start.norm());
    let found = muller(|s| determinant(degree, &at, s), start, spread, 1e-13);
    let s = found.map_err(|source| TheoryError::Root { what, source })?.root;
    let stayed = (s - start).norm() < 0.2 * start.norm();
    if stayed && s.re < 0.0 && s.im > 0.05 * s.norm() {
        return Ok(s);
    }
    Err(TheoryError::Branch {
        what,
        re: s.re,
        im: s.im,
    })
}

/// One part of the flow at one radius: velocity outwards, its slope, velocity along the surface, its slope, pressure.
type Part = [Complex64; 5];

/// The boundary determinant \[LyellWang1986\].
pub(super) fn determinant(degree: u32, shell: &UnitShell, s: Complex64) -> Complex64 {
    let (x, nu) = (shell.ratio, shell.viscosity);
    let n = f64::from(degree);
    let spring = (n - 1.0) * (n + 2.0);
    let mut rows = [[Complex64::ZERO; 4]; 4];
    for (column, [outer, inner]) in parts(degree, x, nu, s).into_iter().enumerate() {
        let stress = |part: Part, r: f64| part[3] + (part[0] - part[2]) / r;
        let normal = |part: Part| part[4] - 2.0 * nu * part[1];
        rows[0][column] = stress(outer, 1.0);
        rows[1][column] = normal(outer) - spring * outer[0] / s;
        rows[2][column] = stress(inner, x);
        rows[3][column] = normal(inner) + shell.tension * spring * inner[0] / (s * x * x);
    }
    eliminated(rows)
}

/// The four parts, each at the outer and at the inner surface.
fn parts(degree: u32, x: f64, nu: f64, s: Complex64) -> [[Part; 2]; 4] {
    let n = f64::from(degree);
    let k = wave_number(s, nu);
    let upward = [1.0, x.powi(degree as i32 - 1)];
    let downward = [x.powi(degree as i32 + 2), 1.0];
    let regular = [Complex64::ONE, regular_share(degree, k, x)];
    let singular = [singular_share(degree, k, x), Complex64::ONE];
    let radii = [1.0, x];
    [
        [0, 1].map(|i| potential(n, radii[i], upward[i], s)),
        [0, 1].map(|i| potential(-n - 1.0, radii[i], downward[i], s)),
        [0, 1].map(|i| {
            let z = k * radii[i];
            shear(n, radii[i], k, regular[i], regular[i] * ratio(degree, z))
        }),
        [0, 1].map(|i| {
            let z = k * radii[i];
            shear(
                n,
                radii[i],
                k,
                singular[i],
                singular[i] / hankel_ratio(degree + 1, z),
            )
        }),
    ]
}

/// k with Im k >= 0.
fn wave_number(s: Complex64, nu: f64) -> Complex64 {
    let k = (-s / nu).sqrt();
    if k.im >= 0.0 { k } else { -k }
}

/// The potential r^m, scaled so that its velocity outwards is `u` at `r`.
fn potential(m: f64, r: f64, u: f64, s: Complex64) -> Part {
    let real = [u, (m - 1.0) * u / r, u / m, (m - 1.0) * u / (m * r)].map(Complex64::from);
    [real[0], real[1], real[2], real[3], -s * r * u / m]
}

/// The shear part whose function is `f` at `r`, its neighbour of the next degree `next`; over k, to keep the columns alike.
fn shear(n: f64, r: f64, k: Complex64, f: Complex64, next: Complex64) -> Part {
    let area = n * (n + 1.0);
    let slope = n / r * f - k * next;
    let bend = -2.0 * slope / r + (area / (r * r) - k * k) * f;
    [
        area * f / (r * k),
        area * (slope / r - f / (r * r)) / k,
        (f / r + slope) / k,
        (bend + slope / r - f / (r * r)) / k,
        Complex64::ZERO,
    ]
}

/// `j_n(k x)/j_n(k)`.
fn regular_share(degree: u32, k: Complex64, x: f64) -> Complex64 {
    // sin z = (i/2) e^{-iz} (1 - e^{2iz})
    let sine = |z: Complex64| one_less_exponential(2.0 * I * z);
    let zeroth = (I * k * (1.0 - x)).exp() * sine(k * x) / (sine(k) * x);
    (0..degree).fold(zeroth, |share, m| share * ratio(m, k * x) / ratio(m, k))
}

/// `h_n(k)/h_n(k x)`.
fn singular_share(degree: u32, k: Complex64, x: f64) -> Complex64 {
    let zeroth = (I * k * (1.0 - x)).exp() * x;
    (1..=degree).fold(zeroth, |share, m| {
        share * hankel_ratio(m, k * x) / hankel_ratio(m, k)
    })
}

/// `1 - e^z` without cancellation.
fn one_less_exponential(z: Complex64) -> Complex64 {
    let half = (z.im / 2.0).sin();
    -Complex64::new(
        z.re.exp_m1() * z.im.cos() - 2.0 * half * half,
        z.re.exp() * z.im.sin(),
    )
}

/// Determinant by elimination with row exchange.
fn eliminated(mut rows: [[Complex64; 4]; 4]) -> Complex64 {
    let mut product = Complex64::ONE;
    for i in 0..4 {
        let best = (i..4)
            .max_by(|a, b| rows[*a][i].norm_sqr().total_cmp(&rows[*b][i].norm_sqr()))
            .unwrap_or(i);
        if best != i {
            rows.swap(i, best);
            product = -product;
        }
        let pivot = rows[i];
        product *= pivot[i];
        for row in rows.iter_mut().skip(i + 1) {
            let factor = row[i] / pivot[i];
            for (entry, above) in row.iter_mut().zip(pivot) {
                *entry -= factor * above;
            }
        }
    }
    product
}

#[cfg(test)]
mod tests;
