//! A pattern that turns while it rings, and what its turn does to the lines of one view.
//!
//! ```text
//! s_j(t) = b_j(t) + Re((c_j + d_j t/T) e^{(i w - g) t}),     s_j: size, outline along the axis, outline across it
//! d_j = D c_j + k p c_j' + e_j,     |e_j| of size e alike for all j,     D = (i dw - dg) T
//! u(w) T, u(g) T  +=  e / |c_n|
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s_j` | Fourier coefficients of the outline about its axis, harmonics n, n - 2, ... of a mode of degree n | 1 (over R) |
//! | `b_j` | slow baseline, lines of other degrees, products of larger modes | 1 |
//! | `c_j`, `d_j` | complex amplitude at the start, its change over the record | 1 |
//! | `w`, `g` | angular frequency and decay rate as fitted to the amplitude `a_n` | rad/s, 1/s |
//! | `D` | what the line in common is off the fitted one | 1 |
//! | `p`, `c_j'` | turn in the picture over the record; amplitude across for along, less that along for across | rad, 1 |
//! | `e` | change that is neither | 1 |
//! | `T` | length of the record | s |
//!
//! Components of one degree ring alike on a drop at rest, so what the size, the outline along the axis and the outline across it
//! show of a degree keeps its proportions, whatever the orders, and however the axis is tilted. A rotating drop turns its pattern, by
//! (1 - 1/n) of its own turn \[Busse1984\]: the components in view trade with those out of view, whose amplitudes nobody sees. To first order the
//! outline then gains `d_j`, which one damped line takes for a shift of frequency and decay. Seen from one side neither the axis of the
//! rotation nor the hidden components are known; what is known is how large the changes are that do not go with one line, and that none of the views is
//! favoured. That is the uncertainty given. It is given where chance does not explain the changes, so that a drop at rest pays nothing. The shift
//! by the flattening, of the order of the square of rotation rate over frequency, is smaller and left out; so is what swings large change in the
//! proportions, up to the third order of the amplitudes. Source: first order in the turn, own derivation; the thresholds are chosen.

use std::f64::consts::TAU;

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_numerics::statistics::chi_square_tail;

use crate::caution::Caution;
use crate::line::{Series, slowed};
use crate::ringdown::{Mode, Ringdown, noise_at};

/// Fewest outlines beyond the unknowns of a view.
const FEWEST: usize = 16;
/// Largest probability that chance explains the changes.
const CHANCE: f64 = 1e-3;
/// Standard uncertainties at which a turn in the picture is one.
const SURE: f64 = 5.0;
/// Growth of a standard uncertainty below which nothing is told.
const TOLD: f64 = 1.1;
/// Unknowns that the views of a mode share: `D` and `p`.
const SHARED: usize = 3;

/// What an outline shows at one instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Limb {
    /// Real time, s.
    pub time: f64,
    /// Fourier coefficients along the axis, from harmonic 0, over R.
    pub cosine: Vec<f64>,
    /// Fourier coefficients across the axis, from harmonic 0, over R.
    pub sine: Vec<f64>,
}

/// One harmonic of the outline, along the axis or across it, at the frequency of a mode; complex numbers as real and imaginary part.
#[derive(Debug, Clone, Copy, PartialEq)]
struct View {
    harmonic: usize,
    across: bool,
    began: [f64; 2],
    change: [f64; 2],
    /// Standard uncertainty of either part of the change.
    u: f64,
}

/// What the views of a mode say together.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Turned {
    /// `D`.
    common: [f64; 2],
    /// `p`, rad, and its standard uncertainty.
    turn: f64,
    u_turn: f64,
    chi_square: f64,
}

/// Widens the modes of `ringdown` whose pattern turns, with a caution `pattern_turns` each. `limbs` are those of free frames, ascending in time, on the
/// clock of the series; `coded` is what coding may do to a swing, over R.
pub fn of_limbs(limbs: &[Limb], ringdown: &mut Ringdown, coded: f64) {
    let (first, last) = ringdown.interval;
    let inside: Vec<&Limb> = limbs
        .iter()
        .filter(|limb| (first..=last).contains(&limb.time))
        .collect();
    let span = last - first;
    let largest = ringdown.modes.iter().fold(0.0, |a: f64, m| a.max(m.amplitude));
    for place in 0..ringdown.modes.len() {
        let mode = &ringdown.modes[place];
        if mode.split.is_some() {
            continue;
        }
        let proportions = largest * largest * mode.amplitude;
        let Some(views) = views(&inside, ringdown, place, proportions.hypot(coded)) else {
            continue;
        };
        if let Some((more, turn)) = doubt(&views, mode.degree) {
            widen(ringdown, place, more.map(|u| u / span), turn);
        }
    }
}

