//! The limits between bouncing, merging for good, and merging and parting again, for two drops of one liquid.
//!
//! ```text
//! reflexive   We = 3 [7 (1 + D^3)^(2/3) - 4 (1 + D^2)] D (1 + D^3)^2 / (D^6 e1 + e2)
//!             e1 = 2 (1 - x)^2 sqrt(1 - x^2) - 1,   e2 = 2 (D - x)^2 sqrt(D^2 - x^2) - D^3,   x = B (1 + D) / 2
//! stretching  We = 4 (1 + D^3)^2 sqrt(3 (1 + D) (1 - B) (D^3 p_s + p_l)) / (D^2 [(1 + D^3) - (1 - B^2) (p_s + D^3 p_l)])
//!             p(r) = t^2 (3 r - t) / (4 r^3), at most 1;   p_s = p(D), p_l = p(1);   t = (1 - B) (1 + D)
//! bouncing    We = D (1 + D^2) (4 f - 12) / (c (1 - B^2)),   c = p(1),   f = 3.351
//! ```
//! Above the reflexive limit (near head-on) or the stretching limit (off centre) the merged drops part; below the third they may bounce.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `We` | Weber number with the smaller diameter | 1 |
//! | `B`, `D` | offset, 0 to 1; smaller over larger diameter, 0 to 1 | 1 |
//! | `t`, `p(r)` | height of the slab in which the drops overlap; share of a drop of radius `r` inside it (larger radius 1) | 1 |
//! | `f` | shape at the greatest flattening, fitted to ethanol | 1 |
//!
//! Sources: \[AshgrizPoo1990\] for the two separations, \[Estrade1999\] for bouncing, all written down from memory and recomputed
//! independently. The two branches usually printed for each share `p` are one cap volume. Some reprints give the small drop's share with
//! the large radius in it, `(2 - t)^2 (1 + t) / (4 D^3)`; only with the small radius throughout is it a share of volume.
//!
//! Not here: viscosity (see [`crate::collision::spread`]) and the draining of the gas film, on which bouncing turns: water drops of
//! millimetres in air at 1 bar usually do not bounce head-on \[HuangPan2021\].

use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, required};
use crate::validity::Validity;

/// What becomes of two drops that meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// They pass each other.
    Miss,
    /// They rebound with the gas film between them unbroken.
    Bounce,
    /// They become one.
    Merge,
    /// They merge, stretch along the line of flight after a near head-on impact, and part.
    ReflexiveSeparation,
    /// They merge in passing and are torn apart.
    StretchingSeparation,
}

/// Weber number above which drops that merged near head-on part again; infinite where no speed parts them.
///
/// # Errors
/// [`TheoryError::Quantity`] for an `offset` outside 0 to 1 or a `ratio` of diameters outside (0, 1].
///
/// ```
/// use tremolet_theory::collision::boundary::reflexive;
/// assert!((reflexive(0.0, 1.0)? - 18.670_844_182_664).abs() < 1e-11);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn reflexive(offset: f64, ratio: f64) -> Result<f64, TheoryError> {
    let inverse = inverse_reflexive(offset_within(offset)?, ratio_within(ratio)?);
    Ok(if inverse > 0.0 {
        1.0 / inverse
    } else {
        f64::INFINITY
    })
}

/// Weber number above which drops that merged off centre are torn apart; infinite head-on, zero when grazing.
///
/// # Errors
/// As [`reflexive`].
pub fn stretching(offset: f64, ratio: f64) -> Result<f64, TheoryError> {
    let (b, d) = (offset_within(offset)?, ratio_within(ratio)?);
    let (small, large) = shares(b, d);
    let d3 = d.powi(3);
    let room = (1.0 + d3) - (1.0 - b * b) * (small + d3 * large);
    let held = (3.0 * (1.0 + d) * (1.0 - b) * (d3 * small + large)).sqrt();
    Ok(4.0 * (1.0 + d3).powi(2) * held / (d * d * room))
}

/// Weber number below which drops bounce if the gas film between them lasts; infinite when grazing. `shape` is [`SHAPE`] unless
/// measured for the liquid.
///
/// # Errors
/// As [`reflexive`]; a `shape` that is not above 3.
pub fn bounce(offset: f64, ratio: f64, shape: f64) -> Result<f64, TheoryError> {
    let (b, d) = (offset_within(offset)?, ratio_within(ratio)?);
    required("shape factor", shape, shape > 3.0, "a number above 3")?;
    let share = overlap((1.0 - b) * (1.0 + d), 1.0);
    Ok(d * (1.0 + d * d) * (4.0 * shape - 12.0) / (share * (1.0 - b * b)))
}

/// Shape factor at the greatest flattening \[Estrade1999\], from memory; fitted to ethanol.
pub const SHAPE: f64 = 3.351;

