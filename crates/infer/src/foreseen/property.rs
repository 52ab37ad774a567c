//! The uncertainty to be expected of surface tension and viscosity, by the very code that measures them.
//!
//! ```text
//! y = y0 + c^T z + ...,   z = L^-1 dp,   L L^T = C:      u_noise^2 = c^T L^-1 C_noise L^-T c,   u_coding^2 alike,   u_swing^2 = c^T c - the rest
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `c` | parts of the result by the directions of the lines' covariance | unit of y |
//! | `C`, `C_noise` | whole covariance of the lines, and that by noise | rad^2/s^2 |
//!
//! What noise does and what is not known of large swings are two lines of the budget here, for one of them is mended by a better
//! picture and the other by a smaller swing. Source: \[JCGM100\] section 5.2.

use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_numerics::least_squares::LeastSquaresError;

use crate::budget::{BudgetLine, budget};
use crate::caution::Caution;
use crate::foreseen::Foreseen;
use crate::property::routes::{Estimate, FIT_INPUT, Known, estimate_linear};

/// Name of the budget line of the noise of the pictures.
pub const NOISE_INPUT: &str = "noise of the pictures (frequencies and decay rates)";
/// Name of the budget line of a coding with loss.
pub const CODING_INPUT: &str = "coding with loss (lag of the outline)";
/// Name of the budget line of the open part of the slowing of large swings.
pub const SWING_INPUT: &str = "slowing of large swings (not known exactly)";

/// One quantity as it will be known.
#[derive(Debug, Clone, PartialEq)]
pub struct Prospect {
    /// Lower_snake name.
    pub quantity: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// Expected value with its parts.
    pub value: Uncertain,
    /// The part of the standard uncertainty that repeats of the run would show as scatter, by noise in frequencies and decay rates.
    pub u_noise: f64,
    /// Largest share first.
    pub budget: Vec<BudgetLine>,
    /// How it will be reached.
    pub route: String,
}

/// What the lines of a planned run and what is known of it determine; with the cautions of the estimate.
///
/// # Errors
/// As [`crate::property::routes::estimate`].
pub fn prospects(
    foreseen: &Foreseen,
    known: &Known,
) -> Result<(Vec<Prospect>, Vec<Caution>), LeastSquaresError> {
    let found = estimate_linear(&foreseen.lines, known)?;
    let prospects = found.estimates.iter().map(|one| prospect(one, foreseen));
    let all = prospects.collect::<Result<_, _>>()?;
    Ok((all, found.cautions))
}

fn prospect(estimate: &Estimate, foreseen: &Foreseen) -> Result<Prospect, LeastSquaresError> {
    let parts = estimate.value.parts();
    let direction = |k: usize| format!("{FIT_INPUT} #{k}");
    let by_direction: Vec<f64> = (0..foreseen.lines.values.len())
        .map(|k| {
            let part = parts.iter().find(|part| part.input.key == direction(k));
            part.map_or(0.0, |part| part.contribution)
        })
        .collect();
    let whole: f64 = by_direction.iter().map(|c| c * c).sum();
    let by_line = foreseen.lines.factor()?.backward(&by_direction);
    let spread = foreseen.of_noise.times(&by_line);
    let noise: f64 = by_line.iter().zip(&spread).map(|(a, b)| a * b).sum();
    let noise = noise.clamp(0.0, whole);
    let pairs = by_line.iter().zip(&foreseen.of_coding);
    let coding = pairs.map(|(c, variance)| c * c * variance).sum::<f64>();
    let coding = coding.clamp(0.0, whole - noise);
    let swing = whole - noise - coding;
    let value = parted(&estimate.value, [noise, coding, swing].map(f64::sqrt));
    Ok(Prospect {
        quantity: estimate.quantity,
        unit: estimate.unit,
        u_noise: noise.sqrt(),
        budget: budget(&value),
        route: estimate.route.clone(),
        value,
    })
}

