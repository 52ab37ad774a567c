//! How well a back-lit edge is known beyond the noise of its points: what all points of an outline have in common.
//!
//! ```text
//! d(delta) = sqrt(pi) s dL / C                                               a level that is off by dL moves the edge
//! levels   : dL = standard deviations of both fitted levels at the edge      anew in every frame
//! gradient : dL = g d_o,   g = slope of what the fit leaves of the outer side
//! mixed    : dL / C = [1 + d_n / (d_f - d_n)] mean of Phi(-d / s) over the near half of the inner side
//! shape    : d(delta) = q s^2 / (2 R)                                        doubt of the shift of a curved edge
//! ```
//! The first line is the shift of an unweighted least-squares fit of a blurred step, `int phi Phi / int phi^2`. The
//! gradient is what a slope of the light that nothing models would do if it went on to the edge. Mixed is the share of the
//! outer level that blur leaves where the inner one is judged, drawn on to the edge by the slope of that level. The width is
//! that of a Gaussian; the shift of a curved edge under a blur of another shape, fitted by a Gaussian, differs from
//! `s^2 / (2 R)` by -5 % (disc out of focus), +8 % (exponential), +2 to +14 % (Moffat), +26 % (diffraction alone at
//! `s = 1.3`), computed by quadrature: `q = 0.1`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s`, `R` | width of the blur, radius of the body | px |
//! | `C` | outer less inner level, over the light | - |
//! | `d_o`, `d_n`, `d_f` | mean distance of the outer side, of the near and far half of the inner side | px |
//!
//! Source: own derivation. Not here: reflection at a wide lamp, a camera whose codes are not proportional to light, coding
//! with loss.

use crate::edge::levels::middle;
use crate::step::step;

/// Doubt of the place of one outline as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Doubt {
    /// From the noise of the levels, standard uncertainty, px; independent from frame to frame.
    pub levels_px: f64,
    /// Shift by a gradient of the light that is not modelled, px, with its sign.
    pub gradient_px: f64,
    /// Shift by the light that blur mixes into the levels, px.
    pub mixed_px: f64,
    /// From the unknown shape of the blur, standard uncertainty, px.
    pub shape_px: f64,
    /// Shares of the pixels beside the edge that are at the top of the scale outside and at its bottom inside.
    pub clipped: [f64; 2],
    /// From light cut off there, standard uncertainty, px.
    pub clipped_px: f64,
}

/// Shift of the edge for a level that is off by the share `share` of the contrast, px.
pub fn shift(share: f64, width: f64) -> f64 {
    std::f64::consts::PI.sqrt() * width * share
}

/// From the unknown shape of the blur.
pub fn shape(width: f64, radius: f64) -> f64 {
    tremolet_optics::blur::shape_doubt(width, radius)
}

/// Share of the contrast that blur mixes into a level judged from `near` to `far` px of the edge and drawn on to it.
pub fn mixed(near: f64, far: f64, width: f64) -> f64 {
    let half = (far - near) / 2.0;
    // The integral of Phi(-z) from z on is phi(z) - z Phi(-z).
    let beyond = |d: f64| {
        let (whole, density) = step(-d / width);
        width * (density - d / width * whole)
    };
    let mean = (beyond(near) - beyond(near + half)) / half.max(1e-9);
    mean.max(0.0) * (1.0 + (near + half / 2.0) / half.max(1e-9))
}

/// Shares of cut off pixels of an ordinary frame.
pub fn clipped(doubts: &[Doubt]) -> [f64; 2] {
    [0, 1].map(|k| middle(doubts.iter().map(|d| d.clipped[k]).collect()).unwrap_or(0.0))
}

/// What is common to all frames of a body, standard uncertainty, px.
pub fn common(doubts: &[Doubt]) -> f64 {
    let typical = |of: &dyn Fn(&Doubt) -> f64| middle(doubts.iter().map(of).collect()).unwrap_or(0.0);
    let mean = doubts.iter().map(|d| d.gradient_px).sum::<f64>() / doubts.len().max(1) as f64;
    typical(&|d| d.shape_px)
        .hypot(typical(&|d| d.mixed_px))
        .hypot(typical(&|d| d.clipped_px))
        .hypot(mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A blurred step of width 1.3 px fitted with an outer level that is 1 % of the contrast too high, by direct search.
    #[test]
    fn a_level_that_is_off_moves_the_edge_by_the_closed_form() {
        let (s, off) = (1.3, 0.01);
        let misfit = |at: f64| -> f64 {
            let one = |k: i32| {
                let d = f64::from(k) * 0.02;
                (step(d / s).0 - (1.0 + off) * step((d - at) / s).0).powi(2)
            };
            (-150..150).map(one).sum()
        };
        // The far outer side only adds a constant, but for its end: the window is symmetric, three pixels wide.
        let best = (0..400)
            .map(|k| f64::from(k) * 1e-4)
            .min_by(|a, b| misfit(*a).total_cmp(&misfit(*b)))
            .expect("some");
        assert!(
            (best / shift(off, s) - 1.0).abs() < 0.03,
            "{best} {}",
            shift(off, s)
        );
    }

    #[test]
    fn the_mixed_share_is_the_mean_of_the_tail_drawn_on_to_the_edge() {
        let (near, far, s) = (4.0, 6.0, 1.6);
        let mean = (0..1000)
            .map(|k| step(-(near + f64::from(k) * 1e-3) / s).0 * 1e-3)
            .sum::<f64>();
        let drawn = mean * (1.0 + 4.5 / 1.0);
        assert!((mixed(near, far, s) / drawn - 1.0).abs() < 0.01);
        assert!(mixed(8.0, 16.0, s) < 1e-6);
    }

    #[test]
    fn gradients_of_both_signs_cancel_over_a_clip_and_the_others_do_not() {
        let one = |sign: f64| Doubt {
            levels_px: 5.0,
            gradient_px: sign * 0.4,
            mixed_px: 0.03,
            shape_px: 0.04,
            clipped: [0.0; 2],
            clipped_px: 0.0,
        };
        assert!((common(&[one(1.0), one(-1.0)]) - 0.05).abs() < 1e-12);
        assert!((common(&[one(1.0), one(1.0)]) - 0.4_f64.hypot(0.05)).abs() < 1e-12);
        assert_eq!(common(&[]), 0.0);
    }
}
