//! The numbers in the names of stills: their order, the slots of the camera that they fill, and the gaps.
//!
//! ```text
//! s_k = (n_k - n_0) / step,      step = greatest common divisor of all n_(k+1) - n_k
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n_k` | number in the name of still `k` | 1 |
//! | `s_k` | slot of the camera that it fills | 1 |
//!
//! The number is the last one that changes from name to name. It is believed when it rises all the way and at least half
//! of its rises are one step; else the stills are taken as evenly spaced, and a caution says so. Numbers that rise by more
//! than one throughout were thinned: a step is then taken as one frame, for what counts is the rate of the stills that are
//! there. It opens no file.

use tremolet_record::findings::Caution;

/// Gaps that a caution spells out.
const GAPS_SPELT_OUT: usize = 3;

/// What the names say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Numbering {
    /// The slot of each still, from 0; `None` when the names carry no number that counts them.
    pub slots: Option<Vec<u64>>,
    /// Gaps, steps, and names that are not understood.
    pub cautions: Vec<Caution>,
}

/// A piece of a name: text, or a number as its digits without leading zeros after their count.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Piece {
    /// Significant digits, and the digits themselves.
    Number(usize, String),
    /// Anything else, in lower case.
    Text(String),
}

/// Sorts numbers inside names by their value; equal ones by the name itself.
pub fn natural_key(name: &str) -> (Vec<Piece>, String) {
    let piece = |piece: &str| {
        if piece.starts_with(|c: char| c.is_ascii_digit()) {
            let significant = piece.trim_start_matches('0');
            Piece::Number(significant.len(), significant.into())
        } else {
            Piece::Text(piece.to_lowercase())
        }
    };
    (pieces(name).into_iter().map(piece).collect(), name.into())
}

/// The numbering of stills with these names (without ending), in natural order; with `timed`, a table gives their times and
/// the numbers only tell what is missing.
pub fn numbering(names: &[String], timed: bool) -> Numbering {
    if names.len() < 2 {
        return Numbering::default();
    }
    let Some((numbers, step)) = counted(names) else {
        let text = "the names of the stills carry no number that counts them: they are taken as evenly spaced in the order \
                    of their names, and missing ones cannot be noticed";
        return Numbering {
            slots: None,
            cautions: (!timed)
                .then(|| caution("stills_not_numbered", text.into(), None))
                .into_iter()
                .collect(),
        };
    };
    let slots: Vec<u64> = numbers
        .iter()
        .map(|number| (number - numbers[0]) / step)
        .collect();
    let mut cautions = Vec::new();
    if step > 1 && !timed {
        let text = format!(
            "the numbers of the stills rise in steps of {step}: each step is taken as one frame at the capture rate; if \
             capture_rate is that of the camera before stills were left out, divide it by {step}"
        );
        cautions.push(caution("stills_numbered_in_steps", text, None));
    }
    cautions.extend(missing(names, &slots, timed));
    Numbering {
        slots: Some(slots),
        cautions,
    }
}

/// The caution about numbers that are missing.
fn missing(names: &[String], slots: &[u64], timed: bool) -> Option<Caution> {
    let gaps: Vec<usize> = (1..slots.len())
        .filter(|k| slots[*k] - slots[k - 1] > 1)
        .collect();
    let (first, last) = (*gaps.first()?, *gaps.last()?);
    let count: u64 = gaps.iter().map(|k| slots[*k] - slots[k - 1] - 1).sum();
    let mut spelt: Vec<String> = gaps
        .iter()
        .take(GAPS_SPELT_OUT)
        .map(|k| {
            format!(
                "{} between {} and {}",
                slots[*k] - slots[k - 1] - 1,
                names[k - 1],
                names[*k]
            )
        })
        .collect();
    if gaps.len() > spelt.len() {
        spelt.push(format!("and so on in {} gaps", gaps.len()));
    }
    let time = if timed {
        "the times are those of the table"
    } else {
        "the time runs on across the gaps"
    };
    let text = format!(
        "{count} stills are missing by their numbers ({}); {time}",
        spelt.join(", ")
    );
    Some(caution(
        "missing_stills",
        text,
        Some([first as u64 - 1, last as u64]),
    ))
}

fn caution(code: &str, text: String, frames: Option<[u64; 2]>) -> Caution {
    Caution {
        code: code.into(),
        text,
        frames,
    }
}

/// The numbers that count the stills, and their step.
fn counted(names: &[String]) -> Option<(Vec<u64>, u64)> {
    let all: Vec<Vec<&str>> = names.iter().map(|name| pieces(name)).collect();
    let changing = (0..all[0].len()).rev().find(|place| {
        let piece = |name: &Vec<&str>| {
            name.get(*place)
                .map(|piece| piece.trim_start_matches('0').to_lowercase())
        };
        all.iter().any(|name| piece(name) != piece(&all[0]))
    })?;
    if all.iter().any(|name| name.len() != all[0].len()) {
        return None;
    }
    let numbers: Vec<u64> = all
        .iter()
        .map(|name| name[changing].parse().ok())
        .collect::<Option<_>>()?;
    let rises: Vec<u64> = numbers
        .windows(2)
        .map(|pair| pair[1].checked_sub(pair[0]).filter(|rise| *rise > 0))
        .collect::<Option<_>>()?;
    let step = rises.iter().copied().fold(0, greatest_common_divisor);
    let regular = rises.iter().filter(|rise| **rise == step).count();
    (2 * regular >= rises.len()).then_some((numbers, step))
}

fn greatest_common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 {
        a
    } else {
        greatest_common_divisor(b, a % b)
    }
}

/// Runs of digits and of other letters, in turn.
fn pieces(name: &str) -> Vec<&str> {
    let mut pieces = Vec::new();
    let mut rest = name;
    while let Some(first) = rest.chars().next() {
        let digits = first.is_ascii_digit();
        let end = rest
            .find(|c: char| c.is_ascii_digit() != digits)
            .unwrap_or(rest.len());
        let (piece, after) = rest.split_at(end);
        pieces.push(piece);
        rest = after;
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(names: &[&str], timed: bool) -> (Option<Vec<u64>>, Vec<String>) {
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        let found = numbering(&names, timed);
        (
            found.slots,
            found.cautions.into_iter().map(|caution| caution.code).collect(),
        )
    }

    #[test]
    fn numbers_without_a_gap_need_no_caution() {
        assert_eq!(of(&["f_8", "f_9", "f_10"], false), (Some(vec![0, 1, 2]), vec![]));
        assert_eq!(of(&["7"], false), (None, vec![]));
        // A date that stays and a number before the ending that stays: what changes is what counts.
        assert_eq!(
            of(&["2031-05-02 a1 c0", "2031-05-02 a2 c0"], false).0,
            Some(vec![0, 1])
        );
    }

    #[test]
    fn a_gap_is_named_and_takes_its_time() {
        let names: Vec<String> = [
            "frame_0005",
            "frame_0006",
            "frame_0008",
            "frame_0009",
            "frame_0013",
            "frame_0014",
        ]
        .map(str::to_owned)
        .to_vec();
        let found = numbering(&names, false);
        assert_eq!(found.slots, Some(vec![0, 1, 3, 4, 8, 9]));
        let [gap] = &found.cautions[..] else {
            panic!("{:?}", found.cautions);
        };
        assert_eq!((gap.code.as_str(), gap.frames), ("missing_stills", Some([1, 4])));
        for words in [
            "4 stills",
            "1 between frame_0006 and frame_0008",
            "3 between frame_0009 and frame_0013",
            "runs on",
        ] {
            assert!(gap.text.contains(words), "{}", gap.text);
        }
        let timed = numbering(&names, true);
        assert_eq!(timed.cautions.len(), 1);
        assert!(
            timed.cautions[0].text.contains("those of the table"),
            "{}",
            timed.cautions[0].text
        );
    }

    #[test]
    fn many_gaps_are_summed_up() {
        let names: Vec<String> = (0..20)
            .filter(|k| k % 4 != 2)
            .map(|k| format!("a{k:02}"))
            .collect();
        let text = &numbering(&names, false).cautions[0].text;
        assert!(
            text.starts_with("5 stills") && text.contains("and so on in 5 gaps"),
            "{text}"
        );
    }

    #[test]
    fn thinned_stills_count_by_their_step() {
        let thinned = ["s00", "s10", "s20", "s40"];
        let codes = vec!["stills_numbered_in_steps".to_owned(), "missing_stills".to_owned()];
        assert_eq!(of(&thinned, false), (Some(vec![0, 1, 2, 4]), codes));
        assert_eq!(of(&thinned, true).1, ["missing_stills"]);
    }

    #[test]
    fn names_that_do_not_count_are_said_to_be_evenly_spaced() {
        let unclear: [&[&str]; 7] = [
            &["a", "b", "c"],
            &["f1", "f2b", "f3"],
            &["f01", "f1"],
            // Milliseconds of a clock.
            &["t0", "t33", "t67", "t100", "t133"],
            // One step among jumps.
            &["t1", "t2", "t9", "t17", "t30"],
            // Minutes and seconds: the last number falls.
            &["10-59", "11-00", "11-01"],
            &["x99999999999999999999999", "x99999999999999999999998"],
        ];
        for names in unclear {
            assert_eq!(
                of(names, false),
                (None, vec!["stills_not_numbered".to_owned()]),
                "{names:?}"
            );
            assert_eq!(of(names, true), (None, vec![]), "{names:?}");
        }
    }
}
