//! One damped tone with its overtones, fitted to an amplitude.

use tremolet_numerics::least_squares::{Closure, Stop, minimise};

use crate::case::Failure;

/// `a(t) = e^(-d t) [c_1 cos + s_1 sin] + sum over k of (c_k cos k w t + s_k sin k w t) + c_0`.
#[derive(Debug, Clone)]
pub struct Tone {
    /// Angular frequency.
    pub omega: f64,
    /// Decay rate.
    pub decay: f64,
    /// `c_k`, `s_k` from k = 0 (whose `s` is nil).
    pub parts: Vec<[f64; 2]>,
}

/// Fits to samples `(t, a)`, beginning at `omega` and `decay`; `overtones` beyond the first. A decay of 0 is not sought.
///
/// # Errors
/// When the fit fails.
pub fn fit(samples: &[(f64, f64)], omega: f64, decay: f64, overtones: usize) -> Result<Tone, Failure> {
    let damped = decay > 0.0;
    let size = samples.iter().fold(0.0_f64, |most, s| most.max(s.1.abs()));
    let model = |p: &[f64], t: f64| {
        let (omega, decay) = (omega * (1.0 + p[0]), decay * (1.0 + p[1]));
        let fading = (-decay * t).exp();
        let part = |k: usize| {
            let angle = k as f64 * omega * t;
            let share = if k == 1 { fading } else { 1.0 };
            let (c, s) = if k == 0 {
                (p[2], 0.0)
            } else {
                (p[2 * k + 1], p[2 * k + 2])
            };
            share * (c * angle.cos() + s * angle.sin())
        };
        (0..=overtones + 1).map(part).sum::<f64>()
    };
    let problem = Closure {
        count: samples.len() + 1,
        function: |p: &[f64], out: &mut [f64]| {
            for ((t, a), r) in samples.iter().zip(out.iter_mut()) {
                *r = (model(p, *t) - a / size) / 1e-3;
            }
            // Holds the decay where there is none.
            out[samples.len()] = if damped { 0.0 } else { p[1] };
        },
    };
    let mut start = vec![0.0; 2 * overtones + 5];
    start[3] = samples.first().map_or(1.0, |s| s.1 / size);
    let found = minimise(
        &problem,
        &start,
        &[],
        Stop {
            steps: 200,
            tolerance: 1e-12,
        },
    );
    let p = found.map_err(|why| Failure::Refused(why.to_string()))?.parameters;
    let part = |k: usize| {
        if k == 0 {
            [p[2], 0.0]
        } else {
            [p[2 * k + 1], p[2 * k + 2]]
        }
    };
    Ok(Tone {
        omega: omega * (1.0 + p[0]),
        decay: if damped { decay * (1.0 + p[1]) } else { 0.0 },
        parts: (0..=overtones + 1).map(|k| part(k).map(|x| x * size)).collect(),
    })
}
