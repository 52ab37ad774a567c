//! The edge of light against the edge of liquid where the half angle of a back-light is stated.
//!
//! ```text
//! r = r_seen / (1 - s),     u^2(s) = (ds/dh u_h)^2 + (ds/dn u_n)^2 + [ (s_sharp - s) min(1, (rim / blur)^2) ]^2 / 3 + (UNEVEN s)^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s`, `s_sharp` | shift over the radius in a picture that does not resolve the lit rim, and in one that does: [`tremolet_optics::lamp`] | 1 |
//! | `h`, `n` | half angle of the lamp, refractive index of the liquid against the gas | rad, 1 |
//! | `rim`, `blur` | width of the lit rim, of the blur | px |
//!
//! The formulas are those of a lamp that is evenly bright to its border and of unpolarised light; a body that is not a ball has nearly
//! the same shift, since the swings are small against the radius.

use tremolet_optics::lamp::{blurred_shift, lit_rim, sharp_shift};
use tremolet_record::experiment::file::Experiment;

use tremolet_infer::known::Materials;

/// What an uneven lamp may change of the shift, relative. Chosen, not derived.
const UNEVEN: f64 = 0.1;
/// Index of a liquid of which none is known, with its standard uncertainty: between water and glycerol.
const UNKNOWN_INDEX: [f64; 2] = [1.40, 0.05];

/// A shift of the edge towards the inside, over the radius.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LampShift {
    /// The shift.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
}

/// The shift of an outline of `radius_px` with a blur of `blur_px`; none where no half angle is stated.
pub fn lamp_shift(
    experiment: &Experiment,
    materials: Option<&Materials>,
    [radius_px, blur_px]: [f64; 2],
) -> LampShift {
    let stated = experiment
        .camera
        .as_ref()
        .and_then(|c| c.lamp_half_angle.as_ref());
    let Some(angle) = stated else {
        return LampShift::default();
    };
    let index = materials.and_then(|m| m.liquid.refractive_index.as_ref());
    let [n, u_n] = index.map_or(UNKNOWN_INDEX, |p| {
        [p.value.value(), p.value.standard_uncertainty()]
    });
    let (h, u_h) = (angle.value(), angle.standard_uncertainty());
    let value = blurred_shift(n, h);
    let by_angle = blurred_shift(n, h + u_h) - value;
    let by_index = blurred_shift(n + u_n, h) - value;
    let resolved = (lit_rim(h) * radius_px / blur_px.max(0.1)).powi(2).min(1.0);
    let by_blur = (sharp_shift(n, h) - value) * resolved / 3.0_f64.sqrt();
    let parts = [by_angle, by_index, by_blur, UNEVEN * value];
    LampShift {
        value,
        u: parts.iter().map(|part| part * part).sum::<f64>().sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shift(camera: &str, size: [f64; 2]) -> LampShift {
        let text = format!("format = 1\nkind = \"release\"\n[camera]\nscale = \"0.1 mm/px\"\n{camera}");
        lamp_shift(
            &Experiment::parse(&text, "test").expect("an experiment"),
            None,
            size,
        )
    }

    #[test]
    fn without_a_stated_lamp_nothing_is_moved() {
        assert_eq!(shift("", [100.0, 1.0]), LampShift::default());
    }

    // Between water (8e-4 at 5 degrees, recomputed independently from geometric optics) and an index of 1.5, whose rim reflects more.
    #[test]
    fn a_stated_lamp_moves_the_edge_by_its_formula() {
        let found = shift("lamp_half_angle = \"5 deg\"\n", [100.0, 2.0]);
        assert!(found.value > 7.9e-4 && found.value < 8.3e-4, "{found:?}");
        assert!(
            found.u > 0.1 * found.value && found.u < 0.2 * found.value,
            "{found:?}"
        );
        let vague = shift("lamp_half_angle = \"5 +- 1 deg\"\n", [100.0, 2.0]);
        // The shift grows a little slower than the square of the angle: a fifth of the angle is a third of the shift.
        assert!(vague.u > 0.3 * found.value, "{vague:?}");
        let resolved = shift("lamp_half_angle = \"10 deg\"\n", [800.0, 0.6]);
        let hidden = shift("lamp_half_angle = \"10 deg\"\n", [80.0, 6.0]);
        assert!(resolved.value == hidden.value && resolved.u > 1.5 * hidden.u);
    }
}
