//! Which of the lines found in all degrees are modes.
//!
//! Lines of one frequency in several degrees are one oscillation: the degree in which it has most energy owns it, the others
//! see a leak of it. Of several in one degree that one is the mode which has most energy. An oscillation at the sum or the difference of the frequencies of two modes n and k, in a degree m with
//! `|n - k| <= m <= n + k` and `n + k + m` even, is their product and no mode of its own. Frequencies of a free body rise with the
//! degree \[Rayleigh1879\], so of two lines that do not, the one with more energy is the mode; the other may be folded.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A_n` | amplitude of mode n at the start; a product has at most about `3 A_n A_k` | 1 |
//!
//! Source: \[TsamopoulosBrown1983\] for the products of second order. Products of third order are not recognised.

use std::f64::consts::TAU;

use crate::line::{Shape, Turn};

/// A line of one degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// Its place among all lines found.
    pub place: usize,
    /// Degree in which it was found.
    pub degree: u32,
    /// Amplitude, phase, angular frequency, decay rate and shift coefficient.
    pub line: [f64; 5],
    /// Standard uncertainty of the angular frequency, rad/s.
    pub deviation: f64,
}

/// What a line is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Role {
    /// A mode of its degree.
    Mode,
    /// The same oscillation as another line (place among the candidates).
    Leak(usize),
    /// A product of two modes (places among the candidates).
    Product(usize, usize),
    /// An oscillation of a degree that has a mode of more energy.
    Other,
    /// An oscillation that lies on the wrong side of the mode of another degree (its place among the candidates).
    OutOfOrder(usize),
}

impl Candidate {
    fn turn(&self, sign: f64) -> Turn {
        Turn {
            angular_frequency: sign * self.line[2],
            decay: self.line[3],
            shift: self.line[4] * self.line[0] * self.line[0],
            owner: self.place,
        }
    }

    /// Integral of the square of the envelope over a record of length `span` (s), s.
    fn energy(&self, span: f64) -> f64 {
        let rate = 2.0 * self.line[3].max(1e-3 / span);
        self.line[0].powi(2) * -(-rate * span).exp_m1() / rate
    }

    /// The course of this line where it leaks.
    pub fn shape(&self) -> Shape {
        Shape {
            decay: self.line[3],
            turns: vec![self.turn(1.0)],
        }
    }

    /// The course of the product with another line at the sum (`sign` 1) or the difference (-1) of the frequencies.
    pub fn product(&self, other: &Candidate, sign: f64) -> Shape {
        let alone = self == other && sign < 0.0;
        Shape {
            decay: self.line[3] + other.line[3],
            turns: if alone {
                Vec::new()
            } else {
                vec![self.turn(1.0), other.turn(sign)]
            },
        }
    }

    /// Whether the line of the higher degree is the lower one.
    fn crosses(&self, other: &Candidate) -> bool {
        let higher = other.degree > self.degree;
        other.degree != self.degree && higher != (other.line[2] > self.line[2])
    }

    /// How far from this line's angular frequency (rad/s) another may be and still be the same.
    fn reach(&self, other: &Candidate, span: f64) -> f64 {
        let shift = |c: &Candidate| (c.line[4] * c.line[0] * c.line[0] * c.line[2]).abs();
        let width = self.line[3].max(other.line[3]).max(0.0);
        let known = 4.0 * self.deviation.hypot(other.deviation);
        (0.5 * TAU / span).max(0.5 * width).max(known) + shift(self).max(shift(other))
    }
}

/// Whether modes of degree `n` and `k` have a product in degree `m`.
pub fn allowed(n: u32, k: u32, m: u32) -> bool {
    (n + k + m).is_multiple_of(2) && n.abs_diff(k) <= m && m <= n + k
}

/// The role of each candidate in a record of length `span` (s).
pub fn roles(candidates: &[Candidate], span: f64) -> Vec<Role> {
    let mut order: Vec<usize> = (0..candidates.len()).collect();
    let energy = |i: usize| candidates[i].energy(span);
    order.sort_by(|&a, &b| energy(b).total_cmp(&energy(a)));
    let mut roles: Vec<Option<Role>> = vec![None; candidates.len()];
    for &i in &order {
        if roles[i].is_some() {
            continue;
        }
        let owner = &candidates[i];
        let same = |&j: &usize| {
            let c = &candidates[j];
            let near = (c.line[2] - owner.line[2]).abs() < owner.reach(c, span);
            roles[j].is_none() && c.degree != owner.degree && near
        };
        let group: Vec<usize> = order.iter().copied().filter(same).collect();
        let product = product_of(candidates, &roles, i, span);
        let rival = (0..candidates.len())
            .any(|j| candidates[j].degree == owner.degree && roles[j] == Some(Role::Mode));
        let wrong = (0..candidates.len())
            .find(|&j| roles[j] == Some(Role::Mode) && candidates[j].crosses(owner))
            .map(Role::OutOfOrder);
        let alone = if rival {
            Role::Other
        } else {
            wrong.unwrap_or(Role::Mode)
        };
        roles[i] = Some(product.unwrap_or(alone));
        for j in group {
            roles[j] = Some(Role::Leak(i));
        }
    }
    roles.into_iter().map(|r| r.unwrap_or(Role::Other)).collect()
}