/// Offset and Weber number at which the reflexive and the stretching limit cross: below it in offset the first parts drops, above the second.
///
/// # Errors
/// [`TheoryError::Quantity`] for a `ratio` outside (0, 1], [`TheoryError::Root`] if the search fails.
pub fn crossing(ratio: f64) -> Result<(f64, f64), TheoryError> {
    let d = ratio_within(ratio)?;
    let gap = |b: f64| inverse_reflexive(b, d) - stretching(b, d).map_or(f64::NAN, |we| 1.0 / we);
    let what = "crossing of the reflexive and the stretching limit";
    let found = bracketed(gap, 0.0, 0.5, 1e-14).map_err(|source| TheoryError::Root { what, source })?;
    Ok((found.root, stretching(found.root, d)?))
}

/// What the limits say of drops that meet with this Weber number. Without `film_lasts` bouncing is left out.
///
/// # Errors
/// [`TheoryError::Quantity`] for a Weber number or offset below zero, or a `ratio` outside (0, 1].
pub fn outcome(weber: f64, offset: f64, ratio: f64, film_lasts: bool) -> Result<Outcome, TheoryError> {
    required("Weber number", weber, weber >= 0.0, "zero or a positive number")?;
    required("offset", offset, offset >= 0.0, "zero or a positive number")?;
    if offset >= 1.0 {
        return Ok(Outcome::Miss);
    }
    if film_lasts && weber < bounce(offset, ratio, SHAPE)? {
        return Ok(Outcome::Bounce);
    }
    if weber > reflexive(offset, ratio)? {
        return Ok(Outcome::ReflexiveSeparation);
    }
    if weber > stretching(offset, ratio)? {
        return Ok(Outcome::StretchingSeparation);
    }
    Ok(Outcome::Merge)
}

/// Range in which the two limits of separation were compared with experiments on water (from memory): `ohnesorge` number of the smaller
/// drop (by its radius), `ratio` of diameters, `weber` number.
pub fn validity(weber: f64, ratio: f64, ohnesorge: f64) -> Validity {
    Validity::always()
        .with("Ohnesorge number", ohnesorge, 0.0, 0.02)
        .with("ratio of diameters", ratio, 0.5, 1.0)
        .with("Weber number", weber, 0.0, 100.0)
}

/// 1 / We of the reflexive limit, below zero where there is none: continuous in the offset.
fn inverse_reflexive(b: f64, d: f64) -> f64 {
    let (x, d3) = (0.5 * b * (1.0 + d), d.powi(3));
    let large = 2.0 * (1.0 - x).powi(2) * (1.0 - x * x).max(0.0).sqrt() - 1.0;
    let small = 2.0 * (d - x).powi(2) * (d * d - x * x).max(0.0).sqrt() - d3;
    let surface = 7.0 * (1.0 + d3).powf(2.0 / 3.0) - 4.0 * (1.0 + d * d);
    (d.powi(6) * large + small) / (3.0 * surface * d * (1.0 + d3).powi(2))
}

/// Shares of the small and of the large drop inside the slab of overlap.
fn shares(b: f64, d: f64) -> (f64, f64) {
    let height = (1.0 - b) * (1.0 + d);
    (overlap(height, d), overlap(height, 1.0))
}

/// Share of a ball of `radius` in a cap of `height`.
fn overlap(height: f64, radius: f64) -> f64 {
    if height >= 2.0 * radius {
        return 1.0;
    }
    height * height * (3.0 * radius - height) / (4.0 * radius.powi(3))
}

fn offset_within(offset: f64) -> Result<f64, TheoryError> {
    required(
        "offset",
        offset,
        (0.0..=1.0).contains(&offset),
        "a number from 0 to 1",
    )
}

fn ratio_within(ratio: f64) -> Result<f64, TheoryError> {
    required(
        "ratio of diameters",
        ratio,
        ratio > 0.0 && ratio <= 1.0,
        "smaller over larger, above 0 and up to 1",
    )
}

