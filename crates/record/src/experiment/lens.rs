//! The distortion of the lens as a calibration gave it, `[camera.lens]`.
//!
//! Coefficients are those of `x_d = x (1 + k1 r^2 + k2 r^4 + k3 r^6) + 2 p1 x y + p2 (r^2 + 2 x^2)` and its twin for `y`, with `x`, `y` the
//! tangents of the angle to the axis of the lens, from what is true to what is seen. Numbers without unit stand bare, as positions do.
//! It applies nothing.

use crate::experiment::section::{Bound, Section};
use tremolet_matter::quantity::dimension::Dimension;

/// Keys of `[camera.lens]`.
pub const LENS: &[&str] = &[
    "focal_length",
    "centre",
    "radial",
    "radial_uncertainty",
    "tangential",
];

/// Distortion of a lens.
#[derive(Debug, Clone, PartialEq)]
pub struct LensDistortion {
    /// Focal length, px.
    pub focal_px: f64,
    /// Where the axis of the lens meets the picture, px; none for its middle.
    pub centre: Option<[f64; 2]>,
    /// `k1`, `k2`, `k3`.
    pub radial: [f64; 3],
    /// Their standard uncertainties.
    pub u_radial: [f64; 3],
    /// `p1`, `p2`.
    pub tangential: [f64; 2],
}

impl LensDistortion {
    /// Reads `[camera.lens]`.
    pub(super) fn read(camera: &mut Section<'_, '_>) -> Option<Self> {
        let mut table = camera.section("lens", LENS)?;
        for (key, example) in [
            ("focal_length", "focal_length = \"1450 px\""),
            ("radial", "radial = [-0.12, 0.03]"),
        ] {
            if !table.has(key) {
                table.fault_of_table(&format!("no `{key}`"), example);
            }
        }
        let focal = table.quantity("focal_length", Dimension::Pixel, Bound::Positive);
        let centre = table.point("centre");
        let radial = table.reals("radial", 1..=3);
        let u_radial = table.reals("radial_uncertainty", 1..=3).unwrap_or_default();
        if u_radial.iter().any(|u| *u < 0.0) {
            table.fault(
                "radial_uncertainty",
                "a negative number",
                "standard uncertainties of zero or more, e.g. [0.002]",
            );
        }
        let tangential = table.reals("tangential", 2..=2).unwrap_or_default();
        let padded = |list: &[f64]| std::array::from_fn(|i| list.get(i).copied().unwrap_or(0.0));
        Some(Self {
            focal_px: focal?.value(),
            centre,
            radial: padded(&radial?),
            u_radial: padded(&u_radial),
            tangential: [0, 1].map(|i| tangential.get(i).copied().unwrap_or(0.0)),
        })
    }
}
