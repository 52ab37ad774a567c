//! What a person drew on the clip and decided about it: `[[clip.mask]]`, `region` and `[[clip.judged]]`.
//!
//! A mask is an area within corners, or with `width` a line through places; a region is all that is looked at. A judgement says of a stretch of
//! frames that its outlines were looked at and are right, or are wrong and to be left out. Places are `[x, y]`, px; a range of frames ends
//! before its second number. It leaves nothing out itself.

use std::ops::Range;

use tremolet_matter::quantity::dimension::Dimension;

use crate::experiment::section::{Bound, Section};

/// Keys of `[[clip.mask]]`.
pub const MASK: &[&str] = &["corners", "width", "frames", "what"];
/// Keys of `[[clip.judged]]`.
pub const JUDGED: &[&str] = &["frames", "outline", "why"];

/// A part of the picture to look away from.
#[derive(Debug, Clone, PartialEq)]
pub struct Mask {
    /// Its corners in order, `[x, y]`, px, three or more; places along it, two or more, when it is a line.
    pub corners: Vec<[f64; 2]>,
    /// Width of the line, px; `None` for an area.
    pub width: Option<f64>,
    /// In which frames; `None` for all.
    pub frames: Option<Range<u64>>,
    /// What is there, e.g. `wire`.
    pub what: Option<String>,
}

/// What a person says of the outlines of some frames.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// They are right.
    Accepted,
    /// They are wrong, or the frames show something else; they are left out.
    Rejected,
}

const VERDICTS: &[(&str, Verdict)] = &[("accepted", Verdict::Accepted), ("rejected", Verdict::Rejected)];

/// A judgement.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Of which frames.
    pub frames: Range<u64>,
    /// What it says.
    pub verdict: Verdict,
    /// Why, in the words of whoever judged.
    pub why: Option<String>,
}

/// Reads `[[clip.mask]]`.
pub(super) fn read_mask(table: &mut Section<'_, '_>) -> Option<Mask> {
    if !table.has("corners") {
        table.fault_of_table(
            "no `corners`",
            "corners = [[0, 0], [200, 0], [200, 80]], in pixels",
        );
    }
    let line = table.has("width");
    let width = table.quantity("width", Dimension::Pixel, Bound::Positive);
    let corners = if line {
        table.places("corners")
    } else {
        table.corners("corners")
    };
    let frames = table.frames("frames");
    let what = table.text("what", "wire");
    if line && width.is_none() {
        return None;
    }
    Some(Mask {
        corners: corners?,
        width: width.map(|width| width.value()),
        frames,
        what,
    })
}

/// Reads `[[clip.judged]]`.
pub(super) fn read_judged(table: &mut Section<'_, '_>) -> Option<Judged> {
    for (key, example) in [
        ("frames", "frames = [120, 121]"),
        ("outline", "outline = \"rejected\""),
    ] {
        if !table.has(key) {
            table.fault_of_table(&format!("no `{key}`"), example);
        }
    }
    let frames = table.frames("frames");
    let verdict = table.word("outline", VERDICTS);
    let why = table.text("why", "glint on the edge");
    Some(Judged {
        frames: frames?,
        verdict: verdict?,
        why,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::experiment::clip::Clip;
    use crate::experiment::file::Experiment;

    fn clip(text: &str) -> Result<Clip, String> {
        let text = format!("format = 1\nkind = \"release\"\n[clip]\npath = \"a\"\n{text}");
        let read = Experiment::parse(&text, "x").map_err(|faults| faults.to_string())?;
        read.clip.ok_or_else(|| "no clip".into())
    }

    #[test]
    fn a_line_has_two_places_and_a_width_and_an_area_three_corners() {
        let wire = clip("[[clip.mask]]\ncorners = [[3, 0], [5, 90.5]]\nwidth = \"6 px\"\nwhat = \"wire\"\n")
            .expect("read");
        assert_eq!(wire.masks[0].width, Some(6.0));
        assert_eq!(wire.masks[0].corners, [[3.0, 0.0], [5.0, 90.5]]);
        for (wrong, told) in [
            ("corners = [[3, 0], [5, 90]]", "three or more corners"),
            ("corners = [[3, 0]]\nwidth = \"6 px\"", "two or more places"),
            ("corners = [[3, 0], [5, 9]]\nwidth = \"0 px\"", "above zero"),
            ("corners = [[3, 0], [5, 9]]\nwidth = 6", "bare"),
        ] {
            let why = clip(&format!("[[clip.mask]]\n{wrong}\n")).expect_err(wrong);
            assert!(why.contains(told), "{wrong}: {why}");
        }
    }

    #[test]
    fn a_region_and_judgements_are_read_and_halves_of_them_refused() {
        let text = "region = [[10, 10], [90, 10], [50, 80]]\n[[clip.judged]]\nframes = [7, 8]\noutline = \"rejected\"\nwhy = \"glint\"\n\
                    [[clip.judged]]\nframes = [9, 12]\noutline = \"accepted\"\n";
        let read = clip(text).expect("read");
        assert_eq!(read.region.as_ref().map(Vec::len), Some(3));
        assert_eq!(
            (read.judged[0].frames.clone(), read.judged[0].verdict),
            (7..8, Verdict::Rejected)
        );
        assert_eq!(read.judged[0].why.as_deref(), Some("glint"));
        assert_eq!(
            (read.judged[1].verdict, &read.judged[1].why),
            (Verdict::Accepted, &None)
        );
        assert_eq!((read.left_out().len(), read.left_out()[0].clone()), (1, 7..8));
        for (wrong, told) in [
            ("[[clip.judged]]\nframes = [7, 8]\n", "no `outline`"),
            ("[[clip.judged]]\noutline = \"rejected\"\n", "no `frames`"),
            (
                "[[clip.judged]]\nframes = [7, 8]\noutline = \"bad\"\n",
                "\"accepted\", \"rejected\"",
            ),
            ("region = [[1, 1], [2, 2]]\n", "three or more corners"),
        ] {
            let why = clip(wrong).expect_err(wrong);
            assert!(why.contains(told), "{wrong}: {why}");
        }
    }
}
