//! A round liquid column without end, alone or in a host: whether a wave along it grows, and how fast.
//!
//! ```text
//! zeta ~ e^{s t} cos(k z),   grows only if k a < 1, that is if the wave is longer than pi diameters
//! s from the balance of stress;   without viscosity s^2 = sigma/(rho a^3) x (1 - x^2) I_1(x)/I_0(x),  x = k a
//! slender column (Weber)          s^2 + 3 (mu/rho) k^2 s = sigma/(2 rho a^3) x^2 (1 - x^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a, sigma | radius of the column, surface tension | m, N/m |
//! | rho, mu | density and dynamic viscosity, inside and outside | kg/m^3, Pa s |
//! | k | wave number 2 pi/wavelength | 1/m |
//! | s | rate of growth; for a wave that does not grow, -decay + i angular frequency | 1/s |
//! | Oh | mu/sqrt(rho sigma a) | 1 |
//!
//! Sources: \[Plateau1873\] (limit), \[Rayleigh1879\], \[Chandrasekhar1961\] sec. 111, \[Tomotika1935\], \[Weber1931\] (slender column).
//! For small waves round about the axis on a column that is long against the wavelength, at rest in itself; bends of the column do
//! not grow without a wind. Not here: finite columns between holders, and their ends (see [`crate::column::retraction`]).

use crate::column::balance::ColumnBalance;
use crate::error::{TheoryError, not_negative, positive};
use crate::validity::Validity;
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::root::{bracketed, muller};

#[cfg(test)]
pub(crate) mod tests;

/// A column of one fluid in another, SI. Host density and viscosity zero: vacuum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    /// Radius of the column, m.
    pub radius: f64,
    /// Surface tension, N/m.
    pub tension: f64,
    /// Density of the column, kg/m^3.
    pub density: f64,
    /// Dynamic viscosity of the column, Pa s.
    pub viscosity: f64,
    /// Density of the host, kg/m^3.
    pub host_density: f64,
    /// Dynamic viscosity of the host, Pa s.
    pub host_viscosity: f64,
}

/// A wave that does not grow: e^(-decay t) cos(angular_frequency t).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripple {
    /// Decay rate, 1/s.
    pub decay: f64,
    /// Angular frequency, rad/s.
    pub angular_frequency: f64,
}

