//! What would make a record fit that does not: another sign, the other axis, another unit.
//!
//! Each is tried with its own best offset; the likelihoods are compared, all of the same number of unknowns \[Bishop2006\] section 3.4.
//! A hint is no correction: nothing is compared with a record that was changed.

use crate::logged::Sought;
use crate::logged::axis::Axis;
use crate::logged::record::Record;

/// Gain of the logarithm of the likelihood from which a hint is worth telling.
const GAIN: f64 = 10.0;
/// Standard gravity, m/s^2.
const GRAVITY: f64 = 9.80665;
/// What may have happened to a record, and the factor that undoes it.
const FACTORS: &[(&str, f64)] = &[
    ("with the opposite sign", -1.0),
    ("if m/s^2 were standard gravities", GRAVITY),
    ("if standard gravities were m/s^2", 1.0 / GRAVITY),
    ("a thousand times larger", 1e3),
    ("a thousand times smaller", 1e-3),
];
const EXCHANGED: &[(&str, [f64; 2])] = &[
    ("with its axes exchanged", [1.0, 1.0]),
    ("with its axes exchanged, the right one reversed", [-1.0, 1.0]),
    ("with its axes exchanged, the downward one reversed", [1.0, -1.0]),
    ("with its axes exchanged and both reversed", [-1.0, -1.0]),
    ("with the right axis reversed", [-1.0, 1.0]),
    ("with the downward axis reversed", [1.0, -1.0]),
];

/// In words how the record would fit much better than as it stands.
pub fn hint(axes: &[Axis<'_>], sought: &Sought) -> Option<&'static str> {
    let height = |records: &[Record<'_>]| {
        sought.height(&|o| {
            let pairs = axes.iter().zip(records);
            pairs
                .map(|(axis, record)| axis.likelihood_beside(record, o))
                .sum()
        })
    };
    let scaled = |k: usize, factor: f64| axes[k].record().scaled(factor);
    let mut tried: Vec<(&str, Vec<Record<'_>>)> = FACTORS
        .iter()
        .map(|(name, factor)| (*name, (0..axes.len()).map(|k| scaled(k, *factor)).collect()))
        .collect();
    if axes.len() == 2 {
        let pair = |(name, [a, b]): &(&'static str, [f64; 2])| {
            let exchanged = name.contains("exchanged");
            let (first, second) = if exchanged { (1, 0) } else { (0, 1) };
            (*name, vec![scaled(first, *a), scaled(second, *b)])
        };
        tried.extend(EXCHANGED.iter().map(pair));
    }
    let as_it_is: Vec<Record<'_>> = (0..axes.len()).map(|k| scaled(k, 1.0)).collect();
    let base = height(&as_it_is)?;
    let better = tried
        .iter()
        .filter_map(|(name, records)| Some((*name, height(records)? - base)));
    let best = better.max_by(|a, b| a.1.total_cmp(&b.1))?;
    (best.1 > GAIN).then_some(best.0)
}
