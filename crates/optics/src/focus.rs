//! How sharp a body is that does not lie in the plane of focus.
//!
//! ```text
//! blur = A |s' - s| / s'                       disc, measured in the plane of focus
//! sharp from  s A / (A + c)  to  s A / (A - c)
//! finest = 1.22 lambda s / A                   radius of the first dark ring of the disc of diffraction
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A` | diameter of the lens's opening: focal length over f-number | m |
//! | `s`, `s'` | distance from the lens (its entrance pupil) to the plane of focus, to the body | m |
//! | `c` | largest blur that is allowed, in the plane of focus | m |
//! | `lambda` | wavelength | m |
//!
//! A disc of diameter `d` widens an edge like a Gaussian of the standard deviation `d / 4`.
//!
//! Source: geometric optics of an opening and, for the last, \[BornWolf1999\] section 8.5.2. For a lens without faults.

use crate::error::{OpticsError, required};

/// A lens set to a distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Focus {
    opening: f64,
    distance: f64,
}

impl Focus {
    /// A lens of `focal_length` (m) at `f_number`, focused at `distance` (m) from it.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for anything that is not positive.
    pub fn new(focal_length: f64, f_number: f64, distance: f64) -> Result<Self, OpticsError> {
        let positive = |name, value: f64| required(name, value, value > 0.0, "a positive number");
        Ok(Self {
            opening: positive("focal length", focal_length)? / positive("f-number", f_number)?,
            distance: positive("distance of the plane of focus", distance)?,
        })
    }

    /// Diameter of the blur disc of a point at `distance` (m), in the plane of focus; m.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a distance that is not positive.
    ///
    /// ```
    /// use tremolet_optics::focus::Focus;
    /// // 50 mm at f/8, focused at 0.6 m; a drop 5 mm farther off is blurred by 0.05 mm.
    /// let blur = Focus::new(0.050, 8.0, 0.6)?.blur(0.605)?;
    /// assert!((blur - 51.65e-6).abs() < 1e-8);
    /// # Ok::<(), tremolet_optics::error::OpticsError>(())
    /// ```
    pub fn blur(&self, distance: f64) -> Result<f64, OpticsError> {
        required(
            "distance of the body",
            distance,
            distance > 0.0,
            "a positive number",
        )?;
        Ok(self.opening * (distance - self.distance).abs() / distance)
    }

    /// Nearest and farthest distance (m) at which the blur is at most `allowed` (m); without end when the opening is no larger than that.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a negative blur.
    pub fn depth(&self, allowed: f64) -> Result<(f64, f64), OpticsError> {
        required(
            "allowed blur",
            allowed,
            allowed >= 0.0,
            "zero or a positive number",
        )?;
        let (s, a) = (self.distance, self.opening);
        let far = if allowed < a {
            s * a / (a - allowed)
        } else {
            f64::INFINITY
        };
        Ok((s * a / (a + allowed), far))
    }

    /// Radius of the disc of diffraction in the plane of focus for light of `wavelength` (m); m.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a wavelength that is not positive.
    pub fn finest(&self, wavelength: f64) -> Result<f64, OpticsError> {
        required("wavelength", wavelength, wavelength > 0.0, "a positive number")?;
        Ok(1.22 * wavelength * self.distance / self.opening)
    }
}

/// Standard deviation of the Gaussian that widens an edge as much as a disc of `diameter`.
#[must_use]
pub fn width(diameter: f64) -> f64 {
    diameter / 4.0
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: opening 10 mm, 1 m: a body at 1.25 m is blurred by 10 x 0.25 / 1.25 = 2 mm, at 0.8 m by 2.5 mm; within 2 mm from 0.8333 to 1.25 m.
    #[test]
    fn an_opening_and_its_cone() {
        let focus = Focus::new(0.040, 4.0, 1.0).unwrap();
        assert!((focus.blur(1.25).unwrap() - 0.002).abs() < 1e-16);
        assert!((focus.blur(0.8).unwrap() - 0.002_5).abs() < 1e-16);
        let (near, far) = focus.depth(0.002).unwrap();
        assert!((near - 1.0 / 1.2).abs() < 1e-15 && (far - 1.25).abs() < 1e-15);
        assert_eq!(focus.depth(0.010).unwrap().1, f64::INFINITY);
        assert!((focus.finest(5e-7).unwrap() - 61e-6).abs() < 1e-12);
    }

    // The spread of a uniform disc along one axis is a quarter of its diameter: by quadrature over rings.
    #[test]
    fn a_disc_is_as_wide_as_a_quarter() {
        let (mut sum, mut area) = (0.0, 0.0);
        for k in 0..2000 {
            let r = (f64::from(k) + 0.5) / 2000.0;
            sum += r * r / 2.0 * r;
            area += r;
        }
        assert!(((sum / area).sqrt() - width(2.0)).abs() < 1e-6);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Focus::new(0.0, 4.0, 1.0).is_err() && Focus::new(0.05, 4.0, f64::NAN).is_err());
        let focus = Focus::new(0.05, 4.0, 1.0).unwrap();
        assert!(focus.blur(0.0).is_err() && focus.depth(-1.0).is_err() && focus.finest(0.0).is_err());
    }
}
