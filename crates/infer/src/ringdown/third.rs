//! Modes that may be products of third order: forced at three times, or the sums and differences of three, of the frequencies
//! of larger modes.
//!
//! ```text
//! A_forced <= 3 A_a A_b A_c w / (2 |g - g_a - g_b - g_c|)        at resonance, else 3 A_a A_b A_c
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A_n`, `w_n`, `g_n` | amplitude, angular frequency, decay rate of mode n | 1, rad/s, 1/s |
//! | `w`, `g` | of the line in question | rad/s, 1/s |
//!
//! For a drop of little viscosity `w_4 = 3 w_2` exactly \[Rayleigh1879\], and degree 4 answers a large swing of degree 2 there
//! \[TsamopoulosBrown1983\]. What is forced decays as the product does, what rings by itself with its own rate, so a decay that
//! is known well enough tells them apart. The factor 3 bounds the coefficients of the second order; for the third it is taken over,
//! with no published source.

use crate::ringdown::attribute::allowed;
use crate::ringdown::result::Mode;

/// Standard uncertainties by which a decay rate must differ from that of the product.
const TOLD_APART: f64 = 4.0;

/// The degrees of three modes whose product the mode at `place` may be, in a record of length `span` (s); `None` for a mode
/// that is told apart from any.
pub fn perhaps_product(modes: &[Mode], place: usize, span: f64) -> Option<[u32; 3]> {
    let line = &modes[place];
    let larger: Vec<&Mode> = modes
        .iter()
        .filter(|m| m.degree != line.degree && m.amplitude > line.amplitude)
        .collect();
    for (i, a) in larger.iter().enumerate() {
        for (j, b) in larger.iter().enumerate().skip(i) {
            for (k, c) in larger.iter().enumerate() {
                // The sum of three, each set once; and a sum less a third that is not one of the two.
                let signs: &[f64] = match (k >= j, k == i || k == j) {
                    (true, true) => &[1.0],
                    (true, false) => &[1.0, -1.0],
                    (false, true) => &[],
                    (false, false) => &[-1.0],
                };
                let parents = [*a, *b, *c];
                if couples(parents.map(|m| m.degree), line.degree)
                    && signs.iter().any(|sign| fits(line, parents, *sign, span))
                {
                    return Some(parents.map(|m| m.degree));
                }
            }
        }
    }
    None
}

/// Whether three degrees have a product in a fourth, by way of any degree between.
fn couples([a, b, c]: [u32; 3], degree: u32) -> bool {
    (0..=a + b).any(|between| allowed(a, b, between) && allowed(between, c, degree))
}

fn fits(line: &Mode, [a, b, c]: [&Mode; 3], sign: f64, span: f64) -> bool {
    let began = |m: &Mode| m.angular_frequency * m.frequency_shift_at_start.abs();
    let frequency = a.angular_frequency + b.angular_frequency + sign * c.angular_frequency;
    let decay = a.decay_rate + b.decay_rate + c.decay_rate;
    let known = |u: [f64; 4]| TOLD_APART * u.iter().map(|u| u * u).sum::<f64>().sqrt();
    let u_frequency = known([line, a, b, c].map(|m| m.u_angular_frequency));
    let u_decay = known([line, a, b, c].map(|m| m.u_decay_rate));
    let moved = began(line).max(began(a) + began(b) + began(c));
    let reach = (std::f64::consts::PI / span)
        .max(0.5 * line.decay_rate.max(decay))
        .max(u_frequency)
        + moved;
    let near = (line.angular_frequency - frequency).abs() < reach;
    let apart = (line.decay_rate - decay).abs();
    let detuned = apart
        .max(1.0 / span)
        .max((line.angular_frequency - frequency).abs());
    let resonance = (line.angular_frequency / (2.0 * detuned)).max(1.0);
    let small = line.amplitude < 3.0 * a.amplitude * b.amplitude * c.amplitude * resonance;
    near && small && apart < u_decay
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn mode(degree: u32, hertz: f64, decay: f64, amplitude: f64) -> Mode {
        Mode {
            degree,
            angular_frequency: TAU * hertz,
            u_angular_frequency: 0.01,
            decay_rate: decay,
            u_decay_rate: 0.02,
            amplitude,
            u_amplitude: 1e-4,
            phase: 0.0,
            degrees_of_freedom: 100.0,
            cycles: 20.0,
            signal_to_noise: 100.0,
            frequency_shift_at_start: 0.0,
            perhaps_product: None,
            split: None,
        }
    }

    #[test]
    fn three_times_degree_two_is_told_by_its_decay_or_its_size() {
        let with = |fourth: Mode| perhaps_product(&[mode(2, 2.75, 0.3, 0.2), fourth], 1, 5.0);
        // A product decays with 3 g_2; 3 A^3 = 0.024, and much more at resonance.
        assert_eq!(with(mode(4, 8.25, 0.9, 0.02)), Some([2, 2, 2]));
        assert_eq!(with(mode(4, 8.25, 0.95, 0.19)), Some([2, 2, 2]));
        // A mode of its own decays with (n - 1)(2 n + 1) / 5 = 5.4 times g_2 (Lamb, for little viscosity).
        assert_eq!(with(mode(4, 8.25, 5.4 * 0.3, 0.02)), None);
        assert_eq!(with(mode(4, 8.6, 0.9, 0.02)), None);
        // P_2^3 holds P_0 to P_6 of even degree only.
        assert_eq!(with(mode(5, 8.25, 0.9, 0.02)), None);
        assert_eq!(with(mode(6, 8.25, 0.9, 0.02)), Some([2, 2, 2]));
        assert_eq!(with(mode(8, 8.25, 0.9, 0.02)), None);
        // Nothing is forced by a small swing.
        let small = [mode(2, 2.75, 0.3, 0.01), mode(4, 8.25, 0.9, 0.005)];
        assert_eq!(perhaps_product(&small, 1, 5.0), None);
        assert_eq!(perhaps_product(&small, 0, 5.0), None);
    }

    #[test]
    fn sums_and_differences_of_three_modes_count() {
        let modes = |hertz| {
            [
                mode(2, 2.75, 0.3, 0.2),
                mode(3, 5.32, 0.6, 0.1),
                mode(5, hertz, 1.2, 0.002),
            ]
        };
        assert_eq!(
            perhaps_product(&modes(2.0 * 2.75 + 5.32), 2, 5.0),
            Some([2, 2, 3])
        );
        // Twice degree 3 less degree 2 has even parity: degree 5 cannot show it, degree 4 can.
        assert_eq!(perhaps_product(&modes(2.0 * 5.32 - 2.75), 2, 5.0), None);
        let mut even = modes(2.0 * 5.32 - 2.75);
        even[2].degree = 4;
        even[2].decay_rate = 1.5;
        assert_eq!(perhaps_product(&even, 2, 5.0), Some([3, 3, 2]));
    }
}
