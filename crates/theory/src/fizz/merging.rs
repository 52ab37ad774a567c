//! How often two bubbles meet, what they make, and one course of chance from many to few.
//!
//! ```text
//! Brownian      k = (2 k_B T / (3 mu)) (R_1 + R_2) (1/R_1 + 1/R_2)
//! shear         k = (4/3) G (R_1 + R_2)^3
//! drift         k = pi (R_1 + R_2)^2 |U_1 - U_2|
//! merged        (p + 2 sigma / R) R^3 = sum of the same over both
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `k` | rate of meeting of one pair in a unit of volume | m^3/s |
//! | `R`, `U` | radii, speeds of drift | m, m/s |
//! | `mu`, `T`, `k_B` | viscosity, temperature, Boltzmann's constant | Pa s, K, J/K |
//! | `G` | rate of shear of a stirred liquid | 1/s |
//! | `p`, `sigma` | pressure in the liquid, surface tension | Pa, N/m |
//!
//! Source: \[Smoluchowski1916\] for the first two (from memory), swept volume for the third; \[Gillespie1976\] for the course of chance. Every meeting is taken
//! to end in a merger; bubbles push liquid out of each other's way and meet less often than this, by factors that depend on their
//! surfaces. The gas of a merger stays at its temperature.

use std::f64::consts::PI;

use tremolet_numerics::random::Generator;
use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::fizz::birth::BOLTZMANN;
use crate::validity::Validity;

/// Brownian rate of meeting, m^3/s: `radii` (m), `temperature` (K), dynamic `viscosity` (Pa s). Of account below some micrometres only.
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive.
pub fn brownian([one, two]: [f64; 2], temperature: f64, viscosity: f64) -> Result<f64, TheoryError> {
    let mobility =
        2.0 * BOLTZMANN * positive("temperature", temperature)? / (3.0 * positive("viscosity", viscosity)?);
    let (one, two) = (positive("radius", one)?, positive("radius", two)?);
    Ok(mobility * (one + two) * (1.0 / one + 1.0 / two))
}

/// Rate of meeting in a shear of `rate` (1/s), m^3/s; `radii` in m.
///
/// # Errors
/// [`TheoryError::Quantity`] for radii that are not positive, a negative rate.
pub fn shear([one, two]: [f64; 2], rate: f64) -> Result<f64, TheoryError> {
    let reach = positive("radius", one)? + positive("radius", two)?;
    Ok(4.0 / 3.0 * not_negative("rate of shear", rate)? * reach.powi(3))
}

/// Rate of meeting by drift with two `speeds` (m/s) along one line, m^3/s; `radii` in m.
///
/// # Errors
/// [`TheoryError::Quantity`] for radii that are not positive, speeds that are not finite.
pub fn drift([one, two]: [f64; 2], speeds: [f64; 2]) -> Result<f64, TheoryError> {
    let reach = positive("radius", one)? + positive("radius", two)?;
    let closing = (speeds[0] - speeds[1]).abs();
    Ok(PI * reach * reach * not_negative("difference of the speeds", closing)?)
}

/// Radius of the bubble that two of `radii` (m) make at one temperature, m; `pressure` in the liquid (Pa), `tension` (N/m).
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive but the tension, which may be 0; [`TheoryError::Root`] if the search fails.
pub fn merged_radius([one, two]: [f64; 2], pressure: f64, tension: f64) -> Result<f64, TheoryError> {
    let (one, two) = (positive("radius", one)?, positive("radius", two)?);
    let pull = 2.0 * not_negative("surface tension", tension)? / positive("pressure", pressure)?;
    let content = |r: f64| r * r * (r + pull);
    let both = content(one) + content(two);
    let what = "radius of the merged bubble";
    bracketed(|r| content(r) / both - 1.0, one.max(two), one + two, 0.0)
        .map(|found| found.root)
        .map_err(|source| TheoryError::Root { what, source })
}

/// One course of chance: `times[k]` (s) at which the number of bubbles has fallen to `volumes.len() - 1 - k`, down to one. The bubbles of `volumes`
/// (m^3) are mixed in a `room` (m^3); `kernel` gives the rate of meeting (m^3/s) of two volumes and must not be negative. Volumes add up.
///
/// The cost grows with the cube of the number: meant for up to some hundreds.
///
/// # Errors
/// [`TheoryError::Quantity`] for a room or volume that is not positive, fewer than two bubbles, or bubbles that never meet.
pub fn course(
    volumes: &[f64],
    room: f64,
    kernel: impl Fn(f64, f64) -> f64,
    generator: &mut Generator,
) -> Result<Vec<f64>, TheoryError> {
    positive("room", room)?;
    required(
        "number of bubbles",
        volumes.len() as f64,
        volumes.len() > 1,
        "two or more",
    )?;
    let mut left = volumes.to_vec();
    for volume in volumes {
        positive("volume of a bubble", *volume)?;
    }
    let (mut time, mut times) = (0.0, Vec::with_capacity(volumes.len() - 1));
    while left.len() > 1 {
        let rate = |i: usize, j: usize| kernel(left[i], left[j]) / room;
        let pairs = (0..left.len()).flat_map(|i| (0..i).map(move |j| (i, j)));
        let total: f64 = pairs.clone().map(|(i, j)| rate(i, j)).sum();
        positive("rate of meeting of all pairs", total)?;
        // 1 - uniform is never zero.
        time -= (1.0 - generator.uniform()).ln() / total;
        let (i, j) = drawn(pairs, rate, total * generator.uniform());
        left[j] += left[i];
        left.swap_remove(i);
        times.push(time);
    }
    Ok(times)
}

