//! Where the uncertainty of an estimate comes from: the share of each input in the variance.

use tremolet_record::findings::Estimate;

use crate::figure::chart::Drawing;
use crate::figure::rows::{Kind, NamedRow, RowChart, draw_rows};
use crate::number::{per_cent, shown, signs};
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
    let rows = estimate.budget.iter().map(|line| NamedRow {
        name: line.input.replace('_', " "),
        value: 100.0 * line.share,
        number: format!(
            "{}  (u = {})",
            per_cent(line.share),
            in_unit(line.standard_uncertainty, &line.unit)
        ),
    });
    let rows: Vec<NamedRow> = rows.collect();
    let said: Vec<String> = estimate
        .budget
        .iter()
        .map(|line| format!("{} {}", line.input.replace('_', " "), per_cent(line.share)))
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

/// An uncertainty in the unit of the experiment file, two digits, unconverted.
pub fn in_unit(u: f64, unit: &str) -> String {
    let digits = crate::number::fixed(u, crate::number::decimals(u));
    let sign = signs(unit);
    if sign.is_empty() {
        digits
    } else {
        format!("{digits}\u{a0}{sign}")
    }
}