/// All views of the mode at `place`, its own first; `allowed` is a change that is no turn.
fn views(limbs: &[&Limb], ringdown: &Ringdown, place: usize, allowed: f64) -> Option<Vec<View>> {
    let degree = ringdown.modes[place].degree as usize;
    let harmonics = (0..=degree).rev().step_by(2).filter(|k| *k != 1);
    let kinds = harmonics
        .flat_map(|k| [(k, false), (k, true)])
        .filter(|kind| *kind != (0, true));
    let view = |(harmonic, across): (usize, bool)| {
        let value = |limb: &&Limb| {
            let all = if across { &limb.sine } else { &limb.cosine };
            all.get(harmonic).copied()
        };
        let values: Vec<f64> = limbs.iter().map(value).collect::<Option<_>>()?;
        let (began, change, u) = fitted(limbs, &values, ringdown, (place, harmonic))?;
        Some(View {
            harmonic,
            across,
            began,
            change,
            u: u.hypot(allowed),
        })
    };
    kinds.map(view).collect()
}

/// Amplitude at the start, change and its standard uncertainty of the mode at `place` in one view.
fn fitted(
    limbs: &[&Limb],
    values: &[f64],
    ringdown: &Ringdown,
    (place, harmonic): (usize, usize),
) -> Option<([f64; 2], [f64; 2], f64)> {
    let (first, last) = ringdown.interval;
    let own = &ringdown.modes[place];
    let products = products(&ringdown.modes, place, harmonic);
    let rows: Vec<Vec<f64>> = limbs
        .iter()
        .map(|limb| {
            let t = limb.time - first;
            let share = t / (last - first);
            let [cos, sin] = course(own, t);
            let mut row = vec![cos, sin, share * cos, share * sin, 1.0, share, share * share];
            let others = ringdown.modes.iter().enumerate().filter(|(k, _)| *k != place);
            row.extend(others.flat_map(|(_, mode)| course(mode, t)));
            row.extend(
                products
                    .iter()
                    .flat_map(|(pair, sign)| together_at(*pair, *sign, t)),
            );
            row
        })
        .collect();
    let unknowns = rows.first()?.len();
    if rows.len() < unknowns + FEWEST {
        return None;
    }
    let model = Matrix::from_fn(rows.len(), unknowns, |i, j| rows[i][j]);
    let found = model.least_squares(values).ok()?;
    let covariance = model.gram().inverse_positive().ok()?;
    let left: Vec<f64> = (0..values.len())
        .map(|i| values[i] - dot(model.row(i), &found))
        .collect();
    let scatter = (dot(&left, &left) / (rows.len() - unknowns) as f64).sqrt();
    let series = Series {
        times: limbs.iter().map(|limb| limb.time - first).collect(),
        values: left.clone(),
        deviations: vec![scatter.max(1e-12); left.len()],
    };
    let noise = noise_at(&series, &left, own.angular_frequency / TAU, own.decay_rate)?;
    let variance = 0.5 * (covariance[(2, 2)] + covariance[(3, 3)]) * noise.middle;
    Some((
        [found[0], -found[1]],
        [found[2], -found[3]],
        scatter * variance.sqrt(),
    ))
}

/// Cosine and sine of the course of a mode.
fn course(mode: &Mode, t: f64) -> [f64; 2] {
    let (phase, factor) = (turned(mode, t), (-mode.decay_rate * t).exp());
    [factor * phase.cos(), factor * phase.sin()]
}

fn turned(mode: &Mode, t: f64) -> f64 {
    mode.angular_frequency * (t + mode.frequency_shift_at_start * slowed(mode.decay_rate, t))
}

/// Pairs of modes, neither smaller than the one at `place`, whose product at the sum (1) or the difference (-1) of the frequencies a harmonic may show.
fn products(modes: &[Mode], place: usize, harmonic: usize) -> Vec<([&Mode; 2], f64)> {
    let large: Vec<&Mode> = modes
        .iter()
        .filter(|m| m.amplitude >= modes[place].amplitude)
        .collect();
    let mut all = Vec::new();
    for (i, a) in large.iter().enumerate() {
        for (k, b) in large.iter().enumerate().skip(i) {
            if (a.degree as usize + b.degree as usize + harmonic).is_multiple_of(2) {
                all.push(([*a, *b], 1.0));
                // Of a mode with itself, the difference is part of the slow baseline.
                all.extend((k > i).then_some(([*a, *b], -1.0)));
            }
        }
    }
    all
}

