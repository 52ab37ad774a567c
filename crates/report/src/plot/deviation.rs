//! How far what was found lies from the truth of a painted clip, in standard uncertainties.

use crate::figure::chart::Drawing;
use crate::figure::rows::{Kind, NamedRow, RowChart, draw_rows};
use crate::input::TruthRow;
use crate::number::fixed;
use crate::plot::amplitude::WIDTH;
use crate::text::words;

/// The drawing of all normalised deviations; `None` without any.
pub fn deviations(rows: &[TruthRow]) -> Option<Drawing> {
    let rows: Vec<NamedRow> = rows
        .iter()
        .filter_map(|row| {
            let deviation = row.deviation.filter(|d| d.is_finite())?;
            Some(NamedRow {
                name: words(&row.quantity),
                value: deviation,
                number: fixed(deviation, 1),
            })
        })
        .collect();
    let most = rows.iter().map(|r| r.value.abs()).reduce(f64::max)?;
    let end = most.max(3.0).ceil().min(10.0);
    let inside = rows.iter().filter(|r| r.value.abs() <= 2.0).count();
    Some(draw_rows(&RowChart {
        name: "deviations-from-truth".to_owned(),
        title: "Found against true, in standard uncertainties".to_owned(),
        caption: "Each dot is found less true, divided by its standard uncertainty. Honest uncertainties put about 19 \
                  of 20 dots into the shaded part."
            .to_owned(),
        description: format!("{inside} of {} deviations lie within two standard uncertainties.", rows.len()),
        width: WIDTH,
        axis: "(found − true) / standard uncertainty".to_owned(),
        range: (-end, end),
        kind: Kind::Dot,
        shaded: Some((-2.0, 2.0)),
        rows,
    }))
}
