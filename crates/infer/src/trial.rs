//! Trials: all inputs of some values drawn at once, so that what values share is drawn once.
//!
//! ```text
//! x_i - <x_i> = u_i z_i,     y = <y> + sum_i (c_i u_i) z_i,     z normal, or of Student's distribution with nu_i degrees of freedom
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z_i` | drawn deviation of input i over its standard uncertainty | 1 |
//! | `c_i u_i` | part of input i in a value, see `matter::uncertain` | unit of the value |
//!
//! An input whose standard uncertainty rests on few values has Student's distribution; inputs whose keys differ only behind ` #` are the
//! directions of one fit, and those of them with the same degrees of freedom share the one variance that was estimated, so they are drawn from
//! the distribution of many dimensions.
//! Source: \[JCGM101\] section 6.4 (normal 6.4.7, multivariate normal 6.4.8, Student 6.4.9), numbers from memory. An input stated by limits
//! counts as normal with its standard uncertainty, as everywhere in this program.

use std::collections::BTreeMap;

use tremolet_matter::uncertain::Uncertain;
use tremolet_numerics::random::Generator;

/// Degrees of freedom from which Student's distribution has the moments that trials are judged by.
const LEAST_FREEDOM: f64 = 5.0;

/// The inputs behind some values, and their last drawing.
#[derive(Debug, Clone)]
pub struct Inputs {
    places: BTreeMap<String, usize>,
    /// Place in `freedoms` of each input; none for a normal one.
    families: Vec<Option<usize>>,
    freedoms: Vec<f64>,
    drawn: Vec<f64>,
    factors: Vec<f64>,
}

/// A value as a sum over drawn inputs.
#[derive(Debug, Clone)]
pub struct Sum {
    middle: f64,
    terms: Vec<(usize, f64)>,
}

impl Inputs {
    /// The inputs of these values, each once.
    pub fn of<'a>(values: impl IntoIterator<Item = &'a Uncertain>) -> Self {
        let mut found = Self {
            places: BTreeMap::new(),
            families: Vec::new(),
            freedoms: Vec::new(),
            drawn: Vec::new(),
            factors: Vec::new(),
        };
        let mut named: BTreeMap<(String, u64), usize> = BTreeMap::new();
        for part in values.into_iter().flat_map(Uncertain::parts) {
            let key = &part.input.key;
            if found.places.contains_key(key) {
                continue;
            }
            found.places.insert(key.clone(), found.families.len());
            let name = key.split_once(" #").map_or(key.as_str(), |(name, _)| name);
            let freedom = part.input.degrees_of_freedom;
            let family = freedom.is_finite().then(|| {
                *named
                    .entry((name.to_string(), freedom.to_bits()))
                    .or_insert_with(|| {
                        found.freedoms.push(freedom);
                        found.freedoms.len() - 1
                    })
            });
            found.families.push(family);
        }
        found.drawn = vec![0.0; found.families.len()];
        found.factors = vec![1.0; found.freedoms.len()];
        found
    }

    /// Whether every input has moments that trials can settle.
    pub fn can_be_drawn(&self) -> bool {
        self.freedoms.iter().all(|freedom| *freedom >= LEAST_FREEDOM)
    }

    /// The value as a sum over these inputs; those it has beside them stay at their best value.
    pub fn sum(&self, value: &Uncertain) -> Sum {
        let parts = value.parts().iter();
        let terms = parts.filter_map(|part| Some((*self.places.get(&part.input.key)?, part.contribution)));
        Sum {
            middle: value.value(),
            terms: terms.collect(),
        }
    }

    /// Draws all inputs anew.
    pub fn draw(&mut self, generator: &mut Generator) {
        for (factor, freedom) in self.factors.iter_mut().zip(&self.freedoms) {
            *factor = (freedom / generator.chi_square(*freedom)).sqrt();
        }
        for (z, family) in self.drawn.iter_mut().zip(&self.families) {
            *z = generator.normal() * family.map_or(1.0, |place| self.factors[place]);
        }
    }

    /// A value for the last drawing.
    pub fn at(&self, sum: &Sum) -> f64 {
        sum.middle
            + sum
                .terms
                .iter()
                .map(|(place, part)| part * self.drawn[*place])
                .sum::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_matter::uncertain::Input;

    fn input(key: &str, degrees_of_freedom: f64) -> Input {
        Input {
            key: key.into(),
            unit: "1".into(),
            standard_uncertainty: 1.0,
            degrees_of_freedom,
            source: "test".into(),
        }
    }

    #[test]
    fn what_is_shared_is_drawn_once() {
        let x = Uncertain::of_input(5.0, 0.2, input("x", f64::INFINITY));
        let y = Uncertain::combine(1.0, &[(&x, -3.0)]).with_input(0.1, input("own", f64::INFINITY));
        let mut inputs = Inputs::of([&x, &y]);
        let (sum_x, sum_y) = (inputs.sum(&x), inputs.sum(&y));
        let mut g = Generator::new(1);
        let (mut squares, runs) = (0.0, 20_000);
        for _ in 0..runs {
            inputs.draw(&mut g);
            let own = inputs.at(&sum_y) - 1.0 + 3.0 * (inputs.at(&sum_x) - 5.0);
            squares += own * own / f64::from(runs);
        }
        // Four standard deviations of a sample variance.
        assert!(
            (squares / 0.01 - 1.0).abs() < 4.0 * (2.0 / f64::from(runs)).sqrt(),
            "{squares}"
        );
    }

    // Two directions of one fit share their variance: for nu degrees of freedom the mean of z1^2 z2^2 over the product of the mean squares
    // is (nu - 2) / (nu - 4), and 1 for independent ones.
    #[test]
    fn directions_of_one_fit_share_their_variance() {
        let fit = Uncertain::exact(0.0)
            .with_input(1.0, input("fit #0", 12.0))
            .with_input(1.0, input("fit #1", 12.0));
        let mut inputs = Inputs::of([&fit]);
        let parts: Vec<Sum> = (0..2)
            .map(|k| Sum {
                middle: 0.0,
                terms: vec![(k, 1.0)],
            })
            .collect();
        let mut g = Generator::new(2);
        let mut sums = [0.0; 3];
        for _ in 0..200_000 {
            inputs.draw(&mut g);
            let (a, b) = (inputs.at(&parts[0]).powi(2), inputs.at(&parts[1]).powi(2));
            sums.iter_mut()
                .zip([a, b, a * b])
                .for_each(|(s, x)| *s += x / 2e5);
        }
        let ratio = sums[2] / (sums[0] * sums[1]);
        assert!((ratio - 1.25).abs() < 0.05, "{ratio}");
        assert!((sums[0] - 1.2).abs() < 0.03, "{}", sums[0]);
        // With degrees of freedom of their own they are independent: 1 instead of 1.25.
        let apart = Uncertain::exact(0.0)
            .with_input(1.0, input("fit #0", 12.0))
            .with_input(1.0, input("fit #1", 12.5));
        let mut drawn = Inputs::of([&apart]);
        let mut sums = [0.0; 3];
        for _ in 0..200_000 {
            drawn.draw(&mut g);
            let (a, b) = (drawn.at(&parts[0]).powi(2), drawn.at(&parts[1]).powi(2));
            sums.iter_mut()
                .zip([a, b, a * b])
                .for_each(|(s, x)| *s += x / 2e5);
        }
        assert!((sums[2] / (sums[0] * sums[1]) - 1.0).abs() < 0.05);
        assert!(
            inputs.can_be_drawn() && !Inputs::of([&fit.with_input(1.0, input("few", 2.0))]).can_be_drawn()
        );
    }
}