/// Cosine and sine of a product.
fn together_at([a, b]: [&Mode; 2], sign: f64, t: f64) -> [f64; 2] {
    let phase = turned(a, t) + sign * turned(b, t);
    let factor = (-(a.decay_rate + b.decay_rate) * t).exp();
    [factor * phase.cos(), factor * phase.sin()]
}

/// Standard uncertainties to add to angular frequency and decay rate (times the length of the record), and the turn in the picture, rad; none
/// where one line and no turn explain all views.
fn doubt(views: &[View], degree: u32) -> Option<([f64; 2], f64)> {
    let freedom = 2.0 * views.len() as f64 - SHARED as f64;
    let plain = together(views, 0.0)?;
    let trades = chi_square_tail(plain.chi_square, freedom) < CHANCE;
    let rolls = plain.turn.abs() > SURE * plain.u_turn;
    if !trades && !rolls {
        return None;
    }
    let size = if trades { hidden(views, freedom)? } else { 0.0 };
    let found = together(views, size)?;
    let own = views[0].began[0].hypot(views[0].began[1]);
    let e = size / own;
    // cos(n p (t/T - 1/2)) at its ends.
    let out = (f64::from(degree) * found.turn).powi(2) / 8.0;
    let more = [e.hypot(found.common[1]), e.hypot(found.common[0]).hypot(out)];
    Some((more, found.turn))
}

/// The size of the changes that are neither: the one for which chi-square is at its median.
fn hidden(views: &[View], freedom: f64) -> Option<f64> {
    let median = freedom * (1.0 - 2.0 / (9.0 * freedom)).powi(3);
    let length = |x: [f64; 2]| x[0].hypot(x[1]);
    let (mut low, mut high) = (0.0, views.iter().fold(0.0, |a, v| a + 10.0 * length(v.change)));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if together(views, middle)?.chi_square > median {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}

/// `D` and `p` by least squares, with hidden changes of `size` beside the noise.
fn together(views: &[View], size: f64) -> Option<Turned> {
    let partner = |view: &View| {
        let other = |v: &&View| v.harmonic == view.harmonic && v.across != view.across;
        let sign = if view.across { -1.0 } else { 1.0 };
        let factor = sign * view.harmonic as f64;
        let began = views.iter().find(other).map_or([0.0; 2], |v| v.began);
        began.map(|c| factor * c)
    };
    let mut rows = Vec::new();
    let mut right = Vec::new();
    for view in views {
        let weight = 1.0 / view.u.hypot(size);
        let ([re, im], turning) = (view.began, partner(view));
        rows.push([re, -im, turning[0]].map(|x| weight * x));
        rows.push([im, re, turning[1]].map(|x| weight * x));
        right.extend(view.change.map(|x| weight * x));
    }
    let model = Matrix::from_fn(rows.len(), SHARED, |i, j| rows[i][j]);
    let found = model.least_squares(&right).ok()?;
    let covariance = model.gram().inverse_positive().ok()?;
    let left = (0..right.len()).map(|i| (right[i] - dot(model.row(i), &found)).powi(2));
    Some(Turned {
        common: [found[0], found[1]],
        turn: found[2],
        u_turn: covariance[(2, 2)].sqrt(),
        chi_square: left.sum(),
    })
}

/// Adds `more` (rad/s, 1/s) to the uncertainties of the mode at `place`, and tells it where that matters.
fn widen(ringdown: &mut Ringdown, place: usize, more: [f64; 2], turn: f64) {
    let count = 2 * ringdown.modes.len();
    let mode = &mut ringdown.modes[place];
    let before = [mode.u_angular_frequency, mode.u_decay_rate];
    let after = [before[0].hypot(more[0]), before[1].hypot(more[1])];
    if (0..2).all(|i| after[i] < TOLD * before[i]) {
        return;
    }
    [mode.u_angular_frequency, mode.u_decay_rate] = after;
    for (i, u) in more.into_iter().enumerate() {
        let at = 2 * place + i;
        ringdown.covariance[at * count + at] += u * u;
    }
    let text = format!(
        "what size, outline along the axis and outline across it show of degree {} does not keep its proportions, as it does on a drop at rest whatever the \
         orders: the pattern turns (slow rotation{}), and parts of it move into view or out of it, which looks like a shift and a damping. Rotation cannot be found from one \
         view; {:.2} % were added to the uncertainty of the frequency, {:.0} % to that of the decay rate",
        mode.degree,
        if turn.abs() > 0.02 {
            format!(", {:.1} degrees of it in the picture", turn.abs().to_degrees())
        } else {
            String::new()
        },
        1e2 * more[0] / mode.angular_frequency,
        1e2 * more[1] / mode.decay_rate.abs().max(1e-300)
    );
    ringdown.cautions.push(Caution::new("pattern_turns", text));
}

#[cfg(test)]
mod tests;
