//! What a reader of a ring-down has to know beside its numbers.
//!
//! | code | when |
//! |---|---|
//! | `nothing_rings` | no mode was found |
//! | `too_few_samples` | the free samples are too few to look |
//! | `interrupted` | samples between free ones are not free, or the ringing breaks off |
//! | `possible_product` | a mode that may be a product of third order |
//! | `split_line` | a mode that is several close lines |
//! | `few_cycles` | fewer than three cycles of a mode |
//! | `decay_not_resolved` | a decay rate is not twice its standard uncertainty |
//! | `near_half_rate` | a mode above 0.8 of half the sampling rate |
//! | `out_of_order` | a line below that of a lower degree or above that of a higher one |
//! | `finite_amplitude` | a frequency begins more than 1 % off its small-amplitude value |
//! | `cross_talk`, `product` | lines that belong to other modes |
//! | `unsettled_line` | a line that did not hold in the final fit |
//! | `motion_unexplained` | a degree moves by more than noise and has no mode, though smaller ones do |
//! | `unexplained_line` | a second line in a degree |
//! | `noise_above_stated`, `noise_below_stated` | residuals that do not keep to the stated uncertainties |
//!
//! Source: \[JCGM100\] for what an uncertainty has to cover. Nothing is decided here.

use std::f64::consts::TAU;

use tremolet_record::series::ModeSample;

use crate::caution::Caution;
use crate::ringdown::attribute::{Candidate, Role};
use crate::ringdown::detect::FEWEST_CYCLES;
use crate::ringdown::kick::Break;
use crate::ringdown::result::{DegreeResidual, Mode, Ringdown};

/// Cautions about the modes; `rate_fps` in samples a second, `record` in s; `moves` when residuals exceed the noise by far.
pub fn of_modes(modes: &[Mode], rate_fps: f64, record: f64, moves: bool) -> Vec<Caution> {
    let mut all = Vec::new();
    if modes.is_empty() {
        let text = if moves {
            format!(
                "the shape moves by more than noise, but nothing swings through {FEWEST_CYCLES} cycles in the {record:.3} s that are free; no mode is \
                 reported"
            )
        } else {
            "no oscillation stands out from the noise; no mode is reported".to_string()
        };
        all.push(Caution::new("nothing_rings", text));
    }
    for mode in modes {
        all.extend(of_mode(mode, rate_fps, record));
    }
    all
}

fn of_mode(mode: &Mode, rate_fps: f64, record: f64) -> Vec<Caution> {
    let (degree, frequency) = (mode.degree, mode.angular_frequency / TAU);
    let mut all = Vec::new();
    let mut add = |code, text| all.push(Caution::new(code, text));
    if mode.cycles < 3.0 {
        let text = format!(
            "degree {degree} is seen for {:.1} cycles only; expected at least 3",
            mode.cycles
        );
        add("few_cycles", text);
    }
    if mode.split.is_none() && mode.decay_rate < 2.0 * mode.u_decay_rate {
        let text = format!(
            "decay rate of degree {degree} is {:.3e} +- {:.1e} 1/s in {record:.3} s: not told from none; a longer recording is needed",
            mode.decay_rate, mode.u_decay_rate
        );
        add("decay_not_resolved", text);
    }
    if frequency > 0.4 * rate_fps {
        let text = format!(
            "degree {degree} at {frequency:.4} Hz is close to half the sampling rate ({:.4} Hz)",
            0.5 * rate_fps
        );
        add("near_half_rate", text);
    }
    if mode.frequency_shift_at_start.abs() > 0.01 {
        let text = format!(
            "degree {degree} begins {:.1} % off its small-amplitude frequency; corrected in the fit",
            100.0 * mode.frequency_shift_at_start
        );
        add("finite_amplitude", text);
    }
    if let Some(split) = mode.split {
        let [low, high] = split.angular_frequencies.map(|w| w / TAU);
        let [a, b] = split.amplitudes;
        let text = format!(
            "degree {degree} does not ring as one damped line: close lines from {low:.4} Hz to {high:.4} Hz (amplitudes of the outermost {a:.2e} and {b:.2e}, \
             decay rate {:.3e} 1/s) fit far better; rotation or a body that is not round at rest splits a degree so, and beating is not damping. The \
             frequency given is their mean, half their distance is in its uncertainty, and the decay rate is not used for viscosity",
            split.decay_rate
        );
        add("split_line", text);
    }
    if let Some([a, b, c]) = mode.perhaps_product {
        let text = format!(
            "degree {degree} at {frequency:.4} Hz rings where the product of degrees {a}, {b} and {c} does, and neither its size nor its \
             decay tells them apart; it is not used for surface tension and viscosity"
        );
        add("possible_product", text);
    }
    all
}