/// The pair at which the running sum of the rates passes `mark`; the last pair if rounding leaves it short.
fn drawn(
    pairs: impl Iterator<Item = (usize, usize)>,
    rate: impl Fn(usize, usize) -> f64,
    mark: f64,
) -> (usize, usize) {
    let (mut sum, mut last) = (0.0, (1, 0));
    for (i, j) in pairs {
        sum += rate(i, j);
        last = (i, j);
        if sum > mark {
            break;
        }
    }
    last
}

/// Where Brownian meeting rules and holds: larger `radius` (m) up to 5 micrometres.
#[must_use]
pub fn brownian_validity(radius: f64) -> Validity {
    Validity::always().with("radius of the larger bubble in m", radius, 0.0, 5e-6)
}

/// Where meeting by shear holds: Reynolds number of the shear `rate` (1/s) by the sum of the `radii` (m) up to 1, in a liquid of kinematic `viscosity` (m^2/s).
#[must_use]
pub fn shear_validity(radii: [f64; 2], rate: f64, viscosity: f64) -> Validity {
    let reach = radii[0] + radii[1];
    Validity::always().with(
        "Reynolds number of the shear",
        rate * reach * reach / viscosity,
        0.0,
        1.0,
    )
}

/// Where the swept volume is a fair upper bound: bubbles of like size, ratio of `radii` (m) from 0.3 on; small ones are carried round large ones.
#[must_use]
pub fn drift_validity(radii: [f64; 2]) -> Validity {
    let ratio = radii[0].min(radii[1]) / radii[0].max(radii[1]);
    Validity::always().with("ratio of the radii", ratio, 0.3, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fizz::{last::mean_time, population::Kernel};

    // By hand: equal radii give 8 k T / (3 mu) whatever the size; shear 4/3 x 3 x 8; drift pi x 4 x 0.5.
    #[test]
    fn rates_by_hand() {
        let due = 8.0 * 1.380_649e-23 * 300.0 / (3.0 * 1e-3);
        assert!((brownian([1e-6; 2], 300.0, 1e-3).unwrap() / due - 1.0).abs() < 1e-12);
        assert!((shear([1.0; 2], 3.0).unwrap() - 32.0).abs() < 1e-12);
        assert!((drift([1.0; 2], [0.7, 0.2]).unwrap() - 2.0 * PI).abs() < 1e-12);
    }

    // Two of 0.1 mm in water at 1 atm: 0.126115443 mm recomputed independently, to 13 digits in validation/theory/fizz.py; without tension 2^(1/3).
    #[test]
    fn a_merger_lets_its_gas_expand() {
        assert!(
            (merged_radius([1e-4; 2], 101_325.0, 0.072_74).unwrap() - 0.126_115_442_864_9e-3).abs() < 1e-16
        );
        assert!((merged_radius([1e-4; 2], 101_325.0, 0.0).unwrap() / 1e-4 - 2.0_f64.cbrt()).abs() < 1e-14);
    }

    // Mean of many courses against the exact mean time, within four standard deviations of the mean.
    #[test]
    fn courses_agree_with_the_mean_time() {
        let mut generator = Generator::new(11);
        type Rate = fn(f64, f64) -> f64;
        let cases: [(Kernel, Rate); 3] = [
            (Kernel::Constant, |_, _| 1.0),
            (Kernel::Sum, |a, b| a + b),
            (Kernel::Product, |a, b| a * b),
        ];
        for (kernel, rate) in cases {
            for end in [2, 1] {
                let due = mean_time(kernel, 9, end, 1.0, 1.0).unwrap();
                let times: Vec<f64> = (0..4000)
                    .map(|_| course(&[1.0; 9], 1.0, rate, &mut generator).unwrap()[9 - 1 - end as usize])
                    .collect();
                let mean = times.iter().sum::<f64>() / times.len() as f64;
                let variance = times.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / times.len() as f64;
                let deviation = (variance / times.len() as f64).sqrt();
                assert!(
                    (mean - due).abs() < 4.0 * deviation,
                    "{kernel:?} {end}: {mean} {due}"
                );
                assert!(deviation < 0.02 * due);
            }
        }
    }

    #[test]
    fn a_course_goes_down_to_one_and_repeats() {
        let run = || course(&[1.0, 2.0, 3.0, 4.0], 2.0, |a, b| a + b, &mut Generator::new(3)).unwrap();
        let times = run();
        assert_eq!(times.len(), 3);
        assert!(times.windows(2).all(|pair| pair[0] < pair[1]) && times == run());
        let mut generator = Generator::new(1);
        assert!(course(&[1.0], 1.0, |_, _| 1.0, &mut generator).is_err());
        assert!(course(&[1.0, 1.0], 1.0, |_, _| 0.0, &mut generator).is_err());
        assert!(course(&[1.0, -1.0], 1.0, |_, _| 1.0, &mut generator).is_err());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(brownian([0.0, 1.0], 1.0, 1.0).is_err() && shear([1.0; 2], -1.0).is_err());
        assert!(drift([1.0; 2], [f64::NAN, 0.0]).is_err() && merged_radius([1.0; 2], 0.0, 1.0).is_err());
    }

    #[test]
    fn each_rate_has_its_range() {
        assert!(brownian_validity(1e-6).holds() && !brownian_validity(1e-4).holds());
        assert!(
            shear_validity([1e-4; 2], 1.0, 1e-6).holds() && !shear_validity([1e-3; 2], 1.0, 1e-6).holds()
        );
        assert!(drift_validity([1e-4, 2e-4]).holds() && !drift_validity([1e-4, 1e-3]).holds());
    }
}
