//! What different authors give for the same limit: the honest width beside a formula.
//!
//! ```text
//! reflexive, head-on, equal drops     6 (7 x 2^(2/3) - 8)                     |  30 Oh* + 15,   Oh* = 16 mu / sqrt(rho sigma R)
//! stretching                          see collision::boundary                 |  We B^2 = 4.8 (1 + D^2 - V^(2/3)) V^(11/3) / (D^5 (1 + D)^2)
//! ```
//! The last lets a pair part when its rotation as one sphere holds the energy of the surface that the two had more.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `We`, `B`, `D` | Weber number with the smaller diameter, offset, ratio of diameters (0 to 1) | 1 |
//! | `V = 1 + D^3` | volume of both, in volumes of the larger | 1 |
//! | `mu`, `rho`, `sigma`, `R` | viscosity, density, tension, radius of the liquid drops | Pa s, kg/m^3, N/m, m |
//!
//! Sources: \[AshgrizPoo1990\], \[QianLaw1997\] (law and the meaning of `Oh*` from memory), \[BrazierSmith1972\] (their idea; the
//! closed form is derived here and their fit `4.8 (g^3 - 2.4 g^2 + 2.7 g)`, `g = 1/D`, from memory, follows it within 4 %),
//! \[Estrade1999\], \[HuangPan2021\] (abstract read). No measured points stand here: none could be seen.

use crate::collision::boundary;
use crate::error::{TheoryError, positive, required};

/// One author's value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The value; what it is the function says.
    pub value: f64,
    /// Author, year, and what it rests on.
    pub source: &'static str,
    /// Whether it was written down from memory.
    pub from_memory: bool,
}

/// Least and greatest of some readings; none of none.
///
/// ```
/// use tremolet_theory::collision::spread::{range, reflexive};
/// let (least, most) = range(&reflexive(0.001)?).expect("two readings");
/// assert!(least < 19.0 && most > 15.0);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn range(readings: &[Reading]) -> Option<(f64, f64)> {
    let first = readings.first()?.value;
    let ends = |(low, high): (f64, f64), reading: &Reading| (low.min(reading.value), high.max(reading.value));
    Some(readings.iter().fold((first, first), ends))
}

/// Weber number (by the diameter) above which equal drops part after a head-on impact; `ohnesorge` number by the radius, with prefactor 1.
///
/// # Errors
/// [`TheoryError::Quantity`] for an Ohnesorge number that is not positive.
pub fn reflexive(ohnesorge: f64) -> Result<Vec<Reading>, TheoryError> {
    let ohnesorge = positive("Ohnesorge number", ohnesorge)?;
    Ok(vec![
        Reading {
            value: boundary::reflexive(0.0, 1.0)?,
            source: "Ashgriz and Poo 1990: energy without viscosity, compared with water",
            from_memory: true,
        },
        Reading {
            value: 15.0 + 30.0 * 16.0 * ohnesorge,
            source: "Qian and Law 1997: line through alkanes and water, 30 Oh + 15 with 16 in their Oh",
            from_memory: true,
        },
    ])
}

/// Weber number (by the smaller diameter) above which drops that merged with this `offset` and `ratio` of diameters are torn apart.
///
/// # Errors
/// [`TheoryError::Quantity`] for an offset outside (0, 1] or a ratio outside (0, 1].
pub fn stretching(offset: f64, ratio: f64) -> Result<Vec<Reading>, TheoryError> {
    required(
        "offset",
        offset,
        offset > 0.0 && offset <= 1.0,
        "a number above 0 and up to 1",
    )?;
    Ok(vec![
        Reading {
            value: boundary::stretching(offset, ratio)?,
            source: "Ashgriz and Poo 1990: kinetic energy of what does not overlap",
            from_memory: true,
        },
        Reading {
            value: parting(ratio) / (offset * offset),
            source: "Brazier-Smith, Jennings and Latham 1972: energy of rotation, closed form derived here",
            from_memory: false,
        },
    ])
}

/// Weber number below which drops bounce: nothing, where the gas film breaks at once, and the limit where it lasts.
///
/// # Errors
/// As [`boundary::bounce`].
pub fn bounce(offset: f64, ratio: f64) -> Result<Vec<Reading>, TheoryError> {
    Ok(vec![
        Reading {
            value: 0.0,
            source: "Huang and Pan 2021: small water drops in air at 1 bar do not bounce head-on, larger ones do",
            from_memory: false,
        },
        Reading {
            value: boundary::bounce(offset, ratio, boundary::SHAPE)?,
            source: "Estrade et al. 1999: ethanol in air at 1 bar",
            from_memory: true,
        },
    ])
}

/// We B^2 of the balance of rotation and surface.
fn parting(d: f64) -> f64 {
    let volume = 1.0 + d.powi(3);
    let surface = 1.0 + d * d - volume.powf(2.0 / 3.0);
    4.8 * surface * volume.powf(11.0 / 3.0) / (d.powi(5) * (1.0 + d).powi(2))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Energies summed drop by drop in validation/theory/collision.py.
    #[test]
    fn parting_by_rotation() {
        let rows = [
            (1.0, 0.2, 157.190_400_995),
            (1.0, 0.8, 9.824_400_062),
            (0.5, 0.5, 70.785_636_276),
        ];
        for (ratio, offset, due) in rows {
            let found = stretching(offset, ratio).unwrap()[1].value;
            assert!((found / due - 1.0).abs() < 1e-9, "{found}");
            let g = 1.0 / ratio;
            let fit = 4.8 * (g.powi(3) - 2.4 * g * g + 2.7 * g) / (offset * offset);
            assert!((fit / found - 1.0).abs() < 0.04, "{fit} {found}");
        }
    }

    // By hand: 15 + 480 x 0.01 = 19.8; the order of the ends does not matter.
    #[test]
    fn the_width_is_that_of_its_readings() {
        let both = reflexive(0.01).unwrap();
        let (least, most) = range(&both).unwrap();
        assert!((least - 18.670_844).abs() < 1e-6 && (most - 19.8).abs() < 1e-12);
        let (least, most) = range(&reflexive(1e-6).unwrap()).unwrap();
        assert!((least - 15.000_48).abs() < 1e-9 && (most - 18.670_844).abs() < 1e-6);
        assert!(range(&[]).is_none());
        let (none, some) = range(&bounce(0.0, 1.0).unwrap()).unwrap();
        assert!(none == 0.0 && (some - 2.808).abs() < 1e-12);
        assert!(reflexive(0.0).is_err() && stretching(0.0, 1.0).is_err());
    }
}
