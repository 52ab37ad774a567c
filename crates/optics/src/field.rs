//! How long a drifting body stays in the picture, and which scale keeps it there.
//!
//! ```text
//! room = W s / 2 - |x_0| - reach,     v t + a t^2 / 2 = room
//! scale that keeps it:  s = 2 (|x_0| + reach + v t + a t^2 / 2) / W
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `W`, `s` | pixels across the picture, scale (length of one pixel) | 1, m |
//! | `x_0`, reach | distance of the body from the middle at first, its greatest half width | m |
//! | `v`, `a` | drift at first and residual acceleration, both taken as away from the middle | m/s, m/s^2 |
//!
//! Source: \[Galilei1638\] for the drift; the rest elementary. The worst direction is taken; a jitter of the cabin is not here.

use crate::error::{OpticsError, required};

/// A body in front of a camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Pixels across the picture in its shorter direction.
    pub pixels: f64,
    /// Distance of the body from the middle at first, m.
    pub offset: f64,
    /// Greatest half width of the body, its swings included, m.
    pub reach: f64,
    /// Drift at first, m/s.
    pub speed: f64,
    /// Residual acceleration, m/s^2.
    pub acceleration: f64,
}

impl View {
    /// Time (s) until the body touches the border at the `scale` (m for one pixel): 0 if it does at first, infinite if it stays.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a scale or number of pixels that is not positive, a negative length, speed or acceleration.
    ///
    /// ```
    /// use tremolet_optics::field::View;
    /// let view = View { pixels: 1000.0, offset: 0.0, reach: 0.012, speed: 0.0, acceleration: 0.02 };
    /// // 50 mm across: 13 mm of room, 1.14 s.
    /// assert!((view.time(5e-5)? - 1.140).abs() < 1e-3);
    /// # Ok::<(), tremolet_optics::error::OpticsError>(())
    /// ```
    pub fn time(&self, scale: f64) -> Result<f64, OpticsError> {
        self.check()?;
        required("scale", scale, scale > 0.0, "a positive number")?;
        let room = 0.5 * self.pixels * scale - self.offset - self.reach;
        if room <= 0.0 {
            return Ok(0.0);
        }
        // 2 room / (v + sqrt(v^2 + 2 a room)) has no difference of like numbers.
        Ok(2.0 * room / (self.speed + (self.speed.powi(2) + 2.0 * self.acceleration * room).sqrt()))
    }

    /// Finest scale (m for one pixel) at which the body stays in the picture for `time` (s).
    ///
    /// # Errors
    /// As [`View::time`]; a negative time.
    pub fn scale(&self, time: f64) -> Result<f64, OpticsError> {
        self.check()?;
        required("time", time, time >= 0.0, "zero or a positive number")?;
        let way = time * (self.speed + 0.5 * self.acceleration * time);
        Ok(2.0 * (self.offset + self.reach + way) / self.pixels)
    }

    fn check(&self) -> Result<(), OpticsError> {
        required(
            "pixels across the picture",
            self.pixels,
            self.pixels > 0.0,
            "a positive number",
        )?;
        let rest = [
            ("distance from the middle", self.offset),
            ("half width of the body", self.reach),
            ("drift", self.speed),
            ("residual acceleration", self.acceleration),
        ];
        for (name, value) in rest {
            required(name, value, value >= 0.0, "zero or a positive number")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const VIEW: View = View {
        pixels: 1000.0,
        offset: 0.005,
        reach: 0.010,
        speed: 0.002,
        acceleration: 0.004,
    };

    // By hand: 0.05 mm/px gives 25 mm to the border, 10 mm of room; 2 t + 2 t^2 = 10 in mm: t = (sqrt 21 - 1) / 2.
    #[test]
    fn time_and_scale_are_inverse() {
        let time = VIEW.time(5e-5).unwrap();
        assert!((time - 1.791_287_847).abs() < 1e-9);
        assert!((VIEW.scale(time).unwrap() - 5e-5).abs() < 1e-18);
        let still = View {
            speed: 0.0,
            acceleration: 0.0,
            ..VIEW
        };
        assert_eq!(still.time(5e-5).unwrap(), f64::INFINITY);
        assert_eq!(VIEW.time(2e-5).unwrap(), 0.0);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(VIEW.time(0.0).is_err() && VIEW.scale(-1.0).is_err());
        assert!(
            View { reach: -1.0, ..VIEW }.time(1.0).is_err()
                && View { pixels: 0.0, ..VIEW }.scale(1.0).is_err()
        );
    }
}
