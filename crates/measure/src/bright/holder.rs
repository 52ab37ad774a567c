//! Something thin and dark that ends at the rim of a bright body: a holder, or clutter behind.
//!
//! ```text
//! dark(j, d) = 1 - b(j, d) / min(b(j - A, d), b(j + A, d)),     mean over d along a straight way outward > DARK
//! ```
//! A picture does not tell them apart, motion does: a body that is held stays where it is, and one that drifts along the clutter
//! leaves it behind. So a body that stays in its place with such a thing at its rim is not known to be free.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `b` | what lies around the body, over the mean | 1 |
//! | `j`, `d` | place along the outline, distance outward from it | px |
//! | `A` | half the width of what counts as thin, [`ASIDE`] | px |
//!
//! Source: own. A loop that goes around the body close to its outline is not seen, nor a holder that is no darker than the wall, nor
//! one that moves with the body.

use crate::edge::View;
use crate::edge::border::level;
use crate::sighting::Sighting;

/// A body whose mean places in the first and the last third of the clip lie nearer to each other than this stays, px.
const STILL: f64 = 0.5;
/// The way outward, px: begun beyond the blur.
const FROM: f64 = 4.0;
const TO: f64 = 16.0;
/// What is thin: its surroundings are seen so far to both sides, px.
const ASIDE: [f64; 3] = [6.0, 8.0, 10.0];
/// How much darker it is all along its way, and in the mean; chosen: a wire of one pixel takes a quarter.
const LEAST: f64 = 0.12;
const DARK: f64 = 0.22;
/// Slants along which it is followed, sideways over outward.
const SLANTS: [f64; 9] = [-0.8, -0.6, -0.4, -0.2, 0.0, 0.2, 0.4, 0.6, 0.8];

/// Whether a body stays in its place over the clip: what swings comes back, what is free drifts.
pub fn stays(found: &[Sighting]) -> bool {
    let third = found.len() / 3;
    let mean =
        |part: &[Sighting], k: usize| part.iter().map(|s| s.centre[k]).sum::<f64>() / part.len() as f64;
    let (first, last) = (&found[..third], &found[found.len() - third..]);
    let moved = [0, 1].map(|k| mean(last, k) - mean(first, k));
    third == 0 || moved[0].hypot(moved[1]) < STILL
}

/// Whether something thin and dark ends at the edge through `places`, which turn from +x towards +y; `around` is the view
/// without the body.
pub fn at_rim(around: &View<'_>, places: &[[f64; 2]]) -> bool {
    let n = places.len();
    n > 16
        && (0..n).any(|j| {
            let (a, b) = (places[(j + n - 2) % n], places[(j + 2) % n]);
            let along = [b[0] - a[0], b[1] - a[1]];
            let length = along[0].hypot(along[1]).max(1e-9);
            let along = along.map(|v| v / length);
            SLANTS.iter().any(|slant| leads(around, places[j], along, *slant))
        })
}

/// Whether it is dark all the way outward from a place of the edge.
fn leads(around: &View<'_>, [x, y]: [f64; 2], along: [f64; 2], slant: f64) -> bool {
    let outward = [along[1], -along[0]];
    let (mut sum, mut count, mut d) = (0.0, 0.0, FROM);
    while d <= TO {
        let at = |t: f64| {
            let s = slant * d + t;
            let (u, v) = (
                x + d * outward[0] + s * along[0],
                y + d * outward[1] + s * along[1],
            );
            Some(level(around, u, v)? / around.background.at(u, v))
        };
        let side = |sign: f64| {
            let levels: Vec<f64> = ASIDE.iter().filter_map(|t| at(sign * t)).collect();
            (levels.len() == ASIDE.len()).then(|| levels.iter().sum::<f64>() / levels.len() as f64)
        };
        let (Some(here), Some(left), Some(right)) = (at(0.0), side(-1.0), side(1.0)) else {
            return false;
        };
        let dark = 1.0 - here / left.min(right).max(1e-6);
        if dark < LEAST {
            return false;
        }
        (sum, count, d) = (sum + dark, count + 1.0, d + 1.0);
    }
    sum > DARK * count
}
