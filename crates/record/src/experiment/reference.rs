//! Things of known length in the picture, `[camera.reference]` and `[camera.second_reference]`: scales by them, and whether two scales agree.
//!
//! ```text
//! scale = length / |to - from|,    u_ends(scale) / scale = sqrt(2) u_end / |to - from|,    d = (s_1 - s_2) / u(s_1 - s_2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `scale`, `s_1`, `s_2` | length in the plane of the scale for one pixel | m/px |
//! | `length` | of the reference | m |
//! | `from`, `to` | its ends in the image | px |
//! | `u_end` | standard uncertainty of each end along the reference, `end_uncertainty` | px |
//! | `d` | disagreement of two scales; beyond 2 it is a caution | 1 |
//!
//! The second reference changes no scale. It sees no pixels.

use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::{Input, Uncertain};

use crate::experiment::section::{Bound, Section};
use crate::findings::{Caution, Note};

/// Keys of a reference.
const REFERENCE: &[&str] = &["length", "from", "to", "end_uncertainty"];
/// Disagreement that is a caution, in standard uncertainties of the difference.
const MOST: f64 = 2.0;

/// A thing of known length in the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct LengthReference {
    /// Its length, m.
    pub length: Uncertain,
    /// One end, `[x, y]`, px.
    pub from: [f64; 2],
    /// The other end, `[x, y]`, px.
    pub to: [f64; 2],
}

/// Reads the reference by which the scale is set, and the scale.
pub(super) fn read_first(
    camera: &mut Section<'_, '_>,
    shared: Option<&str>,
    cautions: &mut Vec<Caution>,
) -> Option<(LengthReference, Uncertain)> {
    let mut table = camera.section("reference", REFERENCE)?;
    let length = table.measured("length", Dimension::Length, Bound::Positive, shared);
    let (found, ends) = read(&mut table, length, "camera.reference", shared)?;
    if !ends {
        cautions.push(Caution {
            code: "reference_ends_exact".to_owned(),
            text: "camera.reference states no end_uncertainty: its ends are taken as exact, and the scale looks \
                   surer than it is"
                .to_owned(),
            frames: None,
        });
    }
    Some(found)
}

/// Reads the reference against which the scale is checked, and the scale by it.
pub(super) fn read_second(camera: &mut Section<'_, '_>) -> Option<(LengthReference, Uncertain)> {
    let mut table = camera.section("second_reference", REFERENCE)?;
    let length = table.quantity("length", Dimension::Length, Bound::Positive);
    read(&mut table, length, "camera.second_reference", None).map(|found| found.0)
}

/// The rest of a reference, the scale by it, and whether it says how well its ends are known.
fn read(
    table: &mut Section<'_, '_>,
    length: Option<Uncertain>,
    name: &str,
    shared: Option<&str>,
) -> Option<((LengthReference, Uncertain), bool)> {
    for key in ["length", "from", "to"] {
        if !table.has(key) {
            table.fault_of_table(
                &format!("no `{key}`"),
                "length = \"50 mm\", from = [x, y] and to = [x, y]",
            );
        }
    }
    let from = table.point("from");
    let to = table.point("to");
    let ends = table.quantity("end_uncertainty", Dimension::Pixel, Bound::NotNegative);
    let (length, from, to) = (length?, from?, to?);
    let pixels = (to[0] - from[0]).hypot(to[1] - from[1]);
    if pixels <= 0.0 {
        table.fault("to", "the same place as `from`", "the other end of the reference");
        return None;
    }
    let key = format!("{name}.end_uncertainty");
    let key = shared.map_or(key.clone(), |calibration| format!("{key} [{calibration}]"));
    let scale = scale_by(&length, pixels, ends.as_ref(), key);
    Some(((LengthReference { length, from, to }, scale), ends.is_some()))
}

/// The scale, m/px, of a `length` that takes up so many `pixels`, each end known to `end`, px; `key` names that input.
fn scale_by(length: &Uncertain, pixels: f64, end: Option<&Uncertain>, key: String) -> Uncertain {
    let scale = length.value() / pixels;
    let of_length = Uncertain::combine(scale, &[(length, 1.0 / pixels)]);
    let Some(end) = end.map(Uncertain::value) else {
        return of_length;
    };
    let ends = Input {
        key,
        unit: "px".to_owned(),
        standard_uncertainty: end,
        degrees_of_freedom: f64::INFINITY,
        source: "where the ends of the reference were marked".to_owned(),
    };
    of_length.with_input(scale * std::f64::consts::SQRT_2 * end / pixels, ends)
}