/// The caution about breaks of the ringing among `free` samples, of which the part `quiet` (s since the first) was fitted.
pub fn of_breaks(breaks: &[Break], quiet: [f64; 2], free: &[&ModeSample]) -> Caution {
    let begun = free.first().map_or(0.0, |s| s.time);
    let frame = |time: f64| {
        let nearest = |s: &&&ModeSample| (s.time - begun - time).abs();
        let sample = free.iter().min_by(|a, b| nearest(a).total_cmp(&nearest(b)));
        sample.map_or(0, |s| s.frame)
    };
    let ends = |found: &Break| found.between.map(frame);
    let told: Vec<String> = breaks
        .iter()
        .map(|found| {
            let [before, after] = ends(found);
            format!("{:.3} s (frames {before} to {after})", begun + found.between[0])
        })
        .collect();
    let text = format!(
        "the ringing breaks off at {}: the body was struck or touched there, and what follows is another ring; only the longest \
         quiet part, {:.3} s to {:.3} s, was fitted",
        told.join(", "),
        begun + quiet[0],
        begun + quiet[1]
    );
    let first = breaks.first().map_or(0, |found| ends(found)[0]);
    let last = breaks.last().map_or(0, |found| ends(found)[1]);
    Caution::new("interrupted", text).in_frames([first, last])
}

/// Cautions about lines that are no modes; the second line of a degree that is split is told with it.
pub fn of_lines(candidates: &[Candidate], roles: &[Role], modes: &[Mode]) -> Vec<Caution> {
    let beats = |c: &Candidate| {
        let same = |m: &Mode| m.degree == c.degree && m.split.is_some_and(|split| split.holds(c.line[2]));
        modes.iter().any(same)
    };
    let hertz = |c: &Candidate| c.line[2] / TAU;
    let text = |(c, role): (&Candidate, &Role)| match *role {
        Role::Mode => None,
        Role::Leak(owner) => Some((
            "cross_talk",
            format!(
                "degree {} shows the oscillation of degree {} at {:.4} Hz with amplitude {:.2e}",
                c.degree,
                candidates[owner].degree,
                hertz(c),
                c.line[0]
            ),
        )),
        Role::Product(a, b) => Some((
            "product",
            format!(
                "the line of degree {} at {:.4} Hz is a product of degrees {} and {}, not a mode",
                c.degree,
                hertz(c),
                candidates[a].degree,
                candidates[b].degree
            ),
        )),
        Role::OutOfOrder(mode) => Some((
            "out_of_order",
            format!(
                "degree {} has a line at {:.4} Hz, on the wrong side of degree {} at {:.4} Hz: frequencies of a free body rise with the degree, so \
                 it is folded at half the sampling rate or belongs to something else; it is not reported as a mode",
                c.degree,
                hertz(c),
                candidates[mode].degree,
                hertz(&candidates[mode])
            ),
        )),
        Role::Other if beats(c) => None,
        Role::Other => Some((
            "unexplained_line",
            format!(
                "degree {} has a second line at {:.4} Hz with amplitude {:.2e}; it is fitted but not reported as a mode",
                c.degree,
                hertz(c),
                c.line[0]
            ),
        )),
    };
    let found = candidates.iter().zip(roles).filter_map(text);
    found.map(|(code, text)| Caution::new(code, text)).collect()
}

/// Caution about motions without a mode beside modes that are smaller.
pub fn of_unexplained(found: &Ringdown) -> Option<Caution> {
    let smaller = |r: &&DegreeResidual| found.modes.iter().any(|mode| r.found_rms > mode.amplitude);
    let degrees: Vec<String> = found
        .unexplained()
        .filter(smaller)
        .map(|r| r.degree.to_string())
        .collect();
    let text = format!(
        "degree {} moves by more than any noise, but no line could be fitted to it; smaller modes of other degrees may be its products and \
         are not used for surface tension and viscosity unless two of them confirm each other",
        degrees.join(", ")
    );
    (!degrees.is_empty()).then(|| Caution::new("motion_unexplained", text))
}

/// Cautions about residuals.
pub fn of_residuals(residuals: &[DegreeResidual]) -> Vec<Caution> {
    let text = |r: &DegreeResidual| {
        let (degree, found, stated) = (r.degree, r.found_rms, r.stated_rms);
        let text = format!("residuals of degree {degree} are {found:.2e}, stated {stated:.2e}");
        if r.inflation > 1.5 {
            Some(("noise_above_stated", text + "; uncertainties were enlarged"))
        } else if r.inflation < 0.67 {
            Some(("noise_below_stated", text + "; uncertainties were left as stated"))
        } else {
            None
        }
    };
    let found = residuals.iter().filter_map(text);
    found.map(|(code, text)| Caution::new(code, text)).collect()
}