/// Range of the experiments behind the bouncing limit (from memory): ethanol drops of 80 to 300 micrometres in air at 1 bar; `diameter` of the smaller drop (m), `ohnesorge`
/// number by its radius.
pub fn bounce_validity(diameter: f64, ohnesorge: f64) -> Validity {
    Validity::always()
        .with("diameter of the smaller drop in m", diameter, 8e-5, 3e-4)
        .with("Ohnesorge number", ohnesorge, 0.01, 0.05)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, due: f64, digits: f64) {
        assert!((found - due).abs() < digits, "{found} against {due}");
    }

    // Ashgriz & Poo 1990, recomputed independently from the formula; head-on and equal it is 6 (7 x 2^(2/3) - 8).
    #[test]
    fn the_reflexive_limit() {
        close(
            reflexive(0.0, 1.0).unwrap(),
            6.0 * (7.0 * 4.0_f64.powf(1.0 / 3.0) - 8.0),
            1e-12,
        );
        close(reflexive(0.0, 0.75).unwrap(), 19.726_307_318, 1e-9);
        close(reflexive(0.0, 0.5).unwrap(), 34.719_438_295, 1e-9);
        let rows = [
            (0.05, 23.258_826),
            (0.1, 30.513_916),
            (0.15, 43.557_189),
            (0.2, 73.467_129),
            (0.25, 209.134_883),
        ];
        for (offset, due) in rows {
            close(reflexive(offset, 1.0).unwrap(), due, 6e-7);
        }
        assert_eq!(reflexive(0.5, 1.0).unwrap(), f64::INFINITY);
    }

    // Ashgriz & Poo 1990, recomputed independently: offsets 0.2, 0.3, ... 0.9.
    #[test]
    fn the_stretching_limit() {
        let equal = [
            167.783_092,
            71.642_724,
            37.921_348,
            22.170_250,
            13.422_616,
            7.927_864,
            4.152_259,
            1.474_267,
        ];
        let half = [
            387.213_391,
            190.120_525,
            93.242_379,
            42.655_351,
            21.365_166,
            11.161_817,
            5.448_272,
            1.875_824,
        ];
        for (k, (one, two)) in equal.into_iter().zip(half).enumerate() {
            let offset = 0.2 + 0.1 * k as f64;
            close(stretching(offset, 1.0).unwrap(), one, 6e-7);
            close(stretching(offset, 0.5).unwrap(), two, 6e-7);
        }
        assert_eq!(stretching(0.0, 1.0).unwrap(), f64::INFINITY);
        assert_eq!(stretching(1.0, 0.7).unwrap(), 0.0);
    }

    // Estrade et al. 1999, recomputed independently.
    #[test]
    fn the_bouncing_limit() {
        let rows = [
            (0.0, 2.808),
            (0.2, 3.264_509),
            (0.4, 5.158_730),
            (0.6, 12.464_489),
            (0.8, 75.0),
        ];
        for (offset, due) in rows {
            close(bounce(offset, 1.0, SHAPE).unwrap(), due, 6e-7);
        }
    }

    // A share runs from nothing to all. The misprinted one, 1 - (2 - t)^2 (1 + t) / (4 D^3), gives -5.75 for D = t = 1/2, where it is a half.
    #[test]
    fn a_share_is_a_share() {
        assert_eq!(overlap(1.0, 0.5), 1.0);
        close(overlap(0.5, 0.5), 0.5, 1e-15);
        close(overlap(1.0, 1.0), 0.5, 1e-15);
        // Both printed branches: (2 r - t)^2 (r + t) / (4 r^3) is what is left out.
        for (height, radius) in [(0.3, 0.5), (0.8, 0.5), (0.8, 1.0), (1.7, 1.0)] {
            let out = (2.0 * radius - height) * (2.0 * radius - height) * (radius + height);
            close(overlap(height, radius), 1.0 - out / (4.0 * radius.powi(3)), 1e-14);
        }
    }

    // Recomputed independently by another search.
    #[test]
    fn where_the_two_separations_meet() {
        let rows = [
            (1.0, 0.231_154_1, 124.282_24),
            (0.75, 0.223_093_5, 164.248_94),
            (0.5, 0.180_080_5, 453.349_55),
        ];
        for (ratio, offset, weber) in rows {
            let (b, we) = crossing(ratio).unwrap();
            close(b, offset, 6e-8);
            close(we, weber, 6e-6 * weber.max(100.0) / 100.0);
        }
    }

    #[test]
    fn outcomes_lie_on_their_sides() {
        let at = |we, b, film| outcome(we, b, 1.0, film).unwrap();
        assert_eq!(at(1.0, 0.0, true), Outcome::Bounce);
        assert_eq!(at(1.0, 0.0, false), Outcome::Merge);
        assert_eq!(at(18.6, 0.0, true), Outcome::Merge);
        assert_eq!(at(18.7, 0.0, true), Outcome::ReflexiveSeparation);
        assert_eq!(at(22.1, 0.5, false), Outcome::Merge);
        assert_eq!(at(22.2, 0.5, false), Outcome::StretchingSeparation);
        assert_eq!(at(22.2, 1.1, false), Outcome::Miss);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(reflexive(-0.1, 1.0).is_err() && reflexive(0.1, 1.2).is_err());
        assert!(stretching(0.1, 0.0).is_err() && bounce(0.1, 1.0, 3.0).is_err());
        assert!(outcome(-1.0, 0.1, 1.0, true).is_err() && outcome(f64::NAN, 0.1, 1.0, true).is_err());
        assert!(crossing(2.0).is_err());
        assert!(validity(50.0, 0.8, 0.01).holds() && !validity(50.0, 0.8, 0.5).holds());
    }

    #[test]
    fn bouncing_was_seen_on_small_drops_of_ethanol() {
        assert!(bounce_validity(2e-4, 0.025).holds());
        assert!(!bounce_validity(2e-3, 0.025).holds() && !bounce_validity(2e-4, 0.005).holds());
    }
}