fn product_of(candidates: &[Candidate], roles: &[Option<Role>], j: usize, span: f64) -> Option<Role> {
    let line = &candidates[j];
    let modes: Vec<usize> = (0..candidates.len())
        .filter(|&i| roles[i] == Some(Role::Mode))
        .collect();
    for &a in &modes {
        for &b in modes.iter().filter(|&&b| b >= a) {
            let (n, k) = (&candidates[a], &candidates[b]);
            let reach = n.reach(line, span).max(k.reach(line, span));
            let sum = (line.line[2] - n.line[2] - k.line[2]).abs() < reach;
            let difference = a != b && (line.line[2] - (n.line[2] - k.line[2]).abs()).abs() < reach;
            let small = line.line[0] < 3.0 * n.line[0] * k.line[0];
            if small && (sum || difference) && allowed(n.degree, k.degree, line.degree) {
                return Some(Role::Product(a, b));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidate(degree: u32, hertz: f64, amplitude: f64) -> Candidate {
        Candidate {
            place: 0,
            degree,
            line: [amplitude, 0.0, TAU * hertz, 0.2, 0.0],
            deviation: 0.001,
        }
    }

    #[test]
    fn the_largest_owns_and_products_are_no_modes() {
        let all = [
            candidate(3, 2.0, 0.01),
            candidate(2, 2.0, 0.1),
            candidate(3, 3.9, 0.05),
            candidate(4, 4.0, 0.004),
            candidate(3, 5.9, 0.002),
            candidate(4, 5.9, 0.001),
            candidate(2, 9.3, 0.02),
        ];
        use Role::*;
        let known = [Leak(1), Mode, Mode, Product(1, 1), Product(1, 2), Leak(4), Other];
        assert_eq!(roles(&all, 20.0), known);
    }

    #[test]
    fn what_lasts_owns_before_what_is_high_at_first() {
        let mut brief = candidate(2, 1.0, 0.3);
        brief.line[3] = 3.0;
        let all = [brief, candidate(2, 2.0, 0.1)];
        assert_eq!(roles(&all, 20.0), [Role::Other, Role::Mode]);
        assert!((all[1].energy(1e3) - 0.01 / 0.4).abs() < 1e-12);
        let steady = Candidate {
            line: [0.1, 0.0, 1.0, -0.1, 0.0],
            ..all[1]
        };
        assert!((steady.energy(20.0) / 0.2 - 1.0).abs() < 1e-2);
    }

    #[test]
    fn an_overtone_too_large_for_a_product_is_a_mode() {
        let all = [candidate(2, 2.0, 0.1), candidate(4, 4.0, 0.05)];
        assert_eq!(roles(&all, 20.0), [Role::Mode, Role::Mode]);
        // At the sum of two modes, but in a degree that cannot show it.
        let odd = [candidate(2, 2.0, 0.1), candidate(3, 3.99, 0.01)];
        assert_eq!(roles(&odd, 20.0), [Role::Mode, Role::Mode]);
        assert!(allowed(2, 2, 4) && !allowed(2, 2, 3) && !allowed(2, 2, 6) && allowed(2, 3, 1));
    }

    #[test]
    fn frequencies_that_do_not_rise_with_the_degree_are_not_both_modes() {
        let all = [
            candidate(2, 2.0, 0.1),
            candidate(4, 6.0, 0.02),
            candidate(5, 5.1, 0.001),
            candidate(3, 6.5, 0.002),
            candidate(6, 9.5, 0.001),
        ];
        use Role::*;
        assert_eq!(
            roles(&all, 20.0),
            [Mode, Mode, OutOfOrder(1), OutOfOrder(1), Mode]
        );
    }

    #[test]
    fn a_product_with_itself_at_no_frequency_is_a_plain_decay() {
        let c = candidate(2, 2.0, 0.1);
        assert_eq!(c.product(&c, -1.0).unknowns(), 1);
        assert!((c.product(&c, -1.0).at(1.0)[0] - (-0.4_f64).exp()).abs() < 1e-15);
        let sum = c.product(&c, 1.0);
        assert!((sum.at(0.1)[0] - (-0.04_f64).exp() * (TAU * 0.4).cos()).abs() < 1e-12);
    }
}
