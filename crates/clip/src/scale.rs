//! The one place where pixels become metres.
//!
//! ```text
//! L = s l,    A = s^2 a,    V = s^3 v,        s = L_ref / l_ref,        s(z) = s (1 + z / D)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s` | scale in its plane: metres in a pixel | m/px |
//! | `l`, `a`, `v` | length, area, volume in the image | px, px^2, px^3 |
//! | `L`, `A`, `V` | the same in the laboratory | m, m^2, m^3 |
//! | `L_ref`, `l_ref` | a known length, and its distance in the image | m, px |
//! | `z` | depth of the body behind the plane of the scale (away from the lens positive) | m |
//! | `D` | lens to the plane of the scale | m |
//!
//! Scale enters a volume cubed and is one input shared by everything measured with it, so its part stays correlated
//! through all results. Depth counts as scale (central projection, similar triangles), with the key `depth`.
//! Lens distortion and the outline of a near sphere are not handled here.

use tremolet_matter::uncertain::{Input, Uncertain};

use crate::error::ClipError;

/// Metres in a pixel, with uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    metres_per_pixel: Uncertain,
}

impl Scale {
    /// A scale as stated, in m/px, with the inputs it came with.
    ///
    /// # Errors
    /// [`ClipError::BadScale`] when it is not positive.
    pub fn stated(metres_per_pixel: Uncertain) -> Result<Self, ClipError> {
        positive("scale", metres_per_pixel.value(), "m/px")?;
        Ok(Self { metres_per_pixel })
    }

    /// A scale from a known `length` in m between two points of the image in px, each pointed at with a standard
    /// uncertainty of `pointing_px` along the line.
    ///
    /// ```
    /// use tremolet_clip::scale::Scale;
    /// use tremolet_matter::uncertain::Uncertain;
    /// let ruler = Uncertain::exact(0.050);
    /// let scale = Scale::from_reference(&ruler, [10.0, 20.0], [310.0, 420.0], 0.5)?;
    /// assert!((scale.metres_per_pixel().value() - 1e-4).abs() < 1e-18);
    /// # Ok::<(), tremolet_clip::error::ClipError>(())
    /// ```
    ///
    /// # Errors
    /// [`ClipError::BadScale`] when the length or the distance of the points is not positive, or the pointing negative.
    pub fn from_reference(
        length: &Uncertain,
        from: [f64; 2],
        to: [f64; 2],
        pointing_px: f64,
    ) -> Result<Self, ClipError> {
        let distance_px = (to[0] - from[0]).hypot(to[1] - from[1]);
        positive("reference length", length.value(), "m")?;
        positive("distance of the reference points", distance_px, "px")?;
        if pointing_px.is_nan() || pointing_px < 0.0 {
            positive("uncertainty of pointing", pointing_px, "px")?;
        }
        let u = pointing_px * std::f64::consts::SQRT_2;
        let image = Uncertain::of_input(distance_px, u, pixels("pointing", "px", u));
        let scale = length.value() / distance_px;
        let terms = [(length, 1.0 / distance_px), (&image, -scale / distance_px)];
        Ok(Self {
            metres_per_pixel: Uncertain::combine(scale, &terms),
        })
    }

    /// The scale at a body `depth` m behind the plane of the scale, with standard uncertainty `depth_uncertainty` m,
    /// seen from a lens `distance` m before that plane.
    ///
    /// # Errors
    /// [`ClipError::BadScale`] when the lens is not before the plane, or the body not before the lens.
    pub fn at_depth(
        &self,
        depth: f64,
        depth_uncertainty: f64,
        distance: &Uncertain,
    ) -> Result<Self, ClipError> {
        let d = distance.value();
        positive("distance of the lens", d, "m")?;
        positive("distance of the lens plus depth", d + depth, "m")?;
        let input = Input {
            key: "depth".into(),
            unit: "m".into(),
            standard_uncertainty: depth_uncertainty,
            degrees_of_freedom: f64::INFINITY,
            source: "depth of the body from the plane of the scale".into(),
        };
        let depth_value = Uncertain::of_input(depth, depth_uncertainty, input);
        let s = self.metres_per_pixel.value();
        let terms = [
            (&self.metres_per_pixel, 1.0 + depth / d),
            (&depth_value, s / d),
            (distance, -s * depth / (d * d)),
        ];
        Ok(Self {
            metres_per_pixel: Uncertain::combine(s * (1.0 + depth / d), &terms),
        })
    }

    /// The scale itself, m/px.
    pub fn metres_per_pixel(&self) -> &Uncertain {
        &self.metres_per_pixel
    }

    /// A length of `length_px` px with standard uncertainty `u_px` px, in m; `key` names the image's input.
    pub fn length(&self, length_px: f64, u_px: f64, key: &str) -> Uncertain {
        self.power(1, length_px, u_px, "px", key)
    }

    /// An area of `area_px` px^2 with standard uncertainty `u_px` px^2, in m^2; `key` names the image's input.
    pub fn area(&self, area_px: f64, u_px: f64, key: &str) -> Uncertain {
        self.power(2, area_px, u_px, "px^2", key)
    }

    /// A volume of `volume_px` px^3 with standard uncertainty `u_px` px^3, in m^3; `key` names the image's input.
    pub fn volume(&self, volume_px: f64, u_px: f64, key: &str) -> Uncertain {
        self.power(3, volume_px, u_px, "px^3", key)
    }

    fn power(&self, n: i32, value: f64, u: f64, unit: &str, key: &str) -> Uncertain {
        let s = self.metres_per_pixel.value();
        let image = Uncertain::of_input(value, u, pixels(key, unit, u));
        let by_scale = f64::from(n) * s.powi(n - 1) * value;
        let terms = [(&self.metres_per_pixel, by_scale), (&image, s.powi(n))];
        Uncertain::combine(s.powi(n) * value, &terms)
    }
}

/// An input read off the image.
fn pixels(key: &str, unit: &str, standard_uncertainty: f64) -> Input {
    Input {
        key: key.into(),
        unit: unit.into(),
        standard_uncertainty,
        degrees_of_freedom: f64::INFINITY,
        source: "read off the image".into(),
    }
}

fn positive(what: &'static str, value: f64, unit: &'static str) -> Result<(), ClipError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(ClipError::BadScale { what, value, unit })
    }
}

#[cfg(test)]
mod tests;
