//! Where the uncertainty of an estimate comes from: the share of each input in the variance.

use tremolet_record::findings::{BudgetLine, Estimate};

use crate::figure::chart::Drawing;
use crate::figure::rows::{Kind, NamedRow, RowChart, draw_rows};
use crate::number::{per_cent, shown};
use crate::plot::amplitude::WIDTH;
use crate::text::{listed, slug, words};

/// The drawing of one budget; `None` when there is none. `place` tells estimates of one quantity apart.
pub fn budget(estimate: &Estimate, place: usize, several: bool) -> Option<Drawing> {
    if estimate.budget.is_empty() {
        return None;
    }
    let whose = if several {
        format!(" of body {}", estimate.body)
    } else {
        String::new()
    };
    let quantity = words(&estimate.quantity);
    let rows = rows(estimate);
    let said: Vec<String> = estimate
        .budget
        .iter()
        .map(|line| format!("{} {}", name(line), per_cent(line.share)))
        .collect();
    let most = estimate
        .budget
        .iter()
        .map(|l| 100.0 * l.share)
        .fold(0.0, f64::max);
    let u = shown(
        estimate.value,
        Some(estimate.standard_uncertainty),
        &estimate.unit,
    );
    Some(draw_rows(&RowChart {
        name: slug(&format!(
            "budget-{}-{}-{}",
            place + 1,
            estimate.quantity,
            estimate.body
        )),
        title: format!("{quantity}{whose}: where the uncertainty comes from"),
        caption: format!(
            "{quantity}{whose}, {}: share of each input in the variance, which is the square of the standard \
             uncertainty {}; u is the standard uncertainty of the input itself. To know the result better, improve \
             the longest bar first.",
            estimate.route,
            u.u_text()
        ),
        description: format!("Shares of the variance: {}.", listed(&said)),
        width: WIDTH,
        axis: "share of the variance / %".to_owned(),
        range: (0.0, if most > 50.0 { 100.0 } else { 50.0 }),
        kind: Kind::Bar,
        shaded: None,
        rows,
    }))
}

/// Shares below this are gathered into one row when there are several.
const SMALL: f64 = 0.005;

fn rows(estimate: &Estimate) -> Vec<NamedRow> {
    let (small, large): (Vec<&BudgetLine>, Vec<&BudgetLine>) =
        estimate.budget.iter().partition(|line| line.share < SMALL);
    let (small, large) = if small.len() < 3 {
        (Vec::new(), estimate.budget.iter().collect())
    } else {
        (small, large)
    };
    let mut rows: Vec<NamedRow> = large.into_iter().map(row).collect();
    if !small.is_empty() {
        let share: f64 = small.iter().map(|line| line.share).sum();
        rows.push(NamedRow {
            name: format!("{} further inputs", small.len()),
            value: 100.0 * share,
            number: format!("{} together", per_cent(share)),
        });
    }
    rows
}

/// A key of the experiment file as it stands there, any other name in words.
fn name(line: &BudgetLine) -> String {
    if line.input.contains('.') {
        line.input.clone()
    } else {
        line.input.replace('_', " ")
    }
}

fn row(line: &BudgetLine) -> NamedRow {
    let u = line.standard_uncertainty;
    let u = shown(u, Some(u), &line.unit).u_text();
    NamedRow {
        name: name(line),
        value: 100.0 * line.share,
        number: format!("{}  (u = {u})", per_cent(line.share)),
    }
}

#[cfg(test)]
mod tests {
    use super::budget;
    use tremolet_record::findings::{BudgetLine, Estimate};

    fn estimate(shares: &[f64]) -> Estimate {
        let line = |(i, share): (usize, &f64)| BudgetLine {
            input: format!("input_{i}"),
            standard_uncertainty: 7.1e-7,
            unit: "N/m".into(),
            sensitivity: 1.0,
            share: *share,
        };
        Estimate {
            quantity: "surface_tension".into(),
            body: 1,
            value: 0.07,
            unit: "N/m".into(),
            standard_uncertainty: 0.001,
            degrees_of_freedom: None,
            interval_95: [0.068, 0.072],
            coverage: None,
            route: "test".into(),
            method: None,
            reference: None,
            normalised_deviation: None,
            budget: shares.iter().enumerate().map(line).collect(),
            assumptions: Vec::new(),
            explanation: None,
        }
    }

    #[test]
    fn small_shares_are_gathered_but_none_is_lost() {
        let drawing = budget(&estimate(&[0.97, 0.02, 0.004, 0.003, 0.003]), 0, false).unwrap();
        assert!(drawing.content.contains("3 further inputs"));
        assert!(drawing.content.contains("1\u{a0}% together"));
        assert!(drawing.content.contains("input 1") && !drawing.content.contains("input 2"));
        assert!(drawing.description.contains("input 4"), "the words name them all");
        let few = budget(&estimate(&[0.98, 0.016, 0.004]), 0, false).unwrap();
        assert!(few.content.contains("input 2") && !few.content.contains("further"));
        assert!(few.content.contains("0.00071\u{a0}mN/m"));
    }
}
