//! The edge of light against the edge of liquid where the half angle of a back-light is stated.
//!
//! The formulas are [`tremolet_optics::lamp`]; here they are asked for what the experiment file states of the lamp and what is known of the
//! liquid's index.
//!
//! They are those of a lamp that is evenly bright to its border and of unpolarised light; a body that is not a ball has nearly
//! the same shift, since the swings are small against the radius.

use tremolet_optics::lamp::LampShift;
use tremolet_record::experiment::file::Experiment;

use tremolet_infer::known::Materials;

/// Index of a liquid of which none is known, with its standard uncertainty: between water and glycerol.
const UNKNOWN_INDEX: [f64; 2] = [1.40, 0.05];

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
    LampShift::of([n, u_n], [h, u_h], [radius_px, blur_px])
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