/// Two values of one thing, named and shown by `shown`: a note when they agree, a caution under `code` when they do not or cannot be judged.
pub(super) fn held_against(
    [first, second]: [(&str, &Uncertain); 2],
    shown: impl Fn(f64) -> String,
    (code, advice): (&str, &str),
) -> Result<Note, Caution> {
    let difference = Uncertain::combine(0.0, &[(first.1, 1.0), (second.1, -1.0)]).standard_uncertainty();
    let off = first.1.value() - second.1.value();
    let percent = 100.0 * off.abs() / first.1.value().abs();
    let both = format!(
        "{} gives {}, {} {}, {percent:.2} % apart",
        first.0,
        shown(first.1.value()),
        second.0,
        shown(second.1.value())
    );
    let note = |text: String| Note {
        code: code.replace("_disagree", "_held_together"),
        text,
        frames: None,
    };
    let caution = |text: String| Caution {
        code: code.to_owned(),
        text,
        frames: None,
    };
    if difference == 0.0 && off != 0.0 {
        let why = "and neither states an uncertainty by which that could be judged";
        return Err(caution(format!(
            "{both}, {why}; state one (`+-`, or `end_uncertainty`)"
        )));
    }
    let times = if off == 0.0 { 0.0 } else { off.abs() / difference };
    let text = format!("{both}: {times:.1} times the standard uncertainty of their difference");
    if times > MOST {
        Err(caution(format!("{text}; {advice}")))
    } else {
        Ok(note(format!("{text}, so they agree")))
    }
}

#[cfg(test)]
mod tests {
    use crate::experiment::file::Experiment;

    fn read(second: &str) -> Experiment {
        let text = format!(
            "format = 1\nkind = \"release\"\n[camera]\nheld = [\"focus\", \"zoom\"]\n[camera.reference]\nlength = \"50 +- 0.05 mm\"\nfrom = [0, 0]\n\
             to = [1000, 0]\nend_uncertainty = \"0.5 px\"\n[camera.second_reference]\n{second}\n"
        );
        Experiment::parse(&text, "x").unwrap()
    }

    #[test]
    fn a_second_reference_is_held_against_the_first_in_standard_uncertainties() {
        // First 50 um/px with u = sqrt(1.5) 1e-3 of it (0.061237 um/px); the second of 10 mm over 200 px has 0.1 % by its length and
        // sqrt(2) 0.25 % by its ends, 0.183712 um/px together: u of the difference 0.19365 um/px.
        let agree = read(
            "length = \"10.04 +- 0.01004 mm\"\nfrom = [5, 5]\nto = [5, 205]\nend_uncertainty = \"0.5 px\"",
        );
        assert!(agree.cautions.is_empty(), "{:?}", agree.cautions);
        let note = &agree.notes[0];
        assert_eq!(note.code, "scales_held_together");
        assert!(
            note.text.contains("0.40 % apart: 1.0 times") && note.text.contains("0.05000 mm/px"),
            "{}",
            note.text
        );
        let apart = read(
            "length = \"10.1 +- 0.0101 mm\"\nfrom = [5, 5]\nto = [5, 205]\nend_uncertainty = \"0.5 px\"",
        );
        assert!(apart.notes.is_empty());
        let told = &apart.cautions[0];
        assert_eq!(told.code, "scales_disagree");
        assert!(told.text.contains("1.00 % apart: 2.6 times"), "{}", told.text);
        // The scale stays that of the first.
        let scale = apart.camera.unwrap().scale.unwrap();
        assert!((scale.value() - 50e-6).abs() < 1e-18 && scale.parts().len() == 2);
    }

    #[test]
    fn without_any_uncertainty_nothing_is_judged() {
        let text = "format = 1\nkind = \"release\"\n[camera]\nscale = \"0.05 mm/px\"\n[camera.second_reference]\nlength = \"10 mm\"\n\
                    from = [0, 0]\nto = [0, 190]\n";
        let read = Experiment::parse(text, "x").unwrap();
        let told = read
            .cautions
            .iter()
            .find(|c| c.code == "scales_disagree")
            .unwrap();
        assert!(
            told.text.contains("neither states an uncertainty"),
            "{}",
            told.text
        );
        let alone = Experiment::parse(&text.replace("scale = \"0.05 mm/px\"\n", ""), "x").unwrap_err();
        assert!(alone.to_string().contains("camera.second_reference"), "{alone}");
    }
}
