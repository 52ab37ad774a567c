//! Light beyond the end of the camera's scale, and darkness below it, beside an edge.
//!
//! ```text
//! p = share of the pixels beside the edge at the end of the scale
//! dL = 0.56 ln(1 / (1 - p)) sigma,   sigma = sigma_seen / (1 - 0.8 p)      how far the mean of what is left is off
//! d(delta) = sqrt(pi) s dL / C
//! light, p > 0.4: d(delta) = s          dark, p > 0.98: dL = 0.02
//! ```
//! A normal level cut off at `c` has a mean that is too low by `sigma [phi(z) - z p]`, `z = (c - L) / sigma`: the second line
//! is that within a fifth for `p` from 0.15 to 0.98. A sensor that is full before its noise is added has half of its pixels at the end
//! however bright the light is: from 0.4 on nothing tells by how much, and light half as bright again as the scale moves the edge by
//! the width of the blur, which is taken for the standard uncertainty. Nothing is darker than dark: below the scale lies
//! what a camera sets to nil, taken as five codes of 255.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `L`, `C` | level, contrast of the edge | over the light |
//! | `sigma` | noise of a pixel | over the light |
//! | `s` | width of the blur | px |
//!
//! Source: the mean of a censored normal variable, elementary. Corrects nothing. Scales that end below the last code of their
//! storage are not recognised.

use crate::edge::border::Border;
use crate::edge::doubt::shift;
use crate::edge::strip::Node;
use crate::edge::{Seen, View};
use tremolet_clip::frame::Levels;

/// Where beside the edge it is looked, widths of the blur and px.
const BESIDE: [[f64; 2]; 2] = [[3.5, 1.0], [3.5, 3.0]];
/// Beyond this share nothing tells how far the light goes on.
const FULL: f64 = 0.4;
/// Beyond this share nothing tells how far the dark goes on; and how far it may, over the light.
const NIL: f64 = 0.98;
const CRUSHED: f64 = 0.02;

/// Shares of the pixels beside an edge that are at an end of the scale: of the light outside at its top, of the dark inside at
/// its bottom.
pub fn shares(view: &View<'_>, border: &Border, nodes: &[Node], width: f64) -> [f64; 2] {
    let mut found = [[0.0_f64; 2]; 2];
    for (j, _) in nodes.iter().enumerate().filter(|(_, n)| n.seen == Seen::Yes) {
        for [widths, px] in BESIDE {
            for (side, outward) in [1.0, -1.0].into_iter().enumerate() {
                let d = outward * (widths * width + px);
                let at = |k: usize| border.places[j][k] + d * border.normals[j][k];
                let Some(ends) = ends(view, at(0), at(1)) else {
                    continue;
                };
                found[side][0] += f64::from(u8::from(ends[side]));
                found[side][1] += 1.0;
            }
        }
    }
    found.map(|[those, all]| those / all.max(1.0))
}

/// Whether the nearest pixel is at the top and at the bottom of the scale; `None` out of the picture.
fn ends(view: &View<'_>, x: f64, y: f64) -> Option<[bool; 2]> {
    let inside =
        |v: f64, size: usize| (v > -0.5 && v < size as f64 - 0.5).then_some(v.max(0.0).round() as usize);
    let (i, j) = (inside(x, view.plane.width)?, inside(y, view.plane.height)?);
    let at = j * view.plane.width + i;
    Some(match &view.plane.levels {
        // Coding with loss leaves the last code by one.
        Levels::Eight(levels) => [levels[at] >= 254, levels[at] == 0],
        Levels::Sixteen(levels) => [is_full(levels[at]), levels[at] == 0],
    })
}

/// Whether a code is the last of 8 to 16 bits, at the low or the high end of the word.
fn is_full(code: u16) -> bool {
    let (low, high) = (code.trailing_ones(), code.leading_ones());
    (low >= 8 && code.leading_zeros() + low == 16) || (high >= 8 && code.trailing_zeros() + high == 16)
}

/// What is needed to judge cut off levels.
#[derive(Debug, Clone, Copy)]
pub struct Beside {
    /// Scatter of a pixel outside and inside, over the light.
    pub scatter: [f64; 2],
    /// Outer less inner level, over the light.
    pub contrast: f64,
    /// Width of the blur, px.
    pub width: f64,
}

/// Standard uncertainty of the edge, px, for the [`shares`] of pixels that are cut off.
pub fn doubt([top, bottom]: [f64; 2], beside: &Beside) -> f64 {
    let Beside {
        scatter,
        contrast,
        width,
    } = *beside;
    let moved = |level: f64| shift(level / contrast.max(1e-9), width).min(width);
    let light = if top > FULL {
        width
    } else {
        moved(cut(top) * scatter[0])
    };
    let dark = if bottom > NIL {
        CRUSHED
    } else {
        cut(bottom) * scatter[1]
    };
    light.hypot(moved(dark))
}

/// How far the mean of what is left is off, over the scatter of what is left.
fn cut(p: f64) -> f64 {
    -0.56 * (1.0 - p).ln() / (1.0 - 0.8 * p)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Means of a normal variable cut off at the share `p`: `sigma [phi(z) - z p]` with quantiles and densities from the tables
    /// of the normal distribution (from memory).
    #[test]
    fn the_mean_of_what_is_left_is_that_of_a_cut_normal_variable() {
        for (p, z, phi) in [
            (0.02275, 2.0, 0.05399),
            (0.15866, 1.0, 0.24197),
            (0.5, 0.0, 0.39894),
            (0.84134, -1.0, 0.24197),
            (0.97725, -2.0, 0.05399),
        ] {
            let mean = phi - z * p;
            let ours = cut(p) * (1.0 - 0.8 * p);
            assert!(
                (ours / mean) > 0.85 && (ours / mean) < 1.6,
                "{p}: {ours} against {mean}"
            );
        }
    }

    #[test]
    fn light_that_fills_the_scale_leaves_the_edge_open_by_the_blur() {
        let beside = Beside {
            scatter: [0.01, 0.005],
            contrast: 0.8,
            width: 1.3,
        };
        assert_eq!(doubt([0.0, 0.0], &beside), 0.0);
        assert_eq!(doubt([0.5, 0.0], &beside), 1.3);
        assert!((doubt([0.0, 1.0], &beside) - shift(0.025, 1.3)).abs() < 1e-12);
        assert!(doubt([0.1, 0.0], &beside) < 0.01);
    }

    #[test]
    fn last_codes_are_known_by_their_bits() {
        assert!([255, 1023, 4095, 65535, 0xFFC0, 0xFFF0].into_iter().all(is_full));
        assert!(
            ![0, 1, 127, 128, 254, 1022, 40_000, 0x8000]
                .into_iter()
                .any(is_full)
        );
    }
}