impl Thread {
    /// Capillary time sqrt((rho_i + rho_o) a^3/sigma), s \[Rayleigh1879\].
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] when the radius or tension is not positive, a density or viscosity is negative, or both densities are zero.
    pub fn time(&self) -> Result<f64, TheoryError> {
        positive("radius of the column", self.radius)?;
        positive("surface tension", self.tension)?;
        not_negative("density", self.density)?;
        not_negative("viscosity", self.viscosity)?;
        not_negative("host density", self.host_density)?;
        not_negative("host viscosity", self.host_viscosity)?;
        let sum = positive("sum of the densities", self.density + self.host_density)?;
        Ok((sum * self.radius.powi(3) / self.tension).sqrt())
    }

    /// Ohnesorge number of the column's own liquid, mu/sqrt(rho sigma a) \[Weber1931\].
    ///
    /// # Errors
    /// As [`Thread::time`]; [`TheoryError::Quantity`] for a column without density.
    pub fn ohnesorge(&self) -> Result<f64, TheoryError> {
        self.time()?;
        let inertia = positive("density", self.density)? * self.tension * self.radius;
        Ok(self.viscosity / inertia.sqrt())
    }

    /// Shortest wavelength that grows, pi diameters, m \[Plateau1873\]; a column shorter than that between its ends does not break by itself.
    ///
    /// # Errors
    /// As [`Thread::time`].
    pub fn limit(&self) -> Result<f64, TheoryError> {
        self.time()?;
        Ok(std::f64::consts::TAU * self.radius)
    }

    /// Rate of growth of a wave of this `wavelength` (m), 1/s \[Chandrasekhar1961\], \[Tomotika1935\]; zero at the limit and for waves shorter
    /// than it, which do not grow.
    ///
    /// # Errors
    /// As [`Thread::time`]; [`TheoryError::Quantity`] for a wavelength that is not positive, [`TheoryError::Root`] if the search fails (no case is known).
    ///
    /// ```
    /// use tremolet_theory::column::thread::Thread;
    /// let water = Thread { radius: 1e-3, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3, host_density: 1.204, host_viscosity: 1.82e-5 };
    /// assert!((water.growth(9e-3)? * water.time()? - 0.341).abs() < 1e-3);
    /// assert_eq!(water.growth(6.2e-3)?, 0.0);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn growth(&self, wavelength: f64) -> Result<f64, TheoryError> {
        let x = std::f64::consts::TAU * self.radius / positive("wavelength", wavelength)?;
        let (balance, time) = self.natural()?;
        Ok(unit_growth(&balance, x)? / time)
    }

    /// The same without viscosity of either fluid; the gas or liquid outside takes part by its inertia alone \[Rayleigh1879\].
    ///
    /// # Errors
    /// As [`Thread::growth`].
    pub fn inviscid_growth(&self, wavelength: f64) -> Result<f64, TheoryError> {
        let x = std::f64::consts::TAU * self.radius / positive("wavelength", wavelength)?;
        let (balance, time) = self.natural()?;
        Ok(balance.inviscid_square(x).max(0.0).sqrt() / time)
    }

    /// The same by the theory of the slender column, without host \[Weber1931\]: at most 3.1 % above the exact rate of the fastest wave at any
    /// viscosity; held against the exact one in the tests.
    ///
    /// # Errors
    /// As [`Thread::growth`]; [`TheoryError::Quantity`] for a column without density.
    pub fn slender_growth(&self, wavelength: f64) -> Result<f64, TheoryError> {
        let x = std::f64::consts::TAU * self.radius / positive("wavelength", wavelength)?;
        let half = 1.5 * self.ohnesorge()? * x * x;
        let drive = x * x * (1.0 - x * x) / 2.0;
        let time = (self.density * self.radius.powi(3) / self.tension).sqrt();
        // drive/(half + root) is the growing root without its cancellation.
        let growing = drive.max(0.0) / (half + (half * half + drive.max(0.0)).sqrt());
        Ok(if drive > 0.0 { growing / time } else { 0.0 })
    }

    /// Decay and frequency of a wave shorter than the limit \[Chandrasekhar1961\].
    ///
    /// # Errors
    /// As [`Thread::growth`]; [`TheoryError::Branch`] for a wave that grows or dies away without swinging.
    pub fn ripple(&self, wavelength: f64) -> Result<Ripple, TheoryError> {
        let what = "a wave that swings";
        let x = std::f64::consts::TAU * self.radius / positive("wavelength", wavelength)?;
        let (balance, time) = self.natural()?;
        let square = balance.inviscid_square(x);
        if square >= 0.0 {
            let (re, im) = (square.sqrt(), 0.0);
            return Err(TheoryError::Branch { what, re, im });
        }
        let swing = (-square).sqrt();
        let slow = 2.0 * x * x * (balance.viscosity + balance.host_viscosity);
        let start = Complex64::new(-slow.min(0.3 * swing), swing);
        let found = muller(|s| balance.value(x, s), start, 1e-3 * swing, 1e-13);
        let s = found.map_err(|source| TheoryError::Root { what, source })?.root;
        if s.re <= 1e-9 * swing && s.im > 1e-3 * s.norm() {
            return Ok(Ripple {
                decay: -s.re / time,
                angular_frequency: s.im / time,
            });
        }
        Err(TheoryError::Branch {
            what,
            re: s.re,
            im: s.im,
        })
    }

    /// For what the growth holds: a wave of `amplitude` (m) on a column of `length` (m), both against the radius and the wavelength.
    #[must_use]
    pub fn validity(&self, wavelength: f64, amplitude: f64, length: f64) -> Validity {
        Validity::always()
            .with("amplitude over radius", amplitude / self.radius, 0.0, 0.2)
            .with("length over wavelength", length / wavelength, 1.0, f64::INFINITY)
    }

    /// The column in natural units, and seconds per unit of time.
    pub(super) fn natural(&self) -> Result<(ColumnBalance, f64), TheoryError> {
        let time = self.time()?;
        let sum = self.density + self.host_density;
        let unit = sum * self.radius * self.radius / time;
        let balance = ColumnBalance {
            density: self.density / sum,
            viscosity: self.viscosity / unit,
            host_density: self.host_density / sum,
            host_viscosity: self.host_viscosity / unit,
        };
        Ok((balance, time))
    }
}

/// Growth at `x` = k a in natural units: the one positive root, which lies below the growth without viscosity.
pub(super) fn unit_growth(balance: &ColumnBalance, x: f64) -> Result<f64, TheoryError> {
    let square = balance.inviscid_square(x);
    if square <= 0.0 {
        return Ok(0.0);
    }
    if balance.viscosity + balance.host_viscosity == 0.0 {
        return Ok(square.sqrt());
    }
    let found = bracketed(
        |s| balance.value(x, Complex64::from(s)).re,
        0.0,
        1.000_001 * square.sqrt(),
        0.0,
    );
    let what = "the growth of a wave on a column";
    found
        .map(|found| found.root)
        .map_err(|source| TheoryError::Root { what, source })
}
