//! Uncertainty budget and coverage interval of an estimate.
//!
//! ```text
//! share_i = (c_i u_i)^2 / u^2(y),      nu_eff = u^4(y) / sum_i (c_i u_i)^4 / nu_i,
//! interval = y +- t_{0.975}(nu_eff) u(y)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `c_i u_i` | part of input i, see `matter::uncertain` | unit of y |
//! | `nu_i`, `nu_eff` | degrees of freedom, effective by Welch-Satterthwaite | 1 |
//! | `t` | quantile of Student's distribution | 1 |
//!
//! Parts whose keys differ only behind ` #` (the independent directions of one fit) are one line; those of them with the same degrees of
//! freedom rest on one estimate of noise, others on estimates of their own. Source:
//! \[JCGM100\] section 5.1.2, equation G.2b and table G.2. Valid where the linear propagation is.

use tremolet_matter::uncertain::Uncertain;
use tremolet_numerics::statistics::student_quantile;

/// One line of a budget.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetLine {
    /// The input, in plain words.
    pub input: String,
    /// Its standard uncertainty, in `unit`; absent for a fit, which has many directions.
    pub standard_uncertainty: Option<f64>,
    /// Unit of the input's uncertainty.
    pub unit: String,
    /// Sensitivity, unit of the estimate (SI) per `unit`; absent for a fit.
    pub sensitivity: Option<f64>,
    /// Share of the variance, 0 to 1.
    pub share: f64,
    /// Degrees of freedom behind the input; infinite when taken as known.
    pub degrees_of_freedom: f64,
}

/// The budget, largest share first; empty for an exact value.
///
/// ```
/// use tremolet_infer::budget::budget;
/// use tremolet_matter::uncertain::{Input, Uncertain};
/// let input = |key: &str, u: f64| Input {
///     key: key.into(), unit: "m".into(), standard_uncertainty: u, degrees_of_freedom: 9.0, source: "example".into(),
/// };
/// let y = Uncertain::exact(1.0).with_input(3.0, input("a", 3.0)).with_input(4.0, input("b", 4.0));
/// let lines = budget(&y);
/// assert_eq!(lines[0].input, "b");
/// assert!((lines[0].share - 0.64).abs() < 1e-12);
/// ```
pub fn budget(value: &Uncertain) -> Vec<BudgetLine> {
    let total: f64 = value.parts().iter().map(|part| part.contribution.powi(2)).sum();
    let mut lines: Vec<BudgetLine> = Vec::new();
    let mut noises: Vec<Vec<(f64, f64)>> = Vec::new();
    for part in value.parts() {
        let (name, direction) = match part.input.key.split_once(" #") {
            Some((name, _)) => (name, true),
            None => (part.input.key.as_str(), false),
        };
        let share = part.contribution.powi(2) / total;
        let freedom = part.input.degrees_of_freedom;
        if let Some(place) = lines.iter().position(|line| line.input == name) {
            lines[place].share += share;
            add(&mut noises[place], freedom, share);
            continue;
        }
        noises.push(vec![(freedom, share)]);
        let own = part.input.standard_uncertainty;
        lines.push(BudgetLine {
            input: name.to_string(),
            standard_uncertainty: (!direction).then_some(own),
            unit: part.input.unit.clone(),
            sensitivity: (!direction && own > 0.0).then(|| part.contribution / own),
            share,
            degrees_of_freedom: freedom,
        });
    }
    for (line, noises) in lines
        .iter_mut()
        .zip(noises)
        .filter(|(_, noises)| noises.len() > 1)
    {
        let each = noises.iter().map(|(freedom, share)| share.powi(2) / freedom);
        line.degrees_of_freedom = line.share.powi(2) / each.sum::<f64>();
    }
    lines.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.input.cmp(&b.input)));
    lines
}

/// Adds a share to that of the estimate of noise with these degrees of freedom.
fn add(noises: &mut Vec<(f64, f64)>, freedom: f64, share: f64) {
    match noises.iter_mut().find(|(known, _)| *known == freedom) {
        Some((_, sum)) => *sum += share,
        None => noises.push((freedom, share)),
    }
}

/// Effective degrees of freedom from a budget; infinite when every input is taken as known.
pub fn degrees_of_freedom(lines: &[BudgetLine]) -> f64 {
    let sum: f64 = lines
        .iter()
        .map(|line| line.share.powi(2) / line.degrees_of_freedom)
        .sum();
    if sum == 0.0 { f64::INFINITY } else { 1.0 / sum }
}

/// The symmetric 95 % coverage interval of a value with its budget, in the unit of the value.
pub fn interval_95(value: &Uncertain, lines: &[BudgetLine]) -> [f64; 2] {
    let freedom = degrees_of_freedom(lines);
    let factor = if freedom.is_finite() {
        student_quantile(0.975, freedom)
    } else {
        1.959_963_984_540_054
    };
    let half = factor * value.standard_uncertainty();
    [value.value() - half, value.value() + half]
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

    // Student's t for 95 %: 2.776 at 4 degrees of freedom, 1.960 at infinity. JCGM 100:2008 table G.2, from memory.
    #[test]
    fn the_interval_widens_with_few_degrees_of_freedom() {
        let few = Uncertain::exact(10.0).with_input(1.0, input("a", 4.0));
        let many = Uncertain::exact(10.0).with_input(1.0, input("a", f64::INFINITY));
        let interval = interval_95(&few, &budget(&few));
        assert!((interval[1] - 12.776).abs() < 1e-3 && (interval[0] - 7.224).abs() < 1e-3);
        assert!((interval_95(&many, &budget(&many))[1] - 11.960).abs() < 1e-3);
    }

    #[test]
    fn directions_of_one_fit_are_one_line_with_one_freedom() {
        let y = Uncertain::exact(1.0)
            .with_input(3.0, input("fit #1", 12.0))
            .with_input(4.0, input("fit #2", 12.0));
        let lines = budget(&y);
        assert_eq!(lines.len(), 1);
        assert!((lines[0].share - 1.0).abs() < 1e-12);
        assert!((degrees_of_freedom(&lines) - 12.0).abs() < 1e-12);
    }

    // Welch and Satterthwaite by hand: shares 0.2 + 0.3 at 12 and 0.5 at 4 give 1 / (0.25/12 + 0.25/4) = 12.
    #[test]
    fn lines_of_one_fit_with_noises_of_their_own() {
        let y = Uncertain::exact(1.0)
            .with_input(0.2_f64.sqrt(), input("fit #0", 12.0))
            .with_input(0.3_f64.sqrt(), input("fit #1", 12.0))
            .with_input(0.5_f64.sqrt(), input("fit #2", 4.0));
        let lines = budget(&y);
        assert_eq!(lines.len(), 1);
        assert!((lines[0].degrees_of_freedom - 12.0).abs() < 1e-12);
    }

    #[test]
    fn an_exact_value_has_an_interval_of_no_width() {
        let y = Uncertain::exact(2.0);
        assert_eq!(interval_95(&y, &budget(&y)), [2.0, 2.0]);
    }
}