/// The value with what its fit leaves open as inputs of their own: noise, coding, swings.
fn parted(value: &Uncertain, [noise, coding, swing]: [f64; 3]) -> Uncertain {
    let rest = value
        .parts()
        .iter()
        .filter(|part| !part.input.key.starts_with(FIT_INPUT));
    let input = |key: &str, u: f64| Input {
        key: key.into(),
        unit: "1".into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "foreseen".into(),
    };
    let kept = rest.fold(Uncertain::exact(value.value()), |sum, part| {
        sum.with_input(part.contribution, part.input.as_ref().clone())
    });
    let mut all = kept;
    for (key, u) in [(NOISE_INPUT, noise), (CODING_INPUT, coding), (SWING_INPUT, swing)] {
        if u > 0.0 {
            all = all.with_input(u, input(key, u));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::foreseen::{Expected, Record, lines};
    use crate::ringdown::Options;
    use tremolet_numerics::dense::Matrix;
    use tremolet_theory::modes::host::{Pair, root};

    fn radius(u: f64) -> Uncertain {
        let input = Input {
            key: "scale".into(),
            unit: "m".into(),
            standard_uncertainty: u,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        Uncertain::of_input(0.01, u, input)
    }

    fn known(radius: Uncertain) -> Known {
        Known {
            radius: Some(radius),
            mass: None,
            density: Uncertain::exact(1000.0),
            host_density: Uncertain::exact(1.2),
            host_viscosity: Uncertain::exact(1.8e-5),
            aqueous: false,
            reference_tension: None,
            reference_viscosity: None,
        }
    }

    fn foreseen(amplitude: f64, noise: f64) -> Foreseen {
        let pair = Pair {
            radius: 0.01,
            tension: 0.07,
            density: 1000.0,
            viscosity: 2e-3,
            host_density: 1.2,
            host_viscosity: 1.8e-5,
        };
        let expected: Vec<Expected> = (2..=4)
            .map(|degree| {
                let root = root(degree, &pair).expect("a root");
                Expected {
                    degree,
                    angular_frequency: root.angular_frequency,
                    decay_rate: root.decay,
                    amplitude,
                    phase: 0.0,
                }
            })
            .collect();
        let record = Record {
            rate: 250.0,
            frames: 600,
            exposure: 0.0,
            noise: Matrix::diagonal(&[noise * noise; 7]),
            coded: None,
        };
        lines(&expected, &record, &Options::default(), true)
    }

    // sigma ~ R^3: 0.1 % of scale is 0.3 % of surface tension; the values are those of the drop.
    #[test]
    fn scale_noise_and_swings_have_their_lines() {
        let (all, cautions) = prospects(&foreseen(0.02, 1e-4), &known(radius(1e-5))).expect("determined");
        let tension = all
            .iter()
            .find(|p| p.quantity == "surface_tension")
            .expect("given");
        assert!(cautions.is_empty(), "{cautions:?}");
        assert!((tension.value.value() / 0.07 - 1.0).abs() < 1e-6);
        let u = |name: &str| {
            let part = tension.value.parts().iter().find(|part| part.input.key == name);
            part.expect("in the budget").contribution.abs() / 0.07
        };
        assert!((u("scale") / 3e-3 - 1.0).abs() < 0.01, "{}", u("scale"));
        assert!(u(NOISE_INPUT) > 0.0 && u(SWING_INPUT) > 0.0);
        assert!((u(NOISE_INPUT) * 0.07 / tension.u_noise - 1.0).abs() < 1e-9);
        assert_eq!(tension.budget[0].input, "scale");
        let viscosity = all
            .iter()
            .find(|p| p.quantity == "kinematic_viscosity")
            .expect("given");
        assert!((viscosity.value.value() / 2e-6 - 1.0).abs() < 1e-6);
    }

    // Three modes of like size, each frequency off by d / (A T): for one mode that is 2 d / (A T w) of surface tension.
    #[test]
    fn a_coding_is_a_line_of_its_own() {
        let plain = foreseen(0.02, 1e-5);
        let mut coded = plain.clone();
        let size = 5e-4 / 0.02 / (599.0 / 250.0);
        coded.of_coding = vec![size * size; 6];
        for i in 0..6 {
            coded.lines.covariance.row_mut(i)[i] += size * size;
        }
        let (all, _) = prospects(&coded, &known(radius(1e-9))).expect("determined");
        let part = all[0]
            .value
            .parts()
            .iter()
            .find(|part| part.input.key == CODING_INPUT);
        let share = part.expect("in the budget").contribution / 0.07;
        let squares: f64 = coded.lines.values.iter().step_by(2).map(|w| w * w).sum();
        assert!(
            (share / (2.0 * size / squares.sqrt()) - 1.0).abs() < 0.05,
            "{share}"
        );
        assert_eq!(all[0].budget[0].input, CODING_INPUT);
    }

    #[test]
    fn noise_counts_in_proportion_and_smaller_swings_are_less_open() {
        let part = |amplitude: f64, noise: f64, name: &str| {
            let (all, _) = prospects(&foreseen(amplitude, noise), &known(radius(1e-5))).expect("determined");
            let part = all[0].value.parts().iter().find(|part| part.input.key == name);
            part.map_or(0.0, |part| part.contribution.abs())
        };
        // Where all lines weigh by noise alone it goes in proportion.
        let (one, two) = (part(1e-3, 1e-5, NOISE_INPUT), part(1e-3, 2e-5, NOISE_INPUT));
        assert!((two / one - 2.0).abs() < 0.05, "{one} {two}");
        let (large, small) = (part(0.01, 1e-5, SWING_INPUT), part(0.001, 1e-5, SWING_INPUT));
        assert!(large > 3.0 * small, "{large} {small}");
    }
}
