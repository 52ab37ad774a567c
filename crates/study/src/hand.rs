//! What a person drew on a clip, decided about its outlines and checked, told in words for check, findings and report.
//!
//! Frames are counted as they lie in the part of the clip that is measured, each once however often it is named. Changes nothing.

use std::collections::BTreeSet;
use std::ops::Range;

use tremolet_record::experiment::clip::Clip;
use tremolet_record::experiment::file::Experiment;
use tremolet_record::experiment::hand::{Judged, Mask, Verdict};
use tremolet_record::findings::Note;

/// Everything that was done by hand, in the order of the file.
pub fn notes(experiment: &Experiment) -> Vec<Note> {
    let mut notes = experiment.notes.clone();
    if let Some(clip) = &experiment.clip {
        notes.extend(clip.region.as_ref().map(|corners| region(corners.len())));
        notes.extend(clip.masks.iter().map(mask));
        notes.extend(judged(clip, Verdict::Rejected));
        notes.extend(judged(clip, Verdict::Accepted));
    }
    notes
}

fn region(corners: usize) -> Note {
    Note {
        code: "region".into(),
        text: format!("only a region of the picture was looked at, with {corners} corners"),
        frames: None,
    }
}

fn ends(range: &Range<u64>) -> [u64; 2] {
    [range.start, range.end - 1]
}

fn mask(mask: &Mask) -> Note {
    let what = mask.what.as_deref().unwrap_or("something");
    let count = mask.corners.len();
    let how = match mask.width {
        Some(width) => format!("a line {width} px wide through {count} places"),
        None => format!("an area with {count} corners"),
    };
    let when = if mask.frames.is_some() {
        ""
    } else {
        " in all frames"
    };
    Note {
        code: "masked".into(),
        text: format!("{what} was left out of the picture: {how}{when}"),
        frames: mask.frames.as_ref().map(ends),
    }
}

/// One note for each reason of a verdict, with the number of frames.
fn judged(clip: &Clip, verdict: Verdict) -> Vec<Note> {
    let those = || clip.judged.iter().filter(|one| one.verdict == verdict);
    let mut reasons: Vec<&Option<String>> = Vec::new();
    for one in those() {
        if !reasons.contains(&&one.why) {
            reasons.push(&one.why);
        }
    }
    let all = clip.frames.clone().unwrap_or(0..u64::MAX);
    let note = |why: &&Option<String>| {
        let mine = those().filter(|one| one.why == **why);
        told(verdict, why.as_deref(), &all, mine)
    };
    reasons.iter().filter_map(note).collect()
}

/// Longest list of stretches that is told whole.
const STRETCHES: usize = 8;

fn told<'a>(
    verdict: Verdict,
    why: Option<&str>,
    all: &Range<u64>,
    mine: impl Iterator<Item = &'a Judged>,
) -> Option<Note> {
    let inside = |one: &Judged| one.frames.start.max(all.start)..one.frames.end.min(all.end);
    let stretches = joined(mine.map(inside).filter(|range| !range.is_empty()).collect());
    let (first, last) = (stretches.first()?, stretches.last()?);
    let count: u64 = stretches.iter().map(|range| range.end - range.start).sum();
    let frames = if count == 1 {
        "1 frame".into()
    } else {
        format!("{count} frames")
    };
    let because = why.map_or(String::new(), |why| format!(": {why}"));
    let (code, what) = match verdict {
        Verdict::Rejected => ("rejected", "was rejected and left out"),
        Verdict::Accepted => ("accepted", "was looked at and accepted"),
    };
    let places = if stretches.len() > 1 && stretches.len() <= STRETCHES {
        let list: Vec<String> = stretches.iter().map(said).collect();
        format!(" ({})", list.join("; "))
    } else {
        String::new()
    };
    Some(Note {
        code: code.into(),
        text: format!("the outline in {frames} {what}{because}{places}"),
        frames: Some([first.start, last.end - 1]),
    })
}

fn said(range: &Range<u64>) -> String {
    match ends(range) {
        [only, end] if only == end => format!("{only}"),
        [first, last] => format!("{first} to {last}"),
    }
}

/// Stretches in order, those that touch or overlap as one.
fn joined(ranges: Vec<Range<u64>>) -> Vec<Range<u64>> {
    let ordered: BTreeSet<(u64, u64)> = ranges.iter().map(|range| (range.start, range.end)).collect();
    let mut whole: Vec<Range<u64>> = Vec::new();
    for (start, end) in ordered {
        match whole.last_mut() {
            Some(last) if start <= last.end => last.end = last.end.max(end),
            _ => whole.push(start..end),
        }
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(lines: &str) -> Vec<(String, Option<[u64; 2]>)> {
        let text = format!("format = 1\nkind = \"release\"\n[clip]\npath = \"a\"\n{lines}");
        let experiment = Experiment::parse(&text, "x").unwrap();
        notes(&experiment)
            .into_iter()
            .map(|note| (note.text, note.frames))
            .collect()
    }

    #[test]
    fn frames_are_counted_once_and_within_the_clip() {
        let judged = |frames: &str, why: &str| {
            format!("[[clip.judged]]\nframes = {frames}\noutline = \"rejected\"\nwhy = \"{why}\"\n")
        };
        let lines = [
            "frames = [10, 100]\n".into(),
            judged("[5, 12]", "hand"),
            judged("[11, 14]", "hand"),
            judged("[20, 21]", "hand"),
            judged("[30, 31]", "glint"),
            judged("[200, 300]", "late"),
        ];
        let told = texts(&lines.concat());
        assert_eq!(
            told,
            [
                (
                    "the outline in 5 frames was rejected and left out: hand (10 to 13; 20)".into(),
                    Some([10, 20])
                ),
                (
                    "the outline in 1 frame was rejected and left out: glint".into(),
                    Some([30, 30])
                ),
            ]
        );
    }

    #[test]
    fn masks_and_region_say_what_they_are() {
        let told = texts(
            "region = [[0, 0], [9, 0], [9, 9], [0, 9]]\n[[clip.mask]]\ncorners = [[1, 0], [3, 9]]\nwidth = \"6 px\"\nwhat = \"wire\"\n\
             [[clip.mask]]\ncorners = [[1, 0], [3, 9], [5, 5]]\nframes = [3, 9]\n[[clip.judged]]\nframes = [4, 5]\noutline = \"accepted\"\n",
        );
        let text: Vec<&str> = told.iter().map(|note| note.0.as_str()).collect();
        assert_eq!(
            text,
            [
                "only a region of the picture was looked at, with 4 corners",
                "wire was left out of the picture: a line 6 px wide through 2 places in all frames",
                "something was left out of the picture: an area with 3 corners",
                "the outline in 1 frame was looked at and accepted",
            ]
        );
        assert_eq!((told[2].1, told[3].1), (Some([3, 8]), Some([4, 4])));
    }
}
