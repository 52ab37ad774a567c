//! Noise that neighbouring points of an outline have alike.
//!
//! ```text
//! F = mean over k, outlines of (Im(Z_k e^(-i k alpha)) / u_k)^2,     k = 9 to 14
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `Z_k` | harmonic of an outline | px |
//! | `u_k` | its standard uncertainty were each point's noise its own | px |
//! | `alpha` | axis of the body | rad |
//! | `F` | variance of a low harmonic over what the points state | 1 |
//!
//! Coding with loss spoils blocks: the points in one err together, their scatter looks as that of single points, but a coefficient of low degree, the mean of
//! many, has more. The spectrum of such noise is level up to the harmonics whose wave is as long as two blocks, so harmonics above those of the shape tell its
//! level; and of them the part that is not its own mirror image about the axis, which no body of revolution has, however far it is from round. A factor that is not
//! far above one is chance or a point's own noise, and left alone. Source: the level of a spectrum at low frequencies as the variance of means \[Priestley1981\]
//! section 5.3; the thresholds are chosen. Not for outlines of which a part is hidden.

use crate::edge::Meeting;
use crate::sighting::{Sighting, used};
use tremolet_shape::symmetry::harmonics;

/// Harmonics that judge: above those of the shape, below those of blocks.
const FIRST: usize = 9;
const LAST: usize = 14;
/// Most outlines that judge; fewest.
const MOST: usize = 60;
const FEWEST: usize = 8;
/// Factor over what the points say by themselves from which their noise is alike.
const MUCH: f64 = 1.5;

/// Variance of a low harmonic over what the points state, over all outlines of a body; 0 where too few tell.
pub fn alike(sightings: &[Sighting], axis_angle: f64) -> f64 {
    let whole = |s: &&Sighting| s.meeting == Meeting::Alone && !s.touched && !s.open() && !s.cluttered;
    let those: Vec<&Sighting> = sightings.iter().filter(whole).collect();
    let stride = those.len().div_ceil(MOST).max(1);
    let squares = |s: &Sighting| {
        let found = harmonics(&used(s), LAST)?;
        let square = |k: usize| {
            let (sin, cos) = (k as f64 * axis_angle).sin_cos();
            ((found.sine[k] * cos - found.cosine[k] * sin) / found.uncertainty[k]).powi(2)
        };
        Some((FIRST..=LAST).map(square).sum::<f64>() / (LAST - FIRST + 1) as f64)
    };
    let all: Vec<f64> = those.iter().step_by(stride).filter_map(|s| squares(s)).collect();
    if all.len() < FEWEST {
        return 0.0;
    }
    all.iter().sum::<f64>() / all.len() as f64
}

/// Factor on the variances of coefficients of an outline whose points say `own` by themselves and together `alike`.
pub fn factor(own: f64, alike: f64) -> f64 {
    if alike > MUCH * own { alike } else { own }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::edge::doubt::Doubt;
    use crate::edge::{Edge, EdgePoint, Seen};
    use crate::sighting::sighted;

    /// A ring of 320 points of 50 px with noise that `block` neighbours share, each stated 0.05 px, and a harmonic of its own that is its mirror image.
    fn ring(frame: u64, block: usize, dice: &mut tremolet_numerics::random::Generator) -> Sighting {
        let mut noise = 0.0;
        let points = (0..320)
            .map(|i| {
                if i % block == 0 {
                    noise = 0.05 * dice.normal();
                }
                let (sin, cos) = (std::f64::consts::TAU * i as f64 / 320.0).sin_cos();
                let own = 0.5 * (10.0 * std::f64::consts::TAU * i as f64 / 320.0).cos();
                let r = 50.0 + own + noise;
                EdgePoint {
                    x: 80.0 + r * sin,
                    y: 80.0 - r * cos,
                    uncertainty: 0.05,
                    seen: Seen::Yes,
                }
            })
            .collect();
        let edge = Edge {
            points,
            blur_px: 1.0,
            doubt: Doubt::default(),
            meeting: Meeting::Alone,
        };
        sighted(frame, &edge).expect("a whole ring")
    }

    // By hand: 8 points that err as one count once, so 8 times the variance, less what a wave of harmonic k evens out within a block, (sin x / x)^2 with
    // x = 8 pi k / 320: 0.84 at 9, 0.66 at 14, 0.755 in the mean, so 6.0; 360 numbers scatter by 7 %.
    #[test]
    fn noise_of_blocks_counts_by_the_block_and_noise_of_points_once() {
        let mut dice = tremolet_numerics::random::Generator::new(5);
        let mut of = |block: usize| {
            let all: Vec<Sighting> = (0..60).map(|frame| ring(frame, block, &mut dice)).collect();
            alike(&all, 0.0)
        };
        let (single, blocks) = (of(1), of(8));
        assert!((0.8..1.2).contains(&single), "{single}");
        assert!((4.5..7.5).contains(&blocks), "{blocks}");
        assert_eq!((factor(1.0, single), factor(1.0, blocks)), (1.0, blocks));
        assert_eq!(alike(&[], 0.0), 0.0);
    }
}
